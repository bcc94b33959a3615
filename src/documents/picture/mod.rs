//! Pictures of the boot without a window: projected, shaded and labelled on the processor.

mod bands;
mod camera;
mod compose;
mod faces;
mod labels;
mod names;
mod normals;
mod raster;
mod scene;
mod shade;
mod shadow;

pub use camera::{Camera, View};
pub(super) use normals::smooth_normals;
pub use scene::{Picture, TrimShown, picture};
