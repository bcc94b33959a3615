//! The rows of the spots side by side: heads, headlines, checks.

use bevy_egui::egui::{Align, Label, Layout, Rect, RichText, Sense, Ui, UiBuilder, Vec2};

use super::chances;
use crate::checks::{HeadlineId, Verdict};
use crate::compare::{CheckRow, Comparison, Figure, Shown};
use crate::scene::panels::{Desk, elided};
use crate::scene::{figures, marks};

/// Width of the column with the questions, points.
pub(super) const QUESTION: f32 = 210.0;

/// Height of a row, and of the heads, points.
const ROW: f32 = 22.0;
const HEAD: f32 = 66.0;

/// Height of the line with the chance under a head, points.
const CHANCE: f32 = 18.0;

/// The spots, best first, each with its place and score, and which other one beats it on everything; a
/// click turns to it.
pub(super) fn heads(ui: &mut Ui, desk: &mut Desk, comparison: &Comparison, wide: f32) {
    let mut chosen = None;
    let known = chances::known(desk);
    let high = if known { HEAD + CHANCE } else { HEAD };
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        tall(ui, (QUESTION, high), |ui| {
            let words = if chances::in_brackets(desk) {
                "Best first. Each check's margin; in brackets the chance that it holds, given how \
                 well everything was measured"
            } else {
                "Best first. Each check's margin; in brackets how much more or less of it than \
                 the spot that differences are to"
            };
            ui.label(RichText::new(words).size(12.0).color(desk.palette.faint));
        });
        for (index, spot) in comparison.spots.iter().enumerate() {
            tall(ui, (wide, high), |ui| {
                let here = desk.document.spot().name == spot.name;
                let words = format!("{}. {}", index + 1, spot.name);
                let words = elided(ui, &words, 12.5, wide * 1.45);
                let mut words = RichText::new(words).size(12.5);
                if here {
                    words = words.strong().color(desk.palette.accent);
                }
                let label = ui.add(Label::new(words).wrap().sense(Sense::click()));
                let tip = format!("{}: turn to this spot", spot.name);
                if label.on_hover_text(tip).clicked() {
                    chosen = Some(spot.name.clone());
                }
                total(ui, desk, spot, index + 1);
                if known {
                    chances::of_spot(ui, desk, &spot.name);
                }
                let beaten = comparison.beaten.iter().find(|beaten| beaten.spot == spot.name);
                if let Some(beaten) = beaten {
                    let place = comparison.spots.iter().position(|s| s.name == beaten.by);
                    let words = format!("beaten by {}", place.map_or(0, |place| place + 1));
                    let tip = format!("{} beats it on everything", figures::capital(&beaten.by));
                    ui.label(RichText::new(words).size(11.5).color(desk.palette.faint))
                        .on_hover_text(tip);
                }
            });
        }
    });
    if let Some(name) = chosen
        && let Some(index) = desk.document.spots().iter().position(|spot| spot.name == name)
    {
        desk.turn_to(index);
    }
}

fn total(ui: &mut Ui, desk: &Desk, spot: &Shown, place: usize) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        marks::mark(ui, 11.0, spot.verdict, desk.palette.verdict(spot.verdict));
        ui.label(RichText::new(figures::score(spot.score)).size(15.0).strong());
        let before = figures::score(spot.score_own);
        if before != figures::score(spot.score) || place != spot.place_own {
            let words = format!("was {before}, place {}", spot.place_own);
            ui.label(RichText::new(words).size(11.5).color(desk.palette.accent));
        }
        let index = desk.document.spots().iter().position(|known| known.name == spot.name);
        if index.is_some_and(|index| !desk.scores.fresh(desk.document, index)) {
            ui.label(RichText::new("older").size(11.5).color(desk.palette.faint))
                .on_hover_text("The layout or the spot has changed since");
        }
    });
}

pub(super) fn headline(
    ui: &mut Ui,
    desk: &Desk,
    comparison: &Comparison,
    (index, id): (usize, HeadlineId),
    wide: f32,
) {
    let score = |spot: &Shown| spot.headlines.get(index).copied().flatten();
    let best = comparison.spots.iter().filter_map(score).fold(f64::NEG_INFINITY, f64::max);
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        let title = RichText::new(id.title()).size(14.0).strong().color(desk.palette.accent);
        cell(ui, QUESTION, |ui| {
            ui.label(title);
        });
        for spot in &comparison.spots {
            let mut words = RichText::new(figures::score(score(spot))).size(14.0);
            // The best of the row by a line under it, not by colour.
            if score(spot).is_some_and(|score| score >= best - 1e-9) {
                words = words.strong().underline();
            }
            cell(ui, wide, |ui| {
                ui.label(words);
            });
        }
    });
}

pub(super) fn check(
    ui: &mut Ui,
    desk: &Desk,
    comparison: &Comparison,
    row: &CheckRow,
    (wide, odd): (f32, bool),
) {
    let title = figures::question(row.id);
    let words = if row.subject.is_empty() { title } else { format!("{title}: {}", row.subject) };
    if odd {
        let across = Vec2::new(QUESTION + wide * comparison.spots.len() as f32, ROW);
        let rect = Rect::from_min_size(ui.cursor().min, across);
        ui.painter().rect_filled(rect, 3.0, desk.palette.card);
    }
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        cell(ui, QUESTION, |ui| {
            let text = elided(ui, &words, 12.5, QUESTION - 12.0);
            ui.add(Label::new(RichText::new(text).size(12.5)).truncate()).on_hover_text(&words);
        });
        for (spot, figure) in comparison.spots.iter().zip(&row.figures) {
            cell(ui, wide, |ui| match figure {
                Some(figure) => one(ui, desk, row, figure, spot.name == comparison.to),
                None => {
                    ui.label(RichText::new("–").color(desk.palette.faint));
                }
            });
        }
    });
}

fn one(ui: &mut Ui, desk: &Desk, row: &CheckRow, figure: &Figure, base: bool) {
    let inches = desk.view.inches;
    let margin = figure.margin.map_or_else(
        || "not known".to_string(),
        |margin| figures::figure(margin, row.unit, inches),
    );
    let difference = figure.margin_difference.filter(|_| !base).map(|by| {
        let sign = if by > 0.0 { "+" } else { "" };
        (by, format!("{sign}{}", figures::bare(by, row.unit, inches)))
    });
    let bracket = if chances::in_brackets(desk) {
        figure.holds.map(|holds| {
            let sure = holds.low > 0.9;
            (chances::short(holds.chance), if sure { desk.palette.faint } else { desk.palette.ink })
        })
    } else {
        difference.clone().map(|(by, words)| {
            let colour = match by {
                by if by > 1e-9 => desk.palette.verdict(Verdict::Pass),
                by if by < -1e-9 => desk.palette.verdict(Verdict::Fail),
                _ => desk.palette.faint,
            };
            (words, colour)
        })
    };
    let mut tip = format!("{}: margin {margin}", figure.verdict.word());
    if let Some((_, words)) = difference {
        tip += &format!(", {words} {}", figures::unit(row.unit, inches));
    }
    if let Some(holds) = &figure.holds {
        tip += &format!("\n{}", chances::in_words(holds));
    }
    ui.spacing_mut().item_spacing.x = 3.0;
    marks::mark(ui, 9.0, figure.verdict, desk.palette.verdict(figure.verdict));
    let wide = Label::new(RichText::new(margin).size(12.5)).extend();
    ui.add(wide).on_hover_text(&tip);
    if let Some((words, colour)) = bracket {
        let words = RichText::new(format!("({words})")).size(11.5).color(colour);
        ui.add(Label::new(words).extend()).on_hover_text(&tip);
    }
}

/// A cell of a row.
fn cell(ui: &mut Ui, wide: f32, content: impl FnOnce(&mut Ui)) {
    boxed(ui, Vec2::new(wide, ROW), Layout::left_to_right(Align::Center), content);
}

/// A cell of the heads.
fn tall(ui: &mut Ui, (wide, high): (f32, f32), content: impl FnOnce(&mut Ui)) {
    boxed(ui, Vec2::new(wide, high), Layout::top_down(Align::Min), |ui| {
        ui.set_max_width(wide - 8.0);
        ui.spacing_mut().item_spacing.y = 1.0;
        content(ui);
    });
}

/// A part of the table that never grows, whatever stands in it: what is too long is cut off, and its tip
/// has it whole.
fn boxed(ui: &mut Ui, size: Vec2, layout: Layout, content: impl FnOnce(&mut Ui)) {
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let mut inside = ui.new_child(UiBuilder::new().max_rect(rect).layout(layout));
    inside.shrink_clip_rect(rect.with_max_x(rect.right() - 2.0));
    content(&mut inside);
}
