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
}

impl AnchorKind {
    /// The kind in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            AnchorKind::Stud { .. } => "stud",
            AnchorKind::Hole { .. } => "hole",
            AnchorKind::Slot { .. } => "slot",
            AnchorKind::Loop => "loop",
        }
    }
}

/// A place that can hold: stud, hole, slot, loop.
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
            AnchorKind::Loop => {}
        });
        to.point("at", &self.at);
        to.direction("normal", &self.normal);
        to.range("strength_n", self.strength_n, 1.0, 100_000.0, "N");
    }
}
