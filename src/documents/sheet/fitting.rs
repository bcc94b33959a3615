//! The fitting sheet: where it goes, in which order, with what, and what is checked before the trim goes
//! back.

use super::Handed;
use super::blocks::{Block, Sheet, Shot, facts};
use crate::checks::hold::NOT_CERTIFIED;
use crate::checks::{Check, Details, HeadlineId, Verdict};
use crate::documents::cautions::{CAUTIONS, PLANNING_AID};
use crate::documents::picture::{Picture, TrimShown, View, picture};
use crate::documents::positions::positions;
use crate::model::{AnchorKind, FixingKind, LineKind, Part};

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

fn table(shares: &[f64], head: &[&str], rows: Vec<Vec<String>>) -> Block {
    let head = head.iter().map(|text| (*text).to_string()).collect();
    Block::Table { shares: shares.to_vec(), head, rows }
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

fn add_lines(handed: &Handed, blocks: &mut Vec<Block>) {
    let figure =
        |id: &str, subject: &str| handed.card.check(id, subject).and_then(|check| check.figure);
    let mm = |value: Option<f64>| value.map_or("–".to_string(), |value| format!("{value:.0}"));
    let rows: Vec<Vec<String>> = handed
        .boot
        .lines()
        .map(|line| {
            let drawn = handed.card.drawn.lines.iter().find(|drawn| drawn.name == line.name);
            let routed = drawn.map(|drawn| {
                drawn.centreline.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum::<f64>()
            });
            let kind = match line.kind {
                LineKind::Cable(cable) => format!("cable, 2 × {} mm²", cable.area_mm2),
                other => format!("{}, ø {} mm", other.words(), line.od_mm),
            };
            vec![
                line.name.clone(),
                kind,
                line.to.clone(),
                mm(routed),
                mm(Some(line.free_mm)),
                mm(figure("slack", &line.name)),
                format!("{:.0}", line.bend_centre_mm()),
                format!("{:.0}", line.lead_mm()),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    blocks.push(Block::Heading("Hoses, cables, cord: cut list".to_string()));
    let head =
        ["Line", "Kind", "To", "Way, mm", "Has, mm", "Slack, mm", "Least bend, mm", "Straight, mm"];
    blocks.push(table(&[3.2, 2.4, 1.4, 1.0, 1.0, 1.1, 1.2, 1.3], &head, rows));
    let order =
        details(handed).map(|details| details.reach.cut_list.as_slice()).unwrap_or_default();
    let short = "Way: along the middle from where it is last held to the fitting. Slack: what is left of what it has, \
         hoses taken as shortened under pressure; negative means too short by that. Least bend: radius of the \
         middle. Straight: at each fitting before the first bend.";
    blocks.push(Block::Text(short.to_string()));
    let rows: Vec<Vec<String>> = order
        .iter()
        .map(|item| {
            let (count, what) = (item.count.to_string(), item.what.clone());
            vec![item.line.clone(), count, what, mm(item.cut_mm), item.because.clone()]
        })
        .collect();
    if !rows.is_empty() {
        let head = ["If renewed, for", "Pieces", "What", "Cut, mm", "Made up of"];
        blocks.push(table(&[2.6, 0.9, 2.9, 1.0, 4.2], &head, rows));
    }
    let ordered = |title: &str| order.iter().any(|item| title.ends_with(&item.line));
    let line = |title: &str| handed.boot.lines().any(|line| line.name == title);
    let rows: Vec<Vec<String>> = details(handed)
        .map(|details| details.notes(HeadlineId::Reach))
        .unwrap_or_default()
        .into_iter()
        .filter(|note| line(&note.title) || !ordered(&note.title))
        .map(|note| vec![note.title, note.text])
        .collect();
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["Line", "How it lies"], rows));
    }
}

fn details<'a>(handed: &Handed<'a>) -> Option<&'a Details> {
    handed.card.details.as_ref()
}

fn add_fixings(handed: &Handed, blocks: &mut Vec<Block>) {
    let pose = handed.spot.place.pose();
    let rows: Vec<Vec<String>> = handed
        .spot
        .fixings
        .iter()
        .map(|fixing| {
            let anchor = handed.boot.anchors().find(|anchor| anchor.name == fixing.anchor);
            let mount = handed.boot.pump().mounts.iter().find(|mount| mount.name == fixing.mount);
            let kind = match fixing.kind {
                FixingKind::Bolt { working_n } => format!("bolt, {working_n:.0} N"),
                FixingKind::Tie { width_mm } => format!("tie {width_mm} mm wide"),
                FixingKind::Strap { working_n } => format!("strap, {working_n:.0} N"),
                FixingKind::Clamp { working_n } => format!("clamp, {working_n:.0} N"),
                FixingKind::Wedge { working_n } => format!("foam wedge, {working_n:.0} N"),
            };
            let size = anchor.map_or("not on this car".to_string(), |anchor| match anchor.kind {
                AnchorKind::Stud { thread_mm } => format!("stud M{thread_mm}"),
                AnchorKind::Hole { diameter_mm } => format!("hole ø {diameter_mm} mm"),
                AnchorKind::Slot { length_mm, width_mm } => {
                    format!("slot {length_mm} × {width_mm} mm")
                }
                AnchorKind::Edge { thickness_mm } => format!("edge {thickness_mm} mm thick"),
                AnchorKind::Bar { girth_mm } => format!("bar {girth_mm} mm round"),
                AnchorKind::Loop | AnchorKind::Face => anchor.kind.words().to_string(),
            });
            let length = anchor.zip(mount).map_or("–".to_string(), |(anchor, mount)| {
                format!("{:.0}", (pose * mount.at - anchor.at).norm())
            });
            vec![kind, fixing.mount.clone(), fixing.anchor.clone(), size, length]
        })
        .collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading("Fixings".to_string()));
        let head = ["Fixing", "At the unit", "At the car", "Anchor", "Apart, mm"];
        blocks.push(table(&[2.0, 2.4, 3.2, 1.8, 1.2], &head, rows));
    }
}

fn add_figures(handed: &Handed, blocks: &mut Vec<Block>, id: HeadlineId, title: &str) {
    let Some(headline) = handed.card.headline(id) else { return };
    let mut checks: Vec<&Check> = headline.checks.iter().collect();
    let ease = |check: &Check| {
        let span = (check.comfort - check.limit).abs().max(1e-9);
        check.margin.map_or(f64::NEG_INFINITY, |margin| margin / span)
    };
    checks.sort_by(|a, b| ease(a).total_cmp(&ease(b)));
    let number = |value: f64, unit: &str| {
        if unit.is_empty() { format!("{value:.2}") } else { format!("{value:.0} {unit}") }
    };
    let row = |check: &&Check| {
        let figure = check.figure.map_or("–".to_string(), |figure| number(figure, check.unit));
        vec![
            format!("{}: {}", check.id, check.subject),
            figure,
            number(check.limit, check.unit),
            check.verdict.word().to_string(),
            check.why.clone(),
        ]
    };
    let rows: Vec<Vec<String>> = checks.iter().take(12).map(row).collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading(title.to_string()));
        let head = ["About", "Figure", "Limit", "Verdict", "Why"];
        blocks.push(table(&[2.6, 1.3, 1.2, 1.1, 5.6], &head, rows));
    }
}

/// What a headline found out beyond its verdicts; what is about the same thing in one row.
fn add_notes(handed: &Handed, blocks: &mut Vec<Block>, id: HeadlineId) {
    let Some(details) = details(handed) else { return };
    let mut rows: Vec<Vec<String>> = Vec::new();
    for note in details.notes(id) {
        match rows.iter_mut().find(|row| row[0] == note.title) {
            Some(row) => row[1] = format!("{}; {}", row[1], note.text),
            None => rows.push(vec![note.title, note.text]),
        }
    }
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["About", "Figures"], rows));
    }
}

/// Each load case with what gives out first and what every fixing takes; what to buy, and what to mind. What the
/// details offer instead of these fixings is for deciding, not for fitting, and isn't on the sheet.
fn add_loads(handed: &Handed, blocks: &mut Vec<Block>) {
    let Some(hold) = details(handed).map(|details| &details.hold) else { return };
    let crash = hold.crash.iter().map(|case| (format!("crash, {}", case.case), case));
    let cases: Vec<_> =
        hold.cases.iter().map(|case| (case.case.clone(), case)).chain(crash).collect();
    let names: Vec<&str> = cases.first().map_or_else(Vec::new, |(_, case)| {
        case.reactions.iter().map(|reaction| reaction.what.as_str()).collect()
    });
    let number = |what: &str| names.iter().position(|name| *name == what).map(|at| at + 1);
    let rows: Vec<Vec<String>> = cases
        .iter()
        .map(|(title, case)| {
            let taken: Vec<String> = case
                .reactions
                .iter()
                .map(|reaction| format!("{:.0}", reaction.force_n.norm()))
                .collect();
            let first = case.governing.first();
            let first = first.and_then(|what| number(what).map(|number| number.to_string()));
            let factor = if case.any_multiple {
                "any".to_string()
            } else {
                format!("{:.2} ×", case.factor)
            };
            vec![title.clone(), factor, first.unwrap_or_default(), taken.join(" · ")]
        })
        .collect();
    if !rows.is_empty() {
        let head = ["Load case", "Holds", "First to go", "Each takes, N"];
        blocks.push(table(&[4.0, 1.4, 1.6, 4.6], &head, rows));
        let list: Vec<String> =
            names.iter().enumerate().map(|(at, name)| format!("{} {name}", at + 1)).collect();
        blocks.push(Block::Text(format!(
            "The numbers: {}. Holds: how many times the case all of them bear. The crash-type cases are {}.",
            list.join("; "),
            NOT_CERTIFIED
        )));
    }
    let instead = |title: &str| {
        ["one more tie", "holes on bolts"].contains(&title) || title.starts_with("from nothing")
    };
    let is_case = |title: &str| cases.iter().any(|(case, _)| case == title);
    let rows: Vec<Vec<String>> = hold
        .notes()
        .into_iter()
        .filter(|note| !instead(&note.title) && !is_case(&note.title))
        .map(|note| vec![note.title, note.text])
        .collect();
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["To buy, to mind", "Figures"], rows));
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
                let predicted = match (remark.predicted, remark.tolerance) {
                    (Some(figure), Some(tolerance)) => format!("{figure:.1} ± {tolerance:.1}"),
                    _ => remark.verdict.clone(),
                };
                let off = remark.off_mm().map_or(String::new(), |off| format!("{off:+.1} mm"));
                let said = quoted(&remark.words());
                vec![trial.when.clone(), said, predicted, off, remark.note.clone()]
            })
        })
        .collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading("What the car said at the trial fit".to_string()));
        let head = ["When", "The car said", "Predicted", "Off by", "Note"];
        blocks.push(table(&[1.5, 4.0, 1.8, 1.2, 3.0], &head, rows));
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
