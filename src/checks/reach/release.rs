//! The emergency release: does the cord pull the lever its way, and does a hand get to the handle?

use super::route::Route;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Solid, gap_to_straight};
use crate::model::{Line, Point, Pose, Pull, Vector};

/// Length of cord at the lever whose direction is its pull, mm. Common practice, no source.
const PULL_MM: f64 = 50.0;

/// How far straight to a handle or valve a hand comes, mm. Common practice, no source.
const REACH_MM: f64 = 300.0;

/// Where the hand closes round the handle only fingers are asked for, mm.
const GRASP_MM: f64 = 60.0;

/// Clear diameter for fingers there, mm: less narrows the way by as much. Source: EN 349 as a public page
/// gives it, 25 mm for a finger.
const FINGER_MM: f64 = 25.0;

/// Fingers close round the handle itself: this much of the way is let be, mm.
const HANDLE_MM: f64 = 10.0;

/// Clear diameter for a fist, mm. Source: EN 349 as a public page gives it, 100 mm for hand and fist; that
/// is a gap against crushing and stands in for an opening, of which no figure was read.
const FIST_MM: f64 = 100.0;

/// The same for an arm, mm: comfortable.
const ARM_MM: f64 = 120.0;

/// Checks of a release cord whose pull was measured.
pub(super) fn release(
    boot: &Boot,
    pump: &[Solid],
    pose: &Pose,
    line: &Line,
    route: &Route,
) -> Vec<Check> {
    let Some(pull) = &line.pull else { return Vec::new() };
    let mut checks: Vec<Check> = pulled(boot, pose, line, route, pull).into_iter().collect();
    let valve = boot.pump().ports.iter().find(|port| port.name == line.to);
    checks.push(hand(boot, pump, line, "handle", &pull.handle, false));
    if let Some(valve) = valve {
        checks.push(hand(boot, pump, line, "valve", &(pose * valve.at), true));
    }
    checks
}

/// The angle between the lever's own direction and that of the cord's last stretch, degrees.
fn pulled(boot: &Boot, pose: &Pose, line: &Line, route: &Route, pull: &Pull) -> Option<Check> {
    let port = boot.pump().ports.iter().find(|port| port.name == line.to)?;
    let (at, lever) = (pose * port.at, pose * port.towards);
    let points = &route.curve.points;
    let far = points.iter().rev().find(|point| (*point - at).norm() >= PULL_MM);
    let way = (far.or(points.first())? - at).try_normalize(1e-9)?;
    let angle_deg = way.angle(&lever).to_degrees();
    let why = format!(
        "{} pulls {angle_deg:.0}° from the lever's own direction; its cone is {:.0}°",
        line.name, pull.cone_deg
    );
    let reading = Reading {
        id: "release-pull",
        subject: line.name.clone(),
        unit: "°",
        limit: pull.cone_deg,
        comfort: pull.cone_deg / 2.0,
        tolerance: 2.0,
    };
    Some(reading.judge(angle_deg, why, Some(at)))
}

/// The thickest round thing that comes straight to a place from outside, mm.
///
/// Method: 55 directions from straight up to 80° off it; bodies and the pump count,
/// with the lid open and the trim out. At its own valve the pump lies beside every way: there it counts
/// only where the middle of the way would go through it.
fn hand(
    boot: &Boot,
    pump: &[Solid],
    line: &Line,
    what: &str,
    place: &Point,
    on_pump: bool,
) -> Check {
    let mut best: Option<(f64, Option<String>)> = None;
    for towards in fan() {
        let (from, to) = (place + towards * GRASP_MM, place + towards * REACH_MM);
        let mut radius_mm = ARM_MM / 2.0;
        let mut narrowed = None;
        let fingers = place + towards * HANDLE_MM;
        let bodies = boot.bodies().map(|(body, solid)| (body.name.clone(), solid));

        let own = pump.iter().zip(&boot.pump().solids);
        let own = own.map(|(solid, named)| (format!("the pump's {}", named.name), solid));
        let bodies = bodies.map(|(name, solid)| (name, solid, false));
        for (name, solid, own) in bodies.chain(own.map(|(name, solid)| (name, solid, true))) {
            if let Some(gap_mm) = gap_to_straight(solid, &from, &to, radius_mm)
                && gap_mm < radius_mm
                && !(own && on_pump && gap_mm > 0.0)
            {
                radius_mm = gap_mm.max(0.0);
                narrowed = Some(name.clone());
            }
            if let Some(gap_mm) = gap_to_straight(solid, &fingers, &from, FINGER_MM / 2.0)
                && gap_mm < (FINGER_MM / 2.0).min(radius_mm)
                && !(own && on_pump)
            {
                radius_mm = gap_mm.max(0.0);
                narrowed = Some(name);
            }
        }
        if best.as_ref().is_none_or(|(wide_mm, _)| radius_mm > *wide_mm) {
            best = Some((radius_mm, narrowed));
        }
    }
    let reading = Reading {
        id: "release-hand",
        subject: format!("{}, {what}", line.name),
        unit: "mm",
        limit: FIST_MM,
        comfort: ARM_MM,
        tolerance: 2.0 * boot.layout().limits.tape_mm,
    };
    let (radius_mm, narrowed) = best.unwrap_or((0.0, None));
    let beside = narrowed.map(|name| format!("; {name} is beside the way")).unwrap_or_default();
    let why = format!(
        "what is {:.0} mm thick comes straight to the {what} of {}, lid open and trim out{beside}",
        2.0 * radius_mm,
        line.name
    );
    reading.judge(2.0 * radius_mm, why, Some(*place))
}

/// Straight up, then rings of directions at 20, 40, 60 and 80° from it.
fn fan() -> impl Iterator<Item = Vector> {
    let rings = [(0.0_f64, 1_u32), (20.0, 6), (40.0, 12), (60.0, 18), (80.0, 18)];
    rings.into_iter().flat_map(|(lean_deg, count)| {
        let (sin, cos) = lean_deg.to_radians().sin_cos();
        (0..count).map(move |turn| {
            let angle = std::f64::consts::TAU * f64::from(turn) / f64::from(count);
            Vector::new(sin * angle.cos(), sin * angle.sin(), cos)
        })
    })
}
