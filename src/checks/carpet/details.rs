//! What the carpet headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;

/// Details of the carpet headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CarpetDetails {}

impl CarpetDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        Vec::new()
    }
}
