//! Beginning a new boot: where the tape hooks, four lengths, a file; the rest is measured in after.

use std::path::PathBuf;

use bevy_egui::egui::{Context, Key, Label, RichText, TextEdit};

use super::{Desk, dialog, fields};
use crate::checks::Verdict;
use crate::scene::opening::begin;
use crate::scene::view::Start;

/// Width of the titles before the lengths, points.
const TITLE: f32 = 220.0;

/// The dialog, while a boot is being begun.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    let Some(mut start) = desk.view.start.take() else { return };
    let folder = folder(desk);
    let before = start.clone();
    let mut create = std::mem::take(&mut start.enter);
    let mut close = false;
    dialog(ctx, "new boot", "New boot", 470.0, |ui| {
        ui.label("Model, in the workshop's words");
        let name = ui.add(TextEdit::singleline(&mut start.name).desired_width(f32::INFINITY));
        if !start.ready {
            name.request_focus();
            start.ready = true;
        }
        ui.label("The origin: a point that the tape reaches, in words");
        let origin = TextEdit::multiline(&mut start.origin).desired_rows(2);
        let origin = ui.add(origin.desired_width(f32::INFINITY)).has_focus();
        ui.label(
            RichText::new("x runs forward from it, y to the left, z up.")
                .size(12.0)
                .color(desk.palette.faint),
        );
        fields::length_after(
            ui,
            desk,
            TITLE,
            "floor, from the sill to the bulkhead",
            &mut start.long_mm,
        );
        fields::length_after(ui, desk, TITLE, "floor, between the side panels", &mut start.wide_mm);
        fields::length_after(
            ui,
            desk,
            TITLE,
            "from the floor up to the lid's seal",
            &mut start.high_mm,
        );
        fields::length_after(ui, desk, TITLE, "the rear sill over the floor", &mut start.sill_mm);
        ui.horizontal(|ui| {
            ui.label("File");
            ui.add(TextEdit::singleline(&mut start.file).desired_width(200.0));
        });
        let shown = std::path::absolute(&folder).unwrap_or_else(|_| folder.clone());
        let words = RichText::new(format!("in {}", shown.display())).size(12.0);
        ui.add(Label::new(words.color(desk.palette.faint)).truncate());
        ui.label(
            RichText::new(
                "It begins with a floor and its walls, and with the built-in pump. Wheel arches, \
                 hinges, carpet, drains, hoses and anchors are measured in next; each can be typed, \
                 dragged, copied and mirrored.",
            )
            .size(12.5),
        );
        if let Some(wrong) = &start.wrong {
            ui.label(RichText::new(wrong).color(desk.palette.verdict(Verdict::Fail)));
        }
        if desk.document.any_unsaved() {
            let words = "What is unsaved in the open layout is saved first.";
            ui.label(RichText::new(words).size(12.5).color(desk.palette.verdict(Verdict::Tight)));
        }
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            create |= ui.button("Begin").clicked();
            let cancel = ui.button("Cancel");
            close = cancel.clicked();
            // A length takes what was typed in the next frame.
            let enter = ui.input(|input| input.key_pressed(Key::Enter));
            start.enter = enter && !origin && !cancel.has_focus() && !create;
            desk.moving |= start.enter;
        });
    });
    if start != (Start { ready: start.ready, enter: start.enter, ..before }) {
        start.wrong = None;
    }
    if create {
        if desk.document.any_unsaved() {
            desk.save();
        }
        if desk.document.any_unsaved() {
            start.wrong = Some("The open layout could not be saved".into());
        } else {
            match begin(&start, &folder) {
                Ok(path) => {
                    desk.opening.open(path);
                    close = true;
                }
                Err(why) => start.wrong = Some(why),
            }
        }
    }
    if !close {
        desk.view.start = Some(start);
    }
}

/// New files go beside the one that is open; from the built-in demo, into the current folder.
fn folder(desk: &Desk) -> PathBuf {
    desk.document
        .file()
        .path()
        .and_then(|path| path.parent())
        .filter(|folder| !folder.as_os_str().is_empty())
        .map_or_else(|| PathBuf::from("."), PathBuf::from)
}
