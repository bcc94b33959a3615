//! Where the eye stands: buttons for the named views, which way the car faces, how large things are.

use bevy_egui::egui::{
    Align2, Color32, FontId, Frame, Margin, Pos2, Rect, Stroke, Ui, UiBuilder, Vec2,
};

use crate::geometry::Bounds;
use crate::model::Point;
use crate::scene::grip;
use crate::scene::orbit::Side;
use crate::scene::panels::Desk;
use crate::scene::theme;

/// Where the buttons are.
pub(super) fn view_buttons(rect: Rect) -> Rect {
    Rect::from_min_size(
        rect.min + Vec2::new(8.0, 8.0),
        Vec2::new((rect.width() - 16.0).min(480.0), 32.0),
    )
}

/// Buttons for the named views.
pub(super) fn views(root: &mut Ui, desk: &mut Desk, rect: Rect) {
    let builder = UiBuilder::new().max_rect(view_buttons(rect)).id_salt("views");
    let mut ui = root.new_child(builder);
    let frame = Frame::new()
        .fill(desk.palette.sheet)
        .corner_radius(6.0)
        .inner_margin(Margin::symmetric(5, 3));
    frame.show(&mut ui, |ui| {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 3.0;
            if ui
                .button("All")
                .on_hover_text("Bring the whole boot into the picture (Home)")
                .clicked()
            {
                desk.orbit.frame_all();
            }
            if ui.button("Pump").on_hover_text("Bring the pump into the middle").clicked() {
                let boot = desk.document.boot();
                let middle = grip::middle_at(boot, &desk.document.spot().place);
                let around = Bounds { low: middle, high: middle }.grown(260.0);
                desk.orbit.frame(&around);
            }
            ui.separator();
            for side in Side::ALL {
                if ui.button(side.words()).clicked() {
                    desk.orbit.look_from(side);
                }
            }
            ui.menu_button("More…", |ui| more_views(ui, desk));
        });
    });
    axes_key(root, desk, rect);
}

/// Where people look from, and looking about by itself.
fn more_views(ui: &mut Ui, desk: &mut Desk) {
    let boot = desk.document.boot().clone();
    let bounds = boot.bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
    let Some(bounds) = bounds else { return };
    let target = grip::middle_at(&boot, &desk.document.spot().place);
    for viewpoint in &desk.document.layout().viewpoints {
        let words = crate::scene::figures::capital(&viewpoint.name);
        if ui.button(words).clicked() {
            desk.orbit.stand_at(&viewpoint.at, &target);
        }
    }
    if ui.button("Standing customer").clicked() {
        let eye = Point::new(bounds.low.x - 550.0, 0.0, bounds.low.z + 1250.0);
        desk.orbit.stand_at(&eye, &bounds.centre());
    }
    if ui.button("Under the lid").clicked() {
        let side = if target.y > bounds.centre().y { -1.0 } else { 1.0 };
        let eye = Point::new(bounds.low.x + 40.0, side * 180.0, bounds.high.z - 20.0);
        desk.orbit.stand_at(&eye, &target);
    }
    ui.separator();
    ui.checkbox(&mut desk.view.spin, "Go round by itself");
    if ui.button("Present (P)").on_hover_text("Large type and nothing else").clicked() {
        desk.view.present = true;
    }
}

/// A small cross that shows which way the car faces.
fn axes_key(ui: &Ui, desk: &Desk, rect: Rect) {
    let painter = ui.painter_at(rect);
    let middle = Pos2::new(rect.right() - 42.0, rect.bottom() - 42.0);
    let target = desk.orbit.ray(rect.center());
    let at = target.0 + target.1 * 500.0;
    let Some(origin) = desk.orbit.screen(&at) else { return };
    painter.circle_filled(middle, 36.0, desk.palette.sheet);
    let mut written: Vec<Rect> = Vec::new();
    for (index, letter) in ["front", "left", "up"].into_iter().enumerate() {
        let Some(tip) = desk.orbit.screen(&(at + grip::axis(index) * 50.0)) else { continue };
        let full = desk.orbit.mm_per_point(&at);
        let along = (tip - origin) * (full as f32 / 50.0) * 20.0;
        let colour: Color32 = theme::AXES[index];
        painter.line_segment([middle, middle + along], Stroke::new(2.0, colour));
        if along.length() > 6.0 {
            let place = middle + along + along.normalized() * 8.0;
            let galley =
                painter.layout_no_wrap(letter.to_string(), FontId::proportional(10.0), colour);
            let mut rect = Align2::CENTER_CENTER.anchor_size(place, galley.size());
            // Seen along two axes at once, their words go under one another.
            while let Some(other) = written.iter().find(|other| other.intersects(rect)) {
                rect = rect.translate(Vec2::new(0.0, other.bottom() - rect.top() + 0.5));
            }
            painter.galley(rect.min, galley, colour);
            written.push(rect);
        }
    }
}

/// A bar of a round length, so that one sees how large things are.
pub(super) fn scale_bar(ui: &Ui, desk: &Desk, rect: Rect) {
    let middle = grip::middle_at(desk.document.boot(), &desk.document.spot().place);
    let mm_per_point = desk.orbit.mm_per_point(&middle);
    let unit_mm = if desk.view.inches { crate::units::MM_PER_INCH } else { 1.0 };
    let wanted = 90.0 * mm_per_point / unit_mm;
    let power = 10_f64.powf(wanted.max(1e-6).log10().floor());
    let round = [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|&step| step <= wanted);
    let length = round.unwrap_or(power);
    let points = (length * unit_mm / mm_per_point) as f32;
    let corner = Pos2::new(rect.left() + 14.0, rect.bottom() - 14.0);
    let ink = desk.palette.faint;
    let painter = ui.painter_at(rect);
    let stroke = Stroke::new(1.5, ink);
    let end = corner + Vec2::new(points, 0.0);
    let unit = if desk.view.inches { "in" } else { "mm" };
    let words = format!("{length} {unit} at the pump");
    let galley = painter.layout_no_wrap(words, FontId::proportional(11.5), ink);
    let wide = galley.size().x.max(points) + 16.0;
    let sheet = Rect::from_min_size(corner - Vec2::new(8.0, 24.0), Vec2::new(wide, 32.0));
    painter.rect_filled(sheet, 6.0, desk.palette.sheet);
    painter.galley(corner - Vec2::new(0.0, 6.0 + galley.size().y), galley, ink);
    painter.line_segment([corner, end], stroke);
    for at in [corner, end] {
        painter.line_segment([at + Vec2::new(0.0, -4.0), at + Vec2::new(0.0, 4.0)], stroke);
    }
}
