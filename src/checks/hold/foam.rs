//! What a block of foam between the pump and a face is counted on.

use serde::Serialize;

use super::holding::Holding;
use super::rests::AGAINST;
use crate::checks::Boot;
use crate::model::{Point, Vector};

/// What a wedge's foam is counted on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pressed {
    /// The pump's mount that it presses on.
    pub mount: String,
    /// The face that it stands against.
    pub anchor: String,
    /// How much thinner it is stated to be pressed, mm; none where nothing is stated.
    pub squeeze_mm: Option<f64>,
    /// Its push at that, N, which alone has friction; 0 where nothing is stated.
    pub push_n: f64,
}

impl Pressed {
    /// In one sentence.
    pub(super) fn words(&self) -> String {
        let Pressed { mount, anchor, squeeze_mm, push_n } = self;
        match squeeze_mm {
            Some(squeeze_mm) => format!(
                "foam from {mount} to {anchor}, pressed {squeeze_mm:.1} mm thinner, pushes with {push_n:.0} N: \
friction counts on no more than that"
            ),
            None => format!(
                "foam from {mount} to {anchor}: how much thinner it is pressed isn't stated, so it counts by \
its push alone, without friction"
            ),
        }
    }
}

/// Push of a wedge's foam at the squeeze that is stated, N; 0 when none is: stiffness times how much thinner
/// it is pressed.
pub(super) fn squeeze_n(boot: &Boot, squeeze_mm: Option<f64>) -> f64 {
    squeeze_mm.unwrap_or(0.0) * boot.layout().limits.wedge_n_mm
}

/// What a block of foam can do: with friction up to its squeeze, without it beyond, N.
///
/// Both together are a push of at most `most_n` with a friction of at most `friction` times the smaller of the
/// push and the squeeze.
pub(super) fn foam(
    at: &Point,
    along: &Vector,
    friction: f64,
    squeeze_n: f64,
    most_n: f64,
) -> Vec<Holding> {
    let squeeze_n = squeeze_n.min(most_n);
    let part = |friction: f64, working_n: f64| {
        let (at, along) = (*at, *along);
        (working_n > 1e-9).then_some(Holding::Wedge { at, along, friction, working_n })
    };
    [part(friction, squeeze_n), part(0.0, most_n - squeeze_n)].into_iter().flatten().collect()
}

/// For each holding, whether it is foam beyond its squeeze that presses the pump onto a rest.
///
/// Only the load presses it so far, which may be a load that lifts off the rest: the friction that the rest
/// would have of it isn't there.
pub(super) fn jams<'a>(holdings: impl Iterator<Item = &'a Holding> + Clone) -> Vec<bool> {
    let rests: Vec<Vector> = holdings
        .clone()
        .filter_map(|holding| match holding {
            Holding::Push { along, friction, .. } if *friction > 0.0 => Some(*along),
            _ => None,
        })
        .collect();
    let jams = |holding: &Holding| match holding {
        Holding::Wedge { along, friction, .. } if *friction <= 0.0 => {
            rests.iter().any(|rest| rest.dot(along) < AGAINST)
        }
        _ => false,
    };
    holdings.map(jams).collect()
}
