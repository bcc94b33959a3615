//! What the checks hold a spot to, as this boot has it.

use bevy_egui::egui::{CollapsingHeader, RichText, Ui};

use super::{Desk, fields};
use crate::model::Limits;
use crate::scene::figures;

/// One limit: its title, its unit, and where it is.
type One = (&'static str, &'static str, fn(&mut Limits) -> &mut f64);

/// The limits by headline, in the order of the checks.
const ALL: &[(&str, &[One])] = &[
    (
        "Reach",
        &[
            ("line to a body", "mm", |l| &mut l.gap_line_mm),
            ("spare to clip up", "mm", |l| &mut l.spare_mm),
            ("run without a clip", "mm", |l| &mut l.span_mm),
            ("hose shortens by", "%", |l| &mut l.hose_shortening_pct),
            ("volts lost", "%", |l| &mut l.volt_drop_pct),
        ],
    ),
    (
        "Carpet line",
        &[
            ("gap to a body", "mm", |l| &mut l.gap_mm),
            ("to a sharp edge", "mm", |l| &mut l.gap_sharp_mm),
            ("to a moving part", "mm", |l| &mut l.gap_mover_mm),
            ("to a terminal", "mm", |l| &mut l.gap_terminal_mm),
            ("pump seen", "%", |l| &mut l.seen_pct),
            ("boot space lost", "l", |l| &mut l.space_litres),
            ("blocks lost", "", |l| &mut l.blocks),
            ("way to the filler", "mm", |l| &mut l.service_mm),
        ],
    ),
    (
        "Feed",
        &[
            ("level is set at", "°C", |l| &mut l.fill_c),
            ("coldest fluid", "°C", |l| &mut l.cold_c),
            ("hottest fluid", "°C", |l| &mut l.hot_c),
        ],
    ),
    (
        "Water",
        &[
            ("over the water", "mm", |l| &mut l.freeboard_mm),
            ("to a drip's way", "mm", |l| &mut l.drip_mm),
            ("a leak lets in", "l/min", |l| &mut l.leak_l_min),
            ("water grid's cell", "mm", |l| &mut l.water_step_mm),
        ],
    ),
    (
        "Hold",
        &[
            ("reach of a bolt", "mm", |l| &mut l.bolt_reach_mm),
            ("play of a bolt", "mm", |l| &mut l.bolt_play_mm),
            ("reach of a tie", "mm", |l| &mut l.tie_reach_mm),
            ("friction", "", |l| &mut l.friction),
            ("spanner on a nut", "mm", |l| &mut l.spanner_mm),
            ("bolt on rubber", "N/mm", |l| &mut l.bolt_n_mm),
            ("clamp", "N/mm", |l| &mut l.clamp_n_mm),
            ("foam wedge", "N/mm", |l| &mut l.wedge_n_mm),
            ("point of rest", "N/mm", |l| &mut l.rest_n_mm),
            ("at resonance", "×", |l| &mut l.resonance),
        ],
    ),
    (
        "Measured to ±",
        &[
            ("tape", "mm", |l| &mut l.tape_mm),
            ("scan", "mm", |l| &mut l.scan_mm),
            ("pump, on bench", "mm", |l| &mut l.bench_mm),
        ],
    ),
];

/// The limits, each with its unit; those that aren't the usual ones stand out and can be set back.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let now = desk.document.layout().limits;
    let own = if now == Limits::default() { "" } else { " (some of its own)" };
    CollapsingHeader::new(format!("Limits{own}")).id_salt("limits").show(ui, |ui| {
        let mut limits = now;
        let mut usual = Limits::default();
        for (headline, some) in ALL {
            super::heading(ui, &desk.palette, headline);
            for (title, unit, of) in *some {
                let standard = *of(&mut usual);
                one(ui, desk, (title, unit), standard, of(&mut limits));
            }
        }
        if now != Limits::default() && ui.small_button("All as usual").clicked() {
            limits = Limits::default();
        }
        if limits != now {
            let gesture = desk.step("limits");
            let done = desk.document.measure("limits", gesture, |layout| layout.limits = limits);
            if let Err(wrong) = done {
                desk.view.warn(wrong.join("; "));
            }
        }
    });
}

fn one(ui: &mut Ui, desk: &mut Desk, (title, unit): (&str, &str), usual: f64, value: &mut f64) {
    let other = (*value - usual).abs() > 1e-9;
    ui.horizontal(|ui| {
        if unit == "mm" {
            fields::length(ui, desk, title, value);
        } else {
            fields::figure(ui, desk, title, unit, -1000.0..=1_000_000.0, value);
        }
        if other {
            let tip = format!("Back to {}", figures::figure(usual, unit, desk.view.inches));
            if ui.small_button(RichText::new("↩")).on_hover_text(tip).clicked() {
                *value = usual;
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_has_a_box_of_its_own() {
        // As many figures as the file format writes.
        let written = ron::to_string(&Limits::default()).expect("limits are plain numbers");
        let boxes: usize = ALL.iter().map(|(_, some)| some.len()).sum();
        assert_eq!(written.matches(':').count(), boxes);
        let mut limits = Limits::default();
        for (_, _, of) in ALL.iter().flat_map(|(_, some)| *some) {
            *of(&mut limits) = -1.5;
        }
        let changed = ron::to_string(&limits).expect("limits are plain numbers");
        assert_eq!(changed.matches("-1.5").count(), boxes, "{changed}");
    }
}
