//! A verdict drawn as a shape, so that it is told apart without colour and without a font.

use bevy_egui::egui::{Color32, Painter, Pos2, Response, Sense, Stroke, Ui, Vec2, epaint};

use crate::checks::Verdict;

/// Paints a verdict's shape: a full disc passes, a half disc is tight, a cross fails, a hollow
/// square with a dot is unknown.
pub(crate) fn paint(painter: &Painter, middle: Pos2, size: f32, verdict: Verdict, colour: Color32) {
    let half = size / 2.0;
    let thin = Stroke::new((size * 0.13).max(1.2), colour);
    match verdict {
        Verdict::Pass => {
            painter.circle_filled(middle, half, colour);
        }
        Verdict::Tight => {
            let radius = half - thin.width / 2.0;
            let mut corners = Vec::with_capacity(19);
            for step in 0..=18_u8 {
                let angle =
                    std::f32::consts::PI * f32::from(step) / 18.0 + std::f32::consts::FRAC_PI_2;
                corners.push(middle + Vec2::angled(angle) * radius);
            }
            painter.add(epaint::PathShape::convex_polygon(corners, colour, Stroke::NONE));
            painter.circle_stroke(middle, radius, thin);
        }
        Verdict::Fail => {
            let stroke = Stroke::new((size * 0.24).max(2.0), colour);
            let arm = half * 0.80;
            painter.line_segment([middle - Vec2::splat(arm), middle + Vec2::splat(arm)], stroke);
            let other = Vec2::new(arm, -arm);
            painter.line_segment([middle - other, middle + other], stroke);
        }
        Verdict::Unknown => {
            let corner = half * 0.85;
            let square = epaint::Rect::from_center_size(middle, Vec2::splat(corner * 2.0));
            painter.rect_stroke(square, 1.0, thin, epaint::StrokeKind::Inside);
            painter.circle_filled(middle, size * 0.12, colour);
        }
    }
}

/// A verdict's shape as a widget of a given size.
pub(crate) fn mark(ui: &mut Ui, size: f32, verdict: Verdict, colour: Color32) -> Response {
    let (rect, response) = ui.allocate_exact_size(Vec2::splat(size + 2.0), Sense::hover());
    paint(ui.painter(), rect.center(), size, verdict, colour);
    response
}
