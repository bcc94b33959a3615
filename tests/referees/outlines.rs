//! Offset outlines against shapely (see outlines.py): 100 random ones, sharp and hollow ones included.

use dryberth::geometry::Outline;
use serde::Deserialize;

#[derive(Deserialize)]
struct Data {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    outline: Vec<(f64, f64)>,
    by_mm: f64,
    rings: Vec<Vec<(f64, f64)>>,
}

/// The largest distance of the points from the sides of a ring.
fn farthest(points: &[(f64, f64)], ring: &[(f64, f64)]) -> f64 {
    let to_side = |p: (f64, f64), a: (f64, f64), b: (f64, f64)| {
        let (x, y) = (b.0 - a.0, b.1 - a.1);
        let share =
            (((p.0 - a.0) * x + (p.1 - a.1) * y) / (x * x + y * y).max(1e-300)).clamp(0.0, 1.0);
        (p.0 - a.0 - x * share).hypot(p.1 - a.1 - y * share)
    };
    points
        .iter()
        .map(|&point| {
            (0..ring.len())
                .map(|i| to_side(point, ring[i], ring[(i + 1) % ring.len()]))
                .fold(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

#[test]
fn offsets_equal_shapelys_to_0_05_mm() {
    let data: Data = serde_json::from_str(include_str!("data/outlines.json")).expect("data");
    assert_eq!(data.cases.len(), 100);
    let mut worst: f64 = 0.0;
    for (index, case) in data.cases.iter().enumerate() {
        let outline = Outline::through(&case.outline).expect("a sound outline");
        let mut found = outline.offset(case.by_mm);
        found.retain(|piece| piece.area_mm2() > 1.0);
        assert_eq!(found.len(), case.rings.len(), "case {index}, by {}", case.by_mm);
        for (piece, ring) in found.iter().zip(&case.rings) {
            let points = piece.points(0.002);
            let off = farthest(&points, ring).max(farthest(ring, &points));
            assert!(off < 0.05, "case {index}, by {}: {off} mm off", case.by_mm);
            worst = worst.max(off);
        }
    }
    // Both sides are chords of arcs, so they can't agree to the last digit.
    assert!(worst > 0.0);
}
