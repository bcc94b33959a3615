//! Shortest paths of bounded curvature (Dubins 1957): published cases and the closed form.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use dryberth::checks::reach::{arc_straight_arc, unobstructed};
use dryberth::model::Point;

use crate::bends::{end, planes};
use crate::near;

/// Length of the way from (0, 0, 0) to (x, y, angle), radius 1, drawn `scale` times as large in
/// every plane.
fn length(start: f64, x: f64, y: f64, angle: f64) -> f64 {
    let scale = 55.0;
    let lengths: Vec<f64> = planes()
        .iter()
        .map(|plane| {
            let to = end(plane, x * scale, y * scale, angle);
            let found = arc_straight_arc(&end(plane, 0.0, 0.0, start), &to, scale);
            found.expect("arc, straight, arc").length_mm / scale
        })
        .collect();
    for other in &lengths {
        near(*other, lengths[0], 1e-6);
    }
    lengths[0]
}

#[test]
fn d1_right_straight_left() {
    // (0, 0, 0) to (5, 0, 3 rad): 8.2725 ± 1e-3. A path library's tests, READ; CALC 8.27252.
    near(length(0.0, 5.0, 0.0, 3.0), 8.2725, 1e-3);
}

#[test]
fn d2_straight_ahead() {
    // (0, 0, 0) to (3, 0, 0): 3. A path library's tests, READ. ± 1e-9.
    near(length(0.0, 3.0, 0.0, 0.0), 3.0, 1e-9);
}

#[test]
fn d3_nowhere() {
    // (0, 0, 0) to (0, 0, 0): 0. A path library's tests, READ. ± 1e-9.
    near(length(0.0, 0.0, 0.0, 0.0), 0.0, 1e-9);
}

#[test]
fn d4_half_a_circle() {
    // (0, 0, 0) to (0, 2, π): π. CALC. ± 1e-6.
    near(length(0.0, 0.0, 2.0, PI), PI, 1e-6);
}

#[test]
fn d5_two_half_circles() {
    // (0, 0, 0) to (0, 4, 0): 2 π. CALC. ± 1e-6.
    near(length(0.0, 0.0, 4.0, 0.0), TAU, 1e-6);
}

#[test]
fn d6_two_quarter_circles_and_a_straight() {
    // (0, 0, π/2) to (4, 0, −π/2): 2 + π. CALC. ± 1e-6.
    near(length(FRAC_PI_2, 4.0, 0.0, -FRAC_PI_2), 2.0 + PI, 1e-6);
}

/// The closed form for a plane: the shortest of the four ways with a straight middle part, radius 1,
/// from the origin along x (Shkel and Lumelsky 2001, from memory; each way checked by its tangents).
fn closed_form(x: f64, y: f64, angle: f64) -> Option<f64> {
    let turn = |by: f64| by.rem_euclid(TAU);
    let mut ways = Vec::new();
    for (first, last) in [(1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)] {
        // Centres of the turning circles, to the left (1) or right (−1).
        let (cx, cy) = (x - last * angle.sin(), y + last * angle.cos() - first);
        let between = cx.hypot(cy);
        let course = cy.atan2(cx);
        let (straight, heading) = if first * last > 0.0 {
            (between, course)
        } else if between < 2.0 {
            continue;
        } else {
            let straight = (between * between - 4.0).sqrt();
            (straight, course + first * 2.0_f64.atan2(straight))
        };
        ways.push(turn(first * heading) + straight + turn(last * (angle - heading)));
    }
    ways.into_iter().reduce(f64::min)
}

#[test]
fn closed_form_agrees_with_the_published_cases() {
    near(closed_form(5.0, 0.0, 3.0).expect("a way"), 8.2725, 1e-3);
    near(closed_form(3.0, 0.0, 0.0).expect("a way"), 3.0, 1e-12);
}

#[test]
fn a_grid_of_ends_against_the_closed_form() {
    // Ends 2.2 radii apart or more, every course and heading: never longer than the shortest way with a
    // straight middle part in their plane. ± 1e-6 of the radius. In space it may be shorter still: out
    // of the plane and back, where the plane has to loop.
    let (mut tried, mut shorter) = (0, 0);
    for (turn, course) in (0..24).flat_map(|turn| (0..12).map(move |course| (turn, course))) {
        for away in [2.2, 3.0, 4.1, 5.0, 7.5] {
            let angle = TAU * f64::from(turn) / 24.0 + 0.01;
            let (y, x) = (TAU * f64::from(course) / 12.0 + 0.02).sin_cos();
            let (x, y) = (x * away, y * away);
            let Some(expected) = closed_form(x, y, angle) else { continue };
            for plane in planes() {
                let to = end(&plane, x * 55.0, y * 55.0, angle);
                let found = arc_straight_arc(&end(&plane, 0.0, 0.0, 0.0), &to, 55.0);
                let found = found.map_or(f64::INFINITY, |curve| curve.length_mm / 55.0);
                assert!(
                    found <= expected + 1e-6,
                    "to ({x}, {y}) heading {angle}: {found}, expected {expected}"
                );
                assert!(found >= away - 1e-9);
                shorter += usize::from(found < expected - 1e-6);
                tried += 1;
            }
        }
    }
    assert!(tried > 5000 && shorter < tried / 3, "{shorter} of {tried} shorter than in the plane");
}

#[test]
fn ends_too_close_for_a_straight_get_a_longer_way_or_none() {
    // Three arcs (LRL, RLR) are not built: for ends nearer than four radii the shortest path may be
    // one of them, and ours is then longer, never shorter than the straight distance. Turning about
    // within half a radius takes more than half a circle.
    for plane in planes() {
        let (from, to) = (end(&plane, 0.0, 0.0, 0.0), end(&plane, 0.0, 27.5, PI));
        if let Some(curve) = unobstructed(&from, &to, 55.0) {
            assert!(curve.length_mm > PI * 55.0);
            assert!((curve.points[0] - from.at).norm() < 1e-9);
        }
    }
}

#[test]
fn a_bend_out_of_plane_is_two_quarter_circles_and_a_straight() {
    // Leaves along x, arrives along z, offset so that a quarter turn in the xy plane, a straight
    // along y and a quarter turn in the yz plane join: an upper bound, 100 π + 200 (CALC). The
    // shortest way is not longer, nor shorter than the chord.
    let radius = 100.0;
    let from =
        dryberth::checks::reach::End { at: Point::origin(), towards: nalgebra::Vector3::x() };
    let to = dryberth::checks::reach::End {
        at: Point::new(100.0, 400.0, 100.0),
        towards: nalgebra::Vector3::z(),
    };
    let curve = arc_straight_arc(&from, &to, radius).expect("it fits");
    assert!(curve.length_mm <= 100.0 * PI + 200.0 + 1e-6, "{}", curve.length_mm);
    assert!(curve.length_mm > (to.at - from.at).norm());
}
