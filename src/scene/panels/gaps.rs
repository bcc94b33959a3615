//! The gaps that a pair of roles asks for instead of the usual one.

use bevy_egui::egui::{CollapsingHeader, ComboBox, Label, Ui};

use super::{Desk, fields};
use crate::model::{Layout, Posed, RequiredGap, Role};
use crate::scene::figures;

/// The pairs with their gaps, each to be changed or taken out, and a button for another one.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let now = desk.document.layout().required_gaps.clone();
    let title = format!("Required gaps ({})", now.len());
    CollapsingHeader::new(title).id_salt("required gaps").show(ui, |ui| {
        if now.is_empty() {
            fields::label(ui, desk, "None: every pair keeps the usual gap of the limits.");
        }
        let mut pairs = now.clone();
        let mut gone = None;
        for (index, pair) in pairs.iter_mut().enumerate() {
            ui.push_id(index, |ui| {
                if one(ui, desk, pair) {
                    gone = Some(index);
                }
            });
        }
        if let Some(index) = gone {
            pairs.remove(index);
        }
        let next = free_pair(desk.document.layout());
        if let Some((of, to)) = next
            && ui.small_button("Add a pair").on_hover_text("Choose the two roles then").clicked()
        {
            pairs.push(begun(desk.document.layout(), of, to));
        }
        if pairs != now {
            // Typing a number is one step of undo; another pair or one less is a step of its own.
            let gesture = if pairs.len() == now.len() {
                desk.step("required gap")
            } else {
                desk.document.gesture()
            };
            let words = match pairs.len().cmp(&now.len()) {
                std::cmp::Ordering::Greater => "add a gap",
                std::cmp::Ordering::Less => "take a gap out",
                std::cmp::Ordering::Equal => "required gap",
            };
            let put = |layout: &mut Layout| layout.required_gaps = pairs;
            if let Err(wrong) = desk.document.measure(words, gesture, put) {
                desk.view.warn(figures::reason(&wrong.join("; "), desk.view.inches));
            }
        }
    });
}

/// One pair: what is posed, what it keeps away from, how far. Says whether it is to be taken out.
fn one(ui: &mut Ui, desk: &mut Desk, pair: &mut RequiredGap) -> bool {
    let mut gone = false;
    let usual = desk.document.layout().limits.usual_gap_mm(pair.of, pair.to);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let wide = ((ui.available_width() - 62.0) / 2.0).max(50.0);
        ComboBox::from_id_salt("of")
            .width(wide)
            .truncate()
            .selected_text(figures::capital(pair.of.words()))
            .show_ui(ui, |ui| {
                for of in Posed::ALL {
                    ui.selectable_value(&mut pair.of, of, figures::capital(of.words()));
                }
            });
        fields::label(ui, desk, "to");
        ComboBox::from_id_salt("to").width(wide).truncate().selected_text(pair.to.words()).show_ui(
            ui,
            |ui| {
                for to in Role::ALL {
                    ui.selectable_value(&mut pair.to, to, to.words());
                }
            },
        );
        gone = ui.small_button("✖").on_hover_text("Take this pair out").clicked();
    });
    ui.horizontal(|ui| {
        fields::length_after(ui, desk, 50.0, "at least", &mut pair.gap_mm);
        if usual > 0.0 {
            let words = format!("usual {}", figures::bare(usual, "mm", desk.view.inches));
            ui.add(Label::new(fields::faint(desk, &words)).truncate())
                .on_hover_text("What the limits ask of this pair where it has no gap of its own");
        }
    });
    gone
}

/// The first pair that has no gap of its own: the pump first, then its parts, from what it is likeliest to
/// stand beside.
fn free_pair(layout: &Layout) -> Option<(Posed, Role)> {
    let stated = |of: Posed, to: Role| {
        layout.required_gaps.iter().any(|pair| pair.of == of && pair.to == to)
    };
    let first = [Role::Module, Role::Loom, Role::Terminal];
    let roles = || first.into_iter().chain(Role::ALL.into_iter().filter(|r| !first.contains(r)));
    Posed::ALL
        .into_iter()
        .flat_map(|of| roles().map(move |to| (of, to)))
        .find(|(of, to)| !stated(*of, *to))
}

/// A new pair, with the gap that held for it so far.
fn begun(layout: &Layout, of: Posed, to: Role) -> RequiredGap {
    RequiredGap { of, to, gap_mm: layout.required_gap_mm(of, to) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_can_be_added_and_none_changes_a_gap_by_being_added() {
        let mut layout = Layout::default();
        let all = Posed::ALL.len() * Role::ALL.len();
        for count in 0..all {
            let (of, to) = free_pair(&layout).expect("a pair is left");
            let before = layout.required_gap_mm(of, to);
            layout.required_gaps.push(begun(&layout, of, to));
            assert!((layout.required_gap_mm(of, to) - before).abs() < 1e-12, "{count}");
        }
        assert_eq!(free_pair(&layout), None);
        let problems: Vec<String> = layout
            .problems()
            .iter()
            .map(crate::model::Problem::place)
            .filter(|place| place.starts_with("required_gaps"))
            .collect();
        assert!(problems.is_empty(), "{problems:?}");
    }
}
