//! What the hold headline found out beyond its verdicts.

use serde::Serialize;

use super::carries::NO_FACTOR;
use super::cautions::Caution;
use super::foam::Pressed;
use super::offers::{FoamOffer, LIFT, Offer};
use super::plate::{PatternMatch, Plate};
use super::rests::Packing;
use super::shopping::Item;
use crate::checks::Note;
use crate::model::{Point, Vector};

/// What one fixing or rest takes in a load case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reaction {
    /// The fixing in words, or the point of rest.
    pub what: String,
    /// Where it acts on the pump, mm, vehicle frame.
    pub at: Point,
    /// Its force on the pump, N, vehicle frame.
    pub force_n: Vector,
    /// How much of its working strength that is, 0 to 1; none for a rest.
    pub share: Option<f64>,
}

/// One load case, answered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CaseResult {
    /// The case in words.
    pub case: String,
    /// The largest factor on it, at most 50.
    pub factor: f64,
    /// Whether it holds any multiple: the load only presses the pump to what it rests on.
    pub any_multiple: bool,
    /// What gives out first, in words; the first counts most. Empty when it moves without any fixing
    /// reaching its strength.
    pub governing: Vec<String>,
    /// How it begins to move beyond what is held, in words; empty when it doesn't.
    pub moves: String,
    /// What each fixing and rest takes: one way of many to share the load, the one in which no fixing
    /// comes nearer to its strength than it has to. Of the case itself, or of the part that is held.
    pub reactions: Vec<Reaction>,
    /// What is left of forces and moments in that balance, N.
    pub residual_n: f64,
}

/// The smallest acceleration that moves the unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RockResult {
    /// On top of 1 g down, in g; at most 50.
    pub least_g: f64,
    /// The direction of the force on the pump, vehicle frame.
    pub towards: Vector,
}

/// How it vibrates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShakeResult {
    /// The six natural frequencies, Hz, lowest first; 0 where nothing resists.
    pub hz: [f64; 6],
    /// Whether the lowest was tapped; else all come from usual stiffnesses.
    pub tapped: bool,
    /// R.m.s. acceleration of its middle along x, y, z on the body profile of ISO 16750-3, m/s²; none
    /// when something isn't held.
    pub rms_m_s2: Option<[f64; 3]>,
    /// The largest motion of a corner of the pump, three times r.m.s., mm.
    pub motion_mm: Option<f64>,
}

/// Details of the hold headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct HoldDetails {
    /// What to buy for the fixings chosen.
    pub shopping: Vec<Item>,
    /// The load cases, in order.
    pub cases: Vec<CaseResult>,
    /// A crash-type case, for information only: it's not a certification, and nothing is judged by it.
    pub crash: Vec<CaseResult>,
    /// The smallest acceleration that moves it.
    pub rock: Option<RockResult>,
    /// How it vibrates.
    pub shake: Option<ShakeResult>,
    /// What to mind.
    pub cautions: Vec<Caution>,
    /// The tie that would lift the load factor most; none when no single one lifts it.
    pub one_more_tie: Option<Offer>,
    /// Two or three ties that lift it only together, where no single one does; the last has the factor of
    /// all.
    pub more_ties: Vec<Offer>,
    /// Fixings that would hold it here from nothing; what lifts nothing, even together, is left out.
    pub proposed: Vec<Offer>,
    /// Air under the pump that packing would make a rest of, the thinnest first.
    pub packings: Vec<Packing>,
    /// What to do where fixings in reach don't help.
    pub advice: Option<String>,
    /// What each block of foam that holds it is counted on.
    pub pressed: Vec<Pressed>,
    /// Rooms that a foam block would fill.
    pub foam: Vec<FoamOffer>,
    /// How far the pump would have to move for its holes to fall on bolts.
    pub pattern: Option<PatternMatch>,
    /// The adapter plate that would carry it where its holes fall on none.
    pub plate: Option<Plate>,
}

/// The words that go with every figure of a crash.
pub const NOT_CERTIFIED: &str = "for information only, not a certification";

impl HoldDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        let mut notes = Vec::new();
        let mut note = |title: &str, text: String| {
            if !text.is_empty() {
                notes.push(Note { title: title.to_string(), text });
            }
        };
        note("to buy", items(&self.shopping));
        for case in &self.cases {
            note(&case.case, answer(case));
        }
        for case in &self.crash {
            note(&format!("crash, {}", case.case), format!("{NOT_CERTIFIED}: {}", answer(case)));
        }
        if let Some(rock) = &self.rock {
            // Rounded here, so that no figure reads as less than nothing by nothing.
            let way = rock.towards.map(|part| (part * 100.0).round() / 100.0 + 0.0);
            let text = if rock.least_g < NO_FACTOR {
                "rest already, or by the least push: nothing holds it some way".to_string()
            } else {
                format!(
                    "{:.2} g on top of its weight, towards ({:.2}, {:.2}, {:.2})",
                    rock.least_g, way.x, way.y, way.z
                )
            };
            note("begins to move at", text);
        }
        if let Some(shake) = &self.shake {
            let hz: Vec<String> = shake.hz.iter().map(|hz| format!("{hz:.0}")).collect();
            let from = if shake.tapped { "the lowest tapped" } else { "usual stiffnesses" };
            let motion = shake.motion_mm.map_or_else(
                || "something isn't held".to_string(),
                |mm| format!("corners move by up to ±{mm:.1} mm (3 sigma)"),
            );
            note("rings at", format!("{} Hz ({from}); {motion}", hz.join(", ")));
        }
        for caution in &self.cautions {
            note(&format!("mind, {}", caution.kind), caution.text.clone());
        }
        if let Some(offer) = &self.one_more_tie {
            note(
                "one more tie",
                format!("{} would lift the load factor to {:.2}", words(offer), offer.factor),
            );
        }
        if let Some(last) = self.more_ties.last() {
            let all: Vec<String> = self.more_ties.iter().map(words).collect();
            let text = format!(
                "{}: only together would they lift the load factor, to {:.2}",
                all.join("; and "),
                last.factor
            );
            note("more ties", text);
        }
        for (index, (offers, factor)) in steps(&self.proposed).iter().enumerate() {
            let enough = if *factor < 1.0 { ", not enough yet" } else { "" };
            let title = format!("from nothing, {}", index + 1);
            let all: Vec<String> = offers.iter().map(words).collect();
            let text = format!("{}: then {factor:.2} × the worst case{enough}", all.join("; and "));
            note(&title, text);
        }
        for packing in &self.packings {
            note(
                "packing",
                format!(
                    "{:.1} mm between {} and {} would make a rest of it",
                    packing.air_mm, packing.part, packing.body
                ),
            );
        }
        if let Some(advice) = &self.advice {
            note("to hold it", advice.clone());
        }
        for pressed in &self.pressed {
            note("foam, pressed", pressed.words());
        }
        for foam in &self.foam {
            note(
                "foam",
                format!("{:.0} mm between {} and {}", foam.room_mm, foam.mount, foam.body),
            );
        }
        if let Some(pattern) = &self.pattern {
            note(
                "holes on bolts",
                format!(
                    "{} holes would fall on bolts with the pump moved by ({:.0}, {:.0}, {:.0}) mm and \
turned by {:.1}°, to within {:.1} mm",
                    pattern.pairs.len(),
                    pattern.shift.x,
                    pattern.shift.y,
                    pattern.shift.z,
                    pattern.turn_deg,
                    pattern.miss_mm
                ),
            );
        }
        if let Some(plate) = &self.plate {
            note("adapter plate", plate_words(plate));
        }
        notes
    }
}

/// Offers in steps that each lift the factor: those that lift it only with the ones after them go together.
fn steps(offers: &[Offer]) -> Vec<(&[Offer], f64)> {
    let (mut found, mut first, mut known): (Vec<(&[Offer], f64)>, usize, f64) =
        (Vec::new(), 0, 0.0);
    for (index, offer) in offers.iter().enumerate() {
        if offer.factor > known + LIFT {
            found.push((&offers[first..=index], offer.factor));
            (first, known) = (index + 1, offer.factor);
        }
    }
    found
}

fn items(items: &[Item]) -> String {
    let words: Vec<String> =
        items.iter().map(|item| format!("{} × {}", item.count, item.what)).collect();
    words.join("; ")
}

fn words(offer: &Offer) -> String {
    format!(
        "{}{} from {} to {} ({})",
        offer.fixing.kind.words(),
        if offer.fixing.nut { ", under a nut," } else { "" },
        offer.fixing.mount,
        offer.fixing.anchor,
        items(&offer.items)
    )
}

fn answer(case: &CaseResult) -> String {
    if case.any_multiple {
        return "any multiple: it only presses the pump to what it rests on".to_string();
    }
    let governing = match case.governing.as_slice() {
        [] => String::new(),
        [first, ..] => format!("; {first} gives out first"),
    };
    let taken: Vec<String> = case
        .reactions
        .iter()
        .filter(|reaction| reaction.force_n.norm() >= 0.5)
        .map(|reaction| {
            let share =
                reaction.share.map_or(String::new(), |share| format!(", {:.0} %", 100.0 * share));
            format!("{} {:.0} N{share}", reaction.what, reaction.force_n.norm())
        })
        .collect();
    let taken = if taken.is_empty() { String::new() } else { format!("; {}", taken.join(", ")) };
    if case.factor < NO_FACTOR {
        return if case.moves.is_empty() {
            "isn't held".to_string()
        } else {
            format!("isn't held: {}", case.moves)
        };
    }
    let moves =
        if case.moves.is_empty() { String::new() } else { format!("; beyond that {}", case.moves) };
    format!("{:.2} ×{governing}{moves}{taken}", case.factor)
}

fn plate_words(plate: &Plate) -> String {
    let size = |axis: fn(&(f64, f64)) -> f64| {
        let all = plate.outline.iter().map(axis);
        all.clone().fold(f64::NEG_INFINITY, f64::max) - all.fold(f64::INFINITY, f64::min)
    };
    let clashes = if plate.clashes.is_empty() {
        String::new()
    } else {
        format!("; but {}", plate.clashes.join("; "))
    };
    format!(
        "{:.0} × {:.0} mm of {} mm steel with {} holes, feet on {:.0} mm spacers{clashes}",
        size(|at| at.0),
        size(|at| at.1),
        plate.thickness_mm,
        plate.holes.len(),
        plate.spacer_mm
    )
}
