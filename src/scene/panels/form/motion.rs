//! The boxes of something that moves: its solids, its motion, what drives it.

use bevy_egui::egui::{ComboBox, Ui};

use crate::model::{Drive, Layout, Motion, Mover, MoverKind, Vector};
use crate::scene::panels::{Desk, fields};
use crate::scene::thing::Thing;

pub(super) fn mover(ui: &mut Ui, desk: &mut Desk, layout: &Layout, mover: &mut Mover) {
    let kinds = [
        (MoverKind::Hinge, "hinge arm"),
        (MoverKind::Lid, "boot lid"),
        (MoverKind::Roof, "folding roof"),
        (MoverKind::Tray, "tray"),
    ];
    fields::choice(ui, desk, "Kind", &kinds, &mut mover.kind);
    let mut gone = None;
    let many = mover.shapes.len() > 1;
    for (index, shape) in mover.shapes.iter_mut().enumerate() {
        ui.push_id(("shape", index), |ui| {
            fields::shape(ui, desk, shape);
            if many && ui.small_button("Take this solid out").clicked() {
                gone = Some(index);
            }
        });
    }
    if let Some(index) = gone {
        mover.shapes.remove(index);
    }
    if ui.small_button("Another solid").clicked()
        && let Some(last) = mover.shapes.last().cloned()
    {
        mover.shapes.push(last);
    }
    let mut slides = matches!(mover.motion, Motion::Slide { .. });
    let before = slides;
    fields::choice(ui, desk, "Motion", &[(false, "turns"), (true, "slides")], &mut slides);
    if slides != before {
        mover.motion = if slides {
            Motion::Slide { along: Vector::x(), from_mm: 0.0, to_mm: 300.0 }
        } else {
            let through = Thing::Mover(mover.clone()).at().unwrap_or_default();
            Motion::Swing { through, along: Vector::y(), from_deg: 0.0, to_deg: -80.0 }
        };
    }
    match &mut mover.motion {
        Motion::Swing { through, along, from_deg, to_deg } => {
            fields::point(ui, desk, "a point on the axis", through);
            fields::direction(ui, desk, "axis", along);
            fields::figure(ui, desk, "from", "°", -360.0..=360.0, from_deg);
            fields::figure(ui, desk, "to", "°", -360.0..=360.0, to_deg);
        }
        Motion::Slide { along, from_mm, to_mm } => {
            fields::direction(ui, desk, "way", along);
            fields::length(ui, desk, "from", from_mm);
            fields::length(ui, desk, "to", to_mm);
        }
    }
    drive(ui, desk, layout, mover);
    fields::option(ui, desk, layout, &mut mover.option);
    fields::maybe_length(ui, desk, "known to ±", 3.0, &mut mover.tolerance_mm);
}

/// What drives a moving part: by what, whether it is carried, and its travel for the driver's.
fn drive(ui: &mut Ui, desk: &mut Desk, layout: &Layout, mover: &mut Mover) {
    let others: Vec<&Mover> = layout.movers.iter().filter(|m| m.name != mover.name).collect();
    let mut driven = mover.driven.is_some();
    let tick = ui.add_enabled(
        driven || !others.is_empty(),
        bevy_egui::egui::Checkbox::new(&mut driven, "Another part drives it"),
    );
    if tick.on_hover_text("Its travel then follows that part's").changed() {
        mover.driven =
            driven.then(|| others.first().map(|driver| begun(driver, &mover.motion))).flatten();
    }
    let (own_unit, own_slides) = (mover.motion.unit(), slides(&mover.motion));
    let Some(drive) = &mut mover.driven else { return };
    let before = drive.by.clone();
    ui.horizontal(|ui| {
        fields::label(ui, desk, "driven by");
        let wide = (ui.available_width() - 8.0).max(60.0);
        ComboBox::from_id_salt("driver").width(wide).truncate().selected_text(&drive.by).show_ui(
            ui,
            |ui| {
                for driver in &others {
                    ui.selectable_value(&mut drive.by, driver.name.clone(), &driver.name);
                }
            },
        );
    });
    let driver = others.iter().find(|driver| driver.name == drive.by);
    if drive.by != before
        && let Some(driver) = driver
    {
        let carried = drive.carried;
        *drive = Drive { carried, ..begun(driver, &mover.motion) };
    }
    ui.checkbox(&mut drive.carried, "Hinged on it, and carried along");
    let (unit, driver_slides) =
        driver.map_or(("", false), |driver| (driver.motion.unit(), slides(&driver.motion)));
    let title = format!("that part at ({}), this one at ({})", unit.trim(), own_unit.trim());
    fields::label(ui, desk, &title);
    fields::table(ui, desk, (driver_slides, own_slides), &mut drive.table);
}

fn slides(motion: &Motion) -> bool {
    matches!(motion, Motion::Slide { .. })
}

/// A drive that takes a part through its whole travel over its driver's.
fn begun(driver: &Mover, own: &Motion) -> Drive {
    let (from, to) = driver.motion.travel();
    let (own_from, own_to) = own.travel();
    // The driver's travel has to rise.
    let (first, last) = if from <= to { (own_from, own_to) } else { (own_to, own_from) };
    let table = vec![(from.min(to), first), (from.max(to), last)];
    Drive { by: driver.name.clone(), table, carried: false }
}
