//! A named pose of the pump with how it is held.

use serde::{Deserialize, Serialize};

use super::Place;
use super::problem::Inspector;

/// What holds the pump at one point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FixingKind {
    /// A bolt with rubber mount and spacer: holds both ways.
    Bolt {
        /// Working strength in any direction, N.
        working_n: f64,
    },
    /// A cable tie: pulls only. Its working strength is half of the loop strength for its width.
    Tie {
        /// Width, mm.
        width_mm: f64,
    },
    /// A webbing or metal strap: pulls only.
    Strap {
        /// Working strength, N.
        working_n: f64,
    },
    /// A clamp on an edge: holds both ways.
    Clamp {
        /// Working strength in any direction, N.
        working_n: f64,
    },
    /// A block of foam pressed in between the pump and a face: pushes only, with friction.
    Wedge {
        /// Largest push, N.
        working_n: f64,
    },
}

impl FixingKind {
    /// The kind in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            FixingKind::Bolt { .. } => "bolt",
            FixingKind::Tie { .. } => "tie",
            FixingKind::Strap { .. } => "strap",
            FixingKind::Clamp { .. } => "clamp",
            FixingKind::Wedge { .. } => "wedge",
        }
    }
}

/// One fixing: from a mount of the pump to an anchor of the layout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fixing {
    /// What it is.
    pub kind: FixingKind,
    /// The pump's mount that it goes to.
    pub mount: String,
    /// The anchor that it goes to.
    pub anchor: String,
    /// Whether a nut and a wide washer hold it on its stud; a bolt has a nut anyway.
    #[serde(default)]
    pub nut: bool,
    /// How much thinner the foam of a wedge is pressed than it is free, once it has settled, mm; without it
    /// its friction isn't counted on.
    #[serde(default)]
    pub squeeze_mm: Option<f64>,
}

impl Fixing {
    /// A fixing of a kind with nothing more said of it.
    pub fn new(kind: FixingKind, mount: impl Into<String>, anchor: impl Into<String>) -> Fixing {
        Fixing { kind, mount: mount.into(), anchor: anchor.into(), nut: false, squeeze_mm: None }
    }

    /// What else is said of it, to follow its kind: `, under a nut`, `, pressed 5 mm`; mostly nothing.
    pub fn besides(&self) -> String {
        let nut = if self.nut { ", under a nut" } else { "" };
        let pressed = self.squeeze_mm.map(|mm| format!(", pressed {mm} mm")).unwrap_or_default();
        format!("{nut}{pressed}")
    }
}

/// A candidate place for the pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    /// What the workshop calls it.
    pub name: String,
    /// Where the pump stands.
    pub place: Place,
    /// How it is held.
    #[serde(default)]
    pub fixings: Vec<Fixing>,
    /// Anything worth knowing.
    #[serde(default)]
    pub note: String,
    /// The lowest frequency at which the unit rings when tapped as fitted, Hz; worked out from usual
    /// stiffnesses if left out.
    #[serde(default)]
    pub tap_hz: Option<f64>,
}

impl Spot {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.field("place", |at| self.place.inspect(at));
        to.each("fixings", &self.fixings, |at, fixing| {
            at.field("kind", |at| match fixing.kind {
                FixingKind::Bolt { working_n }
                | FixingKind::Strap { working_n }
                | FixingKind::Clamp { working_n }
                | FixingKind::Wedge { working_n } => {
                    at.range("working_n", working_n, 1.0, 100_000.0, "N");
                }
                FixingKind::Tie { width_mm } => at.range("width_mm", width_mm, 1.0, 13.0, "mm"),
            });
            if let Some(squeeze_mm) = fixing.squeeze_mm {
                at.range("squeeze_mm", squeeze_mm, 0.0, 60.0, "mm");
            }
        });
        if let Some(tap_hz) = self.tap_hz {
            to.range("tap_hz", tap_hz, 1.0, 5_000.0, "Hz");
        }
    }
}
