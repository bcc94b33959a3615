//! The closed set of edits, and the spots they change.

use undo::Merged;

use crate::model::{Fixing, Place, Spot};

/// One uninterrupted action of the user: a drag, a held key, a number being typed. Edits of one
/// gesture are undone together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gesture(pub(crate) u64);

/// The spots as the window has them.
#[derive(Debug, Clone, PartialEq)]
pub struct Spots {
    /// All of them, in the file's order, new ones last.
    pub list: Vec<Spot>,
    /// Which one is worked on.
    pub current: usize,
}

/// Every way in which the window changes a layout.
///
/// Once done, an edit holds what it replaced; doing it again puts that back. That is how it is
/// undone.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Puts the pump of a spot somewhere else.
    Place {
        /// The spot's index.
        spot: usize,
        /// Where it goes; once done, where it was.
        place: Place,
        /// The gesture it belongs to.
        gesture: Gesture,
    },
    /// Calls a spot something else.
    Name {
        /// The spot's index.
        spot: usize,
        /// The new name; once done, the old one.
        name: String,
    },
    /// Rewrites a spot's note.
    Note {
        /// The spot's index.
        spot: usize,
        /// The new note; once done, the old one.
        note: String,
        /// The gesture it belongs to.
        gesture: Gesture,
    },
    /// Holds a spot's pump in another way.
    Fixings {
        /// The spot's index.
        spot: usize,
        /// The new fixings; once done, the old ones.
        fixings: Vec<Fixing>,
        /// The gesture it belongs to.
        gesture: Gesture,
    },
    /// Adds a spot at the end and turns to it.
    Add {
        /// The new spot.
        spot: Spot,
        /// The spot that was worked on before.
        from: usize,
    },
}

impl Edit {
    /// What it does, for the undo button.
    pub fn words(&self) -> &'static str {
        match self {
            Edit::Place { .. } => "move",
            Edit::Name { .. } => "rename",
            Edit::Note { .. } => "note",
            Edit::Fixings { .. } => "fixings",
            Edit::Add { .. } => "new spot",
        }
    }

    fn exchange(&mut self, spots: &mut Spots) {
        let (Edit::Place { spot, .. }
        | Edit::Name { spot, .. }
        | Edit::Note { spot, .. }
        | Edit::Fixings { spot, .. }) = &*self
        else {
            return;
        };
        let index = *spot;
        let Some(known) = spots.list.get_mut(index) else { return };
        spots.current = index;
        match self {
            Edit::Place { place, .. } => std::mem::swap(place, &mut known.place),
            Edit::Name { name, .. } => std::mem::swap(name, &mut known.name),
            Edit::Note { note, .. } => std::mem::swap(note, &mut known.note),
            Edit::Fixings { fixings, .. } => std::mem::swap(fixings, &mut known.fixings),
            Edit::Add { .. } => {}
        }
    }
}

impl undo::Edit for Edit {
    type Target = Spots;
    type Output = ();

    fn edit(&mut self, spots: &mut Spots) {
        if let Edit::Add { spot, from } = self {
            *from = spots.current;
            spots.list.push(spot.clone());
            spots.current = spots.list.len() - 1;
        } else {
            self.exchange(spots);
        }
    }

    fn undo(&mut self, spots: &mut Spots) {
        if let Edit::Add { spot, from } = self {
            if let Some(last) = spots.list.pop() {
                *spot = last;
            }
            spots.current = (*from).min(spots.list.len().saturating_sub(1));
        } else {
            self.exchange(spots);
        }
    }

    fn merge(&mut self, other: Edit) -> Merged<Edit> {
        // Both are done: the first holds what was there before, so the second adds nothing.
        let same = match (&*self, &other) {
            (Edit::Place { spot, gesture, .. }, Edit::Place { spot: on, gesture: by, .. })
            | (Edit::Note { spot, gesture, .. }, Edit::Note { spot: on, gesture: by, .. })
            | (Edit::Fixings { spot, gesture, .. }, Edit::Fixings { spot: on, gesture: by, .. }) => {
                spot == on && gesture == by
            }
            _ => false,
        };
        if same { Merged::Yes } else { Merged::No(other) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Point;

    fn spots() -> Spots {
        let spot = |name: &str| Spot {
            name: name.into(),
            place: Place::default(),
            fixings: Vec::new(),
            note: String::new(),
            tap_hz: None,
        };
        Spots { list: vec![spot("left"), spot("right")], current: 0 }
    }

    fn to(x: f64, gesture: u64) -> Edit {
        let place = Place { at: Point::new(x, 0.0, 0.0), ..Place::default() };
        Edit::Place { spot: 1, place, gesture: Gesture(gesture) }
    }

    #[test]
    fn a_whole_drag_is_one_step() {
        let mut spots = spots();
        let before = spots.clone();
        let mut record = undo::Record::new();
        for x in [1.0, 2.0, 3.0] {
            record.edit(&mut spots, to(x, 7));
        }
        record.edit(&mut spots, to(9.0, 8));
        assert_eq!(record.len(), 2);
        record.undo(&mut spots);
        assert!((spots.list[1].place.at.x - 3.0).abs() < 1e-12);
        record.undo(&mut spots);
        assert_eq!(spots.list, before.list);
        record.redo(&mut spots);
        assert!((spots.list[1].place.at.x - 3.0).abs() < 1e-12);
        assert_eq!(spots.current, 1);
    }

    #[test]
    fn a_new_spot_can_be_taken_back_and_brought_again() {
        let mut spots = spots();
        let before = spots.clone();
        let mut record = undo::Record::new();
        let spot = Spot { name: "new".into(), ..spots.list[0].clone() };
        record.edit(&mut spots, Edit::Add { spot, from: 0 });
        assert_eq!((spots.list.len(), spots.current), (3, 2));
        record.undo(&mut spots);
        assert_eq!(spots, before);
        record.redo(&mut spots);
        assert_eq!(spots.list[2].name, "new");
    }
}
