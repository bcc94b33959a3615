//! What stands in the way of a fixing between the pump's mount and the anchor.

use super::fit::{FOAM_MM, FREE_MM, MountAt, Trouble, thread_mm};
use super::tool::first_met_mm;
use crate::checks::Boot;
use crate::geometry::Solid;
use crate::model::{Anchor, FixingKind, Point, Vector};

/// How far off its ends the line of a fixing is asked whether anything stands in it, mm: nearer, it lies
/// against what it is fixed to.
const END_MM: f64 = 3.0;

/// How near to an anchor the sheet lies that it is in, mm: its thickness and what was measured beside it.
/// Common practice, no source.
const HOME_MM: f64 = 1.5;

/// How far a shank, clamp or block of foam may run into something, mm: what paint and felt take up. Common
/// practice, no source.
const GRAZE_MM: f64 = 0.5;

/// Half the width of a clamp between its mount and the edge that it grips, mm: an M6 shank or a strip of
/// sheet. Common practice, no source.
const CLAMP_MM: f64 = 3.0;

/// How far from a mount the part of the pump lies that the mount is in, mm.
const FOOT_MM: f64 = 1.0;

/// The straight room that a fixing takes between mount and anchor.
#[derive(Clone, Copy)]
struct Run {
    from: Point,
    /// Where it begins for the pump's parts, which it lies against at its beginning.
    leaves: Point,
    to: Point,
    /// None for the line of a tie or strap, which has no thickness here.
    radius_mm: Option<f64>,
    /// Whether the pump's part that the mount is in is asked too.
    own_part: bool,
    /// How near to the anchor a body counts as what the anchor is in, mm, and how much of the run's end is
    /// then left out for that body, mm.
    home: Option<(f64, f64)>,
}

impl Run {
    /// None where mount and anchor leave no room for anything to stand between.
    fn of(
        boot: &Boot,
        pump: &[Solid],
        kind: FixingKind,
        anchor: &Anchor,
        mount: &MountAt,
    ) -> Option<Run> {
        let out = anchor.normal.try_normalize(1e-9)?;
        let to = anchor.at + out * END_MM;
        // As high over the anchor's face as the mount stands.
        let high_mm = out.dot(&(mount.at - anchor.at));
        let run = match kind {
            FixingKind::Tie { .. } | FixingKind::Strap { .. } => Run {
                from: leaves(pump, mount, &to, GRAZE_MM),
                leaves: leaves(pump, mount, &to, END_MM),
                to,
                radius_mm: None,
                own_part: true,
                home: None,
            },
            FixingKind::Bolt { .. } => {
                // Through the foot's hole it stands square to the face.
                let square = anchor.at + out * high_mm;
                let hole_mm = mount.mount.hole_mm;
                let (from, leaves) = match hole_mm {
                    Some(_) => (square, square),
                    None => (mount.at, mount.at + mount.towards * END_MM),
                };
                Run {
                    from,
                    leaves,
                    to,
                    radius_mm: Some(thread_mm(anchor.kind, hole_mm).unwrap_or(6.0) / 2.0),
                    own_part: hole_mm.is_none(),
                    home: Some((HOME_MM, FREE_MM)),
                }
            }
            // It reaches round the edge or bar that it grips.
            FixingKind::Clamp { .. } => Run {
                from: mount.at,
                leaves: mount.at + mount.towards * END_MM,
                to,
                radius_mm: Some(CLAMP_MM),
                own_part: true,
                home: Some((HOME_MM, f64::INFINITY)),
            },
            // Foam pushes square to its face. The middle half of the block must be whole; round what stands at
            // its rim it is cut.
            FixingKind::Wedge { .. } => Run {
                from: mount.at,
                leaves: mount.at,
                to: mount.at - out * (high_mm - END_MM),
                radius_mm: Some(FOAM_MM / 4.0),
                own_part: false,
                home: Some((boot.layout().limits.tape_mm, f64::INFINITY)),
            },
        };
        // Ends that lie so near that they pass one another leave nothing between.
        let passed = run.radius_mm.is_some()
            && match kind {
                FixingKind::Clamp { .. } | FixingKind::Bolt { .. } if run.own_part => {
                    (run.to - run.leaves).dot(&(anchor.at - mount.at)) <= 0.0
                }
                _ => high_mm <= END_MM,
            };
        (!passed).then_some(run)
    }

    /// Where a solid is first met, mm from the run's beginning; none when it is clear over `long_mm`.
    fn first_met_mm(&self, solid: &Solid, long_mm: f64) -> Option<f64> {
        let way = self.to - self.from;
        let towards = way.try_normalize(1e-9)?;
        let long_mm = long_mm.min(way.norm());
        if long_mm <= 0.0 {
            return None;
        }
        let on_axis = || solid.ray(&self.from, &towards, long_mm).map(|hit| hit.distance_mm);
        let Some(radius_mm) = self.radius_mm else {
            return solid.blocks(&self.from, &self.to).then(on_axis).flatten();
        };
        // A rod with round ends that reach as far as the run does.
        let radius_mm = radius_mm.min(long_mm / 2.0);
        let thin_mm = radius_mm - GRAZE_MM;
        if thin_mm <= 0.0 {
            return None;
        }
        let begin = self.from + towards * radius_mm;
        let straight_mm = (long_mm - 2.0 * radius_mm).max(1e-3);
        let met_mm = first_met_mm(solid, &begin, &towards, thin_mm, straight_mm)?;
        Some(on_axis().unwrap_or(radius_mm + met_mm + thin_mm))
    }

    /// Where a body is first met; what the anchor is in has its own end of the run.
    fn first_met_body_mm(&self, solid: &Solid, anchor: &Anchor) -> Option<f64> {
        let long_mm = (self.to - self.from).norm();
        let left_mm = match self.home {
            Some((near_mm, left_out_mm))
                if solid.bounds().distance_to_point_mm(&anchor.at) <= near_mm
                    && solid.distance_to_point_mm(&anchor.at) <= near_mm =>
            {
                long_mm - (left_out_mm - END_MM)
            }
            _ => long_mm,
        };
        self.first_met_mm(solid, left_mm)
    }

    fn at(&self, met_mm: f64) -> Point {
        let towards = (self.to - self.from).try_normalize(1e-9).unwrap_or_else(Vector::zeros);
        self.from + towards * met_mm.min((self.to - self.from).norm())
    }
}

/// `off_mm` off where the line of a tie or strap leaves the pump: through a hole, and round a foot, on either
/// side.
fn leaves(pump: &[Solid], mount: &MountAt, to: &Point, off_mm: f64) -> Point {
    let from = mount.at + mount.towards * END_MM;
    let either = mount.mount.hole_mm.is_some() || mount.mount.girth_mm.is_some();
    if either && pump.iter().any(|solid| solid.blocks(&from, to)) {
        return mount.at - mount.towards * (mount.thick_mm() + off_mm);
    }
    mount.at + mount.towards * off_mm
}

/// What the straight room of a fixing would run through, or be struck by; none when it is clear.
///
/// A tie or strap is a line; a bolt the shank of its thread, square to its face where it goes through a hole;
/// a clamp a bar of 6 mm; foam the middle half of its block, square to its face. What a bolt's anchor is in may
/// reach 8 mm along it; what a clamp grips and foam presses on is in no way.
pub(super) fn in_the_way(
    boot: &Boot,
    pump: &[Solid],
    kind: FixingKind,
    anchor: &Anchor,
    mount: &MountAt,
) -> Option<Trouble> {
    let run = Run::of(boot, pump, kind, anchor, mount)?;
    let (words, here, name) = (kind.words(), &mount.mount.name, &anchor.name);
    let of_pump = Run { from: run.leaves, ..run };
    let parts = pump
        .iter()
        .zip(&boot.pump().solids)
        .filter(|(solid, _)| run.own_part || solid.distance_to_point_mm(&mount.at).abs() > FOOT_MM);
    for (solid, part) in parts {
        if let Some(met_mm) = of_pump.first_met_mm(solid, f64::INFINITY) {
            let why = format!(
                "the {words} from {here} to {name} would run through the pump's {}: name the place where it \
leaves the pump as a mount",
                part.name
            );
            return Some(Trouble { why, at: of_pump.at(met_mm) });
        }
    }
    let bodies = boot.bodies().filter_map(|(body, solid)| {
        run.first_met_body_mm(solid, anchor).map(|met_mm| (met_mm, &body.name))
    });
    if let Some((met_mm, body)) = bodies.min_by(|a, b| a.0.total_cmp(&b.0)) {
        let at = run.at(met_mm);
        let why = format!(
            "the {words} from {here} to {name} would run through {body}, {:.0} mm from its mount: take another \
anchor or mount",
            (at - mount.at).norm()
        );
        return Some(Trouble { why, at });
    }
    let swept = boot.field.obstacles().iter().enumerate();
    let mut swept = swept.filter(|(index, _)| !boot.field_is_body(*index));
    let (mover, met_mm) = swept
        .find_map(|(index, swept)| Some((index, run.first_met_mm(&swept.solid, f64::INFINITY)?)))?;
    let why = format!(
        "the {words} from {here} to {name} would be struck by {} as it moves",
        boot.field_name(mover)
    );
    Some(Trouble { why, at: run.at(met_mm) })
}
