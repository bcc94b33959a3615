//! A box over, on and in rough ground in 1,000 poses, against coal and a search with proven bounds
//! (`terrain.py`).

use dryberth::geometry::gap;
use dryberth::model::Pose;
use nalgebra::{Quaternion, Translation3, UnitQuaternion};

use crate::shapes::{boxed, mesh, terrain};

/// As the check asks.
const CLOSE_MM: f64 = 0.05;

#[test]
fn every_pose_agrees() {
    let rows: Vec<[f64; 8]> =
        serde_json::from_str(include_str!("data/terrain.json")).expect("sound data");
    assert_eq!(rows.len(), 1000);
    let ground = mesh(terrain());
    assert!(!ground.open());
    let cuboid = boxed([-110.0, -60.0, -55.0], [110.0, 60.0, 55.0]);
    let mut errors = Vec::new();
    for [x, y, z, i, j, k, w, expected] in rows {
        let turn = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
        let here = cuboid.moved(&Pose::from_parts(Translation3::new(x, y, z), turn));
        let found = gap(&here, &ground, 1000.0).expect("ground below").distance_mm;
        errors.push((found - expected, expected, found));
    }
    errors.sort_by(|a, b| a.0.total_cmp(&b.0));
    let worst: Vec<_> = errors.iter().filter(|error| error.0.abs() > CLOSE_MM).collect();
    assert!(worst.is_empty(), "{} of 1000 are off: {worst:?}", worst.len());
}
