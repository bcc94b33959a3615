//! Centrelines.

use dryberth::checks::reach::{Curve, End, arc_straight_arc, rounded, unobstructed};
use dryberth::model::{Point, Vector};
use proptest::prelude::*;

use crate::{cases, point, pose, way};

fn end(reach: f64) -> impl Strategy<Value = End> {
    (point(reach), way()).prop_map(|(at, towards)| End { at, towards })
}

/// Whether a curve begins and ends as it should, is no longer than it says, no shorter than the
/// straight, and nowhere bends tighter than `radius`.
fn sound(curve: &Curve, from: &End, to: &End, radius: f64) -> Result<(), TestCaseError> {
    let (first, last) = (curve.points[0], curve.points[curve.points.len() - 1]);
    prop_assert!((first - from.at).norm() < 1e-6 && (last - to.at).norm() < 1e-6);
    prop_assert!(curve.length_mm >= (to.at - from.at).norm() - 1e-6);
    let mut points: Vec<Point> = Vec::new();
    for point in &curve.points {
        if points.last().is_none_or(|last| (point - last).norm() > 1e-2) {
            points.push(*point);
        }
    }
    let steps: Vec<Vector> = points.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let drawn: f64 = steps.iter().map(Vector::norm).sum();
    prop_assert!(
        drawn <= curve.length_mm + 1e-2 && drawn >= curve.length_mm * 0.99 - 0.1,
        "{} drawn of {}",
        drawn,
        curve.length_mm
    );
    // On a curve of curvature at most 1 / R a chord c turns from the tangent by at most asin(c / 2R)
    // (Schur), so neighbouring chords turn by at most the sum of theirs. No mention of arcs.
    let half = |chord: f64| (chord / (2.0 * radius)).min(1.0).asin();
    for pair in steps.windows(2) {
        let angle = pair[0].angle(&pair[1]);
        let most = half(pair[0].norm()) + half(pair[1].norm());
        prop_assert!(
            angle <= most + 1e-4,
            "turns {} between chords of {} and {}, at most {}",
            angle,
            pair[0].norm(),
            pair[1].norm(),
            most
        );
    }
    if let (Some(first), Some(last)) = (steps.first(), steps.last()) {
        prop_assert!(first.angle(&from.towards) <= half(first.norm()) + 1e-4);
        prop_assert!(last.angle(&to.towards) <= half(last.norm()) + 1e-4);
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn free_ways_bend_no_tighter_than_they_may((from, to) in (end(300.0), end(300.0)), radius in 15.0..120.0_f64) {
        for curve in [arc_straight_arc(&from, &to, radius), unobstructed(&from, &to, radius)].into_iter().flatten() {
            sound(&curve, &from, &to, radius)?;
        }
    }

    #[test]
    fn ways_past_points_bend_no_tighter_than_they_may(
        (from, to) in (end(400.0), end(400.0)), vias in proptest::collection::vec(point(300.0), 1..4), radius in 10.0..60.0_f64,
    ) {
        if let Some(curve) = rounded(&from, &vias, &to, radius) {
            sound(&curve, &from, &to, radius)?;
        }
    }

    #[test]
    fn walked_back_it_is_as_long((from, to) in (end(300.0), end(300.0)), radius in 15.0..60.0_f64) {
        let far = (to.at - from.at).norm() > 4.0 * radius;
        let back = |end: &End| End { at: end.at, towards: -end.towards };
        let there = arc_straight_arc(&from, &to, radius);
        let again = arc_straight_arc(&back(&to), &back(&from), radius);
        if let (true, Some(there), Some(again)) = (far, there, again) {
            prop_assert!((there.length_mm - again.length_mm).abs() < 1e-5, "{} and {}", there.length_mm, again.length_mm);
        }
    }

    #[test]
    fn a_motion_changes_no_length((from, to) in (end(300.0), end(300.0)), radius in 15.0..60.0_f64, by in pose(900.0)) {
        let moved = |end: &End| End { at: by * end.at, towards: by * end.towards };
        let here = arc_straight_arc(&from, &to, radius);
        let there = arc_straight_arc(&moved(&from), &moved(&to), radius);
        prop_assert_eq!(here.is_some(), there.is_some());
        if let (Some(here), Some(there)) = (here, there) {
            prop_assert!((here.length_mm - there.length_mm).abs() < 1e-5, "{} and {}", here.length_mm, there.length_mm);
        }
    }

    #[test]
    fn far_ends_always_have_a_way((from, to) in (end(100.0), end(100.0)), radius in 15.0..60.0_f64, apart in way()) {
        let to = End { at: from.at + apart * (4.5 * radius) + (to.at - to.at), ..to };
        let curve = arc_straight_arc(&from, &to, radius);
        prop_assert!(curve.is_some());
        // Two full turns and the chord are always enough.
        let most = 4.5 * radius + 4.0 * std::f64::consts::PI * radius;
        prop_assert!(curve.is_some_and(|curve| curve.length_mm <= most));
    }

    #[test]
    fn a_larger_radius_is_never_shorter((from, to) in (end(100.0), end(100.0)), radius in 15.0..60.0_f64, share in 0.2..0.95_f64, apart in way()) {
        let to = End { at: from.at + apart * (6.0 * radius), ..to };
        let wide = arc_straight_arc(&from, &to, radius).expect("far apart");
        let tight = arc_straight_arc(&from, &to, radius * share).expect("far apart");
        prop_assert!(tight.length_mm <= wide.length_mm + 1e-5, "{} with {}, {} with {}", tight.length_mm, radius * share, wide.length_mm, radius);
    }
}
