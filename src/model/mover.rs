//! Bodies that move: hinges, lid, folding roof, sliding tray.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Point, Shape, Vector};

/// What a mover is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum MoverKind {
    /// A hinge arm, with its spring or strut.
    Hinge,
    /// The boot lid.
    Lid,
    /// A part of the folding roof.
    Roof,
    /// A tray or cover that slides or tips.
    Tray,
}

/// How it moves, from where it was measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Motion {
    /// Turns about an axis.
    Swing {
        /// A point on the axis.
        through: Point,
        /// The axis direction; right-hand rule.
        along: Vector,
        /// One end of the travel, degrees from where it was measured.
        from_deg: f64,
        /// The other end.
        to_deg: f64,
    },
    /// Slides along a direction.
    Slide {
        /// The direction.
        along: Vector,
        /// One end of the travel, mm from where it was measured.
        from_mm: f64,
        /// The other end.
        to_mm: f64,
    },
}

/// What moves a mover that something else drives: a link, a cable, the part that it is hinged on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drive {
    /// The name of the mover that drives it.
    pub by: String,
    /// Travel of the driver against this mover's own travel, each in degrees or mm from where they were
    /// measured; the driver's rising. Straight between the pairs, held beyond the first and the last. Two
    /// pairs are a ratio.
    pub table: Vec<(f64, f64)>,
    /// Whether the driver carries it, as one part of a folding roof carries the next; its axis then goes
    /// with the driver.
    #[serde(default)]
    pub carried: bool,
}

/// A body that moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mover {
    /// What the workshop calls it.
    pub name: String,
    /// What it is.
    pub kind: MoverKind,
    /// Its solids where they were measured.
    pub shapes: Vec<Shape>,
    /// How it moves.
    pub motion: Motion,
    /// What drives it; it moves on its own, over its whole travel, if left out.
    #[serde(default)]
    pub driven: Option<Drive>,
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
    /// How well it was measured, ± mm; the layout's tape tolerance if left out.
    #[serde(default)]
    pub tolerance_mm: Option<f64>,
}

/// Most pairs of a drive's table.
const MOST_PAIRS: usize = 500;

impl Drive {
    fn inspect(&self, to: &mut Inspector, motion: &Motion) {
        let (from, till) = motion.travel();
        let (low, high) = (from.min(till), from.max(till));
        let unit = motion.unit();
        to.field("table", |at| {
            let count = self.table.len();
            if !(2..=MOST_PAIRS).contains(&count) {
                at.report(
                    format!("{count} pairs"),
                    format!("2 to {MOST_PAIRS} pairs of (driver's travel, own travel)"),
                );
                return;
            }
            let ends = |(driver, own): &(f64, f64)| driver.is_finite() && own.is_finite();
            if let Some(odd) = self.table.iter().find(|pair| !ends(pair)) {
                at.report(format!("({}, {})", odd.0, odd.1), "two numbers");
                return;
            }
            if let Some(pair) = self.table.windows(2).find(|pair| pair[1].0 <= pair[0].0) {
                at.report(
                    format!("a driver's travel of {} after {}", pair[1].0, pair[0].0),
                    "the driver's travel rising from pair to pair",
                );
            }
            let beyond = |own: f64| own < low - 1e-9 || own > high + 1e-9;
            if let Some(&(_, own)) = self.table.iter().find(|(_, own)| beyond(*own)) {
                at.report(
                    format!("a travel of {own}{unit}"),
                    format!("this mover's own travel, {low} to {high}{unit}"),
                );
            }
        });
    }
}

/// Reports drivers that are no mover, chains that come back to where they began, and drivers that are
/// not on every car that has what they drive.
pub(crate) fn inspect_drives(movers: &[Mover], to: &mut Inspector) {
    let names: BTreeSet<&str> = movers.iter().map(|mover| mover.name.as_str()).collect();
    let find = |name: &str| movers.iter().find(|mover| mover.name == name);
    to.each("movers", movers, |at, mover| {
        let Some(drive) = &mover.driven else { return };
        at.field("driven", |at| {
            at.known("by", &drive.by, "a mover", &names);
            let Some(driver) = find(&drive.by) else { return };
            if driver.option.is_some() && driver.option != mover.option {
                at.field("by", |at| {
                    at.report(
                        format!("`{}`, which only cars with an option have", drive.by),
                        "a driver that is on every car that has this mover",
                    );
                });
            }
            let mut chain = vec![mover.name.as_str()];
            let mut next = Some(driver);
            while let Some(driver) = next {
                if driver.name == mover.name {
                    chain.push(&driver.name);
                    let way = chain.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>();
                    at.field("by", |at| {
                        at.report(
                            format!("a ring of drivers: {}", way.join(" by ")),
                            "a chain of drivers that ends at one that nothing drives",
                        );
                    });
                    break;
                }
                if chain.contains(&driver.name.as_str()) {
                    break; // a ring farther on, reported there
                }
                chain.push(&driver.name);
                next = driver.driven.as_ref().and_then(|drive| find(&drive.by));
            }
        });
    });
}

impl Motion {
    /// Both ends of the travel, degrees or mm from where it was measured.
    pub fn travel(&self) -> (f64, f64) {
        match *self {
            Motion::Swing { from_deg, to_deg, .. } => (from_deg, to_deg),
            Motion::Slide { from_mm, to_mm, .. } => (from_mm, to_mm),
        }
    }

    /// The unit of the travel, as it follows a number.
    pub fn unit(&self) -> &'static str {
        match self {
            Motion::Swing { .. } => "°",
            Motion::Slide { .. } => " mm",
        }
    }
}

impl Mover {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        if self.shapes.is_empty() {
            to.field("shapes", |at| at.report("no shape", "at least one shape"));
        }
        to.each("shapes", &self.shapes, |at, shape| shape.inspect(at));
        to.field("motion", |at| match self.motion {
            Motion::Swing { through, along, from_deg, to_deg } => {
                at.point("through", &through);
                at.direction("along", &along);
                at.range("from_deg", from_deg, -360.0, 360.0, "degrees");
                at.range("to_deg", to_deg, -360.0, 360.0, "degrees");
            }
            Motion::Slide { along, from_mm, to_mm } => {
                at.direction("along", &along);
                at.range("from_mm", from_mm, -5_000.0, 5_000.0, "mm");
                at.range("to_mm", to_mm, -5_000.0, 5_000.0, "mm");
            }
        });
        if let Some(drive) = &self.driven {
            to.field("driven", |at| drive.inspect(at, &self.motion));
        }
        if let Some(tolerance_mm) = self.tolerance_mm {
            to.range("tolerance_mm", tolerance_mm, 0.0, 100.0, "mm");
        }
    }
}
