//! What was done with a scan, and what whoever uses the body should know.

use nalgebra::Vector3;
use serde::Serialize;

use super::unit::{Unit, Up};
use crate::geometry::{Cleaned, Edges, Triangles};
use crate::model::ScanPlan;

/// A named point after placing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacedPoint {
    /// Its name in the plan.
    pub name: String,
    /// Where it came to lie, mm.
    pub at: [f64; 3],
    /// How far that is from where it was measured in the boot, mm.
    pub residual_mm: f64,
}

/// The known length after placing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KnownLengthReport {
    /// What the tape said, mm.
    pub said_mm: f64,
    /// What it was in the scan in the unit given, before scaling, mm.
    pub before_mm: f64,
    /// What it is in the body, mm; other than said when the points changed the scale too.
    pub after_mm: f64,
}

/// How much there is of a surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Size {
    /// Triangles.
    pub triangles: usize,
    /// Corners.
    pub corners: usize,
}

impl Size {
    pub(super) fn of(surface: &Triangles) -> Size {
        Size { triangles: surface.indices.len(), corners: surface.vertices.len() }
    }
}

/// What was done with a scan. Lengths are mm, places in the vehicle frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakenInReport {
    /// Schema of the report.
    pub schema: u32,
    /// The scan's file.
    pub scan: String,
    /// The body's file.
    pub body: String,
    /// The unit that the scan's numbers were taken as.
    pub unit: Unit,
    /// Whether that unit was only supposed.
    pub unit_supposed: bool,
    /// The axis taken as up.
    pub up: Up,
    /// The scan as read.
    pub read: Size,
    /// What was taken out of it.
    pub cleaned: Cleaned,
    /// What lengths were multiplied by, after turning the unit into mm.
    pub scale: f64,
    /// The length that set the scale.
    pub known_length: Option<KnownLengthReport>,
    /// The points that set the place.
    pub points: Vec<PlacedPoint>,
    /// Root mean square of their residuals; none without points.
    pub residual_rms_mm: Option<f64>,
    /// What was left by the crop and the cuts, and by rounding to the file's 32-bit numbers.
    pub cut: Size,
    /// The deviation asked for.
    pub deviation_asked_mm: Option<f64>,
    /// Largest distance measured from the scan to the body.
    pub deviation_mm: Option<f64>,
    /// The body as written.
    pub written: Size,
    /// Its edges.
    pub edges: Edges,
    /// Whether it encloses a volume; otherwise it is a skin.
    pub closed: bool,
    /// Whether it enclosed a volume inside out and was turned.
    pub turned: bool,
    /// Volume enclosed, litres; none for a skin.
    pub litres: Option<f64>,
    /// Lowest x, y and z.
    pub low: [f64; 3],
    /// Highest x, y and z.
    pub high: [f64; 3],
    /// What whoever uses the body should know.
    pub warnings: Vec<String>,
}

/// What whoever uses the body should know, a sentence each.
pub(super) fn warnings(report: &TakenInReport, plan: &ScanPlan) -> Vec<String> {
    let mut said = Vec::new();
    let scaled = plan.known_length.is_some() || plan.free_scale;
    if report.unit_supposed && !scaled {
        said.push("the file doesn't say its unit; metres were supposed (set it by --unit)".into());
    }
    if plan.points.is_empty() {
        said.push("no named points: the body is not placed in the boot, only turned".into());
    }
    let size = Vector3::from(report.high) - Vector3::from(report.low);
    if !(20.0..=10_000.0).contains(&size.max()) {
        said.push(format!(
            "the body is {:.4} × {:.4} × {:.4} mm; check the unit",
            size.x, size.y, size.z
        ));
    }
    if let Some(length) = &report.known_length
        && (length.after_mm - length.said_mm).abs() > 0.005 * length.said_mm
    {
        said.push(format!(
            "the points changed the scale: the known length of {:.1} mm is {:.1} mm in the body",
            length.said_mm, length.after_mm
        ));
    }
    if report.edges.crowded + report.edges.at_odds > 0 {
        said.push(
            "edges with more than two triangles or with triangles that face opposite ways: which \
             side is inside can't be told there"
                .into(),
        );
    }
    if report.deviation_asked_mm.is_some() && report.written == report.cut {
        said.push("nothing could be simplified within the deviation asked for".into());
    }
    said
}
