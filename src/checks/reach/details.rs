//! What the reach headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;

/// Details of the reach headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ReachDetails {}

impl ReachDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        Vec::new()
    }
}
