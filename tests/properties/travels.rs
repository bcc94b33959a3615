//! The smallest gap to what moves, against dense sampling.

use dryberth::geometry::{Course, Solid, gap, travel_gap};
use dryberth::model::{Drive, Motion, Mover, MoverKind, Point, Pose, Shape};
use proptest::prelude::*;

use crate::{cases, point, pose, way};

/// As close as the check asks for.
const CLOSE_MM: f64 = 0.05;

/// What rounding may add, mm.
const ROUNDING_MM: f64 = 1e-6;

fn boxed(half: [f64; 3]) -> Solid {
    let shape = Shape::Box { from: Point::from(half.map(|half| -half)), to: Point::from(half) };
    Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
}

fn bar(half: f64, radius_mm: f64) -> Solid {
    let (from, to) = (Point::new(0.0, 0.0, -half), Point::new(0.0, 0.0, half));
    let shape = Shape::Cylinder { from, to, radius_mm };
    Solid::of(&shape, &Pose::identity(), |_| None).expect("a bar")
}

fn mover(name: &str, motion: Motion, driven: Option<Drive>) -> Mover {
    Mover {
        name: name.into(),
        kind: MoverKind::Roof,
        shapes: Vec::new(),
        motion,
        driven,
        option: None,
        tolerance_mm: None,
    }
}

/// A turn or a slide; and what may drive it, which may carry it.
fn course() -> impl Strategy<Value = Course> {
    let motion = || {
        (point(250.0), way(), 5.0..150.0_f64, any::<bool>()).prop_map(
            |(through, along, reach, turns)| {
                if turns {
                    Motion::Swing { through, along, from_deg: -reach / 3.0, to_deg: reach }
                } else {
                    Motion::Slide { along, from_mm: -reach, to_mm: reach * 2.0 }
                }
            },
        )
    };
    (motion(), motion(), any::<bool>(), any::<bool>(), 0.2..0.8_f64).prop_map(
        |(own, lead, driven, carried, bend)| {
            let ((from, to), (low, high)) = (lead.travel(), own.travel());
            let middle = from + (to - from) * bend;
            let table = vec![(from, low), (middle, high), (to, 0.0)];
            let drive = driven.then(|| Drive { by: "lead".into(), table, carried });
            let movers = [mover("own", own, drive), mover("lead", lead, None)];
            Course::of(&movers[0], &movers)
        },
    )
}

/// The smallest gap among many places of the travel, each low one looked at closely.
fn sampled_mm(still: &Solid, moving: &Solid, course: &Course, up_to_mm: f64) -> f64 {
    const PLACES: usize = 600;
    let (from, to) = course.range();
    let at = |travel: f64| {
        let moved = moving.moved(&course.pose(travel));
        gap(still, &moved, up_to_mm).map_or(up_to_mm, |gap| gap.distance_mm)
    };
    let step = (to - from) / PLACES as f64;
    let coarse: Vec<f64> = (0..=PLACES).map(|place| at(from + step * place as f64)).collect();
    let lowest = coarse.iter().copied().fold(f64::INFINITY, f64::min);
    let mut best = lowest;
    for (place, _) in coarse.iter().enumerate().filter(|(_, gap)| **gap < lowest + 2.0) {
        if lowest >= up_to_mm {
            break;
        }
        let near = place > 0 && coarse[place - 1] < coarse[place]
            || place < PLACES && coarse[place + 1] < coarse[place];
        if near {
            continue;
        }
        let (mut low, mut high) = (step * (place as f64 - 1.0), step * (place as f64 + 1.0));
        for _ in 0..40 {
            let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            let clamp = |travel: f64| (from + travel).clamp(from, to);
            if at(clamp(a)) < at(clamp(b)) { high = b } else { low = a }
        }
        best = best.min(at((from + f64::midpoint(low, high)).clamp(from, to)));
    }
    best
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn never_larger_than_the_sampled_minimum_and_within_five_hundredths_of_it(
        course in course(), at_still in pose(200.0), at_moving in pose(200.0),
        half in [10.0..90.0_f64, 10.0..60.0_f64, 5.0..40.0_f64],
        (arm, thick) in (40.0..150.0_f64, 4.0..30.0_f64), round in any::<bool>(),
    ) {
        let still = boxed(half).moved(&at_still);
        let moving = if round { bar(arm, thick) } else { boxed([arm, thick, thick * 2.0]) };
        let moving = moving.moved(&at_moving);
        let up_to_mm = 120.0;
        let sampled = sampled_mm(&still, &moving, &course, up_to_mm);
        let found = travel_gap(
            std::slice::from_ref(&still), std::slice::from_ref(&moving), &course, up_to_mm, CLOSE_MM,
        ).map_or(up_to_mm, |found| found.gap.distance_mm);
        prop_assert!(found <= sampled + ROUNDING_MM, "{found}, sampled {sampled}");
        prop_assert!(found >= sampled - CLOSE_MM - ROUNDING_MM, "{found}, sampled {sampled}");
    }
}
