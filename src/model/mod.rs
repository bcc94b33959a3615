//! What exists: a layout and the things measured in it, the pump, its spots.
//!
//! Plain data, without files and without geometry. Lengths are millimetres, angles degrees, in the
//! vehicle frame of ISO 8855 (x forward, y left, z up) unless a name says `pump`. A value read from
//! a file is checked by [`problems`](Layout::problems) before anything is computed from it.

mod anchor;
mod body;
mod handover;
mod job;
mod layout;
mod limits;
mod line;
mod mover;
mod opening;
mod option_rule;
mod problem;
mod pump;
mod required_gap;
mod scan_plan;
mod shape;
mod spot;
mod trial;
mod trim;
mod water;
mod workshop;

pub use anchor::{Anchor, AnchorKind};
pub use body::{Body, Role, Skin};
pub use handover::{Handover, TapeEdge, Unbolt};
pub use job::{Job, Reading as JobReading};
pub use layout::{Car, Layout, OptionModule, Ram, Viewpoint, Weights};
pub use limits::Limits;
pub use line::{BendRule, Bundle, Cable, Exit, FeedReading, Line, LineClip, LineKind, Pull};
pub use mover::{Drive, Motion, Mover, MoverKind};
pub use opening::{Notch, Opening, OpeningOutline};
pub(crate) use option_rule::rule_holds;
pub use option_rule::{OptionRule, RuleError};
pub(crate) use problem::nearest_name;
pub use problem::{Problem, Step};
pub use pump::{LivePart, Mount, Part, Port, Pump, PumpSolid, Reservoir};
pub use required_gap::{Posed, RequiredGap};
pub use scan_plan::{KnownLength, KnownPoint, Region, ScanPlan};
pub(crate) use shape::outline_area_mm2;
pub use shape::{Axis, Place, Shape};
pub use spot::{Fixing, FixingKind, Spot};
pub use trial::{Remark, Said, Trial};
pub(crate) use trim::newell_normal;
pub use trim::{Trim, TrimKind};
pub use water::{Drain, Leak};
pub use workshop::Workshop;

/// A point or corner, mm.
pub type Point = nalgebra::Point3<f64>;
/// A direction or offset.
pub type Vector = nalgebra::Vector3<f64>;
/// A rigid pose: turns and moves one frame into another.
pub type Pose = nalgebra::Isometry3<f64>;

/// The newest layout and pump schema that this program reads and the one it writes.
///
/// 2: `option` holds a rule over options; in files of schema 1 it is one plain name.
pub const SCHEMA: u32 = 2;
