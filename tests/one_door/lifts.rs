//! How far things stand out of surfaces, against closed forms.

use dryberth::checks::{Ask, Meshes, evaluate_some};
use dryberth::geometry::{Sheet, Solid};
use dryberth::model::{Point, Pose, Shape};

use super::{ask, check, near, ready};

fn solid(shape: &Shape) -> Solid {
    Solid::of(shape, &Pose::identity(), |_| None).unwrap()
}

/// A hull of points on a ball.
fn ball(centre: Point, radius: f64) -> Solid {
    let mut points = Vec::new();
    for ring in 0..=24 {
        let tilt = std::f64::consts::PI * f64::from(ring) / 24.0;
        let around = if ring % 24 == 0 { 1 } else { 48 };
        for turn in 0..around {
            let angle = std::f64::consts::TAU * f64::from(turn) / 48.0;
            let way = nalgebra::Vector3::new(
                tilt.sin() * angle.cos(),
                tilt.sin() * angle.sin(),
                tilt.cos(),
            );
            points.push(centre + way * radius);
        }
    }
    solid(&Shape::Hull { points })
}

fn flat(z: f64) -> Sheet {
    let at = |x: f64, y: f64| Point::new(x, y, z);
    Sheet::of(&[vec![at(-300.0, -300.0), at(300.0, -300.0), at(300.0, 300.0), at(-300.0, 300.0)]])
}

/// Two faces that meet along x = 0 at `angle_deg` to the level, falling away to both sides when positive.
fn roof(angle_deg: f64) -> Sheet {
    let drop = 300.0 * angle_deg.to_radians().tan();
    let ridge = [Point::new(0.0, -300.0, 0.0), Point::new(0.0, 300.0, 0.0)];
    let left = [Point::new(-300.0, 300.0, -drop), Point::new(-300.0, -300.0, -drop)];
    let right = [Point::new(300.0, -300.0, -drop), Point::new(300.0, 300.0, -drop)];
    Sheet::of(&[
        vec![ridge[0], ridge[1], left[0], left[1]],
        vec![ridge[1], ridge[0], right[0], right[1]],
    ])
}

#[track_caller]
fn proud(sheet: &Sheet, solid: &Solid, expected: f64, within: f64) {
    let found = sheet.stand_out(&[solid]).unwrap();
    assert!((found.proud_mm - expected).abs() <= within, "{expected} expected: {found:?}");
}

#[test]
fn a_ball_stands_out_of_a_plane_by_its_cap() {
    // Cap height r − d; its facets are up to r (1 − cos 3.75°) = 0.17 mm short, none at its pole.
    for depth in [-30.0, 0.0, 35.0] {
        proud(&flat(depth), &ball(Point::origin(), 80.0), 80.0 - depth, 1e-9);
    }
    // Wholly behind by 12.
    proud(&flat(92.0), &ball(Point::origin(), 80.0), -12.0, 1e-9);
    // Wholly in front it pushes nothing.
    assert!(flat(-80.5).stand_out(&[&ball(Point::origin(), 80.0)]).is_none());
}

#[test]
fn a_bar_stands_out_of_a_plane_by_what_its_tilt_makes_of_its_length() {
    // A bar of 200 × ⌀ 40 at 30° about the origin: its top is 100 sin 30 + 20 cos 30.
    let (s, c) = 30.0_f64.to_radians().sin_cos();
    let ends = [Point::new(-100.0 * c, 0.0, -100.0 * s), Point::new(100.0 * c, 0.0, 100.0 * s)];
    let bar = solid(&Shape::Cylinder { from: ends[0], to: ends[1], radius_mm: 20.0 });
    // Its 96 sides have the area of the circle: 0.04 % of the radius beyond it at the corners.
    proud(&flat(10.0), &bar, 100.0 * s + 20.0 * c - 10.0, 0.02);
    // The same as a line: its skin is round at the ends too.
    let found = flat(10.0).stand_out_of_line(&ends, 20.0).unwrap();
    assert!((found.proud_mm - (100.0 * s + 20.0 - 10.0)).abs() < 1e-9, "{found:?}");
}

#[test]
fn over_a_ridge_the_distance_to_the_ridge_counts() {
    // A point 30 mm straight over the ridge is 30 mm from it, though over neither face.
    let spike = solid(&Shape::Box {
        from: Point::new(-1e-3, -10.0, -80.0),
        to: Point::new(1e-3, 10.0, 30.0),
    });
    proud(&roof(40.0), &spike, 30.0, 1e-3);
    // A ball about a point 20 mm under the ridge: the nearest place of the surface to its centre lies on
    // a face, 20 cos 25° away, and the way through it is the longest out.
    let deep = 20.0 * 25.0_f64.to_radians().cos();
    proud(&roof(25.0), &ball(Point::new(0.0, 0.0, -20.0), 60.0), 60.0 - deep, 0.2);
}

#[test]
fn in_a_hollow_the_nearer_face_counts() {
    // Faces rising at 45° to both sides: a post through the hollow's foot, 40 mm up, is 40 cos 45 from
    // both; half as wide as 2 w it comes nearer to them by w sin 45 at its edges.
    let post = solid(&Shape::Box {
        from: Point::new(-5.0, -10.0, -80.0),
        to: Point::new(5.0, 10.0, 40.0),
    });
    let half = 0.5_f64.sqrt();
    proud(&roof(-45.0), &post, 40.0 * half, 0.025);
    // Behind the hollow its foot sticks out: a post that ends 15 mm under it is 15 mm behind.
    let below = solid(&Shape::Box {
        from: Point::new(-1e-3, -10.0, -80.0),
        to: Point::new(1e-3, 10.0, -15.0),
    });
    proud(&roof(-45.0), &below, -15.0, 1e-2);
}

#[test]
fn a_pyramid_of_faces_counts_from_its_tip() {
    let tip = Point::new(0.0, 0.0, 0.0);
    let foot = [(200.0, 0.0), (0.0, 200.0), (-200.0, 0.0), (0.0, -200.0)]
        .map(|(x, y)| Point::new(x, y, -90.0));
    let faces: Vec<Vec<Point>> =
        (0..4).map(|side| vec![tip, foot[side], foot[(side + 1) % 4]]).collect();
    let spike = solid(&Shape::Box {
        from: Point::new(-1e-3, -1e-3, -200.0),
        to: Point::new(1e-3, 1e-3, 25.0),
    });
    proud(&Sheet::of(&faces), &spike, 25.0, 1e-3);
}

#[test]
fn a_bar_along_a_round_carpet_stands_out_by_the_difference_of_radii() {
    // A carpet bent round a radius of 150 mm in steps of 2°; a bar of radius 170 on the same axis,
    // shorter than the carpet, stands out by 20 at least and by its sagitta more between the folds.
    let at = |step: i32, y: f64| {
        let angle = f64::from(step * 2).to_radians();
        Point::new(150.0 * angle.sin(), y, 150.0 * angle.cos())
    };
    let faces: Vec<Vec<Point>> = (-30..30)
        .map(|step| {
            vec![at(step, 200.0), at(step, -200.0), at(step + 1, -200.0), at(step + 1, 200.0)]
        })
        .collect();
    let (from, to) = (Point::new(0.0, -100.0, 0.0), Point::new(0.0, 100.0, 0.0));
    let bar = solid(&Shape::Cylinder { from, to, radius_mm: 170.0 });
    let sag = 150.0 * (1.0 - 1.0_f64.to_radians().cos());
    let found = Sheet::of(&faces).stand_out(&[&bar]).unwrap().proud_mm;
    assert!(found > 20.0 - 0.1 && found < 20.0 + sag + 0.1, "{found}");
}

#[test]
fn what_a_tray_would_lose_is_the_shadow_of_what_stands_over_it() {
    let post = solid(&Shape::Box {
        from: Point::new(-30.0, -20.0, -80.0),
        to: Point::new(30.0, 20.0, 15.0),
    });
    let area = |outlines: &[Vec<Point>]| -> f64 {
        outlines
            .iter()
            .map(|outline| {
                let twice: f64 = (0..outline.len())
                    .map(|i| {
                        let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                        a.x * b.y - b.x * a.y
                    })
                    .sum();
                twice / 2.0
            })
            .sum()
    };
    let cut = flat(0.0).cut_outs(&[&post], 0.0);
    assert!((area(&cut).abs() - 60.0 * 40.0).abs() < 0.5, "{cut:?}");
    assert!(cut.iter().flatten().all(|at| at.z.abs() < 1e-6));
    // It gives 20: nothing to cut.
    assert!(flat(0.0).cut_outs(&[&post], 20.0).is_empty());
}

const TRAY: &str = r#"trims: [(name: "tray", kind: Board, thickness_mm: 5, faces: [[
    (-300, -300, 388), (300, -300, 388), (300, 300, 388), (-300, 300, 388)]])],"#;

#[test]
fn a_tie_over_the_pump_lifts_the_tray_where_the_pump_does_not() {
    // The pump's top is at 380, 8 mm under the tray; the tie runs from the top, at 380, to a loop at
    // 400: its bar of 6 mm ends 12 mm over the tray and stands upright.
    let anchors = r#"anchors: [(name: "loop", kind: Loop, at: (0, 50, 400), normal: (0, 0, -1), strength_n: 1000)],"#;
    let tie = r#"(kind: Tie(width_mm: 4.8), mount: "left", anchor: "loop")"#;
    let card = ask("", &format!("{TRAY}{anchors}"), "at: (0, 0, 280)", tie);
    let lift = check(&card, "lift", "tray");
    near(lift, 12.0, 1e-6);
    assert!(lift.why.contains("the fixing to loop"), "{}", lift.why);
    let card = ask("", TRAY, "at: (0, 0, 280)", "");
    near(check(&card, "lift", "tray"), -8.0, 1e-9);
}

#[test]
fn the_details_say_what_height_to_lose_and_where_to_cut() {
    let (boot, spot) = ready("", TRAY, "at: (0, 0, 300)", "", &Meshes::new());
    let asked = Ask { details: true, ..Ask::default() };
    let card = evaluate_some(&boot, &spot, &asked);
    let details = card.details.unwrap().carpet;
    let lift = &details.lifts[0];
    assert!((lift.lose_mm - 12.0).abs() < 1e-9 && lift.outlines.len() == 1, "{lift:?}");
    assert_eq!(card.drawn.cut_outs.len(), 1);
    assert!(details.notes()[0].text.contains("Lose 12.0 mm"), "{:?}", details.notes());
    // Without being asked for, nothing is drawn.
    assert!(evaluate_some(&boot, &spot, &Ask::default()).drawn.cut_outs.is_empty());
}
