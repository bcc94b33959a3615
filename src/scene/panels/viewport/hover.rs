//! What lies under the pointer, in words.

use bevy_egui::egui::{CursorIcon, Pos2, Response, RichText, Ui};

use crate::geometry::RayHit;
use crate::scene::bodies::surfaces;
use crate::scene::panels::Desk;
use crate::scene::view::Tool;
use crate::scene::{grip, thing_grip};

/// Names what is under the pointer.
pub(super) fn hover(ui: &Ui, desk: &Desk, response: &Response, at: Pos2) {
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
    let near: Option<(&str, RayHit)> = surfaces(boot, desk.view)
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
