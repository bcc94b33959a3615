//! How long does one full evaluation of a spot take?
//!
//! Beside it stand: each headline asked for alone, an answer that stops at the first failure, the
//! luggage packed again round a pump, the boot measured again 20 times, and
//! the demo's clearance done three ways: by [`gap`], which doesn't look farther than it was told to
//! and takes boxes as boxes; by parry's closest points between every pair of the same solids'
//! triangle surfaces, as far as `gap` looks; and by its distance between them without a bound.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod stopwatch;

use std::time::Duration;

use dryberth::checks::{Ask, Boot, HeadlineId, evaluate, evaluate_some, tolerance_runs};
use dryberth::format::open_demo;
use dryberth::geometry::{Solid, Triangles, gap};
use dryberth::model::{Point, Spot};
use parry3d::math::Pose;
use parry3d::query::{ClosestPoints, closest_points, distance};
use parry3d::shape::TriMesh;
use stopwatch::{Row, print, timed};

const BUDGET: Duration = Duration::from_millis(1_500);

/// As far as the pump's clearance to a body is looked for, mm.
const LOOKED_FOR_MM: f64 = 60.0;

fn main() {
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let opened = open_demo(Some(demo)).expect("a demo");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
        let spots = &opened.layout.spots;
        // The spot that does best has every question answered to the end.
        let best = spots
            .iter()
            .min_by(|a, b| evaluate(&boot, a).rank(&evaluate(&boot, b)))
            .expect("a demo has spots");
        headlines(demo, &boot, best);
        in_the_luggage(demo, &boot, best);
        if demo == "wrenfield-drop-top" {
            every_spot(&boot, spots);
            clearance(&boot, best);
        }
    }
}

fn headlines(demo: &str, boot: &Boot, spot: &Spot) {
    let one = |name, id| {
        let ask = Ask { headlines: vec![id], stop_at_fail: false, ..Ask::default() };
        timed(name, BUDGET, || evaluate_some(boot, spot, &ask))
    };
    let rows = [
        timed("evaluate: all five headlines", BUDGET, || evaluate(boot, spot)),
        one("evaluate_some: reach alone", HeadlineId::Reach),
        one("evaluate_some: carpet line alone", HeadlineId::Carpet),
        one("evaluate_some: feed alone", HeadlineId::Feed),
        one("evaluate_some: water alone", HeadlineId::Water),
        one("evaluate_some: hold alone", HeadlineId::Hold),
    ];
    print(&format!("{demo}, spot `{}`", spot.name), &rows);
}

/// The pump put in the middle of the boot, where luggage has to be packed again round it, and the
/// boot measured again and again.
fn in_the_luggage(demo: &str, boot: &Boot, spot: &Spot) {
    let carpet = Ask { headlines: vec![HeadlineId::Carpet], stop_at_fail: false, ..Ask::default() };
    let mut amid = spot.clone();
    amid.place.at = Point::new(340.0, 20.0, 120.0);
    let rows = [
        timed("evaluate_some: carpet line, where it is", BUDGET, || {
            evaluate_some(boot, spot, &carpet)
        }),
        timed("evaluate_some: carpet line, amid the luggage", BUDGET, || {
            evaluate_some(boot, &amid, &carpet)
        }),
        timed("tolerance_runs: 20 runs", BUDGET, || tolerance_runs(boot, spot, 20, 1)),
    ];
    print(&format!("{demo}, luggage and tolerances"), &rows);
}

fn every_spot(boot: &Boot, spots: &[Spot]) {
    let first_fail = Ask { stop_at_fail: true, ..Ask::default() };
    let rows = [
        timed("evaluate: every spot, to the end", BUDGET, || {
            spots.iter().map(|spot| evaluate(boot, spot)).collect::<Vec<_>>()
        }),
        timed("evaluate_some: every spot, until it fails", BUDGET, || {
            spots.iter().map(|spot| evaluate_some(boot, spot, &first_fail)).collect::<Vec<_>>()
        }),
    ];
    print(&format!("wrenfield-drop-top, all {} spots", spots.len()), &rows);
}

fn mesh(surface: &Triangles) -> TriMesh {
    let corners = surface.vertices.iter().map(|at| parry3d::math::Vector::new(at.x, at.y, at.z));
    TriMesh::new(corners.collect(), surface.indices.clone()).expect("a surface")
}

fn clearance(boot: &Boot, spot: &Spot) {
    let pump = boot.pump_at(&spot.place);
    let bodies: Vec<&Solid> = boot.bodies().map(|(_, solid)| solid).collect();
    let pump_meshes: Vec<TriMesh> = pump.iter().map(|part| mesh(part.triangles())).collect();
    let body_meshes: Vec<TriMesh> = bodies.iter().map(|body| mesh(body.triangles())).collect();
    let here = Pose::IDENTITY;
    let smallest = |answers: &mut dyn Iterator<Item = f64>| answers.fold(f64::INFINITY, f64::min);
    let bounded = || {
        let pairs = pump.iter().flat_map(|part| bodies.iter().map(move |body| (part, body)));
        let gaps = pairs.filter_map(|(part, body)| gap(part, body, LOOKED_FOR_MM));
        smallest(&mut gaps.map(|gap| gap.distance_mm))
    };
    let unbounded = || {
        let pairs = pump_meshes.iter().flat_map(|a| body_meshes.iter().map(move |b| (a, b)));
        smallest(&mut pairs.map(|(a, b)| {
            distance(&here, a, &here, b).expect("a pair of meshes is supported").distance
        }))
    };
    let cut_off = || {
        let pairs = pump_meshes.iter().flat_map(|a| body_meshes.iter().map(move |b| (a, b)));
        smallest(&mut pairs.filter_map(|(a, b)| {
            match closest_points(&here, a, &here, b, LOOKED_FOR_MM) {
                Ok(ClosestPoints::WithinMargin(on_a, on_b)) => Some((on_a - on_b).length()),
                Ok(ClosestPoints::Intersecting) => Some(0.0),
                Ok(ClosestPoints::Disjoint) => None,
                Err(error) => panic!("a pair of meshes is supported: {error}"),
            }
        }))
    };
    let (ours, theirs) = (bounded(), unbounded());
    assert!((ours - theirs).abs() < 0.1, "the two ways disagree: {ours} and {theirs}");
    let rows: [Row; 3] = [
        timed("gap: every pair, not farther than 60 mm", BUDGET, bounded),
        timed("parry3d closest_points: every pair of surfaces, 60 mm", BUDGET, cut_off),
        timed("parry3d distance: every pair of surfaces, no bound", BUDGET, unbounded),
    ];
    let pairs = pump.len() * bodies.len();
    print(&format!("smallest gap of {pairs} pairs of solids, {ours:.2} mm"), &rows);
}
