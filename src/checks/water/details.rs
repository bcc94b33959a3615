//! What the water headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;

/// Details of the water headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct WaterDetails {}

impl WaterDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        Vec::new()
    }
}
