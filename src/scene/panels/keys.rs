//! What keys do.

use bevy::input::keyboard::{Key, KeyboardInput};
use bevy_egui::egui::Context;

use super::{Desk, bar};
use crate::model::Vector;
use crate::scene::edit::Gesture;
use crate::scene::grip::{shifted, turned};

/// Turns and nudges of a plain key, degrees and mm.
const COARSE: (f64, f64) = (15.0, 10.0);

/// The same with Shift.
const FINE: (f64, f64) = (1.0, 1.0);

/// Keys that are held down and change what others mean. Followed event by event: where a frame
/// takes long, a whole shortcut lies within one.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Modifiers {
    control: bool,
    shift: bool,
    alt: bool,
}

impl Modifiers {
    /// Nothing is held any more; the window has lost the keyboard.
    pub(crate) fn release(&mut self) {
        *self = Modifiers::default();
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
}

/// Does what the keys pressed since the last frame ask for. While something is being typed only
/// saving and a new spot count.
pub(crate) fn act<'a>(
    ctx: &Context,
    desk: &mut Desk,
    held: &mut Modifiers,
    events: impl Iterator<Item = &'a KeyboardInput>,
) {
    let typing = ctx.egui_wants_keyboard_input();
    // Arrow keys belong to the widget that has the focus, if one has it.
    let focused = ctx.memory(|memory| memory.focused().is_some());
    for event in events {
        held.follow(event);
        if !event.state.is_pressed() || held.alt {
            continue;
        }
        let letter = match &event.logical_key {
            Key::Character(letter) => letter.to_lowercase(),
            _ => String::new(),
        };
        if held.control {
            shortcut(desk, &letter, held.shift, typing);
            continue;
        }
        let elsewhere = focused
            && matches!(
                event.logical_key,
                Key::ArrowUp | Key::ArrowDown | Key::ArrowLeft | Key::ArrowRight
            );
        if !(typing || elsewhere) {
            plain(desk, &event.logical_key, &letter, event.repeat, held.shift);
        }
    }
}

fn shortcut(desk: &mut Desk, letter: &str, shift: bool, typing: bool) {
    match (letter, shift) {
        ("s", _) => desk.save(),
        ("n", _) => bar::new_spot(desk),
        ("z", false) if !typing => desk.undo(),
        ("z", true) | ("y", _) if !typing => desk.redo(),
        _ => {}
    }
}

fn plain(desk: &mut Desk, key: &Key, letter: &str, repeat: bool, fine: bool) {
    if let Ok(number @ 1..=9) = letter.parse::<usize>() {
        if number <= desk.document.spots().len() {
            desk.turn_to(number - 1);
        }
        return;
    }
    match key {
        Key::Home => return desk.orbit.frame_all(),
        Key::End if !repeat => return desk.drop_down(),
        Key::Escape if desk.view.closing => {
            desk.view.closing = false;
            return;
        }
        Key::Escape if desk.view.cautions => {
            desk.view.cautions = false;
            return;
        }
        Key::Escape => {
            desk.view.marker = None;
            return;
        }
        _ => {}
    }
    let (deg, mm) = if fine { FINE } else { COARSE };
    let shift = match key {
        Key::ArrowUp => Some(Vector::x() * mm),
        Key::ArrowDown => Some(Vector::x() * -mm),
        Key::ArrowLeft => Some(Vector::y() * mm),
        Key::ArrowRight => Some(Vector::y() * -mm),
        Key::PageUp => Some(Vector::z() * mm),
        Key::PageDown => Some(Vector::z() * -mm),
        _ => None,
    };
    let turn = match letter {
        "q" => Some((0.0, 0.0, deg)),
        "e" => Some((0.0, 0.0, -deg)),
        "w" => Some((0.0, deg, 0.0)),
        "s" => Some((0.0, -deg, 0.0)),
        "a" => Some((-deg, 0.0, 0.0)),
        "d" => Some((deg, 0.0, 0.0)),
        _ => None,
    };
    if shift.is_none() && turn.is_none() {
        return;
    }
    let gesture = held(desk, repeat);
    let place = desk.document.spot().place;
    if let Some(by) = shift {
        desk.document.place(shifted(&place, &by), gesture);
    } else if let Some(by) = turn {
        let place = turned(desk.document.boot(), &place, by);
        desk.document.place(place, gesture);
    }
}

/// A key that is held down goes on with the gesture that its press began.
fn held(desk: &mut Desk, repeat: bool) -> Gesture {
    if repeat { desk.document.last_gesture() } else { desk.document.gesture() }
}
