//! A thing put into its list, changed there and taken out; what names it follows.

use super::{Kind, Thing};
use crate::model::Layout;

impl Thing {
    /// Puts it at the end of its list and gives its index.
    pub fn add_to(self, layout: &mut Layout) -> usize {
        let index = self.kind().count(layout);
        match self {
            Thing::Option(thing) => layout.options.push(thing),
            Thing::Body(thing) => layout.bodies.push(thing),
            Thing::Trim(thing) => layout.trims.push(thing),
            Thing::Mover(thing) => layout.movers.push(thing),
            Thing::Drain(thing) => layout.drains.push(thing),
            Thing::Leak(thing) => layout.leaks.push(thing),
            Thing::Anchor(thing) => layout.anchors.push(thing),
            Thing::Line(thing) => layout.lines.push(thing),
            Thing::Ram(thing) => layout.rams.push(thing),
            Thing::Viewpoint(thing) => layout.viewpoints.push(thing),
            Thing::Space(thing) => layout.boot_space.push(thing),
            Thing::Rule(thing) => layout.option_rules.push(thing),
            Thing::Car(thing) => layout.cars.push(thing),
            Thing::Opening(thing) => layout.openings.push(thing),
            Thing::Edge(thing) => layout.handover.tape_edges.push(thing),
            Thing::Unbolt(thing) => layout.handover.unbolt.push(thing),
        }
        index
    }

    /// Puts it in the place of the thing at `index`; what names it by its old name follows.
    pub fn put_into(self, layout: &mut Layout, index: usize) {
        let old = Thing::get(layout, self.kind(), index);
        let old_name = old.as_ref().and_then(Thing::name).map(str::to_string);
        if let (Some(old), Some(new)) = (old_name, self.name().map(str::to_string))
            && old != new
        {
            follow_name(layout, self.kind(), &old, &new);
        }
        match self {
            Thing::Option(thing) => set(&mut layout.options, index, thing),
            Thing::Body(thing) => set(&mut layout.bodies, index, thing),
            Thing::Trim(thing) => set(&mut layout.trims, index, thing),
            Thing::Mover(thing) => set(&mut layout.movers, index, thing),
            Thing::Drain(thing) => set(&mut layout.drains, index, thing),
            Thing::Leak(thing) => set(&mut layout.leaks, index, thing),
            Thing::Anchor(thing) => set(&mut layout.anchors, index, thing),
            Thing::Line(thing) => set(&mut layout.lines, index, thing),
            Thing::Ram(thing) => set(&mut layout.rams, index, thing),
            Thing::Viewpoint(thing) => set(&mut layout.viewpoints, index, thing),
            Thing::Space(thing) => set(&mut layout.boot_space, index, thing),
            Thing::Rule(thing) => set(&mut layout.option_rules, index, thing),
            Thing::Car(thing) => set(&mut layout.cars, index, thing),
            Thing::Opening(thing) => set(&mut layout.openings, index, thing),
            Thing::Edge(thing) => set(&mut layout.handover.tape_edges, index, thing),
            Thing::Unbolt(thing) => set(&mut layout.handover.unbolt, index, thing),
        }
    }

    /// Takes the thing at `index` out; fixings that go to an anchor that is gone go with it, and what
    /// an option brought stays, on every car.
    pub fn take_out(layout: &mut Layout, kind: Kind, index: usize) {
        if index >= kind.count(layout) {
            return;
        }
        match kind {
            Kind::Option => {
                let gone = layout.options.remove(index).name;
                layout.cars.iter_mut().for_each(|car| car.options.retain(|name| *name != gone));
                options_mut(layout).for_each(|option| {
                    if option.as_ref() == Some(&gone) {
                        *option = None;
                    }
                });
            }
            Kind::Body => {
                let gone = layout.bodies.remove(index).name;
                layout.handover.unbolt.retain(|unbolt| unbolt.body != gone);
            }
            Kind::Trim => drop(layout.trims.remove(index)),
            Kind::Mover => {
                let gone = layout.movers.remove(index).name;
                for mover in &mut layout.movers {
                    if mover.driven.as_ref().is_some_and(|drive| drive.by == gone) {
                        mover.driven = None;
                    }
                }
            }
            Kind::Drain => drop(layout.drains.remove(index)),
            Kind::Leak => drop(layout.leaks.remove(index)),
            Kind::Anchor => {
                let gone = layout.anchors.remove(index).name;
                for spot in &mut layout.spots {
                    spot.fixings.retain(|fixing| fixing.anchor != gone);
                }
            }
            Kind::Line => drop(layout.lines.remove(index)),
            Kind::Ram => drop(layout.rams.remove(index)),
            Kind::Viewpoint => drop(layout.viewpoints.remove(index)),
            Kind::Space => drop(layout.boot_space.remove(index)),
            Kind::Rule => drop(layout.option_rules.remove(index)),
            Kind::Car => drop(layout.cars.remove(index)),
            Kind::Opening => drop(layout.openings.remove(index)),
            Kind::Edge => drop(layout.handover.tape_edges.remove(index)),
            Kind::Unbolt => drop(layout.handover.unbolt.remove(index)),
        }
    }
}

fn set<T>(list: &mut [T], index: usize, thing: T) {
    if let Some(place) = list.get_mut(index) {
        *place = thing;
    }
}

fn options_mut(layout: &mut Layout) -> impl Iterator<Item = &mut Option<String>> {
    let bodies = layout.bodies.iter_mut().map(|thing| &mut thing.option);
    let trims = layout.trims.iter_mut().map(|thing| &mut thing.option);
    let movers = layout.movers.iter_mut().map(|thing| &mut thing.option);
    let anchors = layout.anchors.iter_mut().map(|thing| &mut thing.option);
    let lines = layout.lines.iter_mut().map(|thing| &mut thing.option);
    bodies.chain(trims).chain(movers).chain(anchors).chain(lines)
}

fn follow_name(layout: &mut Layout, kind: Kind, old: &str, new: &str) {
    match kind {
        Kind::Option => {
            for option in options_mut(layout).flatten() {
                *option = renamed_in_rule(option, old, new);
            }
            for rule in &mut layout.option_rules {
                *rule = renamed_in_rule(rule, old, new);
            }
            for name in layout.cars.iter_mut().flat_map(|car| &mut car.options) {
                if name == old {
                    *name = new.to_string();
                }
            }
        }
        Kind::Mover => {
            for drive in layout.movers.iter_mut().filter_map(|mover| mover.driven.as_mut()) {
                if drive.by == old {
                    drive.by = new.to_string();
                }
            }
        }
        Kind::Body => {
            for unbolt in &mut layout.handover.unbolt {
                if unbolt.body == old {
                    unbolt.body = new.to_string();
                }
            }
        }
        Kind::Anchor => {
            for fixing in layout.spots.iter_mut().flat_map(|spot| &mut spot.fixings) {
                if fixing.anchor == old {
                    fixing.anchor = new.to_string();
                }
            }
        }
        _ => {}
    }
}

/// A rule over options with one of them called something else: the whole rule, or where the name stands
/// as words of its own. A rule that then can't be read is refused with the layout, and that is said.
fn renamed_in_rule(rule: &str, old: &str, new: &str) -> String {
    if rule == old {
        return new.to_string();
    }
    let mut out = String::new();
    let mut rest = rule;
    while let Some(at) = rest.find(old) {
        let (before, after) = (&rest[..at], &rest[at + old.len()..]);
        let bound = |letter: Option<char>| letter.is_none_or(|letter| !letter.is_alphanumeric());
        out.push_str(before);
        let own = bound(before.chars().next_back()) && bound(after.chars().next());
        out.push_str(if own { new } else { old });
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn demo() -> Layout {
        crate::format::open_demo(None).expect("the demo is sound").layout
    }

    #[test]
    fn what_names_a_thing_follows_its_new_name_and_its_end() {
        let mut layout = demo();
        let index = layout
            .anchors
            .iter()
            .position(|anchor| {
                layout.spots.iter().flat_map(|spot| &spot.fixings).any(|f| f.anchor == anchor.name)
            })
            .expect("a fixing goes to an anchor");
        let mut thing = Thing::get(&layout, Kind::Anchor, index).expect("it is listed");
        *thing.name_mut().expect("anchors have names") = "renamed".into();
        thing.put_into(&mut layout, index);
        assert!(layout.problems().is_empty());
        let goes = |layout: &Layout| {
            layout.spots.iter().flat_map(|spot| &spot.fixings).any(|f| f.anchor == "renamed")
        };
        assert!(goes(&layout));
        Thing::take_out(&mut layout, Kind::Anchor, index);
        assert!(layout.problems().is_empty() && !goes(&layout));
    }

    #[test]
    fn rules_follow_the_name_of_an_option() {
        assert_eq!(
            renamed_in_rule("amp and not amplifier", "amp", "tuner"),
            "tuner and not amplifier"
        );
        assert_eq!(renamed_in_rule("amp", "amp", "tuner"), "tuner");
        assert_eq!(renamed_in_rule("(amp)", "amp", "tuner"), "(tuner)");
    }
}
