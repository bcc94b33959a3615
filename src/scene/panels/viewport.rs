//! The picture of the boot: what the pointer does there, and what is written over it.

use bevy_egui::egui::{
    Align2, Color32, CursorIcon, FontId, Frame, Margin, PointerButton, Pos2, Rect, Response,
    RichText, Sense, Ui, UiBuilder, Vec2,
};

use super::Desk;
use crate::geometry::{Bounds, RayHit};
use crate::scene::edit::Gesture;
use crate::scene::grip::{self, Hold};
use crate::scene::labels::Labels;
use crate::scene::orbit::Side;
use crate::scene::overlay;
use crate::scene::theme;

/// What the pointer has hold of, from press to release.
#[derive(Debug, Default)]
pub(crate) struct Grip {
    hold: Option<(Hold, Gesture)>,
}

/// The middle of the window.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk, grip: &mut Grip) {
    let rect = root.available_rect_before_wrap();
    desk.orbit.set_rect(rect);
    let id = root.id().with("boot");
    let response = root.interact(rect, id, Sense::click_and_drag());
    eye(root, desk, grip, &response);
    pump(root, desk, grip, &response);
    draw_over(root, desk, grip, &response, rect);
    views(root, desk, rect);
}

fn press_origin(ui: &Ui) -> Option<Pos2> {
    ui.input(|input| input.pointer.press_origin())
}

fn eye(ui: &Ui, desk: &mut Desk, grip: &Grip, response: &Response) {
    let by = response.drag_delta();
    if response.dragged_by(PointerButton::Primary) && grip.hold.is_none() {
        desk.orbit.turn(by.x, by.y);
    } else if response.dragged_by(PointerButton::Secondary)
        || response.dragged_by(PointerButton::Middle)
    {
        desk.orbit.pan(by.x, by.y);
    }
    if let Some(at) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
        let factor = (-scroll * 0.0022).exp() / pinch;
        if (factor - 1.0).abs() > 1e-4 {
            desk.orbit.zoom(factor, at);
        }
    }
}

fn pump(ui: &Ui, desk: &mut Desk, grip: &mut Grip, response: &Response) {
    let boot = desk.document.boot().clone();
    let place = desk.document.spot().place;
    if response.drag_started_by(PointerButton::Primary)
        && let Some(at) = press_origin(ui)
    {
        grip.hold = grip::take(&boot, desk.view, desk.orbit, &place, at)
            .map(|hold| (hold, desk.document.gesture()));
        if grip.hold.is_some() {
            desk.view.marker = None;
        }
    }
    if let Some((hold, gesture)) = grip.hold
        && response.dragged_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos()
    {
        let level = ui.input(|input| input.modifiers.shift);
        let to = grip::drag(&boot, desk.view, desk.orbit, &place, &hold, at, level);
        if let Some(to) = to {
            desk.document.place(to, gesture);
        }
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    }
    if response.drag_stopped() || !ui.input(|input| input.pointer.any_down()) {
        grip.hold = None;
    }
    if response.double_clicked() {
        let middle = grip::middle_at(&boot, &place);
        desk.orbit.go_to(&middle);
    }
}

fn draw_over(ui: &Ui, desk: &mut Desk, grip: &Grip, response: &Response, rect: Rect) {
    let painter = ui.painter_at(rect);
    let boot = desk.document.boot().clone();
    let spot = desk.document.current();
    let place = desk.document.spot().place;
    let hold = grip.hold.map(|(hold, _)| hold);
    let pointer = response.hover_pos().filter(|_| !desk.view.still);
    let mut labels = Labels::new(&painter, desk.palette, rect.shrink(2.0));
    labels.keep_clear(view_buttons(rect));
    if let Some(pump) = overlay::around_pump(desk.orbit, &boot, &place) {
        labels.avoid(pump);
    }
    if let Some(landed) = desk.scores.of(spot) {
        overlay::fluid(&labels, desk.orbit, landed, &place);
    }
    overlay::handles(&mut labels, desk.orbit, &boot, &place, hold.as_ref(), pointer);
    if let Some(marker) = &desk.view.marker {
        desk.moving |= overlay::marker(&mut labels, desk.orbit, marker, desk.now_s);
    }
    if let Some(landed) = desk.scores.of(spot) {
        let fresh = desk.scores.fresh(desk.document, spot);
        overlay::findings(&mut labels, desk.orbit, desk.view, &landed.card, fresh, pointer);
    }
    labels.finish();
    scale_bar(ui, desk, rect);
    if hold.is_none()
        && let Some(at) = pointer
    {
        hover(ui, desk, response, at);
    }
}

/// Names what is under the pointer.
fn hover(ui: &Ui, desk: &Desk, response: &Response, at: Pos2) {
    if ui.input(|input| input.pointer.any_down()) {
        return;
    }
    let boot = desk.document.boot();
    let place = desk.document.spot().place;
    let middle = grip::middle_at(boot, &place);
    if grip::handle_under(desk.orbit, &middle, at).is_some() {
        ui.ctx().set_cursor_icon(CursorIcon::Grab);
        return;
    }
    if let Some(words) = marker_under(desk, at) {
        response.clone().on_hover_text_at_pointer(RichText::new(words).size(12.5));
        return;
    }
    let (from, way) = desk.orbit.ray(at);
    let pump = grip::pump_hit(boot, &place, &from, &way);
    let near: Option<(&str, RayHit)> = super::super::bodies::surfaces(boot, desk.view)
        .filter_map(|(name, solid)| Some((name, solid.ray(&from, &way, 20_000.0)?)))
        .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm));
    let on_pump = match (&pump, &near) {
        (Some(pump), Some((_, body))) => pump.distance_mm <= body.distance_mm,
        (Some(_), None) => true,
        _ => false,
    };
    if on_pump {
        ui.ctx().set_cursor_icon(CursorIcon::Grab);
        return;
    }
    let Some((name, _)) = near else { return };
    let Some((body, _)) = boot.bodies().find(|(body, _)| body.name == name) else { return };
    let words = match &body.option {
        Some(option) => format!("{name} ({}, only with {option})", body.role.words()),
        None => format!("{name} ({})", body.role.words()),
    };
    response.clone().on_hover_text_at_pointer(RichText::new(words).size(12.5));
}

/// The anchor, drain or leak point under the pointer, in words.
fn marker_under(desk: &Desk, at: Pos2) -> Option<String> {
    let layout = desk.document.layout();
    let layers = desk.view.layers;
    let anchors = desk.document.boot().anchors().filter(|_| layers.anchors).map(|anchor| {
        (
            anchor.at,
            format!("{} ({}, {:.0} N)", anchor.name, anchor.kind.words(), anchor.strength_n),
        )
    });
    let drains = layout.drains.iter().filter(|_| layers.drains).map(|drain| {
        let state = if drain.blocked { ", found blocked" } else { "" };
        (drain.at, format!("{} (drain{state})", drain.name))
    });
    let leaks = layout
        .leaks
        .iter()
        .filter(|_| layers.drains)
        .map(|leak| (leak.at, format!("{} (water comes in here)", leak.name)));
    anchors
        .chain(drains)
        .chain(leaks)
        .filter_map(|(point, words)| Some(((desk.orbit.screen(&point)? - at).length(), words)))
        .filter(|(away, _)| *away < 8.0)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, words)| words)
}

/// A bar of a round length, so that one sees how large things are.
fn scale_bar(ui: &Ui, desk: &Desk, rect: Rect) {
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
    let stroke = bevy_egui::egui::Stroke::new(1.5, ink);
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

fn view_buttons(rect: Rect) -> Rect {
    Rect::from_min_size(
        rect.min + Vec2::new(8.0, 8.0),
        Vec2::new((rect.width() - 16.0).min(440.0), 32.0),
    )
}

/// Buttons for the named views.
fn views(root: &mut Ui, desk: &mut Desk, rect: Rect) {
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
        });
    });
    axes_key(root, desk, rect);
}

/// A small cross that shows which way the car faces.
fn axes_key(ui: &Ui, desk: &Desk, rect: Rect) {
    let painter = ui.painter_at(rect);
    let middle = Pos2::new(rect.right() - 42.0, rect.bottom() - 42.0);
    let target = desk.orbit.ray(rect.center());
    let at = target.0 + target.1 * 500.0;
    let Some(origin) = desk.orbit.screen(&at) else { return };
    painter.circle_filled(middle, 36.0, desk.palette.sheet);
    for (index, letter) in ["front", "left", "up"].into_iter().enumerate() {
        let Some(tip) = desk.orbit.screen(&(at + grip::axis(index) * 50.0)) else { continue };
        let full = desk.orbit.mm_per_point(&at);
        let along = (tip - origin) * (full as f32 / 50.0) * 20.0;
        let colour: Color32 = theme::AXES[index];
        painter.line_segment([middle, middle + along], bevy_egui::egui::Stroke::new(2.0, colour));
        if along.length() > 6.0 {
            let place = middle + along + along.normalized() * 8.0;
            painter.text(place, Align2::CENTER_CENTER, letter, FontId::proportional(10.0), colour);
        }
    }
}
