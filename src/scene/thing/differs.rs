//! What of two layouts differs, by name.

use super::{Kind, Thing};
use crate::model::Layout;

/// The things that differ between two layouts: the first by its name, and how many others do. None when
/// every list reads the same.
pub(crate) fn difference(before: &Layout, after: &Layout) -> Option<String> {
    let mut first = None;
    let mut others = 0_usize;
    for kind in Kind::ALL {
        let list = |layout: &Layout| -> Vec<Thing> {
            (0..kind.count(layout)).filter_map(|index| Thing::get(layout, kind, index)).collect()
        };
        let (old, new) = (list(before), list(after));
        // Past the things at the beginning and at the end that are the same.
        let same = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
        let rest = old[same..].iter().rev().zip(new[same..].iter().rev());
        let tail = rest.take_while(|(a, b)| a == b).count();
        let changed = if new.len() >= old.len() { &new } else { &old };
        let changed = changed[same..changed.len() - tail].iter().enumerate();
        for (index, thing) in changed {
            if first.is_none() {
                first = Some(thing.title(same + index));
            } else {
                others += 1;
            }
        }
    }
    let first = first?;
    Some(if others > 0 { format!("{first} and {others} more") } else { first })
}

#[cfg(test)]
mod tests {
    use super::difference;

    #[test]
    fn what_was_added_changed_or_taken_out_is_named() {
        let layout = crate::format::open_demo(None).expect("the demo is sound").layout;
        assert_eq!(difference(&layout, &layout), None);
        let mut other = layout.clone();
        let gone = other.bodies.remove(2).name;
        assert_eq!(difference(&layout, &other), Some(gone.clone()));
        assert_eq!(difference(&other, &layout), Some(gone));
        let mut other = layout.clone();
        other.drains[0].diameter_mm += 1.0;
        assert_eq!(difference(&layout, &other), Some(layout.drains[0].name.clone()));
        other.bodies[0].sharp = !other.bodies[0].sharp;
        let both = difference(&layout, &other).expect("two differ");
        assert_eq!(both, format!("{} and 1 more", layout.bodies[0].name));
    }
}
