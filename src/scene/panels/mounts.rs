//! Where the pump's mounts stand in the boot, and studs put under its feet.

use bevy_egui::egui::{CollapsingHeader, Grid, RichText, Ui};

use super::Desk;
use crate::scene::moves::studs_under;
use crate::scene::thing::{Kind, Thing};
use crate::scene::{figures, view::Tab};

/// Each mount with its place in the boot, and a button that puts studs under the feet.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    CollapsingHeader::new("Where its mounts are").id_salt("mounts").show(ui, |ui| {
        let boot = desk.document.boot().clone();
        let place = desk.document.spot().place;
        let pose = place.pose();
        let inches = desk.view.inches;
        let faint = |words: &str| RichText::new(words).size(12.0).color(desk.palette.faint);
        let unit = if inches { "in" } else { "mm" };
        Grid::new("mounts").num_columns(4).spacing([10.0, 2.0]).show(ui, |ui| {
            ui.label(faint(&format!("in the boot, {unit}")));
            for letter in ["x", "y", "z"] {
                ui.label(faint(letter));
            }
            ui.end_row();
            for mount in &boot.pump().mounts {
                let at = pose * mount.at;
                let hole = mount.hole_mm.map(|hole| figures::length(hole, inches));
                let tip = hole.map_or_else(
                    || "No hole: a place where a tie, strap or clamp takes hold".to_string(),
                    |hole| {
                        format!("The middle of its hole of {hole}, on the side away from the pump")
                    },
                );
                let words = RichText::new(figures::capital(&mount.name)).size(13.0);
                ui.label(words).on_hover_text(tip);
                for value in [at.x, at.y, at.z] {
                    ui.label(RichText::new(figures::coordinate(value, inches)).size(13.0));
                }
                ui.end_row();
            }
        });
        let studs = studs_under(&boot, &place);
        let tip =
            "A stud under every foot with a hole that has no anchor yet, on what lies below it";
        let button = bevy_egui::egui::Button::new("Add studs under these feet").small();
        let response = ui.add_enabled(!studs.is_empty() && !desk.document.boot_stale(), button);
        let response = response.on_hover_text(tip);
        if response.on_disabled_hover_text("Every foot with a hole has its anchor").clicked() {
            let count = studs.len();
            let gesture = desk.document.gesture();
            let first = desk.document.layout().anchors.len();
            let done = desk.document.measure("add studs", gesture, |layout| {
                for stud in studs {
                    let mut thing = Thing::Anchor(stud);
                    thing.call_apart(layout);
                    thing.add_to(layout);
                }
            });
            match done {
                Ok(()) => {
                    super::form::open(desk, Kind::Anchor, first);
                    desk.view.tab = Tab::Measure;
                    desk.view.say(format!(
                        "Added {count} stud{}; each is taken to carry 500 N: type what it does",
                        if count == 1 { "" } else { "s" }
                    ));
                }
                Err(wrong) => desk.view.warn(wrong.join("; ")),
            }
        }
    });
}
