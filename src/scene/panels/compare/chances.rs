//! The chance that each spot holds, given how well everything was measured: asked for, waited for, shown.

use bevy_egui::egui::{Button, ProgressBar, RichText, Ui, Vec2};

use crate::checks::{Holds, Scorecard};
use crate::scene::chances::RUNS;
use crate::scene::figures;
use crate::scene::panels::Desk;
use crate::scene::panels::number::Number;

/// How many of a spot's checks that hold least often are named.
const WEAKEST: usize = 3;

/// How often to measure again, the button that begins it, and how far it is.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk) {
    if desk.chances.running() {
        desk.moving = true;
        let share = desk.chances.share().unwrap_or(0.0);
        let bar = ProgressBar::new(share as f32)
            .desired_width(150.0)
            .desired_height(16.0)
            .text(RichText::new("Measuring again").size(12.0));
        ui.add(bar);
        let tip = "What has landed stays; what was there before stays, marked as older";
        if ui.small_button("Cancel").on_hover_text(tip).clicked() {
            desk.chances.cancel();
            desk.view.say("Given up; the chances that have landed stay");
        }
    } else {
        let stale = desk.document.boot_stale();
        let tip = "Every spot again and again with other errors of the tape, the scan and the \
                   bench: how often each check holds. Directions, drains and the pump's own \
                   figures aren't varied";
        let asked = ui.add_enabled(!stale, Button::new("Chances").small()).on_hover_text(tip);
        let asked = asked.on_disabled_hover_text("The boot isn't ready as it is measured now");
        if asked.clicked() {
            desk.chances.work_out();
        }
        let number = Number {
            name: "how often to measure again",
            unit: "",
            with_unit: false,
            range: f64::from(RUNS.0)..=f64::from(RUNS.1),
            decimals: 0,
            speed: 1.0,
            size: Vec2::new(48.0, 22.0),
        };
        let now = f64::from(desk.chances.runs);
        if let (_, Some(typed)) = number.show(ui, desk.view, now) {
            desk.chances.runs = typed.round() as u32;
        }
        ui.label(RichText::new("times").color(desk.palette.faint));
    }
    if known(desk) {
        ui.checkbox(&mut desk.view.compare_chances, "in brackets")
            .on_hover_text("The chances instead of the differences");
    }
}

/// Whether any spot has chances.
pub(super) fn known(desk: &Desk) -> bool {
    (0..desk.document.spots().len()).any(|spot| desk.chances.of(desk.document, spot).is_some())
}

/// Whether the rows show them.
pub(super) fn in_brackets(desk: &Desk) -> bool {
    desk.view.compare_chances && known(desk)
}

/// The chance that all of a spot's checks hold, marked where it is older than the layout.
pub(super) fn of_spot(ui: &mut Ui, desk: &Desk, name: &str) {
    let spot = desk.document.spots().iter().position(|spot| spot.name == name);
    let found = spot.and_then(|spot| desk.chances.of(desk.document, spot));
    let (words, tip, fresh) = match found {
        None => ("chance not asked for".to_string(), String::new(), true),
        Some((card, fresh)) => {
            let words = match card.holds {
                Some(holds) => format!("holds: {}", short(holds.chance)),
                None => "chance not known".to_string(),
            };
            (words, told(card, fresh), fresh)
        }
    };
    let (words, colour) = match (found, fresh) {
        (Some(_), true) => (words, desk.palette.ink),
        (Some(_), false) => (format!("{words}, older"), desk.palette.faint),
        (None, _) => (words, desk.palette.faint),
    };
    let label = ui.label(RichText::new(words).size(12.0).color(colour));
    if !tip.is_empty() {
        label.on_hover_text(tip);
    }
}

/// A chance in whole percent, never 0 or 100 where it is neither.
pub(super) fn short(chance: f64) -> String {
    match chance * 100.0 {
        percent if percent > 0.0 && percent < 1.0 => "< 1 %".to_string(),
        percent if percent > 99.0 && percent < 100.0 => "> 99 %".to_string(),
        percent => format!("{percent:.0} %"),
    }
}

/// A chance with its interval and the runs behind it.
pub(super) fn in_words(holds: &Holds) -> String {
    let [low, high] = [holds.low, holds.high].map(|part| part * 100.0);
    format!(
        "Held in {} of {} runs; 95 % interval {low:.0} to {high:.0} %",
        short(holds.chance),
        holds.runs
    )
}

/// What is said of a spot: its chance, what holds least often, whether it is older than the layout.
fn told(card: &Scorecard, fresh: bool) -> String {
    let mut lines = vec![match &card.holds {
        Some(holds) => format!("All checks together. {}", in_words(holds)),
        None => "A check isn't known, so neither is whether all hold".to_string(),
    }];
    let mut checks: Vec<(f64, String)> = card
        .headlines
        .iter()
        .flat_map(|headline| &headline.checks)
        .filter_map(|check| Some((check.holds?.chance, figures::title(check))))
        .filter(|(chance, _)| *chance < 1.0)
        .collect();
    checks.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (chance, title) in checks.into_iter().take(WEAKEST) {
        lines.push(format!("{} of the time: {title}", short(chance)));
    }
    if !fresh {
        lines.push("Older: the layout or the spot has changed since".to_string());
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chance_is_never_told_as_certain_unless_it_is() {
        assert_eq!(short(0.0), "0 %");
        assert_eq!(short(0.004), "< 1 %");
        assert_eq!(short(0.874), "87 %");
        assert_eq!(short(0.9961), "> 99 %");
        assert_eq!(short(1.0), "100 %");
    }
}
