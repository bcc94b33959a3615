//! What the hold headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;

/// Details of the hold headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct HoldDetails {}

impl HoldDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        Vec::new()
    }
}
