//! A panel or plate at true size: on paper in tiles, as SVG, as DXF.

mod dxf_out;
mod pages;
mod svg_out;
mod tiling;

pub use dxf_out::template_dxf;
pub use pages::template_pdf;
pub use svg_out::template_svg;
pub use tiling::{Paper, Tile, TilePlan, tiles};

/// Side of the square that a printed template is checked by, mm.
pub(super) const CHECK_MM: f64 = 100.0;
