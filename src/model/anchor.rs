//! Places that can hold.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Point, Vector};

/// What kind of place it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum AnchorKind {
    /// A threaded stud.
    Stud {
        /// Thread diameter, mm.
        thread_mm: f64,
    },
    /// A hole, plain or threaded.
    Hole {
        /// Diameter, mm.
        diameter_mm: f64,
    },
    /// A slot that a tie or strap goes through.
    Slot {
        /// Long side, mm.
        length_mm: f64,
        /// Short side, mm.
        width_mm: f64,
    },
    /// A loop or lashing eye.
    Loop,
    /// A flat face without a hole: something can be wedged against it, or a hole drilled.
    Face,
    /// A free edge of sheet or bracket that a clamp grips.
    Edge {
        /// Thickness of the sheet, mm.
        thickness_mm: f64,
    },
    /// A bracket or bar that a strap or tie goes round.
    Bar {
        /// Once round it, mm.
        girth_mm: f64,
    },
}

impl AnchorKind {
    /// The kind in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            AnchorKind::Stud { .. } => "stud",
            AnchorKind::Hole { .. } => "hole",
            AnchorKind::Slot { .. } => "slot",
            AnchorKind::Loop => "loop",
            AnchorKind::Face => "flat face",
            AnchorKind::Edge { .. } => "edge",
            AnchorKind::Bar { .. } => "bar",
        }
    }
}

/// A place that can hold: stud, hole, slot, loop, flat face, edge, bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Anchor {
    /// What the workshop calls it.
    pub name: String,
    /// What it is.
    pub kind: AnchorKind,
    /// Where it is.
    pub at: Point,
    /// Out of the metal, towards where the pump could be.
    pub normal: Vector,
    /// Largest load it is taken to carry in any direction, N.
    pub strength_n: f64,
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
    /// Thread of a stud that stands free, mm; not looked at if left out.
    #[serde(default)]
    pub free_mm: Option<f64>,
    /// How hot it gets in use, °C; taken as no hotter than the boot if left out.
    #[serde(default)]
    pub hot_c: Option<f64>,
    /// Clear width inside a loop or lashing eye, mm; whether webbing goes through isn't known if left out.
    #[serde(default)]
    pub inside_mm: Option<f64>,
}

impl Anchor {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.field("kind", |at| match self.kind {
            AnchorKind::Stud { thread_mm } => at.range("thread_mm", thread_mm, 2.0, 30.0, "mm"),
            AnchorKind::Hole { diameter_mm } => {
                at.range("diameter_mm", diameter_mm, 2.0, 100.0, "mm");
            }
            AnchorKind::Slot { length_mm, width_mm } => {
                at.range("length_mm", length_mm, 2.0, 500.0, "mm");
                at.range("width_mm", width_mm, 1.0, 100.0, "mm");
            }
            AnchorKind::Edge { thickness_mm } => {
                at.range("thickness_mm", thickness_mm, 0.3, 50.0, "mm");
            }
            AnchorKind::Bar { girth_mm } => at.range("girth_mm", girth_mm, 5.0, 2_000.0, "mm"),
            AnchorKind::Loop | AnchorKind::Face => {}
        });
        to.point("at", &self.at);
        to.direction("normal", &self.normal);
        to.range("strength_n", self.strength_n, 1.0, 100_000.0, "N");
        if let Some(free_mm) = self.free_mm {
            to.range("free_mm", free_mm, 0.0, 500.0, "mm");
        }
        if let Some(hot_c) = self.hot_c {
            to.range("hot_c", hot_c, -50.0, 400.0, "°C");
        }
        if let Some(inside_mm) = self.inside_mm {
            to.range("inside_mm", inside_mm, 1.0, 500.0, "mm");
        }
    }
}
