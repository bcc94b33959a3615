//! What the feed headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;

/// Details of the feed headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct FeedDetails {}

impl FeedDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        Vec::new()
    }
}
