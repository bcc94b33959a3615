//! The name of the spot that is worked on, and its box while it is being typed.

use bevy_egui::egui::text::{CCursor, CCursorRange};
use bevy_egui::egui::{Align, Key, Label, Layout, RichText, TextEdit, Ui};

use super::Desk;
use super::verdict::RIGHT;

/// The name with a button, or the box in which it is typed. What was typed counts as soon as the box
/// is left; Escape leaves the old name.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let current = desk.document.current();
    if desk.view.naming.as_ref().is_some_and(|(spot, _)| *spot != current) {
        desk.keep_name();
    }
    ui.horizontal(|ui| match desk.view.naming.take() {
        Some((spot, words)) => typing(ui, desk, spot, words),
        None => shown(ui, desk, current),
    });
}

fn typing(ui: &mut Ui, desk: &mut Desk, spot: usize, mut words: String) {
    let edit = TextEdit::singleline(&mut words).desired_width(190.0).char_limit(60);
    let mut output = edit.show(ui);
    let response = &output.response;
    let left = response.lost_focus();
    if !response.has_focus() && !left && !desk.view.dialog_up() {
        response.request_focus();
        let all = CCursorRange::two(CCursor::new(0), CCursor::new(words.chars().count()));
        output.state.cursor.set_char_range(Some(all));
        output.state.store(ui.ctx(), response.id);
    }
    let done = ui.button("Done").clicked();
    if left && ui.input(|input| input.key_pressed(Key::Escape)) {
        desk.view.say("The name stays as it was");
        return;
    }
    desk.view.naming = Some((spot, words));
    if left || done {
        desk.keep_name();
    }
}

fn shown(ui: &mut Ui, desk: &mut Desk, current: usize) {
    let name = desk.document.spot().name.clone();
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add_space(RIGHT);
        if ui.button("Rename").clicked() {
            desk.view.naming = Some((current, name.clone()));
        }
        if ui.button("Delete").on_hover_text("Take this spot out; undo brings it back").clicked() {
            desk.delete_spot();
            return;
        }
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            let words = super::elided(ui, &name, 17.0, ui.available_width() - 4.0);
            let label = Label::new(RichText::new(&words).size(17.0).strong()).truncate();
            let response = ui.add(label);
            if words != name {
                response.on_hover_text(&name);
            }
        });
    });
}

impl Desk<'_> {
    /// Takes the current spot out; where it was the last one, a fresh one takes its place.
    fn delete_spot(&mut self) {
        let (gesture, current) = (self.document.gesture(), self.document.current());
        let name = self.document.spot().name.clone();
        match self.document.measure("delete spot", gesture, |layout| {
            let gone = layout.spots.remove(current).name;
            if layout.handover.before.as_ref() == Some(&gone) {
                layout.handover.before = None;
            }
        }) {
            Ok(()) => {
                self.scores.forget();
                self.view.say(format!("Took out “{name}”; Ctrl+Z brings it back"));
            }
            Err(wrong) => self.view.warn(wrong.join("; ")),
        }
    }

    /// Takes the name that is being typed as it stands; an empty one or one that another spot has
    /// leaves the old name, and that is said.
    pub(crate) fn keep_name(&mut self) {
        let Some((spot, words)) = self.view.naming.take() else { return };
        let name = words.trim();
        let taken = self
            .document
            .spots()
            .iter()
            .enumerate()
            .any(|(index, known)| index != spot && known.name == name);
        if name.is_empty() || taken {
            let why = if taken { "another spot has that name" } else { "a spot needs a name" };
            self.view.warn(format!("Not renamed: {why}"));
        } else if self.document.spots().get(spot).is_some_and(|known| known.name != name) {
            self.document.name_spot(spot, name);
            self.view.say(format!("Named “{name}”; saving changes the name in the file too"));
        }
    }
}
