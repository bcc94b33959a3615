//! The spots side by side, check by check: differences to a chosen one, which is beaten by another on
//! everything, and what other weights do to the order.

use std::sync::Arc;

use bevy_egui::egui::{
    ComboBox, Context, Grid, Id, Label, RichText, ScrollArea, Sense, Ui, Vec2, Window,
};

use super::Desk;
use super::number::Number;
use crate::checks::{HeadlineId, Scorecard, Verdict};
use crate::compare::{CheckRow, Comparison, Figure, Shown, side_by_side, weight_of};
use crate::model::Weights;
use crate::scene::{figures, marks};

/// Width of the column with the questions, points.
const QUESTION: f32 = 190.0;

/// Width of a spot's column, points.
const COLUMN: f32 = 118.0;

/// The window over the picture, while it is asked for.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.compare || desk.view.present {
        return;
    }
    let rect = desk.orbit.rect.shrink(10.0);
    let mut open = true;
    Window::new("Spots side by side")
        .fixed_pos(rect.min)
        .fixed_size(rect.size() - Vec2::new(14.0, 44.0))
        .collapsible(false)
        .open(&mut open)
        .show(ctx, |ui| {
            ui.set_min_size(ui.available_size());
            content(ui, desk);
        });
    if !open {
        desk.view.compare = false;
    }
}

fn content(ui: &mut Ui, desk: &mut Desk) {
    let own = desk.document.layout().weights;
    weights(ui, desk, &own);
    let tried = desk.view.weights.unwrap_or(own);
    let Some(compared) = compared(ui, desk, &own, &tried) else {
        ui.label(RichText::new("Working it out…").color(desk.palette.faint));
        return;
    };
    let comparison = &compared.1;
    against(ui, desk, comparison);
    ui.separator();
    ScrollArea::both().auto_shrink([false, false]).show(ui, |ui| {
        said(ui, desk, comparison);
        Grid::new("side by side").striped(true).spacing([8.0, 4.0]).show(ui, |ui| {
            heads(ui, desk, comparison);
            for (index, id) in HeadlineId::ALL.into_iter().enumerate() {
                headline(ui, desk, comparison, index, id);
                for row in comparison.checks.iter().filter(|row| row.headline == id) {
                    check(ui, desk, comparison, row);
                }
            }
        });
    });
}

/// How much each headline counts, to be tried out.
fn weights(ui: &mut Ui, desk: &mut Desk, own: &Weights) {
    let mut tried = desk.view.weights.unwrap_or(*own);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("What counts how much").color(desk.palette.faint));
        let all = [
            ("reach", &mut tried.reach),
            ("carpet", &mut tried.carpet),
            ("feed", &mut tried.feed),
            ("water", &mut tried.water),
            ("hold", &mut tried.hold),
        ];
        for (name, weight) in all {
            let number = Number {
                name: &format!("the weight of {name}"),
                unit: "",
                with_unit: false,
                range: 0.0..=1000.0,
                decimals: 1,
                speed: 0.05,
                size: Vec2::new(38.0, 22.0),
            };
            ui.label(name);
            if let (_, Some(typed)) = number.show(ui, desk.view, *weight) {
                *weight = typed;
            }
        }
        let sum: f64 = HeadlineId::ALL.iter().map(|id| weight_of(&tried, *id)).sum();
        if sum <= 0.0 {
            desk.view.warn("At least one headline must count");
        } else {
            desk.view.weights = (tried != *own).then_some(tried);
        }
        if desk.view.weights.is_some() {
            if ui.small_button("As they were").on_hover_text("The layout's own").clicked() {
                desk.view.weights = None;
            }
            let tip = "Scores are then counted so, and the file has it";
            if ui.small_button("Keep in the layout").on_hover_text(tip).clicked() {
                let gesture = desk.step("weights");
                let kept = desk.document.measure("weights", gesture, |layout| {
                    layout.weights = tried;
                });
                match kept {
                    Ok(()) => desk.view.weights = None,
                    Err(wrong) => desk.view.warn(wrong.join("; ")),
                }
            }
        }
    });
}

/// Which spot the differences are taken to.
fn against(ui: &mut Ui, desk: &mut Desk, comparison: &Comparison) {
    ui.horizontal(|ui| {
        ui.label(RichText::new("Differences to").color(desk.palette.faint));
        let now = match &desk.view.compare_to {
            Some(name) => name.clone(),
            None => format!("the best, {}", comparison.to),
        };
        ComboBox::from_id_salt("compare to").width(220.0).truncate().selected_text(now).show_ui(
            ui,
            |ui| {
                ui.selectable_value(&mut desk.view.compare_to, None, "the best");
                for spot in desk.document.spots() {
                    let name = Some(spot.name.clone());
                    ui.selectable_value(&mut desk.view.compare_to, name, &spot.name);
                }
            },
        );
        let words = "margin of each check; in brackets how much more or less of it than there";
        ui.add(Label::new(RichText::new(words).size(12.0).color(desk.palette.faint)).truncate());
    });
}

type Key = (Vec<(u64, String)>, Option<String>, [f64; 5], [f64; 5]);

/// The comparison, worked out anew only when something of it changed; none while a spot has no figures.
fn compared(
    ui: &Ui,
    desk: &Desk,
    own: &Weights,
    tried: &Weights,
) -> Option<Arc<(Key, Comparison)>> {
    let spots = desk.document.spots();
    let landed: Vec<_> =
        (0..spots.len()).map(|index| desk.scores.of(index)).collect::<Option<_>>()?;
    let numbers = |weights: &Weights| HeadlineId::ALL.map(|id| weight_of(weights, id));
    let ages =
        landed.iter().zip(spots).map(|(landed, spot)| (landed.age, spot.name.clone())).collect();
    let to = desk.view.compare_to.clone().filter(|name| spots.iter().any(|s| s.name == *name));
    let key: Key = (ages, to, numbers(own), numbers(tried));
    let id = Id::new("spots compared");
    let known: Option<Arc<(Key, Comparison)>> = ui.data(|data| data.get_temp(id));
    if let Some(known) = known.filter(|known| known.0 == key) {
        return Some(known);
    }
    let cards: Vec<Scorecard> = landed
        .iter()
        .zip(spots)
        .map(|(landed, spot)| Scorecard { name: spot.name.clone(), ..landed.card.clone() })
        .collect();
    let comparison = side_by_side(&cards, key.1.as_deref(), own, tried)?;
    let made = Arc::new((key, comparison));
    ui.data_mut(|data| data.insert_temp(id, Arc::clone(&made)));
    Some(made)
}

/// What follows in words: who is beaten on everything, and which weight would change the order.
fn said(ui: &mut Ui, desk: &Desk, comparison: &Comparison) {
    let wide = desk.orbit.rect.width() - 60.0;
    let line = |ui: &mut Ui, words: String| {
        ui.allocate_ui(Vec2::new(wide, 18.0), |ui| {
            ui.set_max_width(wide);
            ui.add(Label::new(RichText::new(words).size(12.5)).wrap());
        });
    };
    for beaten in &comparison.beaten {
        let words = format!("{} is beaten by {} on everything.", capital(&beaten.spot), beaten.by);
        line(ui, words);
    }
    for turn in &comparison.turns_over {
        let less = if turn.level_at < turn.now { "less" } else { "more" };
        let words = format!(
            "Where {} counts {:.2} or {less}, {} comes before {}.",
            turn.headline.title().to_lowercase(),
            turn.level_at,
            turn.then,
            turn.ahead
        );
        line(ui, words);
    }
    ui.add_space(4.0);
}

fn capital(words: &str) -> String {
    figures::capital(words)
}

/// The spots, best first, each with its place and score; a click turns to it.
fn heads(ui: &mut Ui, desk: &mut Desk, comparison: &Comparison) {
    let mut chosen = None;
    question(ui, desk, "Best first, under these weights", false);
    for (index, spot) in comparison.spots.iter().enumerate() {
        cell(ui, |ui| {
            ui.vertical(|ui| {
                let here = desk.document.spot().name == spot.name;
                let mut words = RichText::new(format!("{}. {}", index + 1, spot.name)).size(12.5);
                if here {
                    words = words.strong().color(desk.palette.accent);
                }
                let label = ui.add(Label::new(words).wrap().sense(Sense::click()));
                if label.on_hover_text("Turn to this spot").clicked() {
                    chosen = Some(spot.name.clone());
                }
                total(ui, desk, spot, index + 1);
            });
        });
    }
    ui.end_row();
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
    });
}

fn headline(ui: &mut Ui, desk: &Desk, comparison: &Comparison, index: usize, id: HeadlineId) {
    question(ui, desk, id.title(), true);
    let best = comparison
        .spots
        .iter()
        .filter_map(|spot| spot.headlines.get(index).copied().flatten())
        .fold(f64::NEG_INFINITY, f64::max);
    for spot in &comparison.spots {
        let score = spot.headlines.get(index).copied().flatten();
        let mut words = RichText::new(figures::score(score)).size(13.5);
        // The best of the row by weight of type, not by colour.
        if score.is_some_and(|score| score >= best - 1e-9) {
            words = words.strong().underline();
        }
        cell(ui, |ui| {
            ui.label(words);
        });
    }
    ui.end_row();
}

fn check(ui: &mut Ui, desk: &Desk, comparison: &Comparison, row: &CheckRow) {
    let title = figures::question(row.id);
    let words = if row.subject.is_empty() { title } else { format!("{title}: {}", row.subject) };
    question(ui, desk, &words, false);
    for (spot, figure) in comparison.spots.iter().zip(&row.figures) {
        cell(ui, |ui| match figure {
            Some(figure) => one(ui, desk, row, figure, spot.name == comparison.to),
            None => {
                ui.label(RichText::new("–").color(desk.palette.faint));
            }
        });
    }
    ui.end_row();
}

fn one(ui: &mut Ui, desk: &Desk, row: &CheckRow, figure: &Figure, base: bool) {
    let inches = desk.view.inches;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        marks::mark(ui, 9.0, figure.verdict, desk.palette.verdict(figure.verdict));
        let margin = figure.margin.map_or_else(
            || "not known".to_string(),
            |margin| figures::figure(margin, row.unit, inches),
        );
        ui.label(RichText::new(margin).size(12.5));
        if let Some(by) = figure.margin_difference.filter(|_| !base) {
            let sign = if by > 0.0 { "+" } else { "" };
            let words = format!("({sign}{})", figures::bare(by, row.unit, inches));
            let colour = match by {
                by if by > 1e-9 => desk.palette.verdict(Verdict::Pass),
                by if by < -1e-9 => desk.palette.verdict(Verdict::Fail),
                _ => desk.palette.faint,
            };
            ui.label(RichText::new(words).size(11.5).color(colour));
        }
    });
}

fn question(ui: &mut Ui, desk: &Desk, words: &str, strong: bool) {
    ui.allocate_ui(Vec2::new(QUESTION, 18.0), |ui| {
        ui.set_width(QUESTION);
        let mut text = RichText::new(words).size(if strong { 13.5 } else { 12.5 });
        if strong {
            text = text.strong().color(desk.palette.accent);
        }
        ui.add(Label::new(text).truncate()).on_hover_text(words);
    });
}

fn cell(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    ui.allocate_ui(Vec2::new(COLUMN, 18.0), |ui| {
        ui.set_width(COLUMN);
        content(ui);
    });
}
