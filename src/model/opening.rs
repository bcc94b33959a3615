//! Openings that a closing panel is cut for.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Place, Vector};

/// How an opening's outline is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum OpeningOutline {
    /// Measured with a tape or a card: corners in order, mm, in the opening's plane: to the right and
    /// up as one looks at the panel's face.
    Measured(Vec<(f64, f64)>),
    /// Where the opening's plane cuts the bodies of the layout, scans too: the free region round a
    /// point of the plane, right and up, mm.
    Cut {
        /// The point.
        around: (f64, f64),
    },
}

/// A recess at the panel's edge for a finger: a half circle drawn out inward.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notch {
    /// A point near the edge where it goes, right and up, mm; the nearest point of the edge is used.
    pub near: (f64, f64),
    /// Width along the edge, mm.
    #[serde(default = "usual_notch_width_mm")]
    pub width_mm: f64,
    /// Depth inward from the edge, mm; at least half the width.
    #[serde(default = "usual_notch_depth_mm")]
    pub depth_mm: f64,
}

/// Wide enough for a finger. Common practice, no source.
fn usual_notch_width_mm() -> f64 {
    28.0
}

/// Deep enough to hook it. Common practice, no source.
fn usual_notch_depth_mm() -> f64 {
    18.0
}

/// An opening and what its closing panel is like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// What the workshop calls it.
    pub name: String,
    /// Where its plane stands: its own x is to the right and y up as one looks at the panel's face;
    /// its z points from the panel towards who looks.
    pub place: Place,
    /// The outline.
    pub outline: OpeningOutline,
    /// Thickness of the carpet or cloth that is wrapped round the panel's edge, mm.
    #[serde(default)]
    pub carpet_mm: f64,
    /// Press fit: how much larger than the opening the wrapped panel is, all round, mm; negative for
    /// a gap.
    #[serde(default)]
    pub fit_mm: f64,
    /// The finger notch.
    #[serde(default)]
    pub notch: Option<Notch>,
    /// Which way the carpet's pile or the board's grain lies, degrees counter-clockwise from the
    /// panel's right.
    #[serde(default)]
    pub grain_deg: f64,
    /// Room round each line that passes through, mm.
    #[serde(default = "usual_relief_mm")]
    pub relief_mm: f64,
}

/// As lines keep to bodies by default. Common practice, no source.
fn usual_relief_mm() -> f64 {
    3.0
}

impl Opening {
    /// The panel's right, up and face directions in the boot.
    pub fn axes(&self) -> [Vector; 3] {
        let turn = self.place.pose().rotation;
        [turn * Vector::x(), turn * Vector::y(), turn * Vector::z()]
    }

    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.field("place", |at| self.place.inspect(at));
        to.field("outline", |at| match &self.outline {
            OpeningOutline::Measured(outline) => super::shape::inspect_outline_here(at, outline),
            OpeningOutline::Cut { around } => flat_point(at, "around", *around),
        });
        to.range("carpet_mm", self.carpet_mm, 0.0, 30.0, "mm");
        to.range("fit_mm", self.fit_mm, -30.0, 10.0, "mm");
        to.range("grain_deg", self.grain_deg, -360.0, 360.0, "degrees");
        to.range("relief_mm", self.relief_mm, 0.0, 50.0, "mm");
        if let Some(notch) = &self.notch {
            to.field("notch", |at| {
                flat_point(at, "near", notch.near);
                at.range("width_mm", notch.width_mm, 4.0, 200.0, "mm");
                at.range("depth_mm", notch.depth_mm, notch.width_mm / 2.0, 200.0, "mm");
            });
        }
    }
}

fn flat_point(to: &mut Inspector, name: &'static str, (right, up): (f64, f64)) {
    if !right.is_finite() || !up.is_finite() || right.abs().max(up.abs()) > 20_000.0 {
        to.field(name, |at| {
            at.report(format!("({right}, {up})"), "two numbers in mm, each within 20000");
        });
    }
}
