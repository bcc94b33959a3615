//! Scans of other programs' making, one file for each format.

mod input;
mod obj;
mod ply;
mod polygons;
mod stl;
mod take_in;

pub use take_in::{
    KnownLengthReport, PlacedPoint, ScanOptions, Size, Stage, TakenIn, TakenInReport, Unit, Up,
    take_in,
};
