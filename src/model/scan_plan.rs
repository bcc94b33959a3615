//! How a scan becomes a body: what was measured on it, where it belongs, what of it is kept.

use serde::{Deserialize, Serialize};

use super::Point;
use super::problem::{Inspector, Problem};

/// Farthest coordinate of a scan in its own unit: 100 m in mm.
const FARTHEST: f64 = 1e5;

/// A length that was measured on the car and can be found in the scan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownLength {
    /// One end, in the scan file's own coordinates and unit.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// What the tape said, mm.
    pub mm: f64,
}

/// A point that can be found in the scan and whose place in the boot is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownPoint {
    /// What it is called.
    pub name: String,
    /// In the scan file's own coordinates and unit.
    pub scan: Point,
    /// In the boot's vehicle frame, mm.
    pub boot: Point,
}

/// A box along the axes of the vehicle frame, between two opposite corners, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// One corner.
    pub from: Point,
    /// The corner opposite.
    pub to: Point,
}

/// What is to be done with a scan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScanPlan {
    /// Schema of the file.
    pub schema: u32,
    /// Sets the scale.
    #[serde(default)]
    pub known_length: Option<KnownLength>,
    /// Sets the place and the turn: none, or three or more, not on one line.
    #[serde(default)]
    pub points: Vec<KnownPoint>,
    /// Whether the points may change the scale too.
    #[serde(default)]
    pub free_scale: bool,
    /// Largest root mean square by which the points may miss, mm. The default is three times the
    /// tolerance of a phone scan.
    #[serde(default = "most_residual")]
    pub most_residual_mm: f64,
    /// What lies outside is cut off.
    #[serde(default)]
    pub crop: Option<Region>,
    /// What lies inside any of these is cut out: a pump, a hand.
    #[serde(default)]
    pub cut_away: Vec<Region>,
    /// How far the simplified surface may lie from the scanned one; without it nothing is
    /// simplified, mm.
    #[serde(default)]
    pub deviation_mm: Option<f64>,
}

fn most_residual() -> f64 {
    30.0
}

impl Default for ScanPlan {
    fn default() -> ScanPlan {
        ScanPlan {
            schema: super::SCHEMA,
            known_length: None,
            points: Vec::new(),
            free_scale: false,
            most_residual_mm: most_residual(),
            crop: None,
            cut_away: Vec::new(),
            deviation_mm: None,
        }
    }
}

impl ScanPlan {
    /// Everything in it that can't be used.
    pub fn problems(&self) -> Vec<Problem> {
        let mut at = Inspector::default();
        if let Some(length) = &self.known_length {
            at.field("known_length", |at| {
                scan_point(at, "from", &length.from);
                scan_point(at, "to", &length.to);
                at.range("mm", length.mm, 1.0, 20_000.0, "mm");
                if (length.to - length.from).norm() <= 0.0 {
                    at.report("two ends at the same point", "two ends apart");
                }
            });
        }
        at.each("points", &self.points, |at, point| {
            at.name(&point.name);
            scan_point(at, "scan", &point.scan);
            at.point("boot", &point.boot);
        });
        at.unique("points", self.points.iter().map(|point| point.name.as_str()));
        if (1..3).contains(&self.points.len()) {
            at.field("points", |at| {
                at.report(
                    format!("{} named points", self.points.len()),
                    "at least 3 that don't lie on one line, or none",
                );
            });
        }
        if self.free_scale && self.points.is_empty() {
            at.field("free_scale", |at| {
                at.report("a free scale without points", "points that settle it, or `false`");
            });
        }
        at.range("most_residual_mm", self.most_residual_mm, 0.001, 1_000.0, "mm");
        if let Some(region) = &self.crop {
            at.field("crop", |at| inspect(at, region));
        }
        at.each("cut_away", &self.cut_away, inspect);
        if let Some(deviation_mm) = self.deviation_mm {
            at.range("deviation_mm", deviation_mm, 0.01, 100.0, "mm");
        }
        at.finish()
    }
}

fn scan_point(at: &mut Inspector, name: &'static str, point: &Point) {
    at.field(name, |at| {
        if let Some(odd) = point.iter().find(|value| !value.is_finite() || value.abs() > FARTHEST) {
            at.report(
                format!("a coordinate of {odd}"),
                format!("(x, y, z) as the scan file has them, each within {FARTHEST}"),
            );
        }
    });
}

fn inspect(at: &mut Inspector, region: &Region) {
    at.point("from", &region.from);
    at.point("to", &region.to);
    if (region.to - region.from).iter().any(|side| side.abs() < 0.01) {
        at.report("a box without a volume", "two opposite corners, apart on every axis");
    }
}
