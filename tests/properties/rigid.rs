//! A rigid motion of a whole layout changes nothing where the physics doesn't.
//!
//! What may be moved: clearance, travel, lift, sight, seen, lean, misreading, anchors and fixing lengths take
//! any yaw and shift. The slopes are the car's own, so heads take half turns only. The grids of the
//! floor and of the routes lie along the axes, so water and blocked routes take shifts only.

use dryberth::checks::{Ask, Boot, Check, HeadlineId, Meshes, Scorecard, evaluate, evaluate_some};
use dryberth::format::open_demo;
use dryberth::geometry::Solid;
use dryberth::model::{Layout, Motion, Place, Point, Pose, Shape, Vector};
use proptest::prelude::*;

use crate::cases;
use crate::small_boot::{hose, layout, ready};

fn turn_and_shift(yaw_deg: f64, by: [f64; 3]) -> Pose {
    Place { at: Point::from(by), turn_deg: (0.0, 0.0, yaw_deg) }.pose()
}

/// The same solid elsewhere; a mover's shapes carry no place of their own.
fn moved_shape(shape: &Shape, by: &Pose) -> Shape {
    match shape {
        Shape::Cylinder { from, to, radius_mm } => {
            Shape::Cylinder { from: by * from, to: by * to, radius_mm: *radius_mm }
        }
        convex => {
            let solid = Solid::of(convex, &Pose::identity(), |_| None).expect("no mesh moves");
            Shape::Hull { points: solid.triangles().vertices.iter().map(|p| by * p).collect() }
        }
    }
}

fn moved_layout(layout: &Layout, by: &Pose) -> Layout {
    let mut moved = layout.clone();
    let place = |place: &mut Place| *place = Place::from_pose(&(by * place.pose()));
    moved.bodies.iter_mut().for_each(|body| place(&mut body.place));
    moved.spots.iter_mut().for_each(|spot| place(&mut spot.place));
    for corner in moved.trims.iter_mut().flat_map(|trim| &mut trim.faces).flatten() {
        *corner = by * *corner;
    }
    for mover in &mut moved.movers {
        mover.shapes.iter_mut().for_each(|shape| *shape = moved_shape(shape, by));
        match &mut mover.motion {
            Motion::Swing { through, along, .. } => {
                *through = by * *through;
                *along = by * *along;
            }
            Motion::Slide { along, .. } => *along = by * *along,
        }
    }
    moved.drains.iter_mut().for_each(|drain| drain.at = by * drain.at);
    moved.leaks.iter_mut().for_each(|leak| leak.at = by * leak.at);
    moved.viewpoints.iter_mut().for_each(|viewpoint| viewpoint.at = by * viewpoint.at);
    for anchor in &mut moved.anchors {
        anchor.at = by * anchor.at;
        anchor.normal = by * anchor.normal;
    }
    for line in &mut moved.lines {
        line.from.at = by * line.from.at;
        line.from.towards = by * line.from.towards;
    }
    moved
}

/// Compares the figures of every check whose id is in `ids`.
fn same(here: &Scorecard, there: &Scorecard, ids: &[(&str, f64)]) {
    let mut compared = 0;
    for headline in &here.headlines {
        for check in &headline.checks {
            let Some((_, close)) = ids.iter().find(|(id, _)| *id == check.id) else { continue };
            // The longest fixing's name may change between two that are equally long.
            let other = there
                .headline(headline.id)
                .and_then(|same| {
                    let named = |other: &&Check| {
                        other.subject == check.subject || check.id == "fixing-length"
                    };
                    same.checks.iter().filter(|other| other.id == check.id).find(named)
                })
                .unwrap_or_else(|| panic!("{}: {} {} is gone", here.name, check.id, check.subject));
            compared += 1;
            match (check.figure, other.figure) {
                (Some(a), Some(b)) => assert!(
                    (a - b).abs() <= *close,
                    "{}: {} {}: {a} and {b}",
                    here.name,
                    check.id,
                    check.subject
                ),
                (a, b) => assert_eq!(a.is_some(), b.is_some(), "{}: {}", here.name, check.id),
            }
        }
    }
    assert!(compared > 0, "nothing was compared");
}

/// Margins of the clearances listed, least first. Only the nearest few bodies are listed, and which of
/// two equally near ones that is may differ.
fn margins(card: &Scorecard) -> Vec<f64> {
    let mut found: Vec<f64> = card
        .headlines
        .iter()
        .flat_map(|headline| &headline.checks)
        .filter(|check| check.id == "clearance")
        .filter_map(|check| check.margin)
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

/// Least head, cover and breather height over the parked cases; the slopes are the same both ways round,
/// braking and speeding up aren't.
fn parked(card: &Scorecard) -> [f64; 3] {
    let cases = &card.details.as_ref().expect("details were asked for").feed.cases;
    let parked = || cases.iter().filter(|case| !case.case.contains(" g, "));
    assert_eq!(parked().count(), 9 * 6);
    let least = |figure: fn(&dryberth::checks::feed::FeedCase) -> f64| {
        parked().map(figure).fold(f64::INFINITY, f64::min)
    };
    [least(|case| case.head_mm), least(|case| case.cover_mm), least(|case| case.breather_mm)]
}

/// A demo without what a turned grid would see otherwise.
fn demo(name: &str) -> (Layout, dryberth::model::Pump, Meshes) {
    let opened = open_demo(Some(name)).expect("a demo");
    let mut layout = opened.layout;
    layout.limits.water_step_mm = 50.0;
    layout.drains.clear();
    (layout, opened.pump, opened.meshes)
}

#[test]
fn a_turned_and_shifted_boot_answers_the_same() {
    let ask = Ask {
        headlines: vec![HeadlineId::Carpet, HeadlineId::Feed, HeadlineId::Hold],
        stop_at_fail: false,
        details: true,
        ..Ask::default()
    };
    // Travel is found to 0.1 mm, depth and lift on round skins to 1e-3: the sides of a bar turn with
    // its axis only so far as they must. The rest to rounding.
    let ids = [
        ("travel", 0.11),
        ("lift", 1e-3),
        ("sight", 0.0),
        // One point more or less, where a look grazes an edge.
        ("seen", 0.2),
        ("tilt", 1e-6),
        ("level-line", 1e-6),
        ("anchors", 0.0),
        ("fixings", 0.0),
        ("fixing-length", 1e-6),
    ];
    let motions = [(37.0, [310.0, -95.5, 40.25]), (180.0, [-700.0, 12.0, -3.0])];
    for (demo_name, (yaw_deg, by)) in
        [("wrenfield-drop-top", motions[0]), ("sandlark-cabriolet", motions[1])]
    {
        let (layout, pump, meshes) = demo(demo_name);
        let fitted = Boot::usual_options(&layout);
        let prepare =
            |layout: Layout| Boot::prepare(layout, pump.clone(), &meshes, &fitted).expect("sound");
        let here = prepare(layout.clone());
        let there = prepare(moved_layout(&layout, &turn_and_shift(yaw_deg, by)));
        for (spot, moved) in here.layout().spots.iter().zip(&there.layout().spots) {
            let (a, b) = (evaluate_some(&here, spot, &ask), evaluate_some(&there, moved, &ask));
            same(&a, &b, &ids);
            let (near, moved) = (margins(&a), margins(&b));
            assert_eq!(near.len(), moved.len(), "{}", a.name);
            assert!(
                near.iter().zip(&moved).all(|(a, b)| (a - b).abs() < 1e-3),
                "{near:?} {moved:?}"
            );
            if (yaw_deg - 180.0).abs() < 1e-9 {
                let (here, there) = (parked(&a), parked(&b));
                assert!(here.iter().zip(there).all(|(a, b)| (a - b).abs() < 1e-4), "{}", a.name);
            }
        }
    }
}

#[test]
fn a_shifted_boot_has_the_same_water() {
    let opened = open_demo(None).expect("a demo");
    let fitted = Boot::usual_options(&opened.layout);
    let prepare = |layout: Layout| {
        Boot::prepare(layout, opened.pump.clone(), &opened.meshes, &fitted).expect("sound")
    };
    let here = prepare(opened.layout.clone());
    let shift = turn_and_shift(0.0, [1024.0, -512.0, 64.0]);
    let there = prepare(moved_layout(&opened.layout, &shift));
    let ask = Ask { headlines: vec![HeadlineId::Water], stop_at_fail: false, ..Ask::default() };
    for (spot, moved) in here.layout().spots.iter().zip(&there.layout().spots) {
        let (a, b) = (evaluate_some(&here, spot, &ask), evaluate_some(&there, moved, &ask));
        same(&a, &b, &[("freeboard", 1e-6), ("drips", 1e-6)]);
    }
}

proptest! {
    #![proptest_config(cases(32))]

    #[test]
    fn a_free_hose_needs_the_same_length_wherever_the_boot_stands(
        exit in [300.0..700.0_f64, -400.0..400.0_f64, 250.0..600.0_f64],
        towards in [-1.0..1.0_f64, -1.0..1.0_f64, -0.1..0.6_f64],
        pump in [-200.0..0.0_f64, -200.0..200.0_f64, 200.0..300.0_f64],
        yaw_deg in -180.0..180.0_f64, by in [-500.0..500.0_f64, -500.0..500.0_f64, -200.0..200.0_f64],
    ) {
        prop_assume!(Vector::from(towards).norm() > 0.3);
        let mut here = layout();
        here.limits.water_step_mm = 50.0;
        here.spots[0].place.at = Point::from(pump);
        here.lines = vec![hose(exit, towards, 1500.0)];
        let there = ready(moved_layout(&here, &turn_and_shift(yaw_deg, by)));
        let here = ready(here);
        let (a, b) = (evaluate(&here, &here.layout().spots[0]), evaluate(&there, &there.layout().spots[0]));
        let gap = a.check("line-gap", "hose");
        // A way that something blocks is searched on a grid along the axes.
        if gap.is_some_and(|gap| gap.margin.is_some_and(|margin| margin >= 0.0)) {
            same(&a, &b, &[("slack", 1e-4), ("spare", 1e-4)]);
        }
        same(&a, &b, &[("clearance", 1e-6), ("tilt", 1e-6), ("level-line", 1e-6)]);
    }
}
