//! The picture of the boot: what the pointer does there, and what is written over it.

use bevy_egui::egui::{
    Align2, Color32, CursorIcon, FontId, Frame, Margin, PointerButton, Pos2, Rect, Response,
    RichText, Sense, Ui, UiBuilder, Vec2,
};

use super::{Desk, lost, tools};
use crate::geometry::{Bounds, RayHit};
use crate::model::{Layout, Point, Vector};
use crate::scene::edit::Gesture;
use crate::scene::grip::{self, Hold};
use crate::scene::labels::Labels;
use crate::scene::moves;
use crate::scene::orbit::Side;
use crate::scene::overlay;
use crate::scene::theme;
use crate::scene::thing_grip::{self, ThingHold};
use crate::scene::view::{Form, Tool};

/// What the pointer has hold of, from press to release.
#[derive(Debug, Default)]
pub(crate) struct Grip {
    hold: Option<(Hold, Gesture)>,
    thing: Option<(ThingHold, Gesture)>,
}

/// The middle of the window.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk, grip: &mut Grip) {
    let rect = root.available_rect_before_wrap();
    desk.orbit.set_rect(rect);
    let id = root.id().with("boot");
    let response = root.interact(rect, id, Sense::click_and_drag());
    if desk.view.spin {
        let seconds = root.input(|input| input.stable_dt).min(0.1);
        desk.orbit.spin(seconds * SPIN);
        desk.moving = true;
    }
    eye(root, desk, grip, &response);
    thing(root, desk, grip, &response);
    pump(root, desk, grip, &response);
    if response.clicked()
        && let Some(at) = response.interact_pointer_pos()
    {
        click(desk, at);
    }
    draw_over(root, desk, grip, &response, rect);
    if desk.view.present {
        return;
    }
    views(root, desk, rect);
    let under =
        Rect::from_min_size(rect.min + Vec2::new(8.0, 48.0), Vec2::new(rect.width() - 16.0, 40.0));
    let mut ui = root.new_child(UiBuilder::new().max_rect(under).id_salt("on disk"));
    lost::on_disk(&mut ui, desk);
}

/// How fast the eye goes round by itself, radians a second.
const SPIN: f32 = 0.35;

/// A click that isn't a drag: a point of a scan, or of what is measured.
fn click(desk: &mut Desk, at: Pos2) {
    if let Some(import) = &desk.view.import
        && let Some((_, in_scan)) = import.picking
    {
        let (from, way) = desk.orbit.ray(at);
        let found = if in_scan { import.pick(&from, &way) } else { tools::point_under(desk, at) };
        match (found, &mut desk.view.import) {
            (Some(found), Some(import)) => import.set(found),
            _ => desk.view.warn(if in_scan {
                "That isn't on the scan, which lies beside the boot"
            } else {
                "That isn't on anything in the boot"
            }),
        }
        return;
    }
    tools::click(desk, at);
}

/// Drags the thing whose form is open.
fn thing(ui: &Ui, desk: &mut Desk, grip: &mut Grip, response: &Response) {
    let Some(form) = desk.view.form.clone() else {
        grip.thing = None;
        return;
    };
    if response.drag_started_by(PointerButton::Primary)
        && let Some(at) = press_origin(ui)
    {
        grip.thing = thing_grip::take(desk.orbit, &form.base, at)
            .map(|hold| (hold, desk.document.gesture()));
    }
    if let Some((hold, gesture)) = &grip.thing
        && response.dragged_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos()
    {
        let boot = desk.document.boot().clone();
        if let Some(moved) = thing_grip::drag(&boot, desk.view, desk.orbit, hold, at)
            && moved != form.base
        {
            let (put, index) = (moved.clone(), form.index);
            let change = |layout: &mut Layout| put.put_into(layout, index);
            if desk.document.measure("drag", *gesture, change).is_ok() {
                desk.view.form =
                    Some(Form { thing: moved.clone(), base: moved, wrong: Vec::new(), ..form });
            }
        }
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    }
    if response.drag_stopped() || !ui.input(|input| input.pointer.any_down()) {
        grip.thing = None;
    }
}

fn press_origin(ui: &Ui) -> Option<Pos2> {
    ui.input(|input| input.pointer.press_origin())
}

fn eye(ui: &Ui, desk: &mut Desk, grip: &Grip, response: &Response) {
    let by = response.drag_delta();
    let held = grip.hold.is_some() || grip.thing.is_some();
    if response.dragged_by(PointerButton::Primary) && !held {
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
    let picking = desk.view.import.as_ref().is_some_and(|import| import.picking.is_some());
    let free = grip.thing.is_none() && desk.view.tool == Tool::Hand && !picking;
    if response.drag_started_by(PointerButton::Primary)
        && free
        && let Some(at) = press_origin(ui)
    {
        let in_plane = ui.input(|input| input.modifiers.alt);
        grip.hold = grip::take(&boot, desk.view, desk.orbit, &place, at, in_plane)
            .map(|hold| (hold, desk.document.gesture()));
        if grip.hold.is_some() {
            desk.view.marker = None;
        }
    }
    if let Some((hold, gesture)) = grip.hold
        && response.dragged_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos()
    {
        let (level, steps) = ui.input(|input| (input.modifiers.shift, input.modifiers.command));
        let to = grip::drag(&boot, desk.view, desk.orbit, &place, &hold, at, level, steps);
        if let Some(to) = to {
            let to = if desk.view.stops { moves::stopped(&boot, &place, &to) } else { to };
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
    if desk.view.layers.drains && desk.view.layers.water {
        overlay::drips(&labels, desk.orbit, desk.view, &boot);
    }
    if let Some(landed) = desk.scores.of(spot) {
        overlay::fluid(&labels, desk.orbit, landed, &place);
    }
    if let Some(form) = &desk.view.form {
        let hold = grip.thing.as_ref().map(|(hold, _)| hold);
        thing_grip::draw(&mut labels, desk.orbit, desk.view, &form.base, hold, pointer);
    } else if desk.view.tool == Tool::Hand && !desk.view.present && desk.view.import.is_none() {
        overlay::handles(&mut labels, desk.orbit, &boot, &place, hold.as_ref(), pointer);
    }
    tools::draw(ui, desk, &mut labels, pointer);
    import_points(desk, &mut labels);
    if let Some(marker) = &desk.view.marker {
        desk.moving |= overlay::marker(&mut labels, desk.orbit, marker, desk.now_s);
    }
    if let Some(landed) = desk.scores.of(spot) {
        let fresh = desk.scores.fresh(desk.document, spot);
        if !desk.view.present {
            // Points are clicked, or arrows read: names of lines and gaps would lie over them.
            if desk.view.import.is_none() && !desk.view.layers.loads {
                let card = &landed.card;
                overlay::findings(&mut labels, desk.orbit, desk.view, card, fresh, pointer);
            }
            if desk.view.layers.rests && fresh {
                overlay::rests(&labels, desk.orbit, &landed.card);
            }
            if desk.view.layers.cut_outs && fresh {
                overlay::cut_outs(&mut labels, desk.orbit, desk.view, &landed.card);
            }
            if let Some(case) = tools::load_case(desk.view, &landed.card).filter(|_| fresh) {
                overlay::loads(&mut labels, desk.orbit, case);
            }
            if desk.view.layers.bends && desk.view.layers.lines && fresh {
                overlay::bends(&mut labels, desk.orbit, desk.view, &landed.card, pointer);
            }
        }
    }
    labels.finish();
    if desk.view.present {
        return;
    }
    scale_bar(ui, desk, rect);
    if hold.is_none()
        && let Some(at) = pointer
    {
        hover(ui, desk, response, at);
    }
}

/// The points of a scan that are known so far, in the scan and in the boot.
fn import_points(desk: &Desk, labels: &mut Labels) {
    let Some(import) = &desk.view.import else { return };
    let aside = import.preview.as_ref().map_or_else(Vector::zeros, |preview| preview.aside);
    for (index, pair) in import.pairs.iter().enumerate() {
        for (at, words) in [
            (pair.scan.map(|at| at + aside), format!("{} in the scan", index + 1)),
            (pair.boot, format!("{} in the boot", index + 1)),
        ] {
            if let Some(at) = at.and_then(|at| desk.orbit.screen(&at)) {
                let stroke = bevy_egui::egui::Stroke::new(2.0, labels.palette.accent);
                labels.painter.circle(at, 4.5, labels.palette.card, stroke);
                labels.write(at, &words, None);
            }
        }
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
    let on_thing =
        desk.view.form.as_ref().is_some_and(|form| thing_grip::over(desk.orbit, &form.base, at));
    let hand = desk.view.form.is_none() && desk.view.tool == Tool::Hand;
    if on_thing || (hand && grip::handle_under(desk.orbit, &middle, &place, at).is_some()) {
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
        Vec2::new((rect.width() - 16.0).min(480.0), 32.0),
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
