//! Natural frequencies, against scipy's generalised eigenproblem (`modes.py`).

use dryberth::checks::hold::{Shake, Spring};
use dryberth::model::{Point, Vector};
use nalgebra::Matrix3;
use serde::Deserialize;

/// At, along, stiffness along, stiffness across.
type Given = ([f64; 3], [f64; 3], f64, f64);

#[derive(Deserialize)]
struct Data {
    cases: Vec<(Vec<Given>, [f64; 3], f64, [[f64; 3]; 3], [f64; 6])>,
}

#[test]
fn a_hundred_mounts_ring_alike() {
    let data: Data = serde_json::from_str(include_str!("data/modes.json")).expect("sound data");
    assert_eq!(data.cases.len(), 100);
    let mut free = 0;
    for (index, (given, centre, mass_kg, inertia, expected)) in data.cases.iter().enumerate() {
        let springs: Vec<Spring> = given
            .iter()
            .map(|(at, along, along_n_mm, across_n_mm)| Spring {
                at: Point::from(*at),
                along: Vector::from(*along).normalize(),
                along_n_mm: *along_n_mm,
                across_n_mm: *across_n_mm,
            })
            .collect();
        let matrix = Matrix3::from(*inertia);
        let shake = Shake::of(&springs, &Point::from(*centre), *mass_kg, &matrix, 10.0);
        let shake = shake.expect("a sound body");
        free += usize::from(expected[0] < 1e-3);
        for (mode, expected) in shake.modes.iter().zip(expected) {
            // Where nothing resists, either may round to some 1e-6 of the highest.
            let close = 1e-9 * expected_highest(&shake) + 1e-9 * expected;
            let both_free = mode.hz < 1e-3 && *expected < 1e-3;
            assert!(
                both_free || (mode.hz - expected).abs() <= close.max(1e-7 * expected),
                "case {index}: {} Hz, expected {expected}",
                mode.hz
            );
        }
        // Shapes: mass 1 kg each, and orthogonal by mass.
        for (i, a) in shake.modes.iter().enumerate() {
            for (j, b) in shake.modes.iter().enumerate() {
                let product =
                    mass_kg * a.shape.0.dot(&b.shape.0) + a.shape.1.dot(&(matrix * b.shape.1));
                let wanted = f64::from(u8::from(i == j));
                assert!((product - wanted).abs() < 1e-9, "case {index}: {i} {j} {product}");
            }
        }
    }
    assert!(free >= 2, "mounts that hold not every way: {free}");
}

fn expected_highest(shake: &Shake) -> f64 {
    shake.modes[5].hz
}
