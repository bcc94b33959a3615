//! Closing panels: from a cut, from a measured outline, with slots and a notch.

use dryberth::checks::DrawnLine;
use dryberth::documents::panel::{PanelError, panel_for};
use dryberth::geometry::{Outline, Region, Solid, free_region};
use dryberth::model::{Notch, Opening, OpeningOutline, Place, Point, Pose, Shape};

use crate::sandlark;

fn opening(outline: OpeningOutline) -> Opening {
    Opening {
        name: "hatch".to_string(),
        place: Place::default(),
        outline,
        carpet_mm: 0.0,
        fit_mm: 0.0,
        notch: None,
        grain_deg: 0.0,
        relief_mm: 3.0,
    }
}

fn rectangle() -> OpeningOutline {
    OpeningOutline::Measured(vec![(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)])
}

#[test]
fn a_plane_through_four_walls_gives_the_hole_between_them() {
    // Walls 6 mm thick round 332 × 158 mm, as the demo's well: (80, −600) to (412, −442).
    let ready = sandlark();
    let made = panel_for(&ready.boot, &ready.opened.layout.openings[0], &[]).expect("a panel");
    let hole = made.opening.expect("an opening");
    let [l, b, r, t] = hole.bounds();
    // The plane's right is the car's right, its up the car's forward.
    for (found, wanted) in [(l, 442.0), (r, 600.0), (b, 80.0), (t, 412.0)] {
        assert!((found - wanted).abs() < 0.02, "{found} for {wanted}");
    }
    // Carpet 2 and a gap of 1.5 take 3.5 off all round.
    let [l, b, r, t] = made.outline.bounds();
    for (found, wanted) in [(l, 445.5), (r, 596.5), (b, 83.5), (t, 408.5)] {
        assert!((found - wanted).abs() < 0.03, "{found} for {wanted}");
    }
}

#[test]
fn an_opening_that_nothing_closes_is_refused_with_the_side() {
    let ready = sandlark();
    let mut open = ready.opened.layout.openings[0].clone();
    // 100 mm up there is no wall on the boot's side.
    open.place.at.z = 100.0;
    let error = panel_for(&ready.boot, &open, &[]).expect_err("a refusal").to_string();
    assert!(error.contains("unclosed"), "{error}");
    // And a point within a wall is no point of an opening.
    let mut inside = ready.opened.layout.openings[0].clone();
    inside.outline = OpeningOutline::Cut { around: (440.0, 240.0) };
    let error = panel_for(&ready.boot, &inside, &[]).expect_err("a refusal");
    assert!(
        matches!(error, PanelError::InBody(_, ref body) if body == "pump well's wall, inner"),
        "{error}"
    );
}

#[test]
fn a_notch_takes_its_own_area_and_opens_the_edge() {
    let ready = sandlark();
    let mut with = opening(rectangle());
    with.notch = Some(Notch { near: (100.0, 100.0), width_mm: 28.0, depth_mm: 18.0 });
    let made = panel_for(&ready.boot, &with, &[]).expect("a panel");
    // A half circle of radius 14 on a rectangle 28 × 4.
    let notch = std::f64::consts::PI * 14.0 * 14.0 / 2.0 + 28.0 * 4.0;
    assert!((made.outline.area_mm2() - (20_000.0 - notch)).abs() < 0.01);
    assert!(!made.outline.holds((100.0, 83.0)) && made.outline.holds((100.0, 81.0)));
}

#[test]
fn a_line_gets_a_slot_to_the_nearest_edge() {
    let ready = sandlark();
    let line = DrawnLine {
        name: "hose".to_string(),
        centreline: vec![Point::new(150.0, 30.0, -50.0), Point::new(150.0, 30.0, 50.0)],
        radius_mm: 4.0,
        verdict: dryberth::checks::Verdict::Pass,
    };
    let made = panel_for(&ready.boot, &opening(rectangle()), &[line]).expect("a panel");
    assert_eq!(made.reliefs.len(), 1);
    assert!((made.reliefs[0].width_mm - 14.0).abs() < 1e-9);
    // From (150, 30) down to the edge, 14 wide with a round end.
    let slot = 14.0 * 30.0 + std::f64::consts::PI * 49.0 / 2.0;
    assert!((made.outline.area_mm2() - (20_000.0 - slot)).abs() < 0.01);
    assert!(!made.outline.holds((150.0, 1.0)) && made.outline.holds((150.0, 38.0)));
}

#[test]
fn outlines_that_cross_touch_or_enclose_nothing_are_refused() {
    for (corners, said) in [
        (vec![(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 120.0)], "sides 0 and 2 cross"),
        // Side 3's corner on side 0.
        (vec![(0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (50.0, 0.0), (0.0, 80.0)], "cross or touch"),
        // A spike out and back.
        (
            vec![(0.0, 0.0), (100.0, 0.0), (150.0, 0.0), (100.0, 0.0), (100.0, 50.0)],
            "cross or touch",
        ),
        // A figure of eight that encloses as much one way round as the other.
        (vec![(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)], "cross"),
        (vec![(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)], "enclose no area"),
        (vec![(0.0, 0.0), (50.0, f64::NAN), (100.0, 10.0)], "the corner 1"),
        (vec![], "enclose no area"),
    ] {
        let error = Outline::through(&corners).expect_err("a refusal").to_string();
        assert!(error.contains(said), "{error}");
    }
    let ready = sandlark();
    let bow = vec![(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 120.0)];
    let error = panel_for(&ready.boot, &opening(OpeningOutline::Measured(bow)), &[])
        .expect_err("a refusal");
    assert!(error.to_string().contains("`hatch`"), "{error}");
    let mut thin = opening(rectangle());
    thin.carpet_mm = 30.0;
    thin.fit_mm = -30.0;
    assert!(matches!(panel_for(&ready.boot, &thin, &[]), Err(PanelError::Vanished(..))));
}

#[test]
fn what_stands_in_the_opening_is_told_and_open_scans_count() {
    let box_of = |from: [f64; 3], to: [f64; 3]| {
        let shape = Shape::Box { from: from.into(), to: to.into() };
        Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
    };
    let walls = [
        box_of([-10.0, -10.0, -5.0], [0.0, 110.0, 5.0]),
        box_of([200.0, -10.0, -5.0], [210.0, 110.0, 5.0]),
        box_of([-10.0, -10.0, -5.0], [210.0, 0.0, 5.0]),
        box_of([-10.0, 100.0, -5.0], [210.0, 110.0, 5.0]),
        box_of([90.0, 40.0, -5.0], [110.0, 60.0, 5.0]),
    ];
    let solids: Vec<&Solid> = walls.iter().collect();
    let Region { outer, inner } =
        free_region(&solids, &Pose::identity(), (30.0, 30.0)).expect("a region");
    let outer = Outline::through(&outer).expect("an outline");
    assert!((outer.area_mm2() - 20_000.0).abs() < 6.0, "{}", outer.area_mm2());
    assert_eq!(inner.len(), 1);
    // The walls as an open skin, as a scan would have them.
    let skin = Solid::sheet(walls[0].triangles()).expect("a sheet");
    let solids: Vec<&Solid> = std::iter::once(&skin).chain(&walls[1..]).collect();
    let again = free_region(&solids, &Pose::identity(), (30.0, 30.0)).expect("a region");
    let again = Outline::through(&again.outer).expect("an outline");
    assert!((again.area_mm2() - outer.area_mm2()).abs() < 0.01);
}
