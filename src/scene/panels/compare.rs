//! The spots side by side, check by check: differences to a chosen one, which is beaten by another on
//! everything, and what other weights do to the order.

use std::sync::Arc;

use bevy_egui::egui::{
    Align, ComboBox, Context, Id, Label, Layout, Rect, RichText, ScrollArea, Sense, Ui, Vec2,
    Window,
};

use super::Desk;
use super::number::Number;
use crate::checks::{HeadlineId, Scorecard, Verdict};
use crate::compare::{CheckRow, Comparison, Figure, Shown, side_by_side, weight_of};
use crate::model::Weights;
use crate::scene::{figures, marks};

/// Width of the column with the questions, points.
const QUESTION: f32 = 210.0;

/// Least and largest width of a spot's column, points.
const COLUMN: (f32, f32) = (108.0, 170.0);

/// Height of a row, and of the heads, points.
const ROW: f32 = 22.0;
const HEAD: f32 = 66.0;

/// The window over everything, while it is asked for.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.compare || desk.view.present {
        return;
    }
    let rect = ctx.viewport_rect().shrink2(Vec2::new(20.0, 44.0));
    let mut open = true;
    Window::new("Spots side by side")
        .fixed_pos(rect.min)
        .fixed_size(rect.size() - Vec2::new(30.0, 60.0))
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
    said(ui, desk, comparison);
    let count = comparison.spots.len().max(1) as f32;
    let each = (ui.available_width() - QUESTION - 20.0) / count;
    let wide = each.clamp(COLUMN.0, COLUMN.1);
    // Heads stay in sight as long as every spot fits beside the others.
    let fits = each >= COLUMN.0;
    if fits {
        heads(ui, desk, comparison, wide);
    }
    let area = if fits { ScrollArea::vertical() } else { ScrollArea::both() };
    area.auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        if !fits {
            heads(ui, desk, comparison, wide);
        }
        for (index, id) in HeadlineId::ALL.into_iter().enumerate() {
            headline(ui, desk, comparison, (index, id), wide);
            let rows = comparison.checks.iter().filter(|row| row.headline == id);
            for (number, row) in rows.enumerate() {
                check(ui, desk, comparison, row, (wide, number % 2 == 1));
            }
        }
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

/// Which weight would change the order, in words.
fn said(ui: &mut Ui, desk: &Desk, comparison: &Comparison) {
    for turn in &comparison.turns_over {
        let less = if turn.level_at < turn.now { "less" } else { "more" };
        let words = format!(
            "Where {} counts {:.2} or {less}, {} comes before {}.",
            turn.headline.title().to_lowercase(),
            turn.level_at,
            turn.then,
            turn.ahead
        );
        ui.add(Label::new(RichText::new(words).size(12.5).color(desk.palette.ink)).truncate());
    }
}

/// The spots, best first, each with its place and score, and which other one beats it on everything; a
/// click turns to it.
fn heads(ui: &mut Ui, desk: &mut Desk, comparison: &Comparison, wide: f32) {
    let mut chosen = None;
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        tall(ui, QUESTION, |ui| {
            let words = "Best first. Each check's margin; in brackets how much more or less of it \
                         than the spot that differences are to";
            ui.label(RichText::new(words).size(12.0).color(desk.palette.faint));
        });
        for (index, spot) in comparison.spots.iter().enumerate() {
            tall(ui, wide, |ui| {
                let here = desk.document.spot().name == spot.name;
                let words = format!("{}. {}", index + 1, spot.name);
                let words = super::elided(ui, &words, 12.5, wide * 1.75);
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
    });
}

fn headline(
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

fn check(
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
            let text = super::elided(ui, &words, 12.5, QUESTION - 12.0);
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

/// A cell of a row.
fn cell(ui: &mut Ui, wide: f32, content: impl FnOnce(&mut Ui)) {
    let row = Layout::left_to_right(Align::Center);
    ui.allocate_ui_with_layout(Vec2::new(wide, ROW), row, |ui| {
        ui.set_min_size(Vec2::new(wide, ROW));
        ui.set_max_width(wide);
        content(ui);
    });
}

/// A cell of the heads.
fn tall(ui: &mut Ui, wide: f32, content: impl FnOnce(&mut Ui)) {
    let column = Layout::top_down(Align::Min);
    ui.allocate_ui_with_layout(Vec2::new(wide, HEAD), column, |ui| {
        ui.set_min_size(Vec2::new(wide, HEAD));
        ui.set_max_width(wide - 8.0);
        ui.spacing_mut().item_spacing.y = 1.0;
        content(ui);
    });
}
