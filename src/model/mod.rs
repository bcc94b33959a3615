//! What exists: a layout and the things measured in it, the pump, its spots.
//!
//! Plain data, without files and without geometry. Lengths are millimetres, angles degrees, in the
//! vehicle frame of ISO 8855 (x forward, y left, z up) unless a name says `pump`. A value read from
//! a file is checked by [`problems`](Layout::problems) before anything is computed from it.

mod anchor;
mod body;
mod layout;
mod limits;
mod line;
mod mover;
mod problem;
mod pump;
mod scan_plan;
mod shape;
mod spot;
mod trim;
mod water;

pub use anchor::{Anchor, AnchorKind};
pub use body::{Body, Role};
pub use layout::{Layout, OptionModule, Ram, Viewpoint, Weights};
pub use limits::Limits;
pub use line::{BendRule, Cable, Exit, Line, LineKind};
pub use mover::{Motion, Mover, MoverKind};
pub(crate) use problem::nearest_name;
pub use problem::{Problem, Step};
pub use pump::{LivePart, Mount, Part, Port, Pump, PumpSolid, Reservoir};
pub use scan_plan::{KnownLength, KnownPoint, Region, ScanPlan};
pub(crate) use shape::outline_area_mm2;
pub use shape::{Axis, Place, Shape};
pub use spot::{Fixing, FixingKind, Spot};
pub(crate) use trim::newell_normal;
pub use trim::{Trim, TrimKind};
pub use water::{Drain, Leak};

/// A point or corner, mm.
pub type Point = nalgebra::Point3<f64>;
/// A direction or offset.
pub type Vector = nalgebra::Vector3<f64>;
/// A rigid pose: turns and moves one frame into another.
pub type Pose = nalgebra::Isometry3<f64>;

/// The newest layout and pump schema that this program reads and the one it writes.
pub const SCHEMA: u32 = 1;
