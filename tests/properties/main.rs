//! What must hold whatever the input: random inputs, fixed seeds of the runner's own choosing kept in
//! no file, few cases, so that the whole takes seconds.

mod cards;
mod curves;
mod files;
mod gaps;
mod given_up;
mod holding;
mod liquids;
mod rigid;
mod sights;
#[path = "../published/small_boot.rs"]
mod small_boot;
mod travels;
mod water;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, RngSeed};

use dryberth::model::{Place, Point, Pose, Vector};

/// The same cases on every run.
pub(crate) fn cases(count: u32) -> Config {
    Config {
        cases: count,
        failure_persistence: None,
        rng_algorithm: RngAlgorithm::ChaCha,
        rng_seed: RngSeed::Fixed(20_240_617),
        ..Config::default()
    }
}

pub(crate) fn point(reach: f64) -> impl Strategy<Value = Point> {
    [-reach..reach, -reach..reach, -reach..reach].prop_map(Point::from)
}

/// Unit vectors.
pub(crate) fn way() -> impl Strategy<Value = Vector> {
    [-1.0..1.0, -1.0..1.0, -1.0..1.0_f64]
        .prop_map(Vector::from)
        .prop_filter("too short", |way| way.norm() > 0.1)
        .prop_map(|way| way.normalize())
}

pub(crate) fn place(reach: f64) -> impl Strategy<Value = Place> {
    (point(reach), (-180.0..180.0, -80.0..80.0, -180.0..180.0))
        .prop_map(|(at, turn_deg)| Place { at, turn_deg })
}

pub(crate) fn pose(reach: f64) -> impl Strategy<Value = Pose> {
    place(reach).prop_map(|place| place.pose())
}
