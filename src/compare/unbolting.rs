//! What has to be unbolted for a spot, and where it goes.

use serde::Serialize;

use crate::checks::{Boot, Meshes, PrepareError, Verdict, evaluate};
use crate::model::{Layout, Place, Pump, Spot, rule_holds};

/// One thing that has to come out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unbolted {
    /// The body's name.
    pub body: String,
    /// How it comes out.
    pub how: String,
    /// Where it goes.
    pub refit: String,
}

/// What makes a failing spot usable.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unbolting {
    /// What has to come out, in the layout's order; leaving any one in, the spot fails again.
    pub bodies: Vec<Unbolted>,
    /// What the spot then comes to.
    pub verdict: Verdict,
    /// Its score then.
    pub score: Option<f64>,
}

/// For a spot that fails on a car with the options `fitted`: the things that, unbolted and fitted
/// elsewhere as the layout's `handover.unbolt` says, make it pass or tight; none when the spot doesn't
/// fail, or when unbolting doesn't help.
///
/// All are taken out first; then each that the spot can do with goes back in, the last listed first.
/// So none that is named can be left in by itself, though another set may be smaller. Where a thing
/// goes counts too: it may stand in the way there. Cost: one [`Boot::prepare`] for each thing.
///
/// # Errors
/// When a shape can't be made ready.
pub fn what_to_unbolt(
    layout: &Layout,
    pump: &Pump,
    meshes: &Meshes,
    fitted: &[String],
    spot: &Spot,
) -> Result<Option<Unbolting>, PrepareError> {
    let here = |name: &str| {
        let body = layout.bodies.iter().find(|body| body.name == name);
        body.is_some_and(|body| rule_holds(&body.option, &layout.options, fitted))
    };
    let all = layout.handover.unbolt.iter().enumerate();
    let candidates: Vec<usize> =
        all.filter(|(_, unbolt)| here(&unbolt.body)).map(|(index, _)| index).collect();
    if candidates.is_empty() {
        return Ok(None);
    }
    let card = |out: &[usize]| {
        Boot::prepare(without(layout, out), pump.clone(), meshes, fitted)
            .map(|boot| evaluate(&boot, spot))
    };
    let serves = |verdict: Verdict| matches!(verdict, Verdict::Pass | Verdict::Tight);
    if card(&[])?.verdict != Verdict::Fail {
        return Ok(None);
    }
    let mut out = candidates.clone();
    let mut best = card(&out)?;
    if !serves(best.verdict) {
        return Ok(None);
    }
    for index in candidates.iter().rev() {
        let fewer: Vec<usize> = out.iter().copied().filter(|other| other != index).collect();
        let found = card(&fewer)?;
        if serves(found.verdict) {
            (out, best) = (fewer, found);
        }
    }
    let bodies = out
        .iter()
        .map(|&index| {
            let unbolt = &layout.handover.unbolt[index];
            Unbolted {
                body: unbolt.body.clone(),
                how: unbolt.how.clone(),
                refit: unbolt.refit_words.clone(),
            }
        })
        .collect();
    Ok(Some(Unbolting { bodies, verdict: best.verdict, score: best.score }))
}

/// The layout with the things of these places in `handover.unbolt` fitted where they go.
fn without(layout: &Layout, out: &[usize]) -> Layout {
    let mut layout = layout.clone();
    for &index in out {
        let unbolt = layout.handover.unbolt[index].clone();
        match unbolt.refit {
            None => layout.bodies.retain(|body| body.name != unbolt.body),
            Some(refit) => {
                for body in layout.bodies.iter_mut().filter(|body| body.name == unbolt.body) {
                    body.place = Place::from_pose(&(refit.pose() * body.place.pose()));
                }
            }
        }
    }
    layout
}
