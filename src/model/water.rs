//! Where water leaves the boot and where it comes in.

use serde::{Deserialize, Serialize};

use super::Point;
use super::problem::Inspector;

/// A drain hole in the floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drain {
    /// What the workshop calls it.
    pub name: String,
    /// Its centre, on the sheet.
    pub at: Point,
    /// Clear diameter, mm.
    pub diameter_mm: f64,
    /// Whether it was found blocked.
    #[serde(default)]
    pub blocked: bool,
}

/// A place where water is known to come in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leak {
    /// What the workshop calls it.
    pub name: String,
    /// Where it drips from.
    pub at: Point,
    /// How much comes in when it comes in, l/min; the layout's figure if left out.
    #[serde(default)]
    pub rate_l_min: Option<f64>,
}

impl Drain {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.point("at", &self.at);
        to.range("diameter_mm", self.diameter_mm, 1.0, 200.0, "mm");
    }
}

impl Leak {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.point("at", &self.at);
        if let Some(rate_l_min) = self.rate_l_min {
            to.range("rate_l_min", rate_l_min, 0.001, 1_000.0, "l/min");
        }
    }
}
