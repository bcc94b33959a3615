//! The moving parts: how far each is drawn along its travel.

use std::ops::RangeInclusive;

use bevy_egui::egui::{Slider, Ui};

use super::contents::thing;
use super::{Desk, heading};
use crate::checks::Boot;
use crate::model::{Motion, Mover, MoverKind};
use crate::scene::theme;
use crate::scene::view::open_end;

/// The moving parts with a slider for each motion that nothing drives.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let boot = desk.document.boot().clone();
    if boot.movers().next().is_none() {
        return;
    }
    heading(ui, &desk.palette, "Moving parts");
    let leads = leads(&boot);
    // What shares a motion, such as a lid and its hinge arms, moves together.
    let mut motions: Vec<Motion> = Vec::new();
    for lead in &leads {
        if !motions.iter().any(|known| same_motion(known, &lead.motion)) {
            motions.push(lead.motion);
        }
    }
    for motion in motions {
        let together: Vec<&str> = leads
            .iter()
            .filter(|lead| same_motion(&lead.motion, &motion))
            .map(|lead| lead.name.as_str())
            .collect();
        let led = |name: &str| boot.course(name).is_some_and(|way| together.contains(&way.lead()));
        for (mover, _) in boot.movers().filter(|(mover, _)| led(&mover.name)) {
            let colour = theme::mover_colour(mover.kind);
            let words = kind_words(mover.kind);
            let tip = match &mover.driven {
                Some(drive) if drive.carried => format!("{words}, carried by {}", drive.by),
                Some(drive) => format!("{words}, driven by {}", drive.by),
                None => words.to_string(),
            };
            thing(ui, desk, &mover.name, &tip, colour, None);
        }
        // A lid leads its hinge arms: it is what one calls open or closed.
        let lid = boot
            .movers()
            .find(|(mover, _)| mover.kind == MoverKind::Lid && same_motion(&mover.motion, &motion));
        let open = lid.map(|(mover, solids)| open_end(mover, solids));
        let Some(first) = together.first() else { continue };
        let mut travel = desk.view.travel.get(*first).copied().unwrap_or(0.0);
        if travel_slider(ui, &motion, open, &mut travel) {
            for lead in together {
                desk.view.travel.insert(lead.to_string(), travel);
            }
        }
    }
}

/// The movers whose travel the boot's movers follow, each once.
fn leads(boot: &Boot) -> Vec<&Mover> {
    let mut leads: Vec<&Mover> = Vec::new();
    for (mover, _) in boot.movers() {
        let Some(course) = boot.course(&mover.name) else { continue };
        if leads.iter().all(|known| known.name != course.lead()) {
            leads.extend(boot.layout().movers.iter().find(|known| known.name == course.lead()));
        }
    }
    leads
}

/// A slider over the travel; whether it was moved. `open` is the end at which a lid is open.
fn travel_slider(ui: &mut Ui, motion: &Motion, open: Option<f64>, travel: &mut f64) -> bool {
    let (from, to) = motion.travel();
    let unit = match motion {
        Motion::Swing { .. } => "°",
        Motion::Slide { .. } => " mm",
    };
    let range: RangeInclusive<f64> = from.min(to)..=from.max(to);
    let (low, high) = (*range.start(), *range.end());
    ui.spacing_mut().slider_width = 100.0;
    let write = move |value: f64, _: RangeInclusive<usize>| {
        let near = |end: f64| (value - end).abs() < 0.5;
        match open {
            _ if near(0.0) => "as measured".to_string(),
            Some(open) if near(open) => "open".to_string(),
            Some(open) if near(low + high - open) => "closed".to_string(),
            _ => format!("{value:.0}{unit}").replace('-', "−"),
        }
    };
    let tip = "Shows it at this part of its travel, counted from where it was measured, and what it \
               drives with it; the checks look at all of it";
    let slider = Slider::new(travel, range).max_decimals(0).custom_formatter(write);
    ui.add(slider).on_hover_text(tip).changed()
}

/// Whether two motions are one: the same travel about the same line, or along the same way.
fn same_motion(a: &Motion, b: &Motion) -> bool {
    match (a, b) {
        (
            Motion::Swing { through, along, from_deg, to_deg },
            Motion::Swing { through: other, along: way, from_deg: from, to_deg: to },
        ) => {
            let ends = (from_deg - from).abs() + (to_deg - to).abs();
            let apart = (through - other).cross(&along.normalize()).norm();
            (along - way).norm() < 1e-9 && ends < 1e-9 && apart < 0.5
        }
        _ => a == b,
    }
}

fn kind_words(kind: MoverKind) -> &'static str {
    match kind {
        MoverKind::Hinge => "Hinge arm",
        MoverKind::Lid => "Boot lid",
        MoverKind::Roof => "Part of the folding roof",
        MoverKind::Tray => "Tray or cover",
    }
}
