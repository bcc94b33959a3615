//! What is handed over: pictures, models, sheets, templates.
//!
//! Everything here is made from a layout, a spot and its scorecard, without a window: the same input
//! gives the same bytes.

pub mod cautions;
mod html;
mod model;
pub mod panel;
mod parts;
mod pdf;
pub mod picture;
mod positions;
mod sheet;
mod template;
mod typeface;

pub use model::boot_glb;
pub use parts::{BootPart, PartKind, boot_parts};
pub use positions::{Distance, MountPosition, positions};
pub use sheet::{Handed, Logo, customer_html, customer_pdf, fitting_html, fitting_pdf};
pub use template::{Paper, Tile, TilePlan, template_dxf, template_pdf, template_svg, tiles};
