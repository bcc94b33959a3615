//! Measuring a boot in: what is measured, what isn't yet, and what can't be answered because of it.

mod room;
mod steps;

use bevy_egui::egui::{CollapsingHeader, Label, RichText, Ui};

use super::{Desk, fields, form, heading};
use crate::checks::Verdict;
use crate::scene::thing::{Kind, Thing};
use crate::scene::{figures, marks};
use room::Room;

/// The left panel's second page.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    form::show(ui, desk);
    steps::show(ui, desk);
    unknown(ui, desk);
    about(ui, desk);
    super::limits::show(ui, desk);
    super::gaps::show(ui, desk);
    super::handover::show(ui, desk);
    lists(ui, desk);
    if ui
        .button("Take in a scan…")
        .on_hover_text("A .glb, .obj, .stl or .ply file as a body")
        .clicked()
    {
        desk.view.import = Some(crate::scene::import::Import::default());
    }
}

/// The checks of the current spot that can't be answered, and what to measure for each.
fn unknown(ui: &mut Ui, desk: &mut Desk) {
    let open: Vec<(String, String)> = desk
        .scores
        .of(desk.document.current())
        .into_iter()
        .flat_map(|landed| landed.card.headlines.iter().flat_map(|headline| &headline.checks))
        .filter(|check| check.verdict == Verdict::Unknown)
        .map(|check| (figures::title(check), check.why.clone()))
        .collect();
    if open.is_empty() {
        return;
    }
    heading(ui, &desk.palette, &format!("Not known for this spot ({})", open.len()));
    for (title, why) in open {
        ui.horizontal(|ui| {
            marks::mark(ui, 10.0, Verdict::Unknown, desk.palette.verdict(Verdict::Unknown));
            let words = RichText::new(&title).size(12.5);
            ui.add(Label::new(words).truncate()).on_hover_text(format!("{title}: {why}"));
        });
    }
}

fn about(ui: &mut Ui, desk: &mut Desk) {
    CollapsingHeader::new("About this boot").id_salt("about").show(ui, |ui| {
        let layout = desk.document.layout();
        let (mut name, mut origin, mut about) =
            (layout.name.clone(), layout.origin.clone(), layout.about.clone());
        let mut weights = layout.weights;
        fields::words(ui, desk, "Model", &mut name, "in the workshop's words");
        fields::words(ui, desk, "Origin", &mut origin, "which point, in words");
        fields::words(ui, desk, "About", &mut about, "who measured it, and how");
        for (title, weight) in [
            ("weight of reach", &mut weights.reach),
            ("of the carpet line", &mut weights.carpet),
            ("of feed", &mut weights.feed),
            ("of water", &mut weights.water),
            ("of hold", &mut weights.hold),
        ] {
            fields::figure(ui, desk, title, "", 0.0..=1000.0, weight);
        }
        let layout = desk.document.layout();
        let same = name == layout.name
            && origin == layout.origin
            && about == layout.about
            && weights == layout.weights;
        if !same {
            let gesture = desk.step("about this boot");
            let done = desk.document.measure("about this boot", gesture, |layout| {
                layout.name = name;
                layout.origin = origin;
                layout.about = about;
                layout.weights = weights;
            });
            if let Err(wrong) = done {
                desk.view.warn(wrong.join("; "));
            }
        }
    });
}

fn lists(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Everything by kind");
    for kind in Kind::ALL {
        let layout = desk.document.layout();
        let count = kind.count(layout);
        let names: Vec<String> = (0..count)
            .filter_map(|index| Thing::get(layout, kind, index))
            .enumerate()
            .map(|(index, thing)| thing.title(index))
            .collect();
        let open = desk.view.lists.contains(&kind);
        let header = CollapsingHeader::new(format!("{} ({count})", kind.plural()))
            .id_salt(("list", kind))
            .open(Some(open));
        let response = header.show(ui, |ui| {
            for (index, name) in names.iter().enumerate() {
                let chosen = desk
                    .view
                    .form
                    .as_ref()
                    .is_some_and(|form| form.kind == kind && form.index == index);
                let words = figures::capital(name);
                if ui.selectable_label(chosen, words).on_hover_text("Change it").clicked() {
                    form::open(desk, kind, index);
                }
            }
            let words = format!("Add: {}", kind.word());
            if ui.small_button(words).clicked() {
                let room = Room::of(desk);
                let thing = match kind {
                    Kind::Drain => room::drain(&room),
                    _ => Thing::new(kind, room.at(0.5, 0.5, 0.4), &room.known),
                };
                form::add(desk, thing, "add");
            }
        });
        if response.header_response.clicked() {
            if open {
                desk.view.lists.remove(&kind);
            } else {
                desk.view.lists.insert(kind);
            }
        }
    }
}
