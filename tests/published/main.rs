//! Numbers from standards, handbooks and worked examples, and closed forms of the same questions.
//!
//! Beside each: source, status, unit, tolerance. Status: READ, seen in the source; READ-2nd, seen in
//! a page that quotes it; from memory, not seen; CALC, worked out from the inputs given. A source
//! that prints something wrong is tested against, not followed.

mod axes;
mod bends;
mod cables;
mod liquids;
mod loads;
mod paths;
mod shakes;
mod shapes;
mod small_boot;
mod ties;
mod tolerances;
mod water;

/// Fails unless `found` lies within `close` of `expected`.
#[track_caller]
pub(crate) fn near(found: f64, expected: f64, close: f64) {
    assert!((found - expected).abs() <= close, "{found}, expected {expected} ± {close}");
}
