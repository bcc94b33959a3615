//! A spot as text, laid out as a person would, and changed in place field by field.

use super::ron_text::find;
use crate::model::{Fixing, FixingKind, Place, Spot, Step};

/// A new spot, indented for the list of spots.
pub(super) fn whole(spot: &Spot) -> String {
    let mut text =
        format!("(name: {},\n            place: {}", quoted(&spot.name), place(&spot.place));
    if !spot.fixings.is_empty() {
        text.push_str(&format!(",\n            fixings: {}", fixings(&spot.fixings)));
    }
    if spot.tap_hz.is_some() {
        text.push_str(&format!(",\n            tap_hz: {}", tap(spot.tap_hz)));
    }
    if !spot.note.is_empty() {
        text.push_str(&format!(",\n            note: {}", quoted(&spot.note)));
    }
    text.push(')');
    text
}

/// The layout's text with only those fields of spot `index` changed that differ; whatever else stands
/// in the spot, comments too, stays. None when the text doesn't go that way.
pub(super) fn changed(text: &str, index: usize, old: &Spot, new: &Spot) -> Option<String> {
    let fields = [
        ("name", old.name != new.name, quoted(&new.name)),
        ("place", old.place != new.place, place(&new.place)),
        ("fixings", old.fixings != new.fixings, fixings(&new.fixings)),
        ("note", old.note != new.note, quoted(&new.note)),
        ("tap_hz", old.tap_hz != new.tap_hz, tap(new.tap_hz)),
    ];
    let mut text = text.to_string();
    for (field, differs, written) in fields {
        if differs {
            text = with_field(&text, index, field, &written)?;
        }
    }
    Some(text)
}

/// The text with one field of spot `index` written anew, or added after the spot's place.
fn with_field(text: &str, index: usize, field: &'static str, written: &str) -> Option<String> {
    let spot = [Step::Field("spots"), Step::Index(index)];
    let to = |field| [spot[0].clone(), spot[1].clone(), Step::Field(field)];
    if let Some(range) = find(text, &to(field)) {
        return Some(format!("{}{written}{}", &text[..range.start], &text[range.end..]));
    }
    let end = find(text, &to("place"))?.end;
    let added = format!(",\n            {field}: {written}");
    Some(format!("{}{added}{}", &text[..end], &text[end..]))
}

fn place(place: &Place) -> String {
    let at = &place.at;
    let (roll, pitch, yaw) = place.turn_deg;
    let at = format!("at: ({}, {}, {})", number(at.x), number(at.y), number(at.z));
    if (roll, pitch, yaw) == (0.0, 0.0, 0.0) {
        format!("({at})")
    } else {
        format!("({at}, turn_deg: ({}, {}, {}))", number(roll), number(pitch), number(yaw))
    }
}

/// Shortest text that reads back as the same number.
fn number(value: f64) -> String {
    format!("{}", value + 0.0)
}

fn tap(tap_hz: Option<f64>) -> String {
    tap_hz.map_or("None".to_string(), number)
}

fn fixings(fixings: &[Fixing]) -> String {
    let mut text = String::from("[");
    for fixing in fixings {
        let kind = match fixing.kind {
            FixingKind::Bolt { working_n } => format!("Bolt(working_n: {})", number(working_n)),
            FixingKind::Tie { width_mm } => format!("Tie(width_mm: {})", number(width_mm)),
            FixingKind::Strap { working_n } => format!("Strap(working_n: {})", number(working_n)),
            FixingKind::Clamp { working_n } => format!("Clamp(working_n: {})", number(working_n)),
            FixingKind::Wedge { working_n } => format!("Wedge(working_n: {})", number(working_n)),
        };
        text.push_str(&format!(
            "\n                (kind: {kind}, mount: {}, anchor: {}),",
            quoted(&fixing.mount),
            quoted(&fixing.anchor)
        ));
    }
    text.push_str(if fixings.is_empty() { "]" } else { "\n            ]" });
    text
}

/// A text in quotes, with what RON needs escaped.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            control if control.is_control() => {
                out.push_str(&format!("\\u{{{:x}}}", u32::from(control)));
            }
            other => out.push(other),
        }
    }
    out.push('"');
    out
}
