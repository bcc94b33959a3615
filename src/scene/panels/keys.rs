//! What keys do.

use bevy::input::keyboard::{Key, KeyboardInput};
use bevy_egui::egui::{Context, Order, Popup, Pos2};

use super::{Desk, bar};
use crate::model::Vector;
use crate::scene::edit::Gesture;
use crate::scene::figures;
use crate::scene::grip::{shifted, turned};
use crate::scene::view::Tool;

/// Turns and nudges of a plain key, degrees and mm.
const COARSE: (f64, f64) = (15.0, 10.0);

/// The same with Shift.
const FINE: (f64, f64) = (1.0, 1.0);

/// Keys that are held down and change what others mean. Followed event by event: where a frame
/// takes long, a whole shortcut lies within one.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Held {
    control: bool,
    shift: bool,
    alt: bool,
    /// Where the pointer lay when something else had the keyboard last.
    lay: Option<Pos2>,
}

impl Held {
    /// Nothing is held any more; the window has lost the keyboard.
    pub(crate) fn release(&mut self) {
        *self = Held { lay: self.lay, ..Held::default() };
    }

    fn follow(&mut self, event: &KeyboardInput) {
        let down = event.state.is_pressed();
        match event.logical_key {
            Key::Control | Key::Super | Key::Meta => self.control = down,
            Key::Shift => self.shift = down,
            Key::Alt | Key::AltGraph => self.alt = down,
            _ => {}
        }
    }

    /// Whether plain keys belong to the picture of the boot: the pointer is over it, nothing has the
    /// keyboard, and the pointer has moved since something had it. What is typed into a box that has
    /// just closed therefore never moves the pump.
    fn over_picture(&mut self, ctx: &Context, desk: &Desk) -> bool {
        let pointer = ctx.input(|input| input.pointer.latest_pos());
        if ctx.egui_wants_keyboard_input() || desk.view.dialog_up() {
            self.lay = pointer;
            return false;
        }
        if self.lay != pointer {
            self.lay = None;
        }
        pointer.filter(|_| self.lay.is_none()).is_some_and(|at| {
            let above = ctx.layer_id_at(at);
            desk.orbit.rect.contains(at)
                && above.is_none_or(|layer| layer.order == Order::Background)
        })
    }
}

/// Does what the keys pressed since the last frame ask for. While a dialog is shown only Escape
/// counts here; Enter and Tab are egui's. While something is being typed only saving and a new spot
/// count.
pub(crate) fn act<'a>(
    ctx: &Context,
    desk: &mut Desk,
    held: &mut Held,
    events: impl Iterator<Item = &'a KeyboardInput>,
) {
    let typing = ctx.egui_wants_keyboard_input();
    let over_picture = held.over_picture(ctx, desk);
    for event in events {
        held.follow(event);
        if !event.state.is_pressed() || held.alt {
            continue;
        }
        if desk.view.dialog_up() {
            if event.logical_key == Key::Escape {
                close_dialog(desk);
            }
            continue;
        }
        let letter = match &event.logical_key {
            Key::Character(letter) => letter.to_lowercase(),
            _ => String::new(),
        };
        if held.control {
            shortcut(desk, &letter, held.shift, typing);
        } else if !typing && event.logical_key == Key::Home {
            desk.orbit.frame_all();
        } else if !typing && event.logical_key == Key::Escape {
            // An open list takes it for itself.
            if !Popup::is_any_open(ctx) {
                escape(desk);
            }
        } else if desk.view.present && letter == "p" {
            desk.view.present = false;
            desk.view.spin = false;
        } else if over_picture && event.logical_key == Key::Delete && desk.view.form.is_some() {
            super::form::delete(desk);
        } else if over_picture {
            plain(desk, &event.logical_key, &letter, event.repeat, held.shift);
        }
    }
}

/// What is open over the picture, one after the other.
fn escape(desk: &mut Desk) {
    if desk.view.present {
        desk.view.present = false;
        desk.view.spin = false;
    } else if desk.view.compare {
        desk.view.compare = false;
    } else if desk.view.tool != Tool::Hand {
        desk.view.tool = Tool::Hand;
    } else if desk.view.form.take().is_none() {
        desk.view.marker = None;
    }
}

/// The one on top first. What was found after a crash is decided on, not closed.
fn close_dialog(desk: &mut Desk) {
    if desk.view.failed.take().is_some()
        || desk.view.help.take().is_some()
        || desk.view.start.take().is_some()
        || desk.view.choosing.take().is_some()
    {
        return;
    }
    if !desk.view.cautions && desk.view.panic.take().is_some() {
        return;
    }
    if desk.view.closing {
        desk.view.closing = false;
    } else {
        desk.view.cautions = false;
    }
}

fn shortcut(desk: &mut Desk, letter: &str, shift: bool, typing: bool) {
    match (letter, shift) {
        ("s", _) => desk.save(),
        ("n", _) => bar::new_spot(desk),
        ("o", _) => super::open::ask(desk),
        ("z", false) if !typing => desk.undo(),
        ("z", true) | ("y", _) if !typing => desk.redo(),
        _ => {}
    }
}

fn plain(desk: &mut Desk, key: &Key, letter: &str, repeat: bool, fine: bool) {
    if let Ok(number @ 1..=9) = letter.parse::<usize>() {
        if let Some(spot) = desk.document.spots().get(number - 1) {
            let words = format!("Spot {number}: {}", spot.name);
            desk.turn_to(number - 1);
            desk.view.say(words);
        }
        return;
    }
    if *key == Key::End {
        if !repeat {
            desk.drop_down();
        }
        return;
    }
    match letter {
        "p" => return desk.view.present = true,
        "n" => return desk.snap(),
        "m" => {
            let on = matches!(desk.view.tool, Tool::Points(_));
            desk.view.tool = if on { Tool::Hand } else { Tool::Points(Vec::new()) };
            return;
        }
        _ => {}
    }
    let (deg, mm) = if fine { FINE } else { COARSE };
    if let Some((way, words)) = nudge(key) {
        let gesture = held(desk, repeat);
        let place = shifted(&desk.document.spot().place, &(way * mm));
        desk.document.place(place, gesture);
        let far = figures::length(mm, desk.view.inches);
        desk.view.say(format!("Moved {far} {words}; Ctrl+Z takes it back"));
    } else if let Some((by, words)) = turn(letter) {
        let gesture = held(desk, repeat);
        let by = (by.0 * deg, by.1 * deg, by.2 * deg);
        let place = turned(desk.document.boot(), &desk.document.spot().place, by);
        desk.document.place(place, gesture);
        desk.view.say(format!("Turned {deg}° {words}; Ctrl+Z takes it back"));
    }
}

fn nudge(key: &Key) -> Option<(Vector, &'static str)> {
    match key {
        Key::ArrowUp => Some((Vector::x(), "forward")),
        Key::ArrowDown => Some((-Vector::x(), "back")),
        Key::ArrowLeft => Some((Vector::y(), "to the left")),
        Key::ArrowRight => Some((-Vector::y(), "to the right")),
        Key::PageUp => Some((Vector::z(), "up")),
        Key::PageDown => Some((-Vector::z(), "down")),
        _ => None,
    }
}

/// Roll, pitch and yaw of a letter, and what they are in words.
fn turn(letter: &str) -> Option<((f64, f64, f64), &'static str)> {
    match letter {
        "q" => Some(((0.0, 0.0, 1.0), "to the left, about up")),
        "e" => Some(((0.0, 0.0, -1.0), "to the right, about up")),
        "w" => Some(((0.0, 1.0, 0.0), "nose down, about left")),
        "s" => Some(((0.0, -1.0, 0.0), "nose up, about left")),
        "a" => Some(((-1.0, 0.0, 0.0), "leaning left, about front")),
        "d" => Some(((1.0, 0.0, 0.0), "leaning right, about front")),
        _ => None,
    }
}

/// A key that is held down goes on with the gesture that its press began.
fn held(desk: &mut Desk, repeat: bool) -> Gesture {
    if repeat { desk.document.last_gesture() } else { desk.document.gesture() }
}
