//! The fitting sheet: where it goes, in which order, with what, and what is checked before the trim goes
//! back.

use super::Handed;
use super::blocks::{Block, Sheet, Shot, facts, table};
use super::figures::{add_figures, add_loads, add_notes};
use super::lists::{add_fixings, add_lines};
use super::section;
use crate::checks::{HeadlineId, Verdict};
use crate::documents::cautions::{CAUTIONS, PLANNING_AID};
use crate::documents::picture::{Picture, TrimShown, View, picture};
use crate::documents::positions::positions;
use crate::model::Part;

/// Size of the pictures, pixels.
const PIXELS: (u32, u32) = (1120, 700);
/// Height of the names in a picture that is half a page wide.
const LABEL_SHARE: f64 = 1.0 / 25.0;

pub(super) fn sheet(handed: &Handed) -> Option<Sheet> {
    let (boot, spot, card) = (handed.boot, handed.spot, handed.card);
    let mut blocks = Vec::new();
    blocks.push(verdicts(handed));
    let (width, height) = PIXELS;
    let aspect = f64::from(width) / f64::from(height);
    let mut shots = Vec::new();
    for (view, trim, caption) in [
        (View::Behind, TrimShown::SeenThrough, "From behind, trim shown glassy."),
        (View::Close, TrimShown::Out, "Close, without trim. What hides the unit is shown glassy."),
    ] {
        let wanted =
            Picture { width, height, view, trim, label_share: LABEL_SHARE, ..Picture::default() };
        let png = picture(boot, spot, card, &wanted)?;
        shots.push(Shot { png, caption: caption.to_string(), aspect });
    }
    blocks.push(Block::Pictures(shots));
    blocks.push(cautions());
    add_positions(handed, &mut blocks);
    blocks.push(Block::Heading("Order of work".to_string()));
    blocks.push(Block::Steps(order_of_work(handed), true));
    add_lines(handed, &mut blocks);
    add_fixings(handed, &mut blocks);
    add_figures(handed, &mut blocks, HeadlineId::Carpet, "Carpet line, worst first");
    add_notes(handed, &mut blocks, HeadlineId::Carpet);
    add_sections(handed, &mut blocks);
    add_figures(handed, &mut blocks, HeadlineId::Feed, "Fluid and level");
    add_notes(handed, &mut blocks, HeadlineId::Feed);
    add_figures(handed, &mut blocks, HeadlineId::Water, "Water, worst case first");
    add_notes(handed, &mut blocks, HeadlineId::Water);
    add_figures(handed, &mut blocks, HeadlineId::Hold, "Loads, worst case first");
    add_loads(handed, &mut blocks);
    add_job(handed, &mut blocks);
    blocks.push(Block::Heading("Checks to sign".to_string()));
    blocks.push(Block::Sign(signed()));
    Some(Sheet {
        title: "Fitting sheet".to_string(),
        subtitle: spot.name.clone(),
        facts: facts(handed),
        blocks,
        workshop: handed.workshop.cloned(),
        logo: handed.logo.cloned(),
        sizes: vec![9.0],
        most_pages: usize::MAX,
    })
}

fn cautions() -> Block {
    Block::Cautions {
        title: "Before anything is unbolted".to_string(),
        items: CAUTIONS.map(String::from).to_vec(),
        closing: PLANNING_AID.to_string(),
    }
}

fn verdicts(handed: &Handed) -> Block {
    let row = |headline: &crate::checks::Headline| {
        let score = headline.score.map_or("–".to_string(), |score| format!("{score:.0}"));
        let why = headline.deciding().map(|check| check.why.clone()).unwrap_or_default();
        vec![headline.id.title().to_string(), headline.verdict.word().to_string(), score, why]
    };
    let mut rows: Vec<Vec<String>> = handed.card.headlines.iter().map(row).collect();
    let card = handed.card;
    let score = card.score.map_or("–".to_string(), |score| format!("{score:.0}"));
    let whole =
        if card.verdict == Verdict::Fail { "This spot fails: don't fit it so." } else { "" };
    rows.push(vec!["Spot".into(), card.verdict.word().into(), score, whole.into()]);
    table(&[2.0, 1.3, 1.0, 9.0], &["Headline", "Verdict", "Score", "What decides"], rows)
}

fn add_positions(handed: &Handed, blocks: &mut Vec<Block>) {
    let found = positions(handed.boot, handed.spot);
    let rows = found.into_iter().map(|place| {
        let [along, across, up] = place.distances;
        vec![place.name, along.words, across.words, up.words]
    });
    blocks.push(Block::Heading("Positions by tape".to_string()));
    blocks.push(table(
        &[2.0, 3.0, 3.0, 3.0],
        &["Point of the unit", "Along", "Across", "Up"],
        rows.collect(),
    ));
    let (roll, pitch, yaw) = handed.spot.place.turn_deg;
    let motor = motor_points(handed);
    let turned = if (roll, pitch, yaw) == (0.0, 0.0, 0.0) {
        format!("The unit stands upright{motor}.")
    } else {
        format!(
            "The unit is turned: yaw {yaw:.1}° to the left, then pitch {pitch:.1}° nose down, then roll \
             {roll:.1}° to the right, from upright{motor}."
        )
    };
    let origin = &handed.boot.layout().origin;
    blocks.push(Block::Text(format!("{turned} Origin of the layout: {origin}")));
}

/// Which way the motor points while the unit isn't turned, seen from the tank.
fn motor_points(handed: &Handed) -> String {
    let solids = || handed.boot.pump().solids.iter().zip(handed.boot.pump_solids());
    let middle = |part: Part| {
        let of_it = solids().find(|(solid, _)| solid.part == part);
        of_it.map(|(_, ready)| ready.bounds().centre())
    };
    let Some((motor, tank)) = middle(Part::Motor).zip(middle(Part::Tank)) else {
        return String::new();
    };
    let way = motor - tank;
    let words = match (way.iamax(), way[way.iamax()] < 0.0) {
        (0, false) => "towards the front of the car",
        (0, true) => "towards the rear of the car",
        (1, false) => "to the left",
        (1, true) => "to the right",
        (_, false) => "on top",
        (_, true) => "below",
    };
    format!(", its motor {words}")
}

fn order_of_work(handed: &Handed) -> Vec<String> {
    let handover = &handed.boot.layout().handover;
    let mut steps = handover.access.clone();
    if steps.is_empty() {
        steps.push(
            "Take out what covers the old unit and the new place; note what was missing.".into(),
        );
    }
    for body in handed.unbolting.iter().flat_map(|unbolting| &unbolting.bodies) {
        steps.push(format!(
            "Unbolt the {} ({}); fit it again: {}.",
            body.body, body.how, body.refit
        ));
    }
    steps.push("Let the pressure out. Draw the unit from its well on its hoses, upright, without the water.".into());
    steps.push(
        "Offer it up at the place below; check every distance before anything is fixed.".into(),
    );
    for (count, words) in fixings_by_kind(handed) {
        steps.push(format!(
            "Fit {count} {words}{}, all loose, then tighten crosswise.",
            if count > 1 { "s" } else { "" }
        ));
    }
    steps.push("Lay hoses as drawn; no bend tighter than listed; clip them where they pass edges. Protect ends from dirt.".into());
    steps.push(
        "Connect feed and earth, fuse close to the supply; sleeve the cable where it passes metal."
            .into(),
    );
    steps.push(
        "Lay the release cord; work the lever by its handle from where the owner stands.".into(),
    );
    steps.push("Fill to the figure below, cycle the roof to bleed, top up, look for leaks.".into());
    steps
        .push("Put carpets and boards back; see that they lie flat. Then the checks below.".into());
    steps
}

fn fixings_by_kind(handed: &Handed) -> Vec<(usize, &'static str)> {
    let mut kinds: Vec<(usize, &'static str)> = Vec::new();
    for fixing in &handed.spot.fixings {
        let words = fixing.kind.words();
        match kinds.iter_mut().find(|(_, known)| *known == words) {
            Some((count, _)) => *count += 1,
            None => kinds.push((1, words)),
        }
    }
    kinds
}

fn add_sections(handed: &Handed, blocks: &mut Vec<Block>) {
    if let Some(drawing) = &handed.card.drawn.tank {
        blocks.push(Block::Heading("Fluid in the reservoir".to_string()));
        blocks.push(Block::Sections(section::sections(drawing)));
        blocks.push(Block::Text(section::legend(drawing)));
    }
}

fn add_job(handed: &Handed, blocks: &mut Vec<Block>) {
    if let Some(job) = handed.job {
        for (title, list) in [("Missing or broken when it came", &job.missing)] {
            if !list.is_empty() {
                blocks.push(Block::Heading(title.to_string()));
                blocks.push(Block::Bullets(list.clone()));
            }
        }
        if !job.readings.is_empty() {
            blocks.push(Block::Heading("Read on the old unit".to_string()));
            let rows = job.readings.iter().map(|reading| {
                vec![reading.what.clone(), reading.figure.clone(), reading.means.clone()]
            });
            blocks.push(table(
                &[3.0, 1.6, 4.0],
                &["What", "Figure", "What it says"],
                rows.collect(),
            ));
        }
    }
    let trials = handed.boot.layout().trials.iter().filter(|trial| trial.spot == handed.spot.name);
    let rows: Vec<Vec<String>> = trials
        .flat_map(|trial| {
            trial.remarks.iter().map(|remark| {
                let predicted = remark.predicted_words();
                let off = remark.off_mm().map_or(String::new(), |off| {
                    match (off * 10.0).round() / 10.0 {
                        0.0 => "nothing".to_string(),
                        off => format!("{off:+.1} mm"),
                    }
                });
                let said = quoted(&remark.words());
                vec![trial.when.clone(), said, predicted, off, remark.note.clone()]
            })
        })
        .collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading("What the car said at the trial fit".to_string()));
        let head = ["When", "The car said", "Predicted", "Off by", "Note"];
        blocks.push(table(&[1.5, 3.4, 3.2, 1.2, 2.4], &head, rows));
    }
}

/// Names in the quotes of print.
fn quoted(text: &str) -> String {
    let mut open = false;
    let letter = |letter: char| {
        if letter != '`' {
            return letter;
        }
        open = !open;
        if open { '“' } else { '”' }
    };
    text.chars().map(letter).collect()
}

/// What is checked before the car goes. Common practice, no source.
fn signed() -> Vec<(String, String)> {
    [
        (
            "Roof opened and closed five times, engine running, without stopping",
            "cycles, seconds each",
        ),
        ("Fluid level read again, roof closed, car level", "mm from the line"),
        ("No leak at any fitting after the cycles and after an hour", "dry / where"),
        ("Unit shaken by hand all ways: nothing rocks, rubs or rattles", ""),
        ("Hoses and cable clear of edges and movers over the whole travel", "least gap, mm"),
        ("Emergency release worked by its handle; roof closed by hand", ""),
        ("Volts at the pump's plug, running", "V"),
        ("Carpets and boards flat; lid shuts; filler and level line reached", "proud, mm"),
        ("Drains run freely, water poured in at the leaks stays away from the unit", ""),
        ("Owner shown the release and given the sheet", ""),
    ]
    .map(|(what, record)| (what.to_string(), record.to_string()))
    .to_vec()
}
