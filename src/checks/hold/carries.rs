//! Whether what holds the pump carries its loads, and what gives out first.

use super::balance::{Carried, Held, Load};
use super::details::{CaseResult, Reaction};
use super::holding::Holding;
use super::load::{Case, MOST, cases};
use super::{Hold, Mounting, Packing};
use crate::checks::{Check, Reading};
use crate::model::Vector;

/// The smallest load factor over the load cases.
pub(super) fn check(hold: &Hold) -> Check {
    let reading = Reading {
        id: "load",
        subject: "fixings".to_string(),
        unit: "×",
        limit: 1.0,
        comfort: 2.0,
        tolerance: 0.1,
    };
    let at = Some(hold.centre);
    if let Some(off_mm) = hold.centre_off_mm() {
        let why = format!(
            "the centre of gravity lies {off_mm:.0} mm outside the pump: balance it again on a rod"
        );
        return reading.unknown(why, at);
    }
    let worst = match worst(&mut hold.mounting(), &cases(hold.boot, &hold.pose)) {
        Ok(worst) => worst,
        Err(why) => return reading.unknown(why, at),
    };
    let (factor, case) = (worst.factor, &worst.case);
    let (fixings, rests) = (hold.usable().count(), hold.rests.len());
    let packing = hold.packings.first().filter(|_| factor < 1.0).map_or(String::new(), packed);
    if fixings + rests == 0 {
        let why =
            format!("nothing holds it: no fixing is usable, and it rests on nothing{packing}");
        return reading.judge(factor, why, at);
    }
    let unpressed = hold.pressed().into_iter().find(|it| factor < 1.0 && it.squeeze_mm.is_none());
    let unpressed = unpressed.map_or(String::new(), |it| format!("; {}", it.words()));
    let packing = format!("{packing}{unpressed}");
    let with = format!(
        "{} and {}",
        counted(fixings, "fixing", "fixings"),
        counted(rests, "point it rests on", "points it rests on")
    );
    let words = hold.words();
    let first = worst.governing.and_then(|index| words.get(index));
    let first = first.map_or(String::new(), |first| format!("; {first} gives out first"));
    let why = if factor < NO_FACTOR {
        let moves = worst.moves.map_or(String::new(), |way| format!(": {way}"));
        format!("{with} don't hold it in {case}{moves}{packing}")
    } else if factor < 1.0 {
        format!("{with} carry only {factor:.2} of {case}{first}{packing}")
    } else {
        format!("{with} carry {factor:.1} times {case}, the worst case{first}")
    };
    reading.judge(factor, why, at)
}

/// A factor below this reads as none in two figures.
pub(super) const NO_FACTOR: f64 = 0.005;

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn packed(packing: &Packing) -> String {
    let Packing { part, body, air_mm, .. } = packing;
    format!(
        "; there are {air_mm:.1} mm of air between its {part} and {body}: packed as thick it would rest there"
    )
}

/// The case with the smallest factor.
struct Worst {
    /// At most 50.
    factor: f64,
    case: String,
    /// The holding that gives out first in it.
    governing: Option<usize>,
    /// How it begins to move, in words.
    moves: Option<&'static str>,
}

fn worst(mounting: &mut Mounting, cases: &[Case]) -> Result<Worst, String> {
    let mut worst: Option<Worst> = None;
    for case in cases {
        let carried = mounting
            .carries(&Load::default(), &case.load)
            .map_err(|_| format!("the balance of forces could not be solved for {}", case.words))?;
        let factor = factor(carried.held);
        if worst.as_ref().is_none_or(|worst| factor < worst.factor) {
            worst = Some(Worst {
                factor,
                case: case.words.clone(),
                governing: carried.governing.first().copied(),
                moves: motion(mounting, case, &carried),
            });
        }
    }
    worst.ok_or_else(|| "no load case".to_string())
}

fn factor(held: Held) -> f64 {
    match held {
        Held::Nothing => 0.0,
        Held::Factor(factor) => factor.min(MOST),
        Held::AnyMultiple => MOST,
    }
}

/// Each case with its reactions; what can't be solved is left out.
pub(super) fn results(hold: &Hold, cases: &[Case]) -> Vec<CaseResult> {
    if hold.centre_off_mm().is_some() {
        return Vec::new();
    }
    let words = hold.words();
    let mut mounting = hold.mounting();
    let mut result = |case: &Case| {
        let carried = mounting.carries(&Load::default(), &case.load).ok()?;
        let found = mounting.reactions(&case.load).ok()?;
        let reactions = words
            .iter()
            .zip(mounting.holdings())
            .zip(&found.forces_n)
            .map(|((what, holding), force_n)| Reaction {
                what: what.clone(),
                at: holding.at(),
                force_n: *force_n,
                share: holding.share(force_n),
            })
            .collect();
        let governing = carried.governing.iter().filter_map(|index| words.get(*index).cloned());
        let any_multiple = carried.held == Held::AnyMultiple;
        Some(CaseResult {
            case: case.words.clone(),
            factor: factor(carried.held),
            any_multiple,
            governing: governing.collect(),
            moves: motion(&mounting, case, &carried).unwrap_or_default().to_string(),
            reactions,
            residual_n: found.residual_n,
        })
    };
    cases.iter().filter_map(&mut result).collect()
}

/// How the pump begins to move beyond what is held, in words; none when it doesn't.
///
/// Where nothing at all is held there are many ways to move, and the solver's is any of them: a plain shift
/// along an axis is told where it is one.
fn motion(mounting: &Mounting, case: &Case, carried: &Carried) -> Option<&'static str> {
    if carried.held == Held::AnyMultiple {
        return None;
    }
    let shift = (factor(carried.held) < NO_FACTOR).then(|| shifts(mounting, case)).flatten();
    match shift {
        Some(shift) => way_of(&(shift, Vector::zeros())),
        None => way_of(&carried.moves),
    }
}

/// The axis along which a load shifts the pump with nothing to hold it; none where every axis is held.
///
/// Where it slides on rests it lifts by as much as friction is, as a wedge would: then no force that they
/// can exert does work against it (Farkas' lemma).
fn shifts(mounting: &Mounting, case: &Case) -> Option<Vector> {
    let mut axes: Vec<Vector> = (0..3)
        .map(|axis| {
            let mut along = Vector::zeros();
            along[axis] = 1.0_f64.copysign(case.load.force_n[axis]);
            along
        })
        .collect();
    axes.sort_by(|a, b| b.dot(&case.load.force_n).total_cmp(&a.dot(&case.load.force_n)));
    axes.into_iter().find(|along| {
        let mut moves = *along;
        let mut met: Vec<Vector> = Vec::new();
        for holding in mounting.holdings() {
            if let Holding::Push { along: push, friction, .. }
            | Holding::Wedge { along: push, friction, .. } = holding
                && push.dot(along).abs() < 0.5
                && !met.iter().any(|known| known.dot(push) > 0.99)
            {
                met.push(*push);
                moves += push * *friction;
            }
        }
        let motion = [moves.x, moves.y, moves.z, 0.0, 0.0, 0.0];
        let gains = case.load.force_n.dot(&moves) > 1e-9;
        gains && (0..mounting.holdings().len()).all(|index| mounting.lets(index, &motion))
    })
}

/// A motion in words: what prevails of it; none when nothing moves.
fn way_of((shift, turn): &(Vector, Vector)) -> Option<&'static str> {
    let axis = |way: &Vector| way.iamax();
    if shift.norm() < 1e-9 && turn.norm() < 1e-9 {
        return None;
    }
    // A box that tips over an edge moves its middle about twice as far as 100 mm of its turn.
    Some(if turn.norm() > 0.3 * shift.norm() {
        ["it rolls over sideways", "it tips along the car", "it turns about the upright"]
            [axis(turn)]
    } else {
        let most = axis(shift);
        match (most, shift[most] > 0.0) {
            (0, true) => "it moves forward",
            (0, false) => "it moves rearward",
            (1, true) => "it moves to the left",
            (1, false) => "it moves to the right",
            (_, true) => "it lifts",
            (_, false) => "it sinks",
        }
    })
}
