//! Tolerances combined, and lengths in inches.

use dryberth::checks::{HeadlineId, evaluate};
use dryberth::model::{Place, Point, Role};
use dryberth::units::{MM_PER_INCH, root_sum_of_squares};

use crate::near;
use crate::small_boot::{body, boxed, layout, ready};

#[test]
fn micrometer_budget() {
    // 0.33, 0.29 and 0.25 µm: 0.51 µm; doubled 1.0. A supplier's budget, READ. ± 0.005.
    near(root_sum_of_squares(&[0.33, 0.29, 0.25]), 0.51, 5.1e-3);
    near(2.0 * root_sum_of_squares(&[0.33, 0.29, 0.25]), 1.0, 0.02);
}

#[test]
fn tape_and_string_budget() {
    // 2.5, 0.3, 0.7 and 5.8 mm: 6.4 mm; doubled 13 mm. A beginner's guide to uncertainty, from
    // memory; matched by CALC 6.36. ± 0.05.
    near(root_sum_of_squares(&[2.5, 0.3, 0.7, 5.8]), 6.4, 0.05);
}

#[test]
fn two_class_ii_tapes() {
    // ± (0.3 + 0.2 L) mm over 0.6 m: 0.42 mm each (directive annex MI-008, READ), 0.59 together
    // (CALC). ± 0.005.
    let tape = 0.3 + 0.2 * 0.6;
    near(root_sum_of_squares(&[tape, tape]), 0.59, 5e-3);
}

#[test]
fn a_clearance_carries_both_tolerances() {
    // JCGM 100: tape ± 3 mm and bench ± 1 mm combine to 3.162 mm (CALC). A wall 30 mm off the pump.
    let mut layout = layout();
    layout.bodies.push(body(
        "wall",
        Role::Panel,
        boxed([130.0, -200.0, 20.0], [140.0, 200.0, 90.0]),
    ));
    layout.spots[0].place = Place { at: Point::new(0.0, 0.0, 40.0), ..Place::default() };
    let boot = ready(layout);
    let card = evaluate(&boot, &boot.layout().spots[0]);
    let wall = card
        .headline(HeadlineId::Carpet)
        .and_then(|carpet| {
            carpet.checks.iter().find(|c| c.id == "clearance" && c.subject == "wall")
        })
        .expect("the wall is near");
    near(wall.figure.expect("a gap"), 30.0, 1e-9);
    near(wall.tolerance, 10.0_f64.sqrt(), 1e-12);
    near(wall.margin.expect("a margin"), 30.0 - wall.limit, 1e-12);
}

#[test]
fn an_inch_is_25_4_mm() {
    // International inch (1959), exact.
    near(MM_PER_INCH, 25.4, 0.0);
}
