//! The order in which a search over cells goes on: lowest first.

use std::cmp::Ordering;

/// A cell that a search has reached, for a binary heap that gives the lowest key first. The cell's
/// index settles a tie, so the order is always the same.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reached {
    /// Level, cost or estimate.
    pub(crate) key: f64,
    /// Which cell.
    pub(crate) cell: usize,
}

impl Ord for Reached {
    fn cmp(&self, other: &Self) -> Ordering {
        other.key.total_cmp(&self.key).then(other.cell.cmp(&self.cell))
    }
}

impl PartialOrd for Reached {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Reached {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Reached {}
