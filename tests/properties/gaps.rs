//! Gaps between solids.

use dryberth::geometry::{Solid, Triangles, gap};
use dryberth::model::{Axis, Point, Pose, Shape, Vector};
use proptest::prelude::*;

use crate::{cases, point, pose, way};

fn ready(shape: &Shape) -> Solid {
    let cube = Triangles::cuboid(&Point::new(-60.0, -40.0, -30.0), &Point::new(60.0, 40.0, 30.0));
    Solid::of(shape, &Pose::identity(), |_| Some(cube)).expect("a sound shape")
}

/// A box, a bar, a hollow-sided prism, a hull or a mesh about the origin.
fn shape() -> impl Strategy<Value = Shape> {
    let size = 10.0..120.0_f64;
    prop_oneof![
        [size.clone(), size.clone(), size.clone()].prop_map(|half| Shape::Box {
            from: Point::from(half.map(|half| -half)),
            to: Point::from(half),
        }),
        (size.clone(), size.clone()).prop_map(|(half, radius_mm)| Shape::Cylinder {
            from: Point::new(0.0, 0.0, -half),
            to: Point::new(0.0, 0.0, half),
            radius_mm,
        }),
        (size.clone(), size).prop_map(|(a, b)| Shape::Prism {
            along: Axis::X,
            outline: vec![(-a, -b), (a, -b), (a, 0.0), (0.0, 0.0), (0.0, b), (-a, b)],
            from_mm: -40.0,
            to_mm: 40.0,
        }),
        proptest::collection::vec(way(), 8..14).prop_map(|ways| {
            let mut points: Vec<Point> = ways.iter().map(|way| Point::from(way * 80.0)).collect();
            points.extend([-30.0, 30.0].map(|z| Point::new(0.0, 0.0, z)));
            points.extend([-30.0, 30.0].map(|x| Point::new(x, 10.0, 0.0)));
            Shape::Hull { points }
        }),
        Just(Shape::Mesh { file: "cube".into() }),
    ]
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn a_common_motion_changes_nothing(
        (a, b) in (shape(), shape()), (at_a, at_b) in (pose(60.0), pose(200.0)), common in pose(2000.0),
    ) {
        let meshed = |shape: &&Shape| matches!(shape, Shape::Mesh { .. } | Shape::Prism { .. });
        let meshed = [&a, &b].iter().any(meshed);
        let round = [&a, &b].iter().any(|shape| matches!(shape, Shape::Cylinder { .. }));
        let (a, b) = (ready(&a).moved(&at_a), ready(&b).moved(&at_b));
        let here = gap(&a, &b, 300.0);
        let there = gap(&a.moved(&common), &b.moved(&common), 300.0);
        prop_assert_eq!(here.is_some(), there.is_some());
        if let (Some(here), Some(there)) = (here, there) {
            // Depth on round skins is found to 1e-3; the shortest move out of a mesh or a hollow is searched to 0.03 mm,
            // of a cylinder to half a percent of its radius, up to 120 mm here; everything else is far closer.
            let close = match here.distance_mm < 0.0 {
                true if meshed && round => 0.6,
                true if meshed => 0.03,
                true => 1e-3,
                false => 1e-5,
            };
            prop_assert!(
                (here.distance_mm - there.distance_mm).abs() < close,
                "{} and {}", here.distance_mm, there.distance_mm
            );
        }
    }

    #[test]
    fn growing_a_body_never_increases_clearance(
        half in [10.0..80.0_f64, 10.0..80.0_f64, 10.0..80.0_f64], more in [0.0..30.0_f64, 0.0..30.0_f64, 0.0..30.0_f64],
        radius in 5.0..60.0_f64, other in shape(), (at, at_other) in (pose(60.0), pose(180.0)),
    ) {
        let other = ready(&other).moved(&at_other);
        let boxed = |half: [f64; 3]| {
            ready(&Shape::Box { from: Point::from(half.map(|h| -h)), to: Point::from(half) }).moved(&at)
        };
        let bar = |radius_mm: f64, half: f64| {
            let (from, to) = (Point::new(-half, 0.0, 0.0), Point::new(half, 0.0, 0.0));
            ready(&Shape::Cylinder { from, to, radius_mm }).moved(&at)
        };
        let grown = [half[0] + more[0], half[1] + more[1], half[2] + more[2]];
        for (small, large) in
            [(boxed(half), boxed(grown)), (bar(radius, half[0]), bar(radius + more[1], grown[0]))]
        {
            let before = gap(&small, &other, 500.0).map_or(500.0, |gap| gap.distance_mm);
            let after = gap(&large, &other, 500.0).map_or(500.0, |gap| gap.distance_mm);
            // Depth against a mesh is a lower bound, so only the sign is kept there.
            if other.triangles().indices.len() == 12 && before < 0.0 {
                prop_assert!(after < 1e-3);
            } else {
                prop_assert!(after <= before + 1e-3, "{} grew to {}", before, after);
            }
        }
    }

    #[test]
    fn a_gap_grows_by_what_it_is_pulled_apart(
        (a, b) in (shape(), shape()), at in pose(300.0), pull in 0.0..100.0_f64,
    ) {
        let (a, b) = (ready(&a), ready(&b).moved(&at));
        if let Some(found) = gap(&a, &b, 400.0).filter(|found| found.distance_mm > 0.1) {
            // Straight apart along the shortest way between convex things it grows by just that;
            // between others by no more.
            let apart = (found.on_second - found.on_first).normalize() * pull;
            let pulled = b.moved(&Pose::translation(apart.x, apart.y, apart.z));
            let after = gap(&a, &pulled, 600.0).expect("near").distance_mm;
            prop_assert!(after <= found.distance_mm + pull + 1e-5);
            prop_assert!(after >= found.distance_mm - pull - 1e-5);
        }
    }

    #[test]
    fn distance_to_a_point_is_no_farther_than_any_corner(shape in shape(), at in pose(100.0), from in point(300.0)) {
        let solid = ready(&shape).moved(&at);
        let found = solid.distance_to_point_mm(&from);
        for corner in solid.samples() {
            prop_assert!(found <= (corner - from).norm() + 1e-9);
        }
        // Walking towards the nearest point shortens it by the steps taken.
        let (distance, nearest) = solid.nearest(&from);
        if distance > 1.0 {
            let half: Vector = (nearest - from) / 2.0;
            let closer = solid.distance_to_point_mm(&(from + half));
            prop_assert!((closer - distance / 2.0).abs() < 1e-5, "{} of {}", closer, distance);
        }
    }
}
