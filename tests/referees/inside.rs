//! Inside or not, against trimesh (`inside.py`).

use dryberth::model::{Axis, Place, Point, Shape};
use serde::Deserialize;

use crate::shapes::{hull, mesh, ring, solid};

#[derive(Deserialize)]
struct Data {
    points: Vec<[f64; 4]>,
}

#[test]
fn signed_distance_to_a_hollow_sided_mesh() {
    let data: Data = serde_json::from_str(include_str!("data/inside.json")).expect("sound data");
    let ring = mesh(ring());
    assert!(!ring.open());
    let inside = data.points.iter().filter(|[.., distance]| *distance < 0.0).count();
    assert!(inside > 50 && inside < data.points.len() - 50, "{inside} inside");
    for [x, y, z, expected] in data.points {
        let found = ring.distance_to_point_mm(&Point::new(x, y, z));
        assert!((found - expected).abs() < 1e-6, "({x}, {y}, {z}): {found}, expected {expected}");
    }
}

#[derive(Deserialize)]
struct Hulls {
    hull: Vec<[f64; 3]>,
    rock: Vec<[f64; 3]>,
}

#[test]
fn a_point_on_an_edge_lies_on_the_skin() {
    // Closed form: 0, within a nanometre of rounding to either side, wherever the hull stands.
    let data: Hulls = serde_json::from_str(include_str!("data/gaps.json")).expect("sound data");
    let floor = Shape::Prism {
        along: Axis::Z,
        outline: vec![(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (120.0, 300.0), (0.0, 200.0)],
        from_mm: -8.0,
        to_mm: -6.0,
    };
    let places = [
        Place::default(),
        Place { at: Point::new(10.0, 33.0, 7.1), turn_deg: (0.0, 0.0, 31.0) },
        Place { at: Point::new(-110.43, 153.337, 78.369), turn_deg: (98.912, -160.13, 126.691) },
    ];
    for (name, shape) in
        [("hull", hull(&data.hull)), ("rock", hull(&data.rock)), ("floor", solid(&floor))]
    {
        for place in &places {
            let here = shape.moved(&place.pose());
            for [a, b, c] in here.triangles().each() {
                let out = (b - a).cross(&(c - a)).normalize();
                for (share, off) in (0..=20).flat_map(|step| {
                    [0.0, 1e-12, -1e-12, 1e-9].map(|off| (f64::from(step) / 20.0, off))
                }) {
                    let point = a + (b - a) * share + out * off;
                    let found = here.distance_to_point_mm(&point);
                    assert!(found.abs() < 1e-6, "{name} at {place:?}, {point}: {found} mm off");
                }
            }
        }
    }
}
