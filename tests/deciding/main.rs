//! Deciding: options and cars, spots side by side, versions of a layout, trial fits, the library.

mod broken;
mod cars;
mod library;
mod sides;
mod trials;
mod versions;
