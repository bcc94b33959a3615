//! The straight way for a hand and a bottle to the filler, trim out and lid open.

use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Bounds, Solid, gap_to_straight};
use crate::model::{MoverKind, Point, Pose, Vector};
use crate::units::root_sum_of_squares;

/// How far from the filler the way must be clear, mm: a bottle and the hand round it.
const REACH_MM: f64 = 300.0;

/// The bottle's spout: over this length from the filler only a spout must pass, mm.
const SPOUT_MM: f64 = 50.0;

/// Half the thickness of a spout, mm.
const SPOUT_RADIUS_MM: f64 = 10.0;

/// A solid of the pump this near to the filler is its neck, which the hand is there to open, mm.
const MOUTH_MM: f64 = 1.0;

/// Half of the widest way that is told apart, mm.
const WIDEST_MM: f64 = 75.0;

/// Room above the limit from which the way is comfortable, mm: with the usual limit of 60, 100 mm
/// for a fist. The gap that EN 349 asks for so that a hand isn't crushed stands in for an access
/// size; it is a floor, not a recommendation.
const FIST_MM: f64 = 40.0;

/// The widest straight way, mm across, over a fan of directions within 60° of up.
///
/// A way is a round bar with round ends whose axis runs from 50 to 300 mm from the filler; nearer by
/// only a spout of 20 mm must pass. Bodies, roof and tray where they were measured and the pump itself
/// but for the filler's neck narrow it; trim is out, the lid and its hinges are open. Told apart
/// up to 150 mm. Method: exact distances to the axis, 37 directions in rings at 0, 20, 40 and 60°.
/// Limit 60 mm (a bottle's neck and the fingers round it): common practice, no source.
pub(super) fn check(boot: &Boot, pump: &[Solid], pose: &Pose) -> Check {
    let limits = &boot.layout().limits;
    let tape_mm = root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]);
    let reading = Reading {
        id: "service",
        subject: "filler".to_string(),
        unit: "mm",
        limit: limits.service_mm,
        comfort: limits.service_mm + FIST_MM,
        // A diameter is off by twice what its radius is.
        tolerance: 2.0 * tape_mm,
    };
    let filler = pose * boot.pump().reservoir.filler;
    let solids = in_reach(boot, pump, &filler);
    let mut best: Option<Way> = None;
    for towards in fan() {
        let least_mm = best.as_ref().map_or(0.0, |way| way.radius_mm);
        let way = way(&solids, &filler, &towards, least_mm);
        if way.radius_mm > least_mm || best.is_none() {
            best = Some(way);
        }
        if best.as_ref().is_some_and(|way| way.radius_mm >= WIDEST_MM) {
            break;
        }
    }
    let Some(way) = best else {
        return reading.unknown("no direction to look in".to_string(), Some(filler));
    };
    let across_mm = 2.0 * way.radius_mm;
    let lean = match way.lean_deg {
        lean if lean < 1.0 => "from straight above".to_string(),
        lean => format!("from {lean:.0}° off upright"),
    };
    let why = match way.narrowed_by {
        Some(name) if across_mm <= 0.0 => {
            format!(
                "nothing comes straight to the filler, lid open and trim out: {name} is over it"
            )
        }
        Some(name) => format!(
            "what is {across_mm:.0} mm thick comes straight to the filler {lean}, lid open and trim \
             out; {name} is beside the way"
        ),
        None => {
            format!("hand and bottle come straight to the filler {lean}, lid open and trim out")
        }
    };
    reading.judge(across_mm, why, Some(filler))
}

struct Obstacle<'a> {
    name: &'a str,
    solid: &'a Solid,
    own: bool,
}

struct Way<'a> {
    radius_mm: f64,
    lean_deg: f64,
    narrowed_by: Option<&'a str>,
}

fn in_reach<'a>(boot: &'a Boot, pump: &'a [Solid], filler: &Point) -> Vec<Obstacle<'a>> {
    let around = Bounds { low: *filler, high: *filler }.grown(REACH_MM + WIDEST_MM);
    let bodies =
        boot.bodies().map(|(body, solid)| Obstacle { name: &body.name, solid, own: false });
    let movers = boot
        .movers()
        .filter(|(mover, _)| matches!(mover.kind, MoverKind::Roof | MoverKind::Tray))
        .flat_map(|(mover, solids)| {
            solids.iter().map(|solid| Obstacle { name: &mover.name, solid, own: false })
        });
    let own = pump
        .iter()
        .zip(&boot.pump().solids)
        .filter(|(solid, _)| solid.distance_to_point_mm(filler).abs() > MOUTH_MM)
        .map(|(solid, named)| Obstacle { name: &named.name, solid, own: true });
    bodies
        .chain(movers)
        .chain(own)
        .filter(|obstacle| obstacle.solid.bounds().distance_mm(&around) <= 0.0)
        .collect()
}

/// How wide the way in one direction is; a way narrower than `least_mm` isn't measured out.
fn way<'a>(solids: &[Obstacle<'a>], filler: &Point, towards: &Vector, least_mm: f64) -> Way<'a> {
    let lean_deg = towards.z.clamp(-1.0, 1.0).acos().to_degrees();
    let mut way = Way { radius_mm: WIDEST_MM, lean_deg, narrowed_by: None };
    let (spout, end) = (filler + towards * SPOUT_MM, filler + towards * REACH_MM);
    let narrow = |gap_mm: Option<f64>, obstacle: &Obstacle<'a>, way: &mut Way<'a>| {
        if let Some(gap_mm) = gap_mm.filter(|gap_mm| *gap_mm < way.radius_mm) {
            way.radius_mm = gap_mm.max(0.0);
            way.narrowed_by = Some(obstacle.name);
        }
    };
    for obstacle in solids {
        if !obstacle.own {
            let near = gap_to_straight(obstacle.solid, filler, &spout, SPOUT_RADIUS_MM);
            narrow(near.filter(|gap_mm| *gap_mm < SPOUT_RADIUS_MM), obstacle, &mut way);
        }
        narrow(gap_to_straight(obstacle.solid, &spout, &end, way.radius_mm), obstacle, &mut way);
        if way.radius_mm < least_mm {
            break;
        }
    }
    way
}

/// Straight up, then rings of directions at 20, 40 and 60° from it.
fn fan() -> impl Iterator<Item = Vector> {
    let rings = [(0.0_f64, 1_u32), (20.0, 6), (40.0, 12), (60.0, 18)];
    rings.into_iter().flat_map(|(lean_deg, count)| {
        let (sin, cos) = lean_deg.to_radians().sin_cos();
        (0..count).map(move |turn| {
            let angle = std::f64::consts::TAU * f64::from(turn) / f64::from(count);
            Vector::new(sin * angle.cos(), sin * angle.sin(), cos)
        })
    })
}
