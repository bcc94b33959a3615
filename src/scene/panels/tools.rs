//! How the picture is cut open, and what is measured in it.

use std::sync::Arc;

use bevy_egui::egui::{ComboBox, Id, Pos2, RichText, Slider, Stroke, Ui, Vec2};

use super::{Desk, heading};
use crate::checks::hold::CaseResult;
use crate::checks::{Boot, Scorecard};
use crate::geometry::{Solid, gap};
use crate::model::{Place, Point};
use crate::scene::labels::Labels;
use crate::scene::view::{Section, Tool, View};
use crate::scene::{figures, grip};
use crate::units::MM_PER_INCH;

/// The farthest gap between two bodies that is looked for, mm.
const FARTHEST_MM: f64 = 5_000.0;

/// How near a corner or an anchor must be for a click to take it, points.
const SNAP: f32 = 9.0;

/// The plane that cuts the picture open.
pub(crate) fn section(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Section");
    let bounds =
        desk.document.boot().bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
    let Some(bounds) = bounds else { return };
    let pump = grip::middle_at(desk.document.boot(), &desk.document.spot().place);
    let names = ["none", "from front to rear", "from side to side", "level"];
    let mut chosen = desk.view.section.map_or(0, |section| section.axis + 1);
    let before = chosen;
    ui.horizontal(|ui| {
        ComboBox::from_id_salt("section").width(126.0).selected_text(names[chosen]).show_ui(
            ui,
            |ui| {
                for (index, words) in names.into_iter().enumerate() {
                    ui.selectable_value(&mut chosen, index, words);
                }
            },
        );
        if let Some(section) = &mut desk.view.section
            && ui.button("Turn").on_hover_text("Keep the other side").clicked()
        {
            section.flipped = !section.flipped;
        }
    });
    if chosen != before {
        desk.view.section = chosen.checked_sub(1).map(|axis| Section {
            axis,
            at_mm: pump[axis].round(),
            flipped: axis == 0,
        });
    }
    if let Some(section) = &mut desk.view.section {
        let (low, high) = (bounds.low[section.axis].floor(), bounds.high[section.axis].ceil());
        let inches = desk.view.inches;
        ui.spacing_mut().slider_width = 110.0;
        let write = move |value: f64, _: std::ops::RangeInclusive<usize>| {
            if inches { format!("{:.2} in", value / MM_PER_INCH) } else { format!("{value:.0} mm") }
        };
        ui.add(Slider::new(&mut section.at_mm, low..=high).max_decimals(0).custom_formatter(write))
            .on_hover_text("Where the picture is cut; the pump stays whole");
    }
}

/// The load case whose arrows are drawn: the one chosen, else the one that is held least; none when
/// arrows aren't drawn or the cases haven't been worked out.
pub(crate) fn load_case<'a>(view: &View, card: &'a Scorecard) -> Option<&'a CaseResult> {
    let cases = &card.details.as_ref().filter(|_| view.layers.loads)?.hold.cases;
    let least = || cases.iter().min_by(|a, b| a.factor.total_cmp(&b.factor));
    view.load_case.and_then(|index| cases.get(index)).or_else(least)
}

/// Which load case the arrows are for.
pub(crate) fn loads(ui: &mut Ui, desk: &mut Desk) {
    let landed = desk.scores.of(desk.document.current());
    let details = landed.and_then(|landed| landed.card.details.as_ref());
    let Some(details) = details else {
        ui.label(RichText::new("Working it out…").size(12.0).color(desk.palette.faint));
        return;
    };
    let cases: Vec<String> = details
        .hold
        .cases
        .iter()
        .map(|case| {
            let factor = if case.any_multiple {
                "any multiple".to_string()
            } else {
                format!("{:.1} ×", case.factor)
            };
            format!("{}: {factor}", figures::capital(&case.case))
        })
        .collect();
    if cases.is_empty() {
        ui.label(RichText::new("No load case could be worked out").color(desk.palette.faint));
        return;
    }
    let least = details.hold.cases.iter().enumerate();
    let least = least.min_by(|(_, a), (_, b)| a.factor.total_cmp(&b.factor));
    let least = least.and_then(|(index, _)| cases.get(index)).map_or("", String::as_str);
    let worst = format!("The worst, {}", least.to_lowercase());
    let now = desk.view.load_case.and_then(|index| cases.get(index)).unwrap_or(&worst);
    let wide = ui.available_width() - 4.0;
    ComboBox::from_id_salt("load case")
        .width(wide)
        .truncate()
        .selected_text(now)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut desk.view.load_case, None, worst.as_str());
            for (index, words) in cases.iter().enumerate() {
                ui.selectable_value(&mut desk.view.load_case, Some(index), words);
            }
        })
        .response
        .on_hover_text("The load case of the arrows, and how many times over it is held");
}

/// What a click measures.
pub(crate) fn measuring(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Measure in the picture");
    ui.horizontal(|ui| {
        let points = matches!(desk.view.tool, Tool::Points(_));
        let bodies = matches!(desk.view.tool, Tool::Bodies(_));
        if ui
            .selectable_label(points, "Points")
            .on_hover_text("Click two points; corners and anchors are taken exactly (M)")
            .clicked()
        {
            desk.view.tool = if points { Tool::Hand } else { Tool::Points(Vec::new()) };
        }
        if ui
            .selectable_label(bodies, "Bodies")
            .on_hover_text("Click two bodies, or one and the pump: their smallest gap")
            .clicked()
        {
            desk.view.tool = if bodies { Tool::Hand } else { Tool::Bodies(Vec::new()) };
        }
        if points || bodies {
            ui.label(RichText::new("Esc ends it").size(12.0).color(desk.palette.faint));
        }
    });
}

/// What lies under the pointer: the body's name, none for the pump, and where.
fn picked(desk: &Desk, at: Pos2) -> Option<(Option<String>, Point)> {
    let boot = desk.document.boot();
    let place = desk.document.spot().place;
    let (from, way) = desk.orbit.ray(at);
    let pump = grip::pump_hit(boot, &place, &from, &way);
    let (start, gone) = desk.view.past_section(&from, &way);
    let body = super::super::bodies::surfaces(boot, desk.view)
        .filter_map(|(name, solid)| Some((name, solid.ray(&start, &way, 20_000.0)?)))
        .filter(|(_, hit)| desk.view.shows(&hit.point))
        .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm));
    match (pump, body) {
        (Some(pump), Some((_, hit))) if pump.distance_mm <= hit.distance_mm + gone => {
            Some((None, pump.point))
        }
        (_, Some((name, hit))) => Some((Some(name.to_string()), hit.point)),
        (Some(pump), None) => Some((None, pump.point)),
        (None, None) => None,
    }
}

/// The point under the pointer; a corner or an anchor near it is taken exactly.
pub(crate) fn point_under(desk: &Desk, at: Pos2) -> Option<Point> {
    let boot = desk.document.boot();
    let (name, hit) = picked(desk, at)?;
    let place = desk.document.spot().place;
    let corners: Vec<Point> = match &name {
        Some(name) => boot
            .bodies()
            .filter(|(body, _)| body.name == *name)
            .flat_map(|(_, solid)| solid.triangles().vertices.iter().copied())
            .take(4_000)
            .collect(),
        None => boot
            .pump_at(&place)
            .iter()
            .flat_map(|solid| solid.triangles().vertices.clone())
            .take(4_000)
            .collect(),
    };
    let near = |point: &Point| {
        let away = (desk.orbit.screen(point)? - at).length();
        (away < SNAP && (point - hit).norm() < 60.0).then_some(away)
    };
    let known = corners.into_iter().chain(boot.anchors().map(|anchor| anchor.at));
    known
        .filter_map(|point| Some((near(&point)?, point)))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(Some(hit), |(_, point)| Some(point))
}

/// A click into the picture while something is measured. Says whether it was one.
pub(crate) fn click(desk: &mut Desk, at: Pos2) -> bool {
    match &desk.view.tool {
        Tool::Hand => return false,
        Tool::Points(points) => {
            let mut points = if points.len() >= 2 { Vec::new() } else { points.clone() };
            points.extend(point_under(desk, at));
            desk.view.tool = Tool::Points(points);
        }
        Tool::Bodies(names) => {
            let mut names = if names.len() >= 2 { Vec::new() } else { names.clone() };
            if let Some((name, _)) = picked(desk, at)
                && !names.contains(&name)
            {
                names.push(name);
            }
            desk.view.tool = Tool::Bodies(names);
        }
    }
    true
}

/// Draws what is measured, with its numbers.
pub(crate) fn draw(ui: &Ui, desk: &Desk, labels: &mut Labels, pointer: Option<Pos2>) {
    match &desk.view.tool {
        Tool::Hand => {}
        Tool::Points(points) => {
            let mut shown = points.clone();
            if shown.len() < 2
                && let Some(at) = pointer
            {
                shown.extend(point_under(desk, at));
            }
            measured(desk, labels, shown.first(), shown.get(1), None);
        }
        Tool::Bodies(names) => {
            let [first, second] = &names[..] else {
                if let (Some(name), Some(at)) = (names.first(), pointer) {
                    let words = name.as_deref().unwrap_or("the pump");
                    labels.write(at, &format!("from {words} to…"), None);
                }
                return;
            };
            let place = desk.document.spot().place;
            let key = (first.clone(), second.clone(), place, desk.document.boot_age());
            let id = Id::new("measured bodies");
            type Known =
                Arc<((Option<String>, Option<String>, Place, u64), Option<(Point, Point, f64)>)>;
            let known: Option<Known> = ui.data(|data| data.get_temp(id));
            let known = match known {
                Some(known) if known.0 == key => known,
                _ => {
                    let boot = desk.document.boot();
                    let found = between(boot, &place, first.as_deref(), second.as_deref());
                    let known: Known = Arc::new((key, found));
                    ui.data_mut(|data| data.insert_temp(id, Arc::clone(&known)));
                    known
                }
            };
            if let Some((a, b, gap_mm)) = &known.1 {
                measured(desk, labels, Some(a), Some(b), Some(*gap_mm));
            }
        }
    }
}

/// The smallest gap between two bodies, or one and the pump, which has no name: both points, and the
/// gap, mm; negative when they overlap.
fn between(
    boot: &Boot,
    place: &Place,
    first: Option<&str>,
    second: Option<&str>,
) -> Option<(Point, Point, f64)> {
    let solids = |name: Option<&str>| -> Vec<Solid> {
        match name {
            None => boot.pump_at(place),
            Some(name) => boot
                .bodies()
                .filter(|(body, _)| body.name == name)
                .map(|(_, solid)| solid.clone())
                .collect(),
        }
    };
    let (first, second) = (solids(first), solids(second));
    let mut best: Option<crate::geometry::Gap> = None;
    for a in &first {
        for b in &second {
            let reach = best.as_ref().map_or(FARTHEST_MM, |best| best.distance_mm).max(0.0);
            if let Some(found) = gap(a, b, reach)
                && best.as_ref().is_none_or(|best| found.distance_mm < best.distance_mm)
            {
                best = Some(found);
            }
        }
    }
    best.map(|best| (best.on_first, best.on_second, best.distance_mm))
}

fn measured(
    desk: &Desk,
    labels: &mut Labels,
    first: Option<&Point>,
    second: Option<&Point>,
    gap_mm: Option<f64>,
) {
    let dot = |labels: &Labels, at: Pos2| {
        labels.painter.circle(
            at,
            4.0,
            labels.palette.card,
            Stroke::new(2.0, labels.palette.accent),
        );
    };
    let a = first.and_then(|point| desk.orbit.screen(point));
    let b = second.and_then(|point| desk.orbit.screen(point));
    if let (Some(a), Some(b), Some(first), Some(second)) = (a, b, first, second) {
        labels.painter.line_segment([a, b], Stroke::new(4.0, labels.palette.card));
        labels.painter.line_segment([a, b], Stroke::new(2.0, labels.palette.accent));
        let write = |mm: f64| figures::length(mm, desk.view.inches);
        let by = second - first;
        let words = match gap_mm {
            Some(gap_mm) if gap_mm < 0.0 => format!("overlap {}", write(-gap_mm)),
            Some(gap_mm) => format!("gap {}", write(gap_mm)),
            None => format!(
                "{}   x {}   y {}   z {}",
                write(by.norm()),
                write(by.x),
                write(by.y),
                write(by.z)
            ),
        };
        labels.write(a + (b - a) * 0.5, &words, None);
    }
    for (at, point) in [(a, first), (b, second)] {
        let (Some(at), Some(point)) = (at, point) else { continue };
        dot(labels, at);
        if gap_mm.is_none() {
            let write = |mm: f64| figures::coordinate(mm, desk.view.inches);
            let words =
                format!("at x {}   y {}   z {}", write(point.x), write(point.y), write(point.z));
            labels.write(at + Vec2::new(0.0, 16.0), &words, None);
        }
    }
}
