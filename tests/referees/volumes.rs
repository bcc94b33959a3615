//! Volume below a plane, against manifold3d and trimesh (`volumes.py`).

use dryberth::geometry::{Triangles, clip};
use dryberth::model::{Axis, Shape, Vector};
use serde::Deserialize;

use crate::shapes::{ball, solid};

/// Largest error as a share of the whole.
const CLOSE: f64 = 1e-9;

#[derive(Deserialize)]
struct Data {
    outline: Vec<(f64, f64)>,
    from_mm: f64,
    to_mm: f64,
    cases: Vec<(String, [f64; 4], f64)>,
}

/// Surface, up, height, expected volume.
fn cases() -> Vec<(Triangles, Vector, f64, f64)> {
    let data: Data = serde_json::from_str(include_str!("data/volumes.json")).expect("sound data");
    let tank = solid(&Shape::Prism {
        along: Axis::X,
        outline: data.outline.clone(),
        from_mm: data.from_mm,
        to_mm: data.to_mm,
    });
    data.cases
        .iter()
        .map(|(name, [x, y, z, height], expected)| {
            let surface = if name == "tank" { tank.triangles().clone() } else { ball() };
            (surface, Vector::new(*x, *y, *z).normalize(), *height, *expected)
        })
        .collect()
}

#[test]
fn volume_below_200_planes() {
    let cases = cases();
    assert_eq!(cases.len(), 200);
    for (surface, up, height, expected) in cases {
        let found = clip::volume_below_mm3(&surface, &up, height);
        assert!(
            (found - expected).abs() < CLOSE * surface.volume_mm3(),
            "{up:?} {height}: {found}, expected {expected}"
        );
        // And what is above is the rest.
        let above = clip::volume_below_mm3(&surface, &-up, -height);
        assert!((found + above - surface.volume_mm3()).abs() < CLOSE * surface.volume_mm3());
    }
}

#[test]
fn height_of_a_volume_leads_back_to_the_plane() {
    for (surface, up, height, expected) in cases() {
        let whole = surface.volume_mm3();
        let found = clip::height_of_volume_mm(&surface, &up, expected).expect("it fits");
        let again = clip::volume_below_mm3(&surface, &up, found);
        assert!((again - expected).abs() <= 1.1e-9 * whole, "{up:?}: {again}, expected {expected}");
        // Where the section is at least 5 % of a mid one the height itself is sharp: volume / area.
        let area = (clip::volume_below_mm3(&surface, &up, height + 0.01)
            - clip::volume_below_mm3(&surface, &up, height - 0.01))
            / 0.02;
        let (low, high) = clip::extent_mm(&surface, &up).expect("a surface");
        if area > 0.05 * whole / (high - low) {
            assert!((found - height).abs() < 1e-5, "{up:?}: {found}, expected {height}");
        }
    }
}
