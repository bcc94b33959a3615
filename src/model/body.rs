//! Rigid things in the boot.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Place, Shape};

/// What a body is; it decides the gap the pump must keep, whether water lies on it, and its shade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Role {
    /// Sheet that water runs and lies on: boot floor, well bottom.
    Floor,
    /// Upright or overhead sheet: quarter panel, rear panel, sill wall.
    Panel,
    /// Wheel arch; water runs off it.
    WheelArch,
    /// The wall between boot and cabin or roof well.
    Bulkhead,
    /// Something that can carry: bracket, rail, stiffener.
    Bracket,
    /// A box of electrics or air that only some cars have, or all.
    Module,
    /// The battery's case.
    Battery,
    /// A battery terminal or other bare live metal.
    Terminal,
    /// A wiring loom.
    Loom,
    /// Anything else that is in the way.
    Other,
}

impl Role {
    /// Every role, in the order that lists show them.
    pub const ALL: [Role; 10] = [
        Role::Floor,
        Role::Panel,
        Role::WheelArch,
        Role::Bulkhead,
        Role::Bracket,
        Role::Module,
        Role::Battery,
        Role::Terminal,
        Role::Loom,
        Role::Other,
    ];

    /// The role in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            Role::Floor => "floor",
            Role::Panel => "panel",
            Role::WheelArch => "wheel arch",
            Role::Bulkhead => "bulkhead",
            Role::Bracket => "bracket",
            Role::Module => "module",
            Role::Battery => "battery",
            Role::Terminal => "terminal",
            Role::Loom => "loom",
            Role::Other => "other",
        }
    }

    /// Whether standing water is worked out on it.
    pub fn holds_water(self) -> bool {
        matches!(self, Role::Floor | Role::Panel | Role::WheelArch | Role::Bulkhead)
    }
}

/// What an open mesh, such as a scanned surface, is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Skin {
    /// It has a front: the side from which its triangles run counter-clockwise, as a scanner that looked
    /// at it writes them. What reaches behind it is in the body.
    Faced {
        /// How far behind it the body is taken to go, mm. What lies deeper than this, or beside its rim,
        /// is free.
        deep_mm: f64,
    },
    /// It is not known which side is free: a sheet of this thickness, half to each side.
    TwoSided {
        /// Its thickness, mm.
        thick_mm: f64,
    },
}

/// A rigid thing in the boot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Body {
    /// What the workshop calls it.
    pub name: String,
    /// What it is.
    pub role: Role,
    /// Its solid.
    pub shape: Shape,
    /// Where that solid stands; where it was measured if left out.
    #[serde(default)]
    pub place: Place,
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
    /// What its mesh is taken for when it is open; a sheet without thickness if left out.
    #[serde(default)]
    pub skin: Option<Skin>,
    /// Whether it has a cut or folded edge that would chafe a hose.
    #[serde(default)]
    pub sharp: bool,
    /// How well it was measured, ± mm; the layout's tape tolerance if left out.
    #[serde(default)]
    pub tolerance_mm: Option<f64>,
    /// Anything worth knowing.
    #[serde(default)]
    pub note: String,
}

impl Body {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.field("shape", |at| self.shape.inspect(at));
        to.field("place", |at| self.place.inspect(at));
        match self.skin {
            Some(Skin::Faced { deep_mm }) => {
                to.field("skin", |at| at.range("deep_mm", deep_mm, 0.0, 2_000.0, "mm"));
            }
            Some(Skin::TwoSided { thick_mm }) => {
                to.field("skin", |at| at.range("thick_mm", thick_mm, 0.0, 200.0, "mm"));
            }
            None => {}
        }
        if self.skin.is_some() && !matches!(self.shape, Shape::Mesh { .. }) {
            to.field("skin", |at| {
                at.report("a skin for a solid shape", "a skin only where `shape` is a Mesh");
            });
        }
        if let Some(tolerance_mm) = self.tolerance_mm {
            to.range("tolerance_mm", tolerance_mm, 0.0, 100.0, "mm");
        }
    }
}
