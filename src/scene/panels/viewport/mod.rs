//! The picture of the boot: what the pointer does there, and what is written over it.

mod hover;
mod views;

use std::sync::Arc;

use bevy::prelude::{Query, Res, ResMut, Resource};
use bevy_egui::egui::{
    CursorIcon, Event, Modifiers, PointerButton, Pos2, Rect, Response, Sense, Ui, UiBuilder, Vec2,
};
use bevy_egui::{EguiContext, EguiInput};

use super::{Desk, lost, tools};
use crate::model::{Layout, Vector};
use crate::scene::document::Document;
use crate::scene::edit::Gesture;
use crate::scene::grip::{self, Hold};
use crate::scene::labels::Labels;
use crate::scene::moves;
use crate::scene::orbit::Orbit;
use crate::scene::overlay;
use crate::scene::thing_grip::{self, ThingHold};
use crate::scene::view::{Form, Tool, View};

/// What the pointer has hold of, from press to release.
#[derive(Resource, Debug, Default)]
pub(crate) struct Grip {
    hold: Option<(Hold, Gesture)>,
    /// Where the pointer had the pump carried to, with which keys down.
    carried: Option<(Pos2, Modifiers)>,
    thing: Option<(ThingHold, Gesture)>,
}

impl Grip {
    /// Moves the pump that is held to where the pointer is; nothing when it is there.
    fn carry(
        &mut self,
        document: &mut Document,
        view: &View,
        orbit: &Orbit,
        at: Pos2,
        keys: Modifiers,
    ) {
        let Some((hold, gesture)) = self.hold.filter(|_| self.carried != Some((at, keys))) else {
            return;
        };
        self.carried = Some((at, keys));
        let boot = Arc::clone(document.boot());
        let place = document.spot().place;
        let to = grip::drag(&boot, view, orbit, &place, &hold, at, keys.shift, keys.command);
        if let Some(to) = to {
            let to = if view.stops { moves::stopped(&boot, &place, &to) } else { to };
            document.place(to, gesture);
        }
    }
}

/// Carries the pump with the pointer before anything is worked out or drawn in a frame, so that all of
/// it is of where the pump is now.
pub(crate) fn carry(
    mut windows: Query<(&mut EguiContext, &EguiInput)>,
    mut grip: ResMut<Grip>,
    mut document: ResMut<Document>,
    view: Res<View>,
    orbit: Res<Orbit>,
) {
    if grip.hold.is_none() {
        return;
    }
    for (mut context, input) in &mut windows {
        let mut events = input.events.iter().rev();
        let moved = events.find_map(|event| match event {
            Event::PointerMoved(at) => Some(*at),
            _ => None,
        });
        let Some(at) = moved else { continue };
        // Keys pressed in this very frame count from the next one on.
        let keys = context.get_mut().input(|known| known.modifiers);
        grip.carry(&mut document, &view, &orbit, at, keys);
    }
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
    thing(root, desk, grip, &response);
    pump(root, desk, grip, &response);
    // After what can be taken hold of: the frame in which it is taken already moves the pointer.
    eye(root, desk, grip, &response);
    if response.clicked()
        && let Some(at) = response.interact_pointer_pos()
    {
        click(desk, at);
    }
    draw_over(root, desk, grip, &response, rect);
    if desk.view.present {
        return;
    }
    views::views(root, desk, rect);
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
    let Some(form) = desk.view.form.clone().filter(|_| !desk.view.present) else {
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
        grip.carried = None;
        if grip.hold.is_some() {
            desk.view.marker = None;
        }
    }
    if grip.hold.is_some()
        && response.dragged_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos()
    {
        let keys = ui.input(|input| input.modifiers);
        grip.carry(desk.document, desk.view, desk.orbit, at, keys);
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
    labels.keep_clear(views::view_buttons(rect));
    if let Some(pump) = overlay::around_pump(desk.orbit, &boot, &place) {
        labels.avoid(pump);
    }
    if desk.view.layers.drains && desk.view.layers.water {
        let card = desk.scores.of(spot).map(|landed| &landed.card);
        overlay::drips(&labels, desk.orbit, desk.view, &boot, card);
    }
    if let Some(landed) = desk.scores.of(spot) {
        overlay::fluid(&labels, desk.orbit, landed, &place);
    }
    // Whoever looks over one's shoulder sees no handles.
    if let Some(form) = desk.view.form.as_ref().filter(|_| !desk.view.present) {
        let hold = grip.thing.as_ref().map(|(hold, _)| hold);
        thing_grip::draw(&mut labels, desk.orbit, desk.view, &form.base, hold, pointer);
    } else if desk.view.tool == Tool::Hand && !desk.view.present && desk.view.import.is_none() {
        overlay::handles(&mut labels, desk.orbit, &boot, &place, hold.as_ref(), pointer);
    }
    if !desk.view.present {
        tools::draw(ui, desk, &mut labels, pointer);
    }
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
    views::scale_bar(ui, desk, rect);
    if hold.is_none()
        && let Some(at) = pointer
    {
        hover::hover(ui, desk, response, at);
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
