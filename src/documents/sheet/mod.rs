//! Sheets: what the customer gets, and what stays in the file.

mod blocks;
mod customer;
mod figures;
mod fitting;
mod flow;
mod lists;
mod section;

use crate::checks::{Boot, Scorecard};
use crate::compare::Unbolting;
use crate::model::{Job, Spot, Workshop};

pub(super) use blocks::{Block, Sheet};
pub(super) use section::svg;

/// A workshop's logo: a PNG file's bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    /// The file's bytes.
    pub png: Vec<u8>,
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
}

impl Logo {
    /// A logo from a PNG file's bytes; none when they can't be read or a side has more than 4000 pixels.
    pub fn of(png: Vec<u8>) -> Option<Logo> {
        // The size stands in the header, so a picture that would take much room is refused unread.
        let side = |at: usize| -> Option<u32> {
            Some(u32::from_be_bytes(png.get(at..at + 4)?.try_into().ok()?))
        };
        let (width, height) = (side(16)?, side(20)?);
        let sound = |side: u32| (1..=4000).contains(&side);
        if !sound(width) || !sound(height) || tiny_skia::Pixmap::decode_png(&png).is_err() {
            return None;
        }
        Some(Logo { png, width, height })
    }
}

/// Everything that a sheet is made from.
#[derive(Clone, Copy)]
pub struct Handed<'a> {
    /// The boot as this car has it.
    pub boot: &'a Boot,
    /// Where the unit now sits.
    pub spot: &'a Spot,
    /// What was found of that spot, with details.
    pub card: &'a Scorecard,
    /// Where the factory had it, and what was found of that; none when the layout doesn't say.
    pub before: Option<(&'a Spot, &'a Scorecard)>,
    /// What has to be unbolted for the spot.
    pub unbolting: Option<&'a Unbolting>,
    /// The customer's car.
    pub job: Option<&'a Job>,
    /// The workshop.
    pub workshop: Option<&'a Workshop>,
    /// Its logo.
    pub logo: Option<&'a Logo>,
}

/// The customer's sheet as PDF; none when a picture or the file can't be made, which is a bug.
pub fn customer_pdf(handed: &Handed) -> Option<Vec<u8>> {
    flow::pdf(&customer::sheet(handed)?)
}

/// The customer's sheet as one HTML file that asks nothing of any other place and prints on two pages
/// of A4.
pub fn customer_html(handed: &Handed) -> Option<String> {
    Some(super::html::page(&customer::sheet(handed)?))
}

/// The fitting sheet as one HTML file that asks nothing of any other place.
pub fn fitting_html(handed: &Handed) -> Option<String> {
    Some(super::html::page(&fitting::sheet(handed)?))
}

/// The fitting sheet as PDF.
pub fn fitting_pdf(handed: &Handed) -> Option<Vec<u8>> {
    flow::pdf(&fitting::sheet(handed)?)
}
