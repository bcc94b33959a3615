//! The reservoir cut through its middle, with the fluid's surface in every case.

use bevy_egui::egui::{
    Align2, Color32, Context, FontId, Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2, Window,
};

use super::Desk;
use crate::checks::feed::{TankDrawing, TankView};
use crate::scene::theme;

/// Size of one view, points.
const SIZE: Vec2 = Vec2::new(215.0, 165.0);

/// The window in the corner, while it is asked for.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.tank || desk.view.present {
        return;
    }
    let drawing =
        desk.scores.of(desk.document.current()).and_then(|landed| landed.card.drawn.tank.clone());
    let at = desk.orbit.rect.left_bottom() + Vec2::new(8.0, -48.0);
    let mut open = true;
    Window::new("Reservoir")
        .anchor(Align2::LEFT_BOTTOM, at - ctx.viewport_rect().left_bottom())
        .collapsible(false)
        .resizable(false)
        .open(&mut open)
        .show(ctx, |ui| match drawing {
            Some(drawing) => drawn(ui, desk, &drawing),
            None => {
                ui.label(RichText::new("No reservoir was measured").color(desk.palette.faint));
            }
        });
    if !open {
        desk.view.tank = false;
    }
}

fn drawn(ui: &mut Ui, desk: &Desk, drawing: &TankDrawing) {
    ui.horizontal(|ui| {
        for view in &drawing.views {
            ui.vertical(|ui| {
                ui.label(RichText::new(view.words).size(12.0).color(desk.palette.faint));
                section(ui, desk, view);
            });
        }
    });
    ui.label(
        RichText::new(
            "Thick: level, as filled. Thin: parked on slopes. Dashed: driving. Hover names it.",
        )
        .size(12.0)
        .color(desk.palette.faint),
    );
}

fn section(ui: &mut Ui, desk: &Desk, view: &TankView) {
    let (rect, response) = ui.allocate_exact_size(SIZE, Sense::hover());
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 4.0, desk.palette.card);
    let corners: Vec<[f64; 2]> = view
        .outline
        .iter()
        .flatten()
        .copied()
        .chain(view.marks.iter().map(|mark| mark.at))
        .collect();
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for corner in &corners {
        for axis in 0..2 {
            low[axis] = low[axis].min(corner[axis]);
            high[axis] = high[axis].max(corner[axis]);
        }
    }
    if corners.is_empty() || high[0] - low[0] < 1e-6 || high[1] - low[1] < 1e-6 {
        return;
    }
    let scale = (f64::from(SIZE.x - 40.0) / (high[0] - low[0]))
        .min(f64::from(SIZE.y - 40.0) / (high[1] - low[1]));
    let middle = [f64::midpoint(low[0], high[0]), f64::midpoint(low[1], high[1])];
    let at = |point: [f64; 2]| {
        rect.center()
            + Vec2::new(
                ((point[0] - middle[0]) * scale) as f32,
                (-(point[1] - middle[1]) * scale) as f32,
            )
    };
    for outline in &view.outline {
        let corners: Vec<Pos2> = outline.iter().map(|corner| at(*corner)).collect();
        for index in 0..corners.len() {
            let next = corners[(index + 1) % corners.len()];
            painter.line_segment([corners[index], next], Stroke::new(1.5, desk.palette.ink));
        }
    }
    let pointer = response.hover_pos();
    let mut named: Option<(f32, String)> = None;
    for (index, surface) in view.surfaces.iter().enumerate() {
        let level = index == 0;
        let stroke = if level {
            Stroke::new(3.0, theme::FLUID)
        } else {
            Stroke::new(1.0, theme::FLUID.gamma_multiply(0.8))
        };
        for [a, b] in &surface.pieces {
            let (a, b) = (at(*a), at(*b));
            if surface.driving {
                dashed(&painter, a, b, stroke);
            } else {
                painter.line_segment([a, b], stroke);
            }
            if let Some(pointer) = pointer {
                let away = crate::scene::grip::distance_to_stroke(pointer, a, b);
                if away < 5.0 && named.as_ref().is_none_or(|(best, _)| away < *best) {
                    let rams = if surface.rams_out { ", rams out" } else { ", rams in" };
                    let warmer = match surface.warmer_k {
                        k if k > 0.5 => format!(", {k:.0} K warmer"),
                        k if k < -0.5 => format!(", {:.0} K colder", -k),
                        _ => String::new(),
                    };
                    named = Some((away, format!("{}{rams}{warmer}", surface.words)));
                }
            }
        }
    }
    for mark in &view.marks {
        let dot = at(mark.at);
        painter.circle(dot, 3.0, desk.palette.accent, Stroke::new(1.0, desk.palette.card));
        let font = FontId::proportional(10.5);
        let ink: Color32 = desk.palette.faint;
        let galley = painter.layout_no_wrap(mark.words.to_string(), font, ink);
        let side = if dot.x > rect.center().x { -galley.size().x - 5.0 } else { 5.0 };
        let corner = dot + Vec2::new(side, -galley.size().y / 2.0);
        let inside = Rect::from_min_size(corner, galley.size());
        if rect.contains_rect(inside) {
            painter.rect_filled(inside.expand2(Vec2::new(2.0, 0.0)), 2.0, desk.palette.card);
            painter.galley(corner, galley, ink);
        }
    }
    if let Some((_, words)) = named {
        response.on_hover_text_at_pointer(words);
    }
}

fn dashed(painter: &bevy_egui::egui::Painter, from: Pos2, to: Pos2, stroke: Stroke) {
    let long = (to - from).length();
    let steps = (long / 5.0).ceil().max(1.0);
    let mut step = 0.0;
    while step < steps {
        let end = (step + 1.0).min(steps);
        painter.line_segment(
            [from + (to - from) * (step / steps), from + (to - from) * (end / steps)],
            stroke,
        );
        step += 2.0;
    }
}
