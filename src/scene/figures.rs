//! Figures as the window writes them: rounded, with their unit, in mm or inches.

use crate::checks::Check;
use crate::units::MM_PER_INCH;

/// A length, mm, as shown.
pub(crate) fn length(mm: f64, inches: bool) -> String {
    figure(mm, "mm", inches)
}

/// A figure of a check with its unit; lengths follow the choice of mm or inches.
pub(crate) fn figure(value: f64, unit_of_check: &str, inches: bool) -> String {
    let number = bare(value, unit_of_check, inches);
    match unit(unit_of_check, inches) {
        "" => number,
        unit => format!("{number} {unit}"),
    }
}

/// A figure of a check without its unit.
pub(crate) fn bare(value: f64, unit: &str, inches: bool) -> String {
    if unit == "mm" && inches {
        format!("{:.2}", tidy(value / MM_PER_INCH, 2)).replace('-', "−")
    } else {
        plain(value)
    }
}

/// A coordinate in a column without its unit: to 0.1 mm or 0.01 in, and never "-0".
pub(crate) fn coordinate(mm: f64, inches: bool) -> String {
    let (value, decimals) = if inches { (mm / MM_PER_INCH, 2) } else { (mm, 1) };
    format!("{:.decimals$}", tidy(value, decimals)).replace('-', "−")
}

/// A sentence with its lengths in the unit shown: in inches, every `12.3 mm` becomes inches. Words of the
/// file become those of the window.
pub(crate) fn reason(words: &str, inches: bool) -> String {
    let in_window = words.replace("(boot_space)", "(Measure in, Luggage space)");
    let words = in_window.as_str();
    if !inches {
        return words.to_string();
    }
    let mut out = String::with_capacity(words.len());
    let mut rest = words;
    while let Some(at) = rest.find("mm") {
        let (before, after) = (&rest[..at], &rest[at + 2..]);
        let number = before.trim_end_matches([' ', '\u{a0}']);
        let start = number
            .char_indices()
            .rev()
            .take_while(|(_, letter)| letter.is_ascii_digit() || ".-−+".contains(*letter))
            .last()
            .map(|(index, _)| index);
        // Not mm², mm³ or a word that begins so.
        let unit =
            !after.starts_with(|letter: char| letter.is_alphanumeric() || "²³".contains(letter));
        let value = start
            .map(|start| number[start..].replace('−', "-"))
            .and_then(|number| number.parse::<f64>().ok());
        match (start, value, unit) {
            (Some(start), Some(value), true) => {
                out.push_str(&number[..start]);
                out.push_str(&length(value, true));
            }
            _ => {
                out.push_str(before);
                out.push_str("mm");
            }
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

/// The unit that a check's figure is shown in.
pub(crate) fn unit(unit: &str, inches: bool) -> &str {
    if unit == "mm" && inches { "in" } else { unit }
}

/// A score, 0 to 100, or a dash when it is not known.
pub(crate) fn score(score: Option<f64>) -> String {
    score.map_or_else(|| "–".to_string(), |score| format!("{score:.0}"))
}

/// What a check asks, in words.
pub(crate) fn question(id: &str) -> String {
    let words = match id {
        "head" => "Fluid above inlet",
        "pickup" => "Pickup cover",
        "level-line" => "Level line reading",
        "line-gap" => "Room along the way",
        "spare" => "Spare length",
        "span" => "Run between clips",
        "release-pull" => "Pull of the release",
        "release-hand" => "Hand at the release",
        "slack" => "Length",
        "travel" => "Moving parts",
        "lift" => "Pushes trim",
        "sight" => "Level line in sight",
        "drips" => "Drips",
        "anchors" => "Anchors in reach",
        "fixings" => "Fixings usable",
        "fixing-length" => "Longest fixing",
        "load" => "Load carried",
        "freeboard" => "Above water",
        "volts" => "Volts lost",
        "space" => "Boot space lost",
        "blocks" => "Luggage blocks lost",
        "seen" => "Seen with the trim in",
        "service" => "Way to the filler",
        "tilt" => "Lean",
        "breather" => "Breather above fluid",
        "floor" => "Gaps in the floor",
        "drain" => "Drain off the floor",
        "tool" => "Room for a spanner",
        "drill" => "Behind what is drilled",
        "shake" => "Shaking",
        "clearance" => "Gap",
        other => return capital(&other.replace(['_', '-'], " ")),
    };
    words.to_string()
}

/// What a check is about, in words: `Length: left ram hose`.
pub(crate) fn title(check: &Check) -> String {
    let question = question(check.id);
    if check.subject.is_empty() { question } else { format!("{question}: {}", check.subject) }
}

/// The first letter as a capital.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// A number with as many decimals as it deserves, and never "-0".
fn plain(value: f64) -> String {
    let decimals = if value.abs() >= 100.0 {
        0
    } else if value.abs() >= 1.0 {
        1
    } else {
        2
    };
    let value = tidy(value, decimals);
    let text = format!("{value:.decimals$}");
    match text.split_once('.') {
        Some((whole, part)) if part.bytes().all(|digit| digit == b'0') => whole.to_string(),
        _ => text,
    }
    .replace('-', "−")
}

fn tidy(value: f64, decimals: usize) -> f64 {
    let scale = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
    (value * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_rounded_to_what_they_deserve() {
        assert_eq!(figure(12.0, "mm", false), "12 mm");
        assert_eq!(figure(-3.456, "mm", false), "−3.5 mm");
        assert_eq!(figure(1234.4, "N", false), "1234 N");
        assert_eq!(figure(0.034, "", false), "0.03");
        assert_eq!(figure(-0.001, "mm", false), "0 mm");
        assert_eq!(figure(25.4, "mm", true), "1.00 in");
        assert_eq!(score(None), "–");
    }

    #[test]
    fn reasons_follow_the_unit_shown() {
        let words = "25.4 mm too short: 508 mm needed, −12.7 mm left of 6 mm² (a comma, 50.8 mm)";
        let inches =
            "1.00 in too short: 20.00 in needed, −0.50 in left of 6 mm² (a comma, 2.00 in)";
        assert_eq!(reason(words, true), inches);
        assert_eq!(reason(words, false), words);
        assert_eq!(reason("mm", true), "mm");
    }
}
