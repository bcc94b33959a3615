//! What was nearly lost: unsaved work from before a crash, a file changed elsewhere, a broken
//! computation.

use std::time::SystemTime;

use bevy_egui::egui::{Context, Frame, Margin, RichText, Ui};

use super::{Desk, dialog};
use crate::checks::Verdict;
use crate::scene::keeper;

/// The dialogs.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    recovered(ctx, desk);
    panicked(ctx, desk);
}

fn recovered(ctx: &Context, desk: &mut Desk) {
    let Some(unsaved) = desk.view.recovered.take() else { return };
    if unsaved.layout == desk.document.whole() {
        keeper::journal(desk.document).clear();
        return;
    }
    let (mut restore, mut leave) = (false, false);
    dialog(ctx, "recovered", "Unsaved work was found", 430.0, |ui| {
        ui.label(format!("The window didn't close properly last time. {}", age(unsaved.kept)));
        ui.label(
            "Bringing it back changes nothing in the file until you save, and undo takes it back \
             again.",
        );
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            let button = ui.button("Bring it back");
            if ui.memory(|memory| memory.focused().is_none()) {
                button.request_focus();
            }
            restore = button.clicked();
            leave = ui
                .button("Leave it")
                .on_hover_text("It is put aside beside the file, with .old at its end")
                .clicked();
        });
    });
    if leave {
        keeper::journal(desk.document).put_aside();
        desk.view.say("The unsaved work was put aside beside the file");
    } else if restore {
        let gesture = desk.document.gesture();
        match desk.document.measured("recovered work", gesture, unsaved.layout) {
            Ok(()) => desk.view.say("Brought back; save to keep it"),
            Err(wrong) => {
                keeper::journal(desk.document).put_aside();
                let why = wrong.join("; ");
                desk.view.warn(format!("It can't be used: {why}; it was put aside"));
            }
        }
    } else {
        desk.view.recovered = Some(unsaved);
    }
}

fn age(kept: Option<SystemTime>) -> String {
    let Some(age) = kept.and_then(|kept| SystemTime::now().duration_since(kept).ok()) else {
        return String::new();
    };
    let minutes = age.as_secs() / 60;
    match minutes {
        0 => "It was kept less than a minute ago.".into(),
        1..120 => format!("It was kept {minutes} minutes ago."),
        _ if minutes < 48 * 60 => format!("It was kept {} hours ago.", minutes / 60),
        _ => format!("It was kept {} days ago.", minutes / 60 / 24),
    }
}

fn panicked(ctx: &Context, desk: &mut Desk) {
    if desk.view.recovered.is_some() {
        return;
    }
    let Some(why) = desk.view.panic.clone() else { return };
    dialog(ctx, "panic", "A computation broke off", 430.0, |ui| {
        ui.label(
            "This is a mistake in the program, not in the layout. Figures that it leaves out are \
             marked; everything else goes on, and unsaved work is kept.",
        );
        ui.label(RichText::new(&why).monospace().color(desk.palette.verdict(Verdict::Fail)));
        ui.add_space(4.0);
        let button = ui.button("Go on");
        if ui.memory(|memory| memory.focused().is_none()) {
            button.request_focus();
        }
        if button.clicked() {
            desk.view.panic = None;
        }
    });
}

/// The line over the picture when the file on disk says something else.
pub(crate) fn on_disk(ui: &mut Ui, desk: &mut Desk) {
    let Some(text) = desk.view.on_disk.clone() else { return };
    let colour = desk.palette.verdict(Verdict::Tight);
    let frame = Frame::new()
        .fill(desk.palette.card)
        .stroke(bevy_egui::egui::Stroke::new(1.5, colour))
        .corner_radius(6.0)
        .inner_margin(Margin::symmetric(10, 6));
    frame.show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("The file was changed on disk.").strong().color(colour));
            let take =
                ui.button("Take it").on_hover_text("Goes on from the file; undo brings back");
            if take.clicked() {
                match desk.document.take_from_disk() {
                    Ok(()) => {
                        desk.view.on_disk = None;
                        desk.view.say("Went on from what is on disk; Ctrl+Z brings yours back");
                    }
                    Err(why) => desk.view.warn(format!("It can't be used: {why}")),
                }
            }
            let keep = ui.button("Keep mine").on_hover_text("Saving writes yours into that file");
            if keep.clicked() {
                match desk.document.keep_mine(text) {
                    Ok(()) => {
                        desk.view.on_disk = None;
                        desk.view.say("Yours stays; save to write it into the file");
                    }
                    Err(why) => {
                        desk.view.warn(format!("The file on disk is no sound layout: {why}"));
                    }
                }
            }
        });
    });
}
