//! The spots side by side, check by check: differences to a chosen one, which is beaten by another on
//! everything, and what other weights do to the order.

mod chances;
mod rows;

use std::sync::Arc;

use bevy_egui::egui::{ComboBox, Context, Id, Label, RichText, ScrollArea, Ui, Vec2, Window};

use super::Desk;
use super::number::Number;
use crate::checks::{Check, HeadlineId, Scorecard};
use crate::compare::{Comparison, side_by_side, weight_of};
use crate::model::Weights;

/// Least and largest width of a spot's column, points.
const COLUMN: (f32, f32) = (108.0, 170.0);

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
    let each = (ui.available_width() - rows::QUESTION - 20.0) / count;
    let wide = each.clamp(COLUMN.0, COLUMN.1);
    // Heads stay in sight as long as every spot fits beside the others.
    let fits = each >= COLUMN.0;
    if fits {
        rows::heads(ui, desk, comparison, wide);
    }
    let area = if fits { ScrollArea::vertical() } else { ScrollArea::both() };
    area.auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        if !fits {
            rows::heads(ui, desk, comparison, wide);
        }
        for (index, id) in HeadlineId::ALL.into_iter().enumerate() {
            rows::headline(ui, desk, comparison, (index, id), wide);
            let rows = comparison.checks.iter().filter(|row| row.headline == id);
            for (number, row) in rows.enumerate() {
                rows::check(ui, desk, comparison, row, (wide, number % 2 == 1));
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
        ui.separator();
        chances::show(ui, desk);
    });
}

/// What a comparison follows from.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    /// Each spot's name and the age of its figures.
    spots: Vec<(u64, String)>,
    chances: u64,
    to: Option<String>,
    own: [f64; 5],
    tried: [f64; 5],
}

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
    let chances = desk.chances.age();
    let key = Key { spots: ages, chances, to, own: numbers(own), tried: numbers(tried) };
    let id = Id::new("spots compared");
    let known: Option<Arc<(Key, Comparison)>> = ui.data(|data| data.get_temp(id));
    if let Some(known) = known.filter(|known| known.0 == key) {
        return Some(known);
    }
    let cards: Vec<Scorecard> = landed
        .iter()
        .zip(spots)
        .enumerate()
        .map(|(index, (landed, spot))| {
            let mut card = Scorecard { name: spot.name.clone(), ..landed.card.clone() };
            card.holds = desk.chances.holds(desk.document, index, None);
            let checks = card.headlines.iter_mut().flat_map(|headline| &mut headline.checks);
            checks.for_each(|check: &mut Check| {
                let asked = Some((check.id, check.subject.as_str()));
                check.holds = desk.chances.holds(desk.document, index, asked);
            });
            card
        })
        .collect();
    let comparison = side_by_side(&cards, key.to.as_deref(), own, tried)?;
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
