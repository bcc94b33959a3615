//! The boxes of something that moves: its solids, its motion, what drives it.

use bevy_egui::egui::{ComboBox, Ui};

use super::others::hint;
use crate::model::{Drive, Layout, Motion, Mover, MoverKind, Point, Shape, Vector};
use crate::scene::mirror;
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
            let ways = turns(&mover.shapes, through, along);
            hint(ui, desk, "Its solids are typed as it stands at 0°.");
            if let Some(ways) = ways {
                hint(ui, desk, &ways);
            }
        }
        Motion::Slide { along, from_mm, to_mm } => {
            fields::direction(ui, desk, "way", along);
            fields::length(ui, desk, "from", from_mm);
            fields::length(ui, desk, "to", to_mm);
            hint(ui, desk, "Its solids are typed as it stands at 0; above 0 it goes that way.");
        }
    }
    drawn_at(ui, desk, mover);
    drive(ui, desk, layout, mover);
    fields::option(ui, desk, layout, &mut mover.option);
    fields::maybe_length(ui, desk, "known to ±", 3.0, &mut mover.tolerance_mm);
}

/// Which way the middle of the solids begins to go when they turn about an axis, in words; none where they
/// lie round it.
fn turns(shapes: &[Shape], through: &Point, along: &Vector) -> Option<String> {
    let middles: Vec<Point> = shapes.iter().filter_map(mirror::middle).collect();
    let count = middles.len() as f64;
    let sum = middles.iter().fold(Vector::zeros(), |sum, at| sum + at.coords);
    let arm = sum / count - through.coords;
    let goes = along.try_normalize(1e-9)?.cross(&arm);
    if shapes.is_empty() || goes.norm() < 1.0 {
        return None;
    }
    let words = [("forward", "back"), ("to the left", "to the right"), ("up", "down")];
    let axis = goes.iamax();
    let (plus, minus) = if goes[axis] > 0.0 { words[axis] } else { (words[axis].1, words[axis].0) };
    Some(format!("Above 0° its middle begins to go {plus}, below 0° {minus}."))
}

/// Which position the picture shows.
fn drawn_at(ui: &mut Ui, desk: &Desk, mover: &Mover) {
    let boot = desk.document.boot();
    let Some(course) = boot.course(&mover.name).filter(|course| course.lead() == mover.name) else {
        return;
    };
    let Some(travel) = desk.view.travel.get(course.lead()) else { return };
    let at = format!("{:.0}{}", travel + 0.0, mover.motion.unit());
    hint(ui, desk, &format!("Drawn at {at}; \"In the boot\", Moving parts, moves it."));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_that_a_part_turns_to_is_said_as_it_turns() {
        let opened = crate::format::open_demo(Some("sandlark-cabriolet")).expect("it is sound");
        let mut looked = 0;
        for mover in &opened.layout.movers {
            let Motion::Swing { through, along, .. } = &mover.motion else { continue };
            let words = turns(&mover.shapes, through, along).expect("it lies beside its axis");
            let middle = mirror::middle(&mover.shapes[0]).expect("a solid");
            // Turned by one degree about the axis, as the picture turns it.
            let turn = nalgebra::UnitQuaternion::from_axis_angle(
                &nalgebra::Unit::new_normalize(*along),
                1_f64.to_radians(),
            );
            let by = through + turn * (middle - through) - middle;
            let axis = by.iamax();
            let word = match (axis, by[axis] > 0.0) {
                (0, true) => "forward",
                (0, false) => "back",
                (2, true) => "up",
                (2, false) => "down",
                _ => continue,
            };
            assert!(words.contains(&format!("Above 0° its middle begins to go {word}")), "{words}");
            looked += 1;
        }
        assert!(looked > 0);
    }
}
