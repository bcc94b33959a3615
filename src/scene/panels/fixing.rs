//! What holds the pump, and adding to it: what it is, which mount, which anchor.

use bevy_egui::egui::{Align, ComboBox, Id, Label, Layout, RichText, Ui};

use super::{Desk, elided, heading};
use crate::model::{Fixing, FixingKind};
use crate::scene::edit::Edit;
use crate::scene::figures;

/// A fixing as it is offered.
struct Offer {
    words: &'static str,
    kind: FixingKind,
    /// Whether a nut holds it on a stud.
    nut: bool,
    /// How much thinner its foam is pressed, mm.
    squeeze_mm: Option<f64>,
}

const fn plain(words: &'static str, kind: FixingKind) -> Offer {
    Offer { words, kind, nut: false, squeeze_mm: None }
}

const fn tie(words: &'static str, width_mm: f64, nut: bool) -> Offer {
    Offer { nut, ..plain(words, FixingKind::Tie { width_mm }) }
}

/// What is on offer, with usual working strengths. Bolt and strap figures are common practice, no
/// source; a layout may state others.
const ON_OFFER: [Offer; 11] = [
    plain("bolt on rubber, 200 N", FixingKind::Bolt { working_n: 200.0 }),
    plain("bolt on rubber, 400 N", FixingKind::Bolt { working_n: 400.0 }),
    tie("cable tie 4.8 mm", 4.8, false),
    tie("cable tie 4.8 mm under a nut", 4.8, true),
    tie("cable tie 7.6 mm", 7.6, false),
    tie("cable tie 7.6 mm under a nut", 7.6, true),
    plain("strap, 300 N", FixingKind::Strap { working_n: 300.0 }),
    plain("strap, 500 N", FixingKind::Strap { working_n: 500.0 }),
    plain("clamp, 300 N", FixingKind::Clamp { working_n: 300.0 }),
    plain("foam wedge, 150 N", FixingKind::Wedge { working_n: 150.0 }),
    Offer {
        squeeze_mm: Some(5.0),
        ..plain("foam wedge pressed 5 mm, 150 N", FixingKind::Wedge { working_n: 150.0 })
    },
];

/// What the next fixing will be, as far as it is chosen.
#[derive(Debug, Clone, Default)]
struct Choice {
    kind: usize,
    mount: Option<String>,
    anchor: Option<String>,
}

/// What holds the pump, each with a button that takes it off, and what can be added.
pub(crate) fn held(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Held by");
    let fixings = desk.document.spot().fixings.clone();
    if fixings.is_empty() {
        ui.label(RichText::new("Nothing yet").color(desk.palette.faint));
    }
    let mut without = None;
    for (index, fixing) in fixings.iter().enumerate() {
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if ui.small_button("Take off").clicked() {
                    without = Some(index);
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    let kind = figures::capital(fixing.kind.words());
                    let besides = fixing.besides();
                    let words = format!("{kind}{besides}: {} to {}", fixing.mount, fixing.anchor);
                    let fitting = elided(ui, &words, 13.0, ui.available_width() - 4.0);
                    ui.add(Label::new(RichText::new(fitting).size(13.0)).truncate())
                        .on_hover_text(words);
                });
            });
        });
    }
    if let Some(index) = without {
        let mut fixings = fixings;
        fixings.remove(index);
        let gesture = desk.document.gesture();
        desk.document.edit(Edit::Fixings { spot: desk.document.current(), fixings, gesture });
    }
    add(ui, desk);
}

/// Three choices and a button.
fn add(ui: &mut Ui, desk: &mut Desk) {
    let id = Id::new("next fixing");
    let mut choice: Choice = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    let boot = desk.document.boot().clone();
    let pose = desk.document.spot().place.pose();
    let wide = (ui.available_width() - 14.0) / 2.0;
    ui.horizontal(|ui| {
        ComboBox::from_id_salt("fixing mount")
            .width(wide)
            .truncate()
            .selected_text(choice.mount.as_deref().unwrap_or("from mount…"))
            .show_ui(ui, |ui| {
                for mount in &boot.pump().mounts {
                    let words = figures::capital(&mount.name);
                    ui.selectable_value(&mut choice.mount, Some(mount.name.clone()), words);
                }
            });
        let from = choice
            .mount
            .as_ref()
            .and_then(|name| boot.pump().mounts.iter().find(|mount| mount.name == *name))
            .map_or_else(
                || crate::scene::grip::middle_at(&boot, &desk.document.spot().place),
                |mount| pose * mount.at,
            );
        ComboBox::from_id_salt("fixing anchor")
            .width(wide)
            .truncate()
            .selected_text(choice.anchor.as_deref().unwrap_or("to anchor…"))
            .show_ui(ui, |ui| {
                let mut near: Vec<_> = boot.anchors().collect();
                near.sort_by(|a, b| (a.at - from).norm().total_cmp(&(b.at - from).norm()));
                for anchor in near {
                    let away = figures::length((anchor.at - from).norm(), desk.view.inches);
                    let words = format!(
                        "{} ({}, {away})",
                        figures::capital(&anchor.name),
                        anchor.kind.words()
                    );
                    ui.selectable_value(&mut choice.anchor, Some(anchor.name.clone()), words);
                }
            });
    });
    ui.horizontal(|ui| {
        ComboBox::from_id_salt("fixing kind")
            .width(wide)
            .truncate()
            .selected_text(ON_OFFER[choice.kind.min(ON_OFFER.len() - 1)].words)
            .show_ui(ui, |ui| {
                for (index, offer) in ON_OFFER.iter().enumerate() {
                    ui.selectable_value(&mut choice.kind, index, offer.words);
                }
            });
        let ready = choice.mount.clone().zip(choice.anchor.clone());
        let button = bevy_egui::egui::Button::new(RichText::new("Add fixing"));
        let clicked = ui.add_enabled(ready.is_some(), button).clicked();
        if let Some((mount, anchor)) = ready.filter(|_| clicked) {
            let Offer { kind, nut, squeeze_mm, .. } = ON_OFFER[choice.kind.min(ON_OFFER.len() - 1)];
            let mut fixings = desk.document.spot().fixings.clone();
            fixings.push(Fixing { nut, squeeze_mm, ..Fixing::new(kind, mount, anchor) });
            let gesture = desk.document.gesture();
            desk.document.edit(Edit::Fixings { spot: desk.document.current(), fixings, gesture });
            choice.mount = None;
            choice.anchor = None;
        }
    });
    ui.data_mut(|data| data.insert_temp(id, choice));
}
