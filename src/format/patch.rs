//! Changing one value of a RON text and leaving the rest to the byte.

use super::ron_text::{count, fields_end, find};
use crate::model::Step;

/// The text with `written` as one more entry of the top-level list `list`, which is made if it isn't
/// there. None when the text doesn't go that way.
pub(super) fn with_entry(text: &str, list: &'static str, written: &str) -> Option<String> {
    let path = [Step::Field(list)];
    let (at, new) = match (find(text, &path), count(text, &path)) {
        (Some(range), Some(0)) => (range.start + 1, format!("\n        {written},\n    ")),
        (Some(_), Some(count)) => {
            let last = find(text, &[Step::Field(list), Step::Index(count - 1)])?;
            (last.end, format!(",\n        {written}"))
        }
        _ => {
            let end = fields_end(text)?;
            let comma = if end.comma { "" } else { "," };
            let (body, rest) = (&text[..end.last], &text[end.last..end.bracket]);
            let newline = if rest.trim_end_matches(' ').ends_with('\n') { "" } else { "\n" };
            let list = format!("{newline}    {list}: [\n        {written},\n    ],\n");
            return Some(format!("{body}{comma}{rest}{list}{}", &text[end.bracket..]));
        }
    };
    Some(format!("{}{new}{}", &text[..at], &text[at..]))
}

/// The text with the field `field` of the struct at `path` written anew, or added after its last field.
/// None when the text doesn't go that way.
pub(super) fn with_field(
    text: &str,
    path: &[Step],
    field: &'static str,
    written: &str,
) -> Option<String> {
    let whole: Vec<Step> = path.iter().cloned().chain([Step::Field(field)]).collect();
    if let Some(range) = find(text, &whole) {
        return Some(format!("{}{written}{}", &text[..range.start], &text[range.end..]));
    }
    let range = find(text, path)?;
    let inner = &text[range.clone()];
    let end = fields_end(inner)?;
    let first = inner[..end.last].trim_end().ends_with('(');
    let at = range.start + end.last;
    let comma = if first { "" } else { ", " };
    Some(format!("{}{comma}{field}: {written}{}", &text[..at], &text[at..]))
}

/// A RON value laid out for a list of the top level.
pub(super) fn laid_out<T: serde::Serialize>(value: &T) -> Option<String> {
    let pretty = ron::ser::PrettyConfig::default().indentor("    ").new_line("\n");
    let text = super::read::options().to_string_pretty(value, pretty).ok()?;
    Some(text.replace('\n', "\n        "))
}
