//! Taking in a scan: its file, three points clicked in it and in the boot, and what came out.

use bevy::winit::EventLoopProxyWrapper;
use bevy_egui::egui::{Button, RichText, TextEdit, Ui};

use super::{Desk, fields, heading};
use crate::checks::Verdict;
use crate::format::scan::{Unit, Up};
use crate::geometry::Bounds;
use crate::model::{Point, Role};
use crate::scene::import::{Import, Pair};

/// The left panel while a scan is being taken in: beside the picture, so that every point of scan and
/// boot can be clicked.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk, wake: Option<&EventLoopProxyWrapper>) {
    let Some(mut import) = desk.view.import.take() else { return };
    let (mut close, mut read, mut place) = (false, false, false);
    heading(ui, &desk.palette, "Take in a scan");
    fields::label(ui, desk, "File: .glb, .obj, .stl or .ply");
    let wide = ui.available_width() - 6.0;
    let file = ui.add(TextEdit::singleline(&mut import.scan).desired_width(wide));
    if !import.ready {
        file.request_focus();
        file.scroll_to_me(None);
        import.ready = true;
    }
    let units = [(Unit::M, "m"), (Unit::Cm, "cm"), (Unit::Mm, "mm"), (Unit::Inch, "inch")];
    fields::choice(ui, desk, "its unit, unless .glb", &units, &mut import.unit);
    let ups = [(Up::Y, "y, as phones write"), (Up::Z, "z, as here")];
    fields::choice(ui, desk, "its up", &ups, &mut import.up);
    let busy = import.busy();
    ui.horizontal(|ui| {
        read = ui.add_enabled(busy.is_none(), Button::new("Read")).clicked();
        if let Some(words) = &busy {
            ui.label(RichText::new(words).color(desk.palette.accent));
            if ui.small_button("Cancel").clicked() {
                import.cancel();
            }
        }
    });
    if import.preview.is_some() {
        points(ui, desk, &mut import);
        fields::words(ui, desk, "Name of the body", &mut import.name, "");
        let roles = Role::ALL.map(|role| (role, role.words()));
        fields::choice(ui, desk, "Role", &roles, &mut import.role);
        let known = &mut import.deviation_mm;
        fields::maybe_length(ui, desk, "simplify to within", 2.0, known);
    }
    if let Some(wrong) = &import.wrong {
        let colour = desk.palette.verdict(Verdict::Fail);
        ui.label(RichText::new(wrong).size(12.5).color(colour));
    }
    ui.horizontal(|ui| {
        let ready = import.known() >= 3 && busy.is_none();
        place = ui
            .add_enabled(ready, Button::new("Place it"))
            .on_disabled_hover_text("Three points must be known in the scan and in the boot")
            .clicked();
        close = ui.button("Close").clicked();
    });
    if read {
        let bounds: Option<Bounds> = desk
            .document
            .boot()
            .bodies()
            .map(|(_, solid)| *solid.bounds())
            .reduce(|a, b| a.with(&b));
        import.read(bounds, wake);
    }
    if place {
        let path = desk.document.file().path().map(std::path::Path::to_path_buf);
        import.wrong = import.place(path.as_deref(), wake).err();
    }
    desk.moving |= import.busy().is_some();
    if !close {
        desk.view.import = Some(import);
    }
}

fn points(ui: &mut Ui, desk: &mut Desk, import: &mut Import) {
    let hint = match import.picking {
        Some((index, true)) => format!("Click point {} in the scan (beside the boot)", index + 1),
        Some((index, false)) => {
            format!("Click point {} in the boot, or type where it is", index + 1)
        }
        None => "Points known in both places:".to_string(),
    };
    ui.label(RichText::new(hint).strong().color(desk.palette.accent));
    for index in 0..import.pairs.len() {
        ui.push_id(index, |ui| {
            ui.horizontal(|ui| {
                ui.label(format!("{}", index + 1));
                let pair = import.pairs[index];
                let words = if pair.scan.is_some() { "scan ✔" } else { "scan…" };
                if ui.small_button(words).clicked() {
                    import.picking = Some((index, true));
                }
                let words = if pair.boot.is_some() { "boot ✔" } else { "boot…" };
                if ui.small_button(words).clicked() {
                    import.picking = Some((index, false));
                }
            });
            ui.horizontal(|ui| {
                let pair = import.pairs[index];
                let mut at = pair.boot.unwrap_or_else(Point::origin);
                let before = at;
                fields::point(ui, desk, "", &mut at);
                if at != before {
                    import.pairs[index].boot = Some(at);
                }
            });
        });
    }
    ui.horizontal(|ui| {
        if ui.small_button("Another point").clicked() {
            import.pairs.push(Pair::default());
        }
        if import.pairs.len() > 3 && ui.small_button("One less").clicked() {
            import.pairs.pop();
        }
    });
}
