//! How far the pump, its fixings and its lines push each trim surface out of its place.

use super::details::TrimLift;
use crate::checks::BootTrim;
use crate::checks::{Boot, Check, DrawnFixing, DrawnLine, Reading};
use crate::geometry::{Solid, StandOut};
use crate::model::{Point, Pose, Shape, Trim};
use crate::units::root_sum_of_squares;

/// A line that stands out farther than this comes out through the surface, mm.
const THROUGH_MM: f64 = 60.0;

/// Radius of the bar that stands for a tie, a strap or a bolt, mm: M6. Common practice, no source.
const FIXING_RADIUS_MM: f64 = 3.0;

/// What pushes a trim surface out, and where it does so most.
struct Push {
    lift_mm: f64,
    what: String,
    at: Point,
    /// Whether it comes out through the surface and runs on in front of it.
    through: bool,
}

/// What may push the trim: the pump and its fixings as one rigid thing, and the lines.
pub(super) struct Pushers<'a> {
    unit: Vec<(String, &'a Solid)>,
    lines: &'a [DrawnLine],
}

/// The fixings that reach their anchors, as bars.
pub(super) fn bars(fixings: &[DrawnFixing]) -> Vec<(String, Solid)> {
    fixings
        .iter()
        .filter(|fixing| fixing.in_reach)
        .filter_map(|fixing| {
            let shape =
                Shape::Cylinder { from: fixing.from, to: fixing.to, radius_mm: FIXING_RADIUS_MM };
            let long = (fixing.to - fixing.from).norm() > 0.5;
            let bar =
                long.then(|| Solid::of(&shape, &Pose::identity(), |_| None).ok()).flatten()?;
            Some((format!("the fixing to {}", fixing.anchor), bar))
        })
        .collect()
}

impl<'a> Pushers<'a> {
    pub(super) fn of(
        boot: &Boot,
        pump: &'a [Solid],
        bars: &'a [(String, Solid)],
        lines: &'a [DrawnLine],
    ) -> Pushers<'a> {
        let named = boot.pump().solids.iter().map(|solid| format!("the pump's {}", solid.name));
        let unit = named.zip(pump).chain(bars.iter().map(|(name, bar)| (name.clone(), bar)));
        Pushers { unit: unit.collect(), lines }
    }

    fn unit(&self) -> Vec<&Solid> {
        self.unit.iter().map(|(_, solid)| *solid).collect()
    }

    fn most(&self, trim: &BootTrim) -> Option<Push> {
        let unit = trim.sheet.stand_out(&self.unit()).map(|StandOut { proud_mm, at, of }| Push {
            lift_mm: proud_mm,
            what: self.unit.get(of).map_or_else(String::new, |(name, _)| name.clone()),
            at,
            through: false,
        });
        let lines = self.lines.iter().filter_map(|line| {
            let found = trim.sheet.stand_out_of_line(&line.centreline, line.radius_mm)?;
            Some(Push {
                lift_mm: found.proud_mm.min(THROUGH_MM),
                what: line.name.clone(),
                at: found.at,
                through: found.proud_mm > THROUGH_MM,
            })
        });
        unit.into_iter().chain(lines).max_by(|a, b| a.lift_mm.total_cmp(&b.lift_mm))
    }
}

/// One check for each trim surface: how far it is pushed out along its normal, mm, negative when all stays
/// behind it; held to its give, 0 for a board.
///
/// Method: [`stand_out`](crate::geometry::Sheet::stand_out), exact on the triangles of pump and trim.
/// Cost: each triangle of the pump against each face near it.
pub(super) fn check(boot: &Boot, pushers: &Pushers) -> Vec<Check> {
    boot.trims
        .iter()
        .map(|ready| judge(boot, pushers, &boot.layout().trims[ready.index], ready))
        .collect()
}

fn judge(boot: &Boot, pushers: &Pushers, trim: &Trim, ready: &BootTrim) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "lift",
        subject: trim.name.clone(),
        unit: "mm",
        limit: trim.give_mm,
        // What lies 5 mm behind the surface is comfortable; what just touches it is not.
        comfort: -5.0,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    match pushers.most(ready) {
        None => {
            let at = ready.triangles.bounds().map(|bounds| bounds.centre());
            reading.judge(-100.0, format!("nothing comes up behind {}", trim.name), at)
        }
        Some(push) if push.lift_mm <= 0.0 => {
            let why = format!("{} stays {:.0} mm behind {}", push.what, -push.lift_mm, trim.name);
            reading.judge(push.lift_mm, why, Some(push.at))
        }
        Some(push) => {
            let why = pushed_out(trim, &push);
            reading.judge(push.lift_mm, why, Some(push.at))
        }
    }
}

fn pushed_out(trim: &Trim, push: &Push) -> String {
    let over = push.lift_mm - trim.give_mm;
    if push.through {
        format!(
            "{} comes out through {} (counted as {THROUGH_MM:.0} mm), so it can't go back as it was",
            push.what, trim.name
        )
    } else if over > 0.0 {
        format!(
            "{} pushes {} out by {:.0} mm, {over:.0} mm more than it gives",
            push.what, trim.name, push.lift_mm
        )
    } else {
        format!("{} pushes {} out by {:.0} mm, which it gives", push.what, trim.name, push.lift_mm)
    }
}

/// What each trim that is pushed out too far would need: height to lose, or outlines to cut out.
pub(super) fn lifts(boot: &Boot, pushers: &Pushers) -> Vec<TrimLift> {
    let lines: Vec<Solid> = pushers.lines.iter().flat_map(pipe).collect();
    let mut all = pushers.unit();
    all.extend(&lines);
    let asked = boot.trims.iter().filter_map(|ready| {
        let trim = &boot.layout().trims[ready.index];
        let push = pushers.most(ready).filter(|push| push.lift_mm > 0.0)?;
        let lose_mm = (push.lift_mm - trim.give_mm).max(0.0);
        let outlines =
            if lose_mm > 0.0 { ready.sheet.cut_outs(&all, trim.give_mm) } else { Vec::new() };
        Some(TrimLift {
            trim: trim.name.clone(),
            what: push.what,
            lift_mm: push.lift_mm,
            give_mm: trim.give_mm,
            lose_mm,
            at: push.at,
            outlines,
        })
    });
    asked.collect()
}

/// A line as bars between its points.
fn pipe(line: &DrawnLine) -> Vec<Solid> {
    let bars = line.centreline.windows(2).filter_map(|ends| {
        let shape =
            Shape::Cylinder { from: ends[0], to: ends[1], radius_mm: line.radius_mm.max(0.1) };
        let long = (ends[1] - ends[0]).norm() > 0.01;
        long.then(|| Solid::of(&shape, &Pose::identity(), |_| None).ok()).flatten()
    });
    bars.collect()
}
