//! A number that is typed or dragged: it takes a decimal comma and says what it could not take.

use std::cell::RefCell;
use std::ops::RangeInclusive;

use bevy_egui::egui::{DragValue, Response, Ui, Vec2};

use crate::scene::view::View;

/// A box with a number, and how it is written.
pub(crate) struct Number<'a> {
    /// What it is, for messages.
    pub(crate) name: &'a str,
    /// Its unit, for messages and, where there is a suffix, in the box.
    pub(crate) unit: &'a str,
    /// Whether the unit stands in the box.
    pub(crate) with_unit: bool,
    /// What it may be.
    pub(crate) range: RangeInclusive<f64>,
    /// Decimals shown; smaller differences don't count.
    pub(crate) decimals: usize,
    /// How much a point of dragging changes it.
    pub(crate) speed: f64,
    /// Smallest size of the box, points.
    pub(crate) size: Vec2,
}

impl Number<'_> {
    /// Shows the box. Gives the new value when there is one; what can't be read or lies outside the
    /// range is said in the line along the bottom.
    pub(crate) fn show(&self, ui: &mut Ui, view: &mut View, value: f64) -> (Response, Option<f64>) {
        self.shown(ui, view, value, false)
    }

    /// The same, but what is typed outside the range changes nothing.
    pub(crate) fn refusing(
        &self,
        ui: &mut Ui,
        view: &mut View,
        value: f64,
    ) -> (Response, Option<f64>) {
        self.shown(ui, view, value, true)
    }

    fn shown(
        &self,
        ui: &mut Ui,
        view: &mut View,
        value: f64,
        refuses: bool,
    ) -> (Response, Option<f64>) {
        let typed: RefCell<Option<(String, Option<f64>)>> = RefCell::new(None);
        let mut now = value;
        let parse = |words: &str| {
            let found = read(words);
            *typed.borrow_mut() = Some((words.trim().to_string(), found));
            found.filter(|found| !refuses || self.range.contains(found))
        };
        let mut number = DragValue::new(&mut now)
            .speed(self.speed)
            .range(self.range.clone())
            // What is outside already is not this box's to change.
            .clamp_existing_to_range(!refuses)
            .fixed_decimals(self.decimals)
            .custom_formatter(|value, _| written(value, self.decimals))
            .update_while_editing(false)
            .custom_parser(parse);
        if self.with_unit {
            number = number.suffix(self.suffix());
        }
        let response = ui.add_sized(self.size, number);
        if let Some((words, found)) = typed.into_inner() {
            self.complain(view, value, &words, found, refuses);
        }
        let scale = 10_f64.powi(i32::try_from(self.decimals).unwrap_or(0));
        let other = ((now - value) * scale).abs() > 0.5;
        (response, other.then_some(now))
    }

    fn suffix(&self) -> String {
        if self.unit == "°" { self.unit.to_string() } else { format!(" {}", self.unit) }
    }

    fn complain(
        &self,
        view: &mut View,
        value: f64,
        words: &str,
        found: Option<f64>,
        refuses: bool,
    ) {
        let (name, suffix, decimals) = (self.name, self.suffix(), self.decimals);
        match found {
            None if words.is_empty() => {}
            None => view.warn(format!(
                "“{words}” is not a number; {name} stays {value:.decimals$}{suffix}"
            )),
            Some(found) if !self.range.contains(&found) => {
                let end = if found < *self.range.start() { "less" } else { "more" };
                let limit = found.clamp(*self.range.start(), *self.range.end());
                if refuses {
                    view.warn(format!(
                        "{name} can't be {end} than {limit}{suffix}; it stays {value:.decimals$}{suffix}"
                    ));
                    return;
                }
                view.warn(format!(
                    "{name} can't be {end} than {}{suffix}; set to that",
                    spaced(limit)
                ));
            }
            Some(_) => {}
        }
    }
}

/// A number as typed: with a decimal point or comma, spaces between thousands, its unit or not.
fn read(words: &str) -> Option<f64> {
    let bare: String = words
        .trim()
        .trim_end_matches("mm")
        .trim_end_matches("in")
        .trim_end_matches('°')
        .chars()
        .filter(|letter| !letter.is_whitespace())
        .map(|letter| match letter {
            '−' | '–' => '-',
            ',' => '.',
            other => other,
        })
        .collect();
    bare.parse().ok().filter(|number: &f64| number.is_finite())
}

/// A number as its box shows it, and never "-0".
fn written(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let nothing = text.chars().all(|letter| "-0.".contains(letter));
    if nothing { text.trim_start_matches('-').to_string() } else { text }
}

/// A number without decimals, its thousands set apart.
fn spaced(number: f64) -> String {
    let digits = format!("{:.0}", number.abs());
    let mut words = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            words.push(' ');
        }
        words.push(digit);
    }
    if number < 0.0 { format!("−{words}") } else { words }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(words: &str, to: f64) -> bool {
        read(words).is_some_and(|found| (found - to).abs() < 1e-9)
    }

    #[test]
    fn numbers_are_read_as_people_write_them() {
        assert!(close("200,5", 200.5));
        assert!(close(" -1 200.25 mm", -1200.25));
        assert!(close("−15°", -15.0));
        assert!(close("0,5 in", 0.5));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for words in ["", "abc", "1.234,5", "nan", "inf", "12x", "1e999"] {
            assert_eq!(read(words), None, "{words}");
        }
        assert_eq!(spaced(-20_000.0), "−20 000");
        assert_eq!(spaced(200.0), "200");
    }

    #[test]
    fn nothing_is_never_less_than_nothing() {
        assert_eq!(written(-0.04, 1), "0.0");
        assert_eq!(written(-0.0, 0), "0");
        assert_eq!(written(-0.06, 1), "-0.1");
    }
}
