//! Questions about shapes: how far apart, how deep, inside or not, what lies under, how much fits
//! below a plane. The only user of parry.
//!
//! Lengths are mm. A question has three kinds of answer, kept apart: nothing to report (`None`), a
//! value, or an error when it can't be answered.

mod align;
mod barred;
mod barred_set;
mod basins;
mod box_tree;
mod clean;
pub mod clip;
mod columns;
mod contact;
mod course;
mod cut;
mod field;
mod filling;
mod floods;
mod floor_gaps;
mod frontier;
mod gap;
mod grid_lines;
mod height_grid;
mod hull;
mod links;
mod narrow;
mod nearest;
mod outline;
mod piece;
mod pools;
mod region;
mod rundown;
mod sheet;
mod sheet_regions;
mod simplify;
mod skin;
mod solid;
mod strewn;
mod sumps;
mod sweep;
mod thinning;
mod toward;
mod triangles;
mod volumes;
mod way_out;

pub use align::{AlignError, Alignment, align};
pub use basins::Basins;
pub use clean::{Cleaned, Edges, cleaned, edges, fault_at};
pub(crate) use contact::outlines;
pub use contact::{Contact, contacts};
pub use course::Course;
pub(crate) use course::pose_at;
pub use cut::{cropped, cut_away};
pub use field::{ClearanceField, FieldHit, Obstacle, Pile, Rod, RodTree};
pub use filling::{Filling, Poured, Stage};
pub(crate) use filling::{First, Wanted};
pub use floods::Floods;
pub use floor_gaps::FloorGap;
pub(crate) use frontier::Reached;
pub use gap::{Gap, gap, gap_to_straight, rough_gap};
pub use grid_lines::Finer;
pub use height_grid::{HeightGrid, NO_FLOOR_MM, Outlet};
pub(crate) use narrow::Narrow;
pub use narrow::ShutOpening;
pub use outline::{Corner, Outline, OutlineError};
pub use pools::{Pool, SpillInto};
pub use region::{Region, RegionError, free_region};
pub(crate) use rundown::{Brink, run_to_brink};
pub use rundown::{RunEnd, run_down};
pub use sheet::{Sheet, StandOut};
pub use simplify::{Simplified, deviation_mm, simplified};
pub use solid::{RayHit, ShapeError, Solid};
pub(crate) use sumps::Sumps;
pub use sweep::{TravelGap, travel_gap};
pub(crate) use triangles::across;
pub use triangles::{Bounds, Triangles};
