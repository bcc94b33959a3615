//! The closed set of edits, and the draft that they change.

use std::sync::Arc;

use undo::Merged;

use crate::model::{Fixing, Layout, Place, Spot};

/// One uninterrupted action of the user: a drag, a held key, a number being typed. Edits of one
/// gesture are undone together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gesture(pub(crate) u64);

/// The layout as the window has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// What was measured; its own list of spots doesn't count.
    pub layout: Arc<Layout>,
    /// All spots, in the file's order, new ones last.
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
    /// Changes what was measured: any kind of thing added, changed, taken out.
    Boot {
        /// The new draft; once done, the old one.
        draft: Draft,
        /// What it does, for the undo button.
        words: &'static str,
        /// The gesture it belongs to.
        gesture: Gesture,
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
            Edit::Boot { words, .. } => words,
        }
    }

    fn exchange(&mut self, draft: &mut Draft) {
        if let Edit::Boot { draft: other, .. } = self {
            std::mem::swap(other, draft);
            return;
        }
        let (Edit::Place { spot, .. }
        | Edit::Name { spot, .. }
        | Edit::Note { spot, .. }
        | Edit::Fixings { spot, .. }) = &*self
        else {
            return;
        };
        let index = *spot;
        let Some(known) = draft.list.get_mut(index) else { return };
        draft.current = index;
        match self {
            Edit::Place { place, .. } => std::mem::swap(place, &mut known.place),
            Edit::Name { name, .. } => std::mem::swap(name, &mut known.name),
            Edit::Note { note, .. } => std::mem::swap(note, &mut known.note),
            Edit::Fixings { fixings, .. } => std::mem::swap(fixings, &mut known.fixings),
            Edit::Add { .. } | Edit::Boot { .. } => {}
        }
    }
}

impl undo::Edit for Edit {
    type Target = Draft;
    type Output = ();

    fn edit(&mut self, draft: &mut Draft) {
        if let Edit::Add { spot, from } = self {
            *from = draft.current;
            draft.list.push(spot.clone());
            draft.current = draft.list.len() - 1;
        } else {
            self.exchange(draft);
        }
    }

    fn undo(&mut self, draft: &mut Draft) {
        if let Edit::Add { spot, from } = self {
            if let Some(last) = draft.list.pop() {
                *spot = last;
            }
            draft.current = (*from).min(draft.list.len().saturating_sub(1));
        } else {
            self.exchange(draft);
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
            (Edit::Boot { gesture, .. }, Edit::Boot { gesture: by, .. }) => gesture == by,
            _ => false,
        };
        if same { Merged::Yes } else { Merged::No(other) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Point;

    fn draft() -> Draft {
        let spot = |name: &str| Spot {
            name: name.into(),
            place: Place::default(),
            fixings: Vec::new(),
            note: String::new(),
            tap_hz: None,
        };
        let layout = crate::format::open_demo(None).expect("the demo is sound").layout;
        Draft { layout: Arc::new(layout), list: vec![spot("left"), spot("right")], current: 0 }
    }

    fn to(x: f64, gesture: u64) -> Edit {
        let place = Place { at: Point::new(x, 0.0, 0.0), ..Place::default() };
        Edit::Place { spot: 1, place, gesture: Gesture(gesture) }
    }

    #[test]
    fn a_whole_drag_is_one_step() {
        let mut draft = draft();
        let before = draft.clone();
        let mut record = undo::Record::new();
        for x in [1.0, 2.0, 3.0] {
            record.edit(&mut draft, to(x, 7));
        }
        record.edit(&mut draft, to(9.0, 8));
        assert_eq!(record.len(), 2);
        record.undo(&mut draft);
        assert!((draft.list[1].place.at.x - 3.0).abs() < 1e-12);
        record.undo(&mut draft);
        assert_eq!(draft.list, before.list);
        record.redo(&mut draft);
        assert!((draft.list[1].place.at.x - 3.0).abs() < 1e-12);
        assert_eq!(draft.current, 1);
    }

    #[test]
    fn a_new_spot_can_be_taken_back_and_brought_again() {
        let mut draft = draft();
        let before = draft.clone();
        let mut record = undo::Record::new();
        let spot = Spot { name: "new".into(), ..draft.list[0].clone() };
        record.edit(&mut draft, Edit::Add { spot, from: 0 });
        assert_eq!((draft.list.len(), draft.current), (3, 2));
        record.undo(&mut draft);
        assert_eq!(draft, before);
        record.redo(&mut draft);
        assert_eq!(draft.list[2].name, "new");
    }

    #[test]
    fn a_thing_dragged_larger_is_taken_back_in_one_step() {
        let mut draft = draft();
        let before = draft.clone();
        let mut record = undo::Record::new();
        for tolerance in [1.0, 2.0, 3.0] {
            let mut layout = (*draft.layout).clone();
            layout.bodies[0].tolerance_mm = Some(tolerance);
            let next = Draft { layout: Arc::new(layout), ..draft.clone() };
            let edit = Edit::Boot { draft: next, words: "change", gesture: Gesture(4) };
            record.edit(&mut draft, edit);
        }
        assert_eq!(draft.layout.bodies[0].tolerance_mm, Some(3.0));
        record.undo(&mut draft);
        assert_eq!(draft, before);
        record.redo(&mut draft);
        assert_eq!(draft.layout.bodies[0].tolerance_mm, Some(3.0));
    }
}
