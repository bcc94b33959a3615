//! The bar along the top, with what is open and what can be done; the line along the bottom, with
//! what was done last and how to move about.

use bevy_egui::egui::{
    Align, Button, Frame, Label, Layout, Margin, Panel, ProgressBar, RichText, Ui,
};

use super::Desk;
use crate::checks::Verdict;
use crate::scene::edit::Edit;
use crate::scene::view::Start;

/// The bar along the top.
pub(crate) fn top(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(12, 7));
    Panel::top("top").frame(frame).resizable(false).show(root, |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new("Dryberth").size(17.0).strong().color(desk.palette.accent));
            ui.add_space(6.0);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                choices(ui, desk);
                ui.separator();
                actions(ui, desk);
                ui.separator();
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| title(ui, desk));
            });
        });
    });
}

fn title(ui: &mut Ui, desk: &Desk) {
    let file = desk.document.file_name().unwrap_or_else(|| "built-in demo".to_string());
    let unsaved = if desk.document.any_unsaved() { ", unsaved changes" } else { "" };
    let words = format!("{} ({file}{unsaved})", desk.document.layout().name);
    let about = &desk.document.layout().about;
    let origin = &desk.document.layout().origin;
    let tip = format!("{}\n{}\n\nOrigin: {}", desk.document.layout().name, about, origin);
    ui.add(Label::new(words).truncate()).on_hover_text(tip);
}

/// Rightmost first: the bar is laid out from its right end.
fn choices(ui: &mut Ui, desk: &mut Desk) {
    if ui.button("Cautions").on_hover_text("What to mind before anything is unbolted").clicked() {
        desk.view.cautions = !desk.view.cautions;
    }
    let words = "Lengths to cut, millilitres, fixings to buy: what goes on the job's sheet";
    if ui.selectable_label(desk.view.notes, "To write down").on_hover_text(words).clicked() {
        desk.view.notes = !desk.view.notes;
    }
    let theme = if desk.view.dark { "Light" } else { "Dark" };
    if ui.button(theme).on_hover_text("Change to this theme").clicked() {
        desk.view.dark = !desk.view.dark;
    }
    let unit = if desk.view.inches { "mm" } else { "inch" };
    if ui.button(unit).on_hover_text("Show lengths in this unit; files stay in mm").clicked() {
        desk.view.inches = !desk.view.inches;
    }
}

fn actions(ui: &mut Ui, desk: &mut Desk) {
    let unsaved = desk.document.any_unsaved();
    let save = Button::new(if unsaved { "Save •" } else { "Save" }).selected(unsaved);
    if ui.add(save).on_hover_text("Write everything into the layout's file (Ctrl+S)").clicked() {
        desk.save();
    }
    let button = Button::new(if desk.opening.busy() { "Opening…" } else { "New boot…" });
    let response = ui.add_enabled(!desk.opening.busy(), button);
    if response.on_hover_text("Measure in another car, from nothing").clicked() {
        desk.view.start = Some(Start::default());
    }
    let response = ui.add_enabled(!desk.opening.busy(), Button::new("Open…"));
    if response.on_hover_text("Open another layout in this window (Ctrl+O)").clicked() {
        super::open::ask(desk);
    }
    if ui
        .button("New spot")
        .on_hover_text("Start another spot from where the pump stands now (Ctrl+N)")
        .clicked()
    {
        new_spot(desk);
    }
    let redo = desk.document.redo_words();
    if ui
        .add_enabled(redo.is_some(), Button::new("Redo"))
        .on_hover_text(format!("Do again: {} (Ctrl+Y)", redo.unwrap_or("nothing")))
        .clicked()
    {
        desk.redo();
    }
    let undo = desk.document.undo_words();
    if ui
        .add_enabled(undo.is_some(), Button::new("Undo"))
        .on_hover_text(format!("Take back: {} (Ctrl+Z)", undo.unwrap_or("nothing")))
        .clicked()
    {
        desk.undo();
    }
}

/// Starts another spot where the pump stands now.
pub(crate) fn new_spot(desk: &mut Desk) {
    desk.keep_name();
    let mut spot = desk.document.spot().clone();
    spot.name = desk.document.free_name(stem(&spot.name));
    let name = spot.name.clone();
    desk.document.edit(Edit::Add { spot, from: desk.document.current() });
    desk.view.marker = None;
    desk.view.naming = Some((desk.document.current(), name));
    desk.view.say("New spot: give it a name, then move the pump");
}

/// A name without the number at its end.
fn stem(name: &str) -> &str {
    let bare = name.trim_end_matches(|letter: char| letter.is_ascii_digit()).trim_end();
    if bare.is_empty() { name } else { bare }
}

/// The line along the bottom.
pub(crate) fn bottom(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(12, 4));
    Panel::bottom("bottom").frame(frame).resizable(false).show(root, |ui| {
        ui.horizontal(|ui| {
            preparing(ui, desk);
            let hint = if ui.available_width() < 1200.0 {
                "Drag: turn   Right drag: shift   Wheel: zoom   Drag the pump: move it"
            } else {
                "Drag: turn the view   Right or middle drag: shift it   Wheel: zoom   \
                 Drag the pump: move it (Shift: keep its height)"
            };
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.label(RichText::new(hint).size(12.0).color(desk.palette.faint));
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    let Some((words, wrong)) = &desk.view.said else { return };
                    let colour =
                        if *wrong { desk.palette.verdict(Verdict::Fail) } else { desk.palette.ink };
                    let words = words.replace('\n', " ");
                    ui.add(Label::new(RichText::new(&words).size(12.0).color(colour)).truncate())
                        .on_hover_text(&words);
                });
            });
        });
    });
}

/// How far the making ready of the boot is, with a button that gives it up; or that it was given up.
fn preparing(ui: &mut Ui, desk: &mut Desk) {
    if desk.scores.preparing_boot() {
        desk.moving = true;
    }
    if let Some(share) = desk.scores.preparing_share() {
        let bar = ProgressBar::new(share as f32)
            .desired_width(170.0)
            .desired_height(16.0)
            .text(RichText::new("Making the boot ready").size(12.0));
        ui.add(bar);
        let tip = "The figures then stay those of the boot as it was";
        if ui.small_button("Cancel").on_hover_text(tip).clicked() {
            desk.scores.cancel_preparing(desk.document);
            desk.view.say("Given up; the figures are those of the boot as it was");
        }
    } else if desk.scores.cancelled(desk.document) {
        let words = RichText::new("The boot is older than what is measured").size(12.0);
        ui.label(words.color(desk.palette.verdict(Verdict::Tight)));
        if ui.small_button("Make it ready").clicked() {
            desk.scores.prepare_after_all();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::stem;

    #[test]
    fn a_copy_of_a_copy_counts_on() {
        assert_eq!(stem("Left shelf 2"), "Left shelf");
        assert_eq!(stem("Left shelf"), "Left shelf");
        assert_eq!(stem("42"), "42");
    }
}
