//! Scans of other programs' making, one file for each format.

mod input;
mod obj;
mod placing;
mod plan_file;
mod ply;
mod polygons;
mod report;
mod stl;
mod take_in;
mod unit;

pub use report::{KnownLengthReport, PlacedPoint, Size, TakenInReport};
pub use take_in::{ScanOptions, Stage, TakenIn, take_in};
pub use unit::{Unit, Up};
