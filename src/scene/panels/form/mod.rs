//! The figures of one thing, typed.

mod boxes;
mod line;
mod motion;
mod others;

use bevy_egui::egui::{Align, Frame, Margin, RichText, Stroke, Ui};

use super::Desk;
use crate::checks::Verdict;
use crate::model::{Anchor, Layout, LineClip};
use crate::scene::edit::Gesture;
use crate::scene::figures;
use crate::scene::thing::{Kind, Thing};
use crate::scene::view::Form;

/// Changes nearer together than this are one step of undo, s.
const ONE_STEP_S: f64 = 1.2;

/// The form, while a thing is being typed.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let Some(mut form) = desk.view.form.take() else { return };
    let Some(known) = Thing::get(desk.document.layout(), form.kind, form.index) else { return };
    if form.base != known {
        // Taken back, or changed elsewhere.
        form = Form { thing: known.clone(), base: known, wrong: Vec::new(), ..form };
    }
    let before = form.thing.clone();
    let (mut asked, mut extra) = (None, None);
    let frame = Frame::new()
        .fill(desk.palette.card)
        .stroke(Stroke::new(1.0, desk.palette.accent))
        .corner_radius(6.0)
        .inner_margin(Margin::same(8));
    let shown = frame.show(ui, |ui| {
        ui.set_width(ui.available_width() - 4.0);
        // Boxes keep their state by the thing that they are about.
        ui.push_id(("form", form.kind, form.index), |ui| {
            let title = figures::capital(form.kind.word());
            ui.label(RichText::new(title).strong());
            // Over the boxes: a form may be longer than the window is high.
            asked = buttons(ui, form.kind);
            ui.add_space(2.0);
            let layout = desk.document.whole();
            extra = boxes::one(ui, desk, &layout, &mut form.thing);
            for wrong in &form.wrong {
                let colour = desk.palette.verdict(Verdict::Fail);
                let words = figures::reason(wrong, desk.view.inches);
                ui.label(RichText::new(words).size(12.0).color(colour));
            }
        });
    });
    if !form.ready {
        // Its list may lie far below.
        shown.response.scroll_to_me(Some(Align::Min));
        form.ready = true;
    }
    if form.thing != before || (form.thing != form.base && form.wrong.is_empty()) {
        let gesture = gesture(desk, &form);
        form.touched_s = desk.now_s;
        let (thing, index) = (form.thing.clone(), form.index);
        let change = |layout: &mut Layout| thing.put_into(layout, index);
        match desk.document.measure("change", gesture, change) {
            Ok(()) => {
                fit_anew(desk, Some(&form.base), &form.thing);
                form.base = form.thing.clone();
                form.wrong.clear();
            }
            Err(wrong) => {
                // Along the bottom too: the box may be far from the form's end.
                if wrong != form.wrong {
                    desk.view.warn(figures::reason(&wrong.join("; "), desk.view.inches));
                }
                form.wrong = wrong;
            }
        }
    }
    desk.view.form = Some(form);
    match asked {
        Some(Asked::Done) => desk.view.form = None,
        Some(Asked::Copy) => copy(desk, false),
        Some(Asked::Mirror) => copy(desk, true),
        Some(Asked::Delete) => delete(desk),
        Some(Asked::Show) => show_it(desk),
        None => {}
    }
    match extra {
        Some(Extra::Add(thing)) => add(desk, thing, "add"),
        Some(Extra::ClipAt(anchor, clip)) => clip_at(desk, anchor, clip),
        None => {}
    }
}

/// What a form asks for beside the figures of its own thing.
enum Extra {
    /// Another thing.
    Add(Thing),
    /// A clip of the form's line on a new anchor.
    ClipAt(Anchor, LineClip),
}

/// Adds an anchor with a clip of the form's line on it, and opens the anchor's form.
fn clip_at(desk: &mut Desk, anchor: Anchor, clip: LineClip) {
    let Some(form) = &desk.view.form else { return };
    let (index, at) = (form.index, desk.document.layout().anchors.len());
    let mut anchor = Thing::Anchor(anchor);
    anchor.call_apart(desk.document.layout());
    let name = anchor.name().unwrap_or_default().to_string();
    let gesture = desk.document.gesture();
    let done = desk.document.measure("clip", gesture, |layout| {
        if let Some(line) = layout.lines.get_mut(index) {
            line.clips.push(LineClip { anchor: name.clone(), ..clip });
            anchor.add_to(layout);
        }
    });
    match done {
        Ok(()) => {
            open(desk, Kind::Anchor, at);
            desk.view.say(format!("Added {name}, with the clip on it: type or drag where it is"));
        }
        Err(wrong) => desk.view.warn(wrong.join("; ")),
    }
}

/// An option that is usually fitted is fitted to the open car as soon as it is listed or ticked as such; one
/// that is fitted stays so under its new name.
fn fit_anew(desk: &mut Desk, before: Option<&Thing>, now: &Thing) {
    let Thing::Option(now) = now else { return };
    let before = match before {
        Some(Thing::Option(before)) => Some(before),
        _ => None,
    };
    let fitted = desk.scores.fitted(desk.document);
    let mut wanted = fitted.clone();
    if let Some(before) = before {
        for name in wanted.iter_mut().filter(|name| **name == before.name) {
            name.clone_from(&now.name);
        }
    }
    let usual_before = before.is_some_and(|before| before.fitted);
    if now.fitted && !usual_before && !wanted.contains(&now.name) {
        wanted.push(now.name.clone());
    } else if usual_before && !now.fitted {
        wanted.retain(|name| *name != now.name);
    }
    if wanted != fitted {
        desk.scores.fit_options(wanted);
    }
}

#[derive(Debug, Clone, Copy)]
enum Asked {
    Done,
    Copy,
    Mirror,
    Delete,
    Show,
}

fn buttons(ui: &mut Ui, kind: Kind) -> Option<Asked> {
    let mut asked = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let all = [
            ("Done", "Close the form", Asked::Done),
            ("Show", "Bring it into the picture", Asked::Show),
            ("Copy", "Another one like it", Asked::Copy),
            ("Mirror", "Another one on the other side of the car", Asked::Mirror),
            ("Delete", "Take it out (undo brings it back)", Asked::Delete),
        ];
        for (words, tip, act) in all {
            if matches!(act, Asked::Show | Asked::Mirror) && !kind.in_the_boot() {
                continue;
            }
            if ui.button(words).on_hover_text(tip).clicked() {
                asked = Some(act);
            }
        }
    });
    asked
}

fn gesture(desk: &mut Desk, form: &Form) -> Gesture {
    if desk.now_s - form.touched_s < ONE_STEP_S {
        desk.document.last_gesture()
    } else {
        desk.document.gesture()
    }
}

fn copy(desk: &mut Desk, mirrored: bool) {
    let Some(form) = &desk.view.form else { return };
    let thing = if mirrored { form.base.mirrored() } else { Some(form.base.clone()) };
    let Some(thing) = thing else {
        desk.view.warn("A scan can't be mirrored: take in a scan of the other side");
        return;
    };
    add(desk, thing, if mirrored { "mirror" } else { "copy" });
}

/// Adds a thing and opens its form.
pub(crate) fn add(desk: &mut Desk, mut thing: Thing, words: &'static str) {
    thing.call_apart(desk.document.layout());
    let kind = thing.kind();
    let index = kind.count(desk.document.layout());
    let gesture = desk.document.gesture();
    let added = thing.clone();
    let has_handles = kind.in_the_boot();
    match desk.document.measure(words, gesture, |layout| {
        added.add_to(layout);
    }) {
        Ok(()) => {
            fit_anew(desk, None, &thing);
            open(desk, kind, index);
            let name = thing.name().unwrap_or(kind.word()).to_string();
            let next = if has_handles {
                "type its figures or drag its handles"
            } else {
                "type what is known of it"
            };
            desk.view.say(format!("Added {name}; {next}"));
        }
        Err(wrong) => desk.view.warn(wrong.join("; ")),
    }
}

/// Opens the form of a thing.
pub(crate) fn open(desk: &mut Desk, kind: Kind, index: usize) {
    let Some(thing) = Thing::get(desk.document.layout(), kind, index) else { return };
    desk.view.lists.insert(kind);
    desk.view.tab = crate::scene::view::Tab::Measure;
    let base = thing.clone();
    desk.view.form = Some(Form {
        kind,
        index,
        thing,
        base,
        wrong: Vec::new(),
        touched_s: f64::NEG_INFINITY,
        ready: false,
    });
}

/// Takes the thing of the open form out.
pub(crate) fn delete(desk: &mut Desk) {
    let Some(form) = desk.view.form.take() else { return };
    let gesture = desk.document.gesture();
    let (kind, index) = (form.kind, form.index);
    let gone = |layout: &mut Layout| Thing::take_out(layout, kind, index);
    match desk.document.measure("delete", gesture, gone) {
        Ok(()) => {
            let name = form.base.title(index);
            desk.view.say(format!("Took out {name}; Ctrl+Z brings it back"));
        }
        Err(wrong) => {
            desk.view.warn(wrong.join("; "));
            desk.view.form = Some(form);
        }
    }
}

fn show_it(desk: &mut Desk) {
    let Some(form) = &desk.view.form else { return };
    if let Some(at) = form.base.at() {
        let name = form.base.name().unwrap_or("luggage space").to_string();
        desk.view.point_at(at, &name, desk.now_s);
        desk.orbit.go_to(&at);
    }
}
