//! What to mind when fixing it: heat, edges, what lies behind a hole to be drilled.

use serde::Serialize;

use super::fit::NYLON_C;
use super::points::Fixed;
use super::tool::first_met_mm;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Solid, gap_to_straight};
use crate::model::{Anchor, AnchorKind, FixingKind, Part, Point};
use crate::units::root_sum_of_squares;

/// Something to mind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Caution {
    /// `heat`, `edge` or `drill`.
    pub kind: &'static str,
    /// In words.
    pub text: String,
    /// Where in the boot.
    pub at: Point,
}

/// How near to a sharp edge a tie or strap chafes, mm. Common practice, no source.
const CHAFES_MM: f64 = 10.0;

/// How far behind a sheet a drill is looked after, how far it runs through, and half its width with
/// what it throws, mm. Common practice, no source.
const DRILL_LOOK_MM: f64 = 80.0;
const DRILL_RUNS_MM: f64 = 25.0;
const DRILL_RADIUS_MM: f64 = 6.0;

/// Cautions for the fixings of a spot, in their order.
pub(super) fn cautions(boot: &Boot, pump: &[Solid], fixed: &[Fixed]) -> Vec<Caution> {
    let mut found = Vec::new();
    for it in fixed {
        let (name, at) = (&it.anchor.name, it.anchor.at);
        let soft = matches!(it.fixing.kind, FixingKind::Tie { .. } | FixingKind::Strap { .. });
        if soft {
            found.extend(heat(boot, pump, it));
            found.extend(edges(boot, it));
        }
        if needs_hole(it) {
            let text = match behind(boot, it.anchor) {
                Some((deep_mm, what)) => format!(
                    "{name} has to be drilled, and {what} lies {deep_mm:.0} mm behind it: set a stop, \
shield it or take another place"
                ),
                None => format!(
                    "{name} has to be drilled; nothing measured lies within {DRILL_LOOK_MM:.0} mm behind \
it, but look for tank, lines and looms yourself before drilling"
                ),
            };
            found.push(Caution { kind: "drill", text, at });
        }
    }
    found
}

fn heat(boot: &Boot, pump: &[Solid], it: &Fixed) -> Option<Caution> {
    let words = it.fixing.kind.words();
    if let Some(hot_c) = it.anchor.hot_c.filter(|hot| *hot > NYLON_C - 20.0) {
        let text = format!(
            "the {words} to {} gets {hot_c:.0} °C hot at its anchor; plain nylon takes {NYLON_C:.0} °C",
            it.anchor.name
        );
        return Some(Caution { kind: "heat", text, at: it.anchor.at });
    }
    let on_motor = pump.iter().zip(&boot.pump().solids).any(|(solid, part)| {
        part.part == Part::Motor && solid.distance_to_point_mm(&it.mount.at).abs() < 2.0
    });
    on_motor.then(|| Caution {
        kind: "heat",
        text: format!(
            "the {words} to {} lies on the motor, which gets hot when the roof is run again and again: \
take a heat-stabilised one, or lead it over a sleeve",
            it.anchor.name
        ),
        at: it.mount.at,
    })
}

fn edges(boot: &Boot, it: &Fixed) -> Option<Caution> {
    let sharp = boot.bodies().filter(|(body, _)| body.sharp);
    let (name, gap_mm) = sharp
        .filter_map(|(body, solid)| {
            let gap_mm = gap_to_straight(solid, &it.mount.at, &it.anchor.at, CHAFES_MM)?;
            Some((body.name.as_str(), gap_mm.max(0.0)))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let text = format!(
        "the {} from {} to {} comes within {gap_mm:.0} mm of {name}, which is sharp: sleeve it or \
dress the edge",
        it.fixing.kind.words(),
        it.fixing.mount,
        it.anchor.name
    );
    Some(Caution { kind: "edge", text, at: it.anchor.at })
}

fn needs_hole(it: &Fixed) -> bool {
    matches!((it.fixing.kind, it.anchor.kind), (FixingKind::Bolt { .. }, AnchorKind::Face))
}

/// What lies behind a face that is to be drilled, and how deep, mm; none within 80 mm.
fn behind(boot: &Boot, anchor: &Anchor) -> Option<(f64, String)> {
    let into = -anchor.normal.try_normalize(1e-9)?;
    let bodies = boot.bodies().map(|(body, solid)| (solid, &body.name));
    let movers = boot
        .movers()
        .flat_map(|(mover, solids)| solids.iter().map(move |solid| (solid, &mover.name)));
    bodies
        .chain(movers)
        // The sheet itself is what is drilled.
        .filter(|(solid, _)| solid.distance_to_point_mm(&anchor.at).abs() > 1.5)
        .filter_map(|(solid, name)| {
            let deep_mm = first_met_mm(solid, &anchor.at, &into, DRILL_RADIUS_MM, DRILL_LOOK_MM)?;
            Some((deep_mm, name.clone()))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The hole to be drilled that has something nearest behind it; none when nothing has to be drilled.
pub(super) fn drill(boot: &Boot, fixed: &[Fixed]) -> Option<Check> {
    let limits = &boot.layout().limits;
    let worst = fixed
        .iter()
        .filter(|it| needs_hole(it))
        .map(|it| (it.anchor, behind(boot, it.anchor)))
        .min_by(|a, b| {
            let deep = |it: &Option<(f64, String)>| it.as_ref().map_or(DRILL_LOOK_MM, |it| it.0);
            deep(&a.1).total_cmp(&deep(&b.1))
        })?;
    let reading = Reading {
        id: "drill",
        subject: worst.0.name.clone(),
        unit: "mm",
        limit: DRILL_RUNS_MM,
        comfort: 2.0 * DRILL_RUNS_MM,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.tape_mm]),
    };
    let (deep_mm, why) = match &worst.1 {
        Some((deep_mm, what)) => (
            *deep_mm,
            format!(
                "{what} lies {deep_mm:.0} mm behind the hole to be drilled at {}; a drill runs through \
by up to {DRILL_RUNS_MM:.0} mm",
                worst.0.name
            ),
        ),
        None => (
            DRILL_LOOK_MM,
            format!(
                "nothing measured lies within {DRILL_LOOK_MM:.0} mm behind the hole to be drilled at {}; \
look for tank, lines and looms all the same",
                worst.0.name
            ),
        ),
    };
    Some(reading.judge(deep_mm, why, Some(worst.0.at)))
}
