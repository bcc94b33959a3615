//! Bodies that move: hinges, lid, folding roof, sliding tray.

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
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
    /// How well it was measured, ± mm; the layout's tape tolerance if left out.
    #[serde(default)]
    pub tolerance_mm: Option<f64>,
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
        if let Some(tolerance_mm) = self.tolerance_mm {
            to.range("tolerance_mm", tolerance_mm, 0.0, 100.0, "mm");
        }
    }
}
