//! Whether what holds the pump carries its loads, and what gives out first.

use super::balance::{Held, Load};
use super::details::{CaseResult, NOT_CERTIFIED, Reaction};
use super::load::{Case, MOST, cases, crash_cases};
use super::{Hold, Mounting};
use crate::checks::{Check, Reading};
use crate::model::Vector;

/// The smallest load factor over the load cases, and that of a crash-type case for information.
pub(super) fn checks(hold: &Hold) -> Vec<Check> {
    let reading = Reading {
        id: "load",
        subject: "fixings".to_string(),
        unit: "×",
        limit: 1.0,
        comfort: 2.0,
        tolerance: 0.1,
    };
    // Shown, never judged: any factor passes.
    let crash = Reading {
        id: "crash",
        subject: "for information".to_string(),
        limit: 0.0,
        comfort: 0.0,
        tolerance: 0.0,
        ..reading.clone()
    };
    let at = Some(hold.centre);
    if let Some(off_mm) = hold.centre_off_mm() {
        let why = format!(
            "the centre of gravity lies {off_mm:.0} mm outside the pump: balance it again on a rod"
        );
        return vec![reading.unknown(why, at)];
    }
    let mut mounting = hold.mounting();
    let worst = match worst(&mut mounting, &cases(hold.boot, &hold.pose)) {
        Ok(worst) => worst,
        Err(why) => return vec![reading.unknown(why, at)],
    };
    let (factor, case, governing) = worst;
    let (fixings, rests) = (hold.usable().count(), hold.rests.len());
    let with = format!("{fixings} fixings and {rests} points it rests on");
    let words = hold.words();
    let first = governing
        .and_then(|index| words.get(index))
        .map_or(String::new(), |first| format!("; {first} gives out first"));
    let why = if factor < 1e-6 {
        format!("{with} don't hold it in {case}: it can swing free")
    } else if factor < 1.0 {
        format!("{with} carry only {factor:.2} of {case}{first}")
    } else {
        format!("{with} carry {factor:.1} times {case}, the worst case{first}")
    };
    let mut checks = vec![reading.judge(factor, why, at)];
    if let Ok((factor, case, _)) = self::worst(&mut mounting, &crash_cases(hold.boot.pump())) {
        let why = format!("{NOT_CERTIFIED}: {factor:.2} of {case}");
        checks.push(crash.judge(factor, why, at));
    }
    checks
}

/// The case with the smallest factor, at most 50, and the holding that gives out first in it.
fn worst(mounting: &mut Mounting, cases: &[Case]) -> Result<(f64, String, Option<usize>), String> {
    let mut worst: Option<(f64, String, Option<usize>)> = None;
    for case in cases {
        let carried = mounting
            .carries(&Load::default(), &case.load)
            .map_err(|_| format!("the balance of forces could not be solved for {}", case.words))?;
        let factor = factor(carried.held);
        if worst.as_ref().is_none_or(|(least, ..)| factor < *least) {
            worst = Some((factor, case.words.clone(), carried.governing.first().copied()));
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
            moves: if any_multiple { String::new() } else { motion(&carried.moves) },
            reactions,
            residual_n: found.residual_n,
        })
    };
    cases.iter().filter_map(&mut result).collect()
}

/// A motion in words: what prevails of it.
fn motion((shift, turn): &(Vector, Vector)) -> String {
    let axis = |way: &Vector| way.iamax();
    if shift.norm() < 1e-9 && turn.norm() < 1e-9 {
        return String::new();
    }
    // A box that tips over an edge moves its middle about twice as far as 100 mm of its turn.
    let words = if turn.norm() > 0.3 * shift.norm() {
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
    };
    format!("; beyond that {words}")
}
