//! The gap between the pump or its fixings and each body, against the gap that the pair of roles asks for.

use super::{Asked, Gaps, LOOK_MM};
use crate::checks::hold::Shake;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Gap, Solid, gap, rough_gap};
use crate::model::{Body, Layout, Limits, Part, Posed, PumpSolid, Role, Shape, Skin};
use crate::units::root_sum_of_squares;

/// Pairs that are reported; the rest are farther from their limits.
const REPORTED: usize = 3;

struct Near<'a> {
    body: &'a Body,
    /// What comes near, in words.
    what: String,
    gap: Gap,
    required_mm: f64,
    /// What shaking takes of the gap, mm.
    shaken_mm: f64,
    /// Whether a depth is a bound below the true one.
    rough: bool,
}

impl Near<'_> {
    fn margin_mm(&self) -> f64 {
        self.gap.distance_mm - self.shaken_mm - self.required_mm
    }
}

/// How near a rubber foot must be to what it rests on, and how far it may bed in, mm. Common practice, no source.
const BEDDING_MM: f64 = 1.0;

/// One check for each of the bodies nearest to its limit, the nearest first.
pub(super) fn check(boot: &Boot, asked: &Asked, bars: &[(String, Solid)]) -> (Vec<Check>, Gaps) {
    let limits = &boot.layout().limits;
    let mut near: Vec<Near> = Vec::new();
    for (body, solid) in boot.bodies() {
        let measure = Measure { layout: boot.layout(), body, solid, rough: asked.rough_depths };
        let parts = asked.pump.iter().zip(&boot.pump().solids).filter_map(|(part, named)| {
            let near = measure.part(named, part)?;
            Some(Near { shaken_mm: shaken_mm(asked.shake, part, &near.gap), ..near })
        });
        let fixings = bars.iter().filter_map(|(name, bar)| measure.fixing(name, bar));
        let closest = parts.chain(fixings).min_by(|a, b| a.margin_mm().total_cmp(&b.margin_mm()));
        near.extend(closest);
    }
    near.sort_by(|a, b| a.margin_mm().total_cmp(&b.margin_mm()));
    if !boot.every_gap {
        near.truncate(REPORTED);
    }
    let gaps = near
        .iter()
        .map(|near| (near.gap.on_first, near.gap.on_second, near.gap.distance_mm))
        .collect();
    if near.is_empty() {
        let reading = reading(limits, "every body".to_string(), limits.gap_mm, limits.tape_mm);
        let at = asked.pump.first().map(|part| part.bounds().centre());
        let figure = limits.gap_mm + LOOK_MM;
        return (vec![reading.judge(figure, format!("no body within {LOOK_MM:.0} mm"), at)], gaps);
    }
    (near.iter().map(|near| judge(limits, near)).collect(), gaps)
}

/// What is asked about one body.
struct Measure<'a> {
    layout: &'a Layout,
    body: &'a Body,
    solid: &'a Solid,
    /// Whether a bound below a depth will do.
    rough: bool,
}

impl<'a> Measure<'a> {
    /// A part of the pump; none when it is far away, or when a foot stands on something that may
    /// carry it.
    fn part(&self, named: &PumpSolid, part: &Solid) -> Option<Near<'a>> {
        let near = self.thing(named.part.into(), || format!("the pump's {}", named.name), part)?;
        (!rests(self.body, named, &near.gap)).then_some(near)
    }

    /// A fixing; none when it is far away, when the pair of roles asks for no gap, or when it holds to
    /// the body.
    fn fixing(&self, name: &str, bar: &Solid) -> Option<Near<'a>> {
        if self.layout.required_gap_mm(Posed::Fixing, self.body.role) <= 0.0 {
            return None;
        }
        let near = self.thing(Posed::Fixing, || name.to_string(), bar)?;
        let held = may_carry(self.body) && near.gap.distance_mm <= BEDDING_MM;
        (!held).then_some(near)
    }

    fn thing(&self, of: Posed, what: impl Fn() -> String, solid: &Solid) -> Option<Near<'a>> {
        let required_mm = required_mm(self.layout, of, self.body);
        let ask = if self.rough { rough_gap } else { gap };
        let gap = ask(solid, self.solid, required_mm + LOOK_MM)?;
        let (body, rough) = (self.body, self.rough && gap.distance_mm < 0.0);
        Some(Near { body, what: what(), gap, required_mm, shaken_mm: 0.0, rough })
    }
}

/// How much of a gap the shaking of a part of the pump takes, mm: the motion of whichever of its corners
/// moves most across the gap. 0 where the pump isn't held at all: that fails elsewhere.
fn shaken_mm(shake: Option<&Shake>, part: &Solid, gap: &Gap) -> f64 {
    let way = (gap.on_second - gap.on_first).try_normalize(1e-6);
    let Some((shake, way)) = shake.zip(way.filter(|_| gap.distance_mm > 0.0)) else { return 0.0 };
    part.samples().filter_map(|at| shake.motion_mm(at, &way)).fold(0.0, f64::max)
}

/// Touching is resting; a foot that stands just off a panel would rattle against it.
fn rests(body: &Body, named: &PumpSolid, gap: &Gap) -> bool {
    gap.distance_mm.abs() <= BEDDING_MM && named.part == Part::Frame && may_carry(body)
}

/// The bodies that the pump's feet stand on, by their place among the boot's.
pub(crate) fn stands_on(boot: &Boot, pump: &[Solid]) -> Vec<usize> {
    let on = |(body, solid): (&Body, &Solid)| {
        pump.iter().zip(&boot.pump().solids).any(|(part, named)| {
            gap(part, solid, BEDDING_MM).is_some_and(|gap| rests(body, named, &gap))
        })
    };
    boot.bodies().enumerate().filter(|(_, body)| on(*body)).map(|(index, _)| index).collect()
}

/// Half-width of the range that a body was measured to, mm.
pub(crate) fn measured_mm(limits: &Limits, body: &Body) -> f64 {
    let scanned = matches!(body.shape, Shape::Mesh { .. });
    let usual_mm = if scanned { limits.scan_mm } else { limits.tape_mm };
    body.tolerance_mm.unwrap_or(usual_mm)
}

/// Whether the pump's feet may stand on a body: smooth sheet and brackets.
fn may_carry(body: &Body) -> bool {
    let sheet = matches!(
        body.role,
        Role::Floor | Role::Panel | Role::WheelArch | Role::Bulkhead | Role::Bracket
    );
    sheet && !body.sharp
}

/// The gap that a pair asks for, mm: by its roles, and no less than a sharp edge asks for.
fn required_mm(layout: &Layout, of: Posed, body: &Body) -> f64 {
    let by_roles = layout.required_gap_mm(of, body.role);
    if body.sharp && of != Posed::Fixing {
        by_roles.max(layout.limits.gap_sharp_mm)
    } else {
        by_roles
    }
}

fn reading(limits: &Limits, subject: String, limit: f64, measured_mm: f64) -> Reading {
    Reading {
        id: "clearance",
        subject,
        unit: "mm",
        limit,
        comfort: limit + 10.0,
        tolerance: root_sum_of_squares(&[measured_mm, limits.bench_mm]),
    }
}

fn judge(limits: &Limits, near: &Near) -> Check {
    let measured_mm = measured_mm(limits, near.body);
    let reading = reading(limits, near.body.name.clone(), near.required_mm, measured_mm);
    let gap_mm = near.gap.distance_mm;
    let faced = matches!(near.body.skin, Some(Skin::Faced { .. }));
    let (what, name) = (&near.what, &near.body.name);
    let least = if near.rough { "at least " } else { "" };
    let why = if gap_mm < 0.0 && faced {
        format!("{what} reaches {least}{:.0} mm behind the scanned skin of {name}", -gap_mm)
    } else if gap_mm < 0.0 {
        format!("{what} runs {least}{:.0} mm into {name}", -gap_mm)
    } else {
        let shaken = if near.shaken_mm >= 0.05 {
            format!(", of which shaking takes {:.1} mm", near.shaken_mm)
        } else {
            String::new()
        };
        format!(
            "{what} comes within {gap_mm:.0} mm of {name}{shaken}; it needs {:.0} mm",
            near.required_mm
        )
    };
    reading.judge(gap_mm - near.shaken_mm, why, Some(near.gap.on_second))
}
