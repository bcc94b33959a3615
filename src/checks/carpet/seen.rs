//! How much of the pump people see from where they stand, trim in and trim out.

use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Bounds, Solid};
use crate::model::{MoverKind, Point, Pose, Vector};

/// Points laid over the pump's solids; what lies inside another of its solids is left out.
const LAID: usize = 1024;

/// How far off the skin a look begins, mm: round solids are drawn with flat sides.
const OFF_MM: f64 = 0.05;

/// How far off the share may be, % of the surface: against 60,000 random points it was off by at most
/// 0.9 on 24 scenes (tests/referees/seen.rs); the rest is for eyes that stand a little elsewhere.
const SHARE_TOLERANCE_PCT: f64 = 2.0;

/// A point of the pump's outer skin, each for the same area; pump's frame.
pub(crate) struct SkinPoint {
    at: Point,
    normal: Vector,
}

/// Points spread evenly over the outer skin of the pump's solids.
///
/// Method: the additive recurrence of the plastic number's kin in three dimensions picks the
/// triangle by area and the place in it, so the points are the same on every run. Points that
/// lie in, or face to face on, another of the solids are left out.
/// Source of the recurrence: quasi-random sequences after Roberts (2018), from memory.
pub(crate) fn skin(pump: &[Solid]) -> Vec<SkinPoint> {
    let faces: Vec<(usize, [Point; 3], Vector)> = pump
        .iter()
        .enumerate()
        .flat_map(|(owner, solid)| {
            solid.triangles().each().map(move |[a, b, c]| {
                let twice_area = (b - a).cross(&(c - a));
                (owner, [a, b, c], twice_area)
            })
        })
        .collect();
    let mut upto = 0.0;
    let summed: Vec<f64> = faces
        .iter()
        .map(|(.., twice_area)| {
            upto += twice_area.norm();
            upto
        })
        .collect();
    let mut points = Vec::new();
    for [pick, mut along, mut across] in spread(LAID) {
        let face = summed.partition_point(|sum| *sum <= pick * upto);
        let Some((owner, [a, b, c], twice_area)) = faces.get(face) else { continue };
        let Some(normal) = twice_area.try_normalize(1e-12) else { continue };
        if along + across > 1.0 {
            (along, across) = (1.0 - along, 1.0 - across);
        }
        let at = a + (b - a) * along + (c - a) * across;
        let outside = at + normal * OFF_MM;
        let mut others = pump.iter().enumerate().filter(|(index, _)| index != owner);
        if !others.any(|(_, solid)| solid.holds(&outside)) {
            points.push(SkinPoint { at, normal });
        }
    }
    points
}

/// `count` points spread evenly over the unit cube.
pub(crate) fn spread(count: usize) -> impl Iterator<Item = [f64; 3]> {
    // The real root of x⁴ = x + 1; its powers' inverses are the steps along the three axes.
    const ROOT: f64 = 1.220_744_084_605_759_5;
    let steps = [1.0 / ROOT, 1.0 / (ROOT * ROOT), 1.0 / (ROOT * ROOT * ROOT)];
    (1..=count).map(move |turn| steps.map(|step| (0.5 + step * turn as f64).fract()))
}

/// The share of the pump's outer skin that the worst-placed viewpoint sees with the trim in, %.
///
/// A piece of skin is seen when it faces the eye and nothing lies between: bodies, roof and tray
/// where they were measured, the pump itself, and the trim's surfaces; the lid and its hinges are
/// taken as open. The skin that faces away counts too, so half is about the most that one eye
/// sees. Limit: common practice, no source. Cost: a few hundred rays a viewpoint.
pub(super) fn check(boot: &Boot, pump: &[Solid], pose: &Pose) -> Check {
    let reading = Reading {
        id: "seen",
        subject: "pump".to_string(),
        unit: "%",
        limit: boot.layout().limits.seen_pct,
        comfort: 0.0,
        tolerance: SHARE_TOLERANCE_PCT,
    };
    let middle = pump.iter().map(|s| *s.bounds()).reduce(|a, b| a.with(&b)).map(|b| b.centre());
    let points: Vec<(Point, Vector)> = boot
        .pump_skin
        .iter()
        .map(|point| (pose * (point.at + point.normal * OFF_MM), pose * point.normal))
        .collect();
    let mut worst: Option<(Shares, &str)> = None;
    for eye in &boot.layout().viewpoints {
        let shares = shares(boot, pump, &points, &eye.at);
        let rank = |shares: &Shares| (shares.in_pct, shares.out_pct);
        if worst.as_ref().is_none_or(|(most, _)| rank(&shares) > rank(most)) {
            worst = Some((shares, &eye.name));
        }
    }
    let Some((shares, eye)) = worst.filter(|_| !points.is_empty()) else {
        let why = "no viewpoint was measured: add where people stand when the boot is open";
        return reading.unknown(why.to_string(), middle);
    };
    let (in_pct, out_pct) = (shares.in_pct, shares.out_pct);
    let why = if in_pct > 0.0 {
        format!(
            "{in_pct:.0} % of the pump's surface can be seen from {eye} with the trim in, \
             {out_pct:.0} % with it out"
        )
    } else {
        format!(
            "nothing of the pump can be seen with the trim in; with it out, {out_pct:.0} % of its \
             surface from {eye}"
        )
    };
    reading.judge(in_pct, why, shares.at.or(middle))
}

struct Shares {
    in_pct: f64,
    out_pct: f64,
    /// A place that is seen with the trim in.
    at: Option<Point>,
}

fn shares(boot: &Boot, pump: &[Solid], points: &[(Point, Vector)], eye: &Point) -> Shares {
    let between = Bounds::of(points.iter().map(|(at, _)| at).chain([eye]));
    let near = |solid: &&Solid| between.is_none_or(|b| solid.bounds().distance_mm(&b) <= 0.0);
    let still = |kind: MoverKind| matches!(kind, MoverKind::Roof | MoverKind::Tray);
    let solids: Vec<&Solid> = pump
        .iter()
        .chain(boot.bodies().map(|(_, solid)| solid))
        .chain(boot.movers().filter(|(mover, _)| still(mover.kind)).flat_map(|(_, solids)| solids))
        .filter(near)
        .collect();
    let sheets: Vec<&Solid> =
        boot.trim_field.obstacles().iter().map(|sheet| &sheet.solid).filter(near).collect();
    let (mut inside, mut out, mut place) = (0_u32, 0_u32, None);
    // What blocked the last look mostly blocks the next one too.
    let mut last = 0;
    for (at, normal) in points {
        if normal.dot(&(eye - at)) <= 0.0 {
            continue;
        }
        if solids.get(last).is_some_and(|solid| solid.blocks(at, eye)) {
            continue;
        }
        if let Some(found) = solids.iter().position(|solid| solid.blocks(at, eye)) {
            last = found;
            continue;
        }
        out += 1;
        if !sheets.iter().any(|sheet| sheet.blocks(at, eye)) {
            inside += 1;
            place.get_or_insert(*at);
        }
    }
    let share = |count: u32| 100.0 * f64::from(count) / points.len().max(1) as f64;
    Shares { in_pct: share(inside), out_pct: share(out), at: place }
}
