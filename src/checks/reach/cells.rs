//! What a search knows of each cell that it came to.

use crate::model::Point;

/// What is known of a cell.
#[derive(Clone, Copy)]
pub(super) struct Known {
    cell: u32,
    /// Its place with room, and how much; none where no place of it has room.
    pub(super) spot: Option<(Point, f64)>,
    /// The least cost that it was offered at, mm.
    pub(super) best_mm: f64,
    /// Whether it is settled.
    pub(super) closed: bool,
}

/// A table of cells, open to any number: a few of many, found by one multiplication.
pub(super) struct Cells {
    /// Index into `known` plus one; 0 is free. A power of two long.
    slots: Vec<u32>,
    known: Vec<Known>,
}

impl Cells {
    pub(super) fn new() -> Cells {
        Cells { slots: vec![0; 4096], known: Vec::with_capacity(2048) }
    }

    fn slot(&self, cell: u32) -> usize {
        let mask = self.slots.len() - 1;
        let spread = u64::from(cell).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32;
        let mut slot = spread as usize & mask;
        while self.slots[slot] != 0 && self.known[self.slots[slot] as usize - 1].cell != cell {
            slot = (slot + 1) & mask;
        }
        slot
    }

    /// What is known of a cell; asked of `look` the first time.
    pub(super) fn get(
        &mut self,
        cell: u32,
        look: impl FnOnce() -> Option<(Point, f64)>,
    ) -> &mut Known {
        if (self.known.len() + 1) * 2 > self.slots.len() {
            self.slots = vec![0; self.slots.len() * 2];
            for index in 0..self.known.len() {
                let slot = self.slot(self.known[index].cell);
                self.slots[slot] = index as u32 + 1;
            }
        }
        let slot = self.slot(cell);
        if self.slots[slot] == 0 {
            let spot = look();
            self.known.push(Known { cell, spot, best_mm: f64::INFINITY, closed: false });
            self.slots[slot] = self.known.len() as u32;
        }
        let index = self.slots[slot] as usize - 1;
        &mut self.known[index]
    }
}
