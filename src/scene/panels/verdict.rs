//! The right panel: what the spot comes to and why.

use bevy_egui::egui::text::{LayoutJob, TextFormat};
use bevy_egui::egui::{
    Align, Align2, Color32, CornerRadius, FontId, Frame, Label, Layout, Margin, Panel, Pos2, Rect,
    Response, RichText, ScrollArea, Sense, Stroke, TextEdit, Ui, Vec2, WidgetInfo, WidgetType,
    epaint,
};

use super::{Desk, heading};
use crate::checks::{Check, Headline, Scorecard, Verdict};
use crate::model::Point;
use crate::scene::edit::Edit;
use crate::scene::{figures, marks, theme};

/// Width of the panel, points.
const WIDTH: f32 = 330.0;

/// Room kept on the right of what doesn't scroll, so that it ends where the cards do, points.
pub(crate) const RIGHT: f32 = 14.0;

/// The right panel.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin {
        left: 12,
        right: 4,
        top: 8,
        bottom: 8,
    });
    Panel::right("verdict").frame(frame).resizable(false).exact_size(WIDTH).show(root, |ui| {
        ui.set_width(WIDTH - 28.0);
        super::naming::show(ui, desk);
        let spot = desk.document.current();
        let fresh = desk.scores.fresh(desk.document, spot);
        let card = desk.scores.of(spot).map(|landed| landed.card.clone());
        let Some(card) = card else {
            let broken = desk.scores.broken(desk.document, spot);
            let words = if broken { "Could not be worked out" } else { "Working it out…" };
            ui.label(RichText::new(words).color(desk.palette.faint));
            note(ui, desk);
            return;
        };
        total(ui, desk, &card, fresh);
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.set_width(WIDTH - 30.0);
            for (index, headline) in card.headlines.iter().enumerate() {
                let fresh = desk.scores.headline_fresh(desk.document, spot, headline.id);
                headline_card(ui, desk, index, headline, fresh);
            }
            // Above the fixings, whose number changes, so that the box stays where it is.
            note(ui, desk);
            super::fixing::held(ui, desk);
            super::mounts::show(ui, desk);
        });
    });
}

fn dim(colour: Color32, fresh: bool) -> Color32 {
    if fresh { colour } else { colour.gamma_multiply(0.8) }
}

fn total(ui: &mut Ui, desk: &Desk, card: &Scorecard, fresh: bool) {
    let colour = dim(desk.palette.verdict(card.verdict), fresh);
    ui.horizontal(|ui| {
        ui.add_space(2.0);
        marks::mark(ui, 26.0, card.verdict, colour);
        let word =
            RichText::new(figures::capital(card.verdict.word())).size(theme::BIG - 8.0).strong();
        ui.label(word.color(colour));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add_space(RIGHT);
            let mut job = LayoutJob::default();
            let part = |size: f32, colour: Color32| TextFormat {
                font_id: FontId::proportional(size),
                color: colour,
                valign: Align::BOTTOM,
                ..TextFormat::default()
            };
            let ink = dim(desk.palette.ink, fresh);
            job.append(&figures::score(card.score), 0.0, part(theme::BIG, ink));
            job.append(" of 100", 0.0, part(12.0, desk.palette.faint));
            ui.label(job);
            if !fresh {
                let words = if desk.scores.broken(desk.document, desk.document.current()) {
                    RichText::new("could not be worked out")
                        .color(desk.palette.verdict(Verdict::Fail))
                } else if desk.scores.cancelled(desk.document) {
                    RichText::new("of the boot as it was").color(desk.palette.accent)
                } else {
                    RichText::new("updating…").color(desk.palette.accent)
                };
                ui.label(words.size(12.0));
            }
        });
    });
    ui.add_space(2.0);
}

fn headline_card(ui: &mut Ui, desk: &mut Desk, index: usize, headline: &Headline, fresh: bool) {
    let palette = desk.palette;
    let frame = Frame::new()
        .fill(palette.card)
        .stroke(Stroke::new(1.0, palette.line))
        .corner_radius(CornerRadius::same(6))
        .inner_margin(Margin { left: 8, right: 8, top: 5, bottom: 6 });
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let open = desk.view.open.contains(&index);
        if headline_row(ui, desk, headline, fresh, open).clicked() {
            if open {
                desk.view.open.remove(&index);
            } else {
                desk.view.open.insert(index);
            }
        }
        if open {
            let mut checks: Vec<&Check> = headline.checks.iter().collect();
            checks.sort_by_key(|check| urgency(check.verdict));
            for check in checks {
                check_row(ui, desk, check, fresh);
            }
        } else if let Some(check) = headline.deciding() {
            reason(ui, desk, check, fresh);
        }
    });
    ui.add_space(1.0);
}

/// Which checks stand first in an opened list: what fails, then what is tight, then what isn't known.
fn urgency(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Fail => 0,
        Verdict::Tight => 1,
        Verdict::Unknown => 2,
        Verdict::Pass => 3,
    }
}

/// Shape, title, bar and score of a headline; a click opens or closes its checks.
fn headline_row(
    ui: &mut Ui,
    desk: &Desk,
    headline: &Headline,
    fresh: bool,
    open: bool,
) -> Response {
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, 22.0), Sense::click());
    response.widget_info(|| {
        WidgetInfo::selected(WidgetType::CollapsingHeader, true, open, headline.id.title())
    });
    let colour = dim(desk.palette.verdict(headline.verdict), fresh);
    let ink = dim(desk.palette.ink, fresh);
    let painter = ui.painter();
    let middle = rect.center().y;
    let at = |x: f32| Pos2::new(rect.left() + x, middle);
    marks::paint(painter, at(8.0), 14.0, headline.verdict, colour);
    let title = FontId::proportional(14.5);
    painter.text(at(24.0), Align2::LEFT_CENTER, headline.id.title(), title, ink);
    let small = FontId::proportional(12.0);
    let word = headline.verdict.word();
    painter.text(at(112.0), Align2::LEFT_CENTER, word, small, colour);
    let bar = Rect::from_min_max(
        Pos2::new(rect.left() + 166.0, middle - 4.0),
        Pos2::new(rect.right() - 58.0, middle + 4.0),
    );
    painter.rect_filled(bar, 4.0, desk.palette.line);
    let share = (headline.score.unwrap_or(0.0) / 100.0).clamp(0.0, 1.0) as f32;
    if share > 0.0 {
        let filled = Rect::from_min_size(bar.min, Vec2::new(bar.width() * share, bar.height()));
        painter.rect_filled(filled, 4.0, colour);
    }
    let score = figures::score(headline.score);
    let right = at(width - 24.0);
    painter.text(right, Align2::RIGHT_CENTER, score, FontId::proportional(15.0), ink);
    // A small arrow: down when open, to the right when closed.
    let tip = at(width - 9.0);
    let arrow = if open {
        [Vec2::new(-5.0, -2.5), Vec2::new(5.0, -2.5), Vec2::new(0.0, 4.0)]
    } else {
        [Vec2::new(-2.5, -5.0), Vec2::new(4.0, 0.0), Vec2::new(-2.5, 5.0)]
    };
    let corners = arrow.iter().map(|off| tip + *off).collect();
    let lit = response.hovered() || response.has_focus();
    let tint = if lit { desk.palette.accent } else { desk.palette.faint };
    painter.add(epaint::PathShape::convex_polygon(corners, tint, Stroke::NONE));
    let tip = if open { "Show only what decides it" } else { "Show every check" };
    response.on_hover_text(tip)
}

/// Why, in a sentence; a click leads the eye to the place.
fn reason(ui: &mut Ui, desk: &mut Desk, check: &Check, fresh: bool) {
    let ink = dim(desk.palette.ink, fresh);
    let why = figures::reason(&check.why, desk.view.inches);
    let words = RichText::new(figures::capital(&why)).size(13.0).color(ink);
    let Some([x, y, z]) = check.at else {
        ui.add(Label::new(words).wrap());
        return;
    };
    let label = Label::new(words).wrap().sense(Sense::click());
    let response = ui.add(label).on_hover_text("Show the place");
    if response.hovered() || response.has_focus() {
        let line = Stroke::new(1.0, desk.palette.accent);
        let rect = response.rect;
        ui.painter().hline(rect.x_range(), rect.bottom() + 1.0, line);
    }
    if response.clicked() {
        let at = Point::new(x, y, z);
        let words = figures::title(check);
        if check.id == "lift" {
            desk.view.point_at_trim(at, &words, &check.subject, desk.now_s);
        } else {
            desk.view.point_at(at, &words, desk.now_s);
        }
        desk.orbit.go_to(&at);
    }
}

fn check_row(ui: &mut Ui, desk: &mut Desk, check: &Check, fresh: bool) {
    ui.separator();
    let colour = dim(desk.palette.verdict(check.verdict), fresh);
    ui.horizontal(|ui| {
        marks::mark(ui, 10.0, check.verdict, colour);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui
                .small_button("?")
                .on_hover_text("What this means and where it comes from")
                .clicked()
            {
                desk.view.help = Some(check.id);
            }
            let figure = check.figure.map_or_else(
                || "not known".to_string(),
                |figure| figures::figure(figure, check.unit, desk.view.inches),
            );
            ui.label(RichText::new(figure).size(13.5).strong().color(dim(desk.palette.ink, fresh)));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let title = RichText::new(figures::title(check)).size(13.0);
                ui.add(Label::new(title).truncate()).on_hover_text(figures::title(check));
            });
        });
    });
    ui.label(RichText::new(held_to(desk, check)).size(12.0).color(desk.palette.faint));
    reason(ui, desk, check, fresh);
}

/// Limit, comfort and margin with its tolerance, in a line.
fn held_to(desk: &Desk, check: &Check) -> String {
    let inches = desk.view.inches;
    let write = |value: f64| figures::bare(value, check.unit, inches);
    let side = if check.comfort < check.limit { "≤" } else { "≥" };
    let mut words = format!("limit {side} {}", write(check.limit));
    if (check.comfort - check.limit).abs() > 1e-9 {
        words.push_str(&format!(", comfortable from {}", write(check.comfort)));
    }
    if let Some(margin) = check.margin {
        words.push_str(&format!(", margin {} ± {}", write(margin), write(check.tolerance)));
    }
    format!("{words} {}", figures::unit(check.unit, inches))
}

fn note(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Note");
    let mut words = desk.document.spot().note.clone();
    let edit = TextEdit::multiline(&mut words)
        .desired_rows(2)
        .desired_width(ui.available_width() - 8.0)
        .hint_text("Anything worth knowing about this spot");
    let response = ui.add(edit);
    if response.gained_focus() {
        desk.document.gesture();
    }
    if response.changed() {
        let gesture = desk.document.last_gesture();
        let spot = desk.document.current();
        desk.document.edit(Edit::Note { spot, note: words, gesture });
    }
}
