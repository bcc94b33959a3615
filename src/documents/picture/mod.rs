//! Pictures of the boot without a window: projected, shaded and labelled on the processor.

mod camera;
mod labels;
mod names;
mod raster;
mod scene;
mod shade;

pub use camera::{Camera, View};
pub(super) use raster::smooth_normals;
pub use scene::{Picture, TrimShown, picture};
