//! RON text into a layout or a pump, with errors that name line and column.

use ron::error::{Error as Ron, SpannedError};
use serde::de::DeserializeOwned;

use super::error::{FileError, FileProblem};
use super::ron_text::{find, line_column};
use crate::model::{Layout, Problem, Pump, SCHEMA, Step, nearest_name};

/// Reads a layout from RON text; `file` is its name for messages.
///
/// # Errors
/// When the text is not RON, doesn't have the layout's form, is of a newer schema, or holds values
/// that can't be used.
pub fn layout_from_text(file: &str, text: &str) -> Result<Layout, FileError> {
    let layout: Layout = parse(file, text)?;
    nothing_wrong(file, text, &layout.problems())?;
    Ok(layout)
}

/// Reads a pump from RON text; `file` is its name for messages.
///
/// # Errors
/// As for [`layout_from_text`].
pub fn pump_from_text(file: &str, text: &str) -> Result<Pump, FileError> {
    let pump: Pump = parse(file, text)?;
    nothing_wrong(file, text, &pump.problems())?;
    Ok(pump)
}

/// The RON dialect of our files: `option: "x"` need not be written `Some("x")`, nor
/// `Cable(area_mm2: 4, …)` with double brackets.
pub(super) fn options() -> ron::Options {
    use ron::extensions::Extensions;
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
}

fn parse<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, FileError> {
    known_schema(file, text)?;
    options().from_str(text).map_err(|error| explain(file, text, &error))
}

/// Refuses a newer schema before its unknown fields are reported as mistakes.
fn known_schema(file: &str, text: &str) -> Result<(), FileError> {
    let Some(range) = find(text, &[Step::Field("schema")]) else { return Ok(()) };
    let written = &text[range.clone()];
    let newer = written.parse::<u64>().is_ok_and(|schema| schema > u64::from(SCHEMA));
    let never = written.parse::<u64>().is_ok_and(|schema| schema == 0);
    if !newer && !never {
        return Ok(());
    }
    let advice = if newer {
        format!("schema {SCHEMA} or older; this file needs a newer version of the program")
    } else {
        format!("schema 1 to {SCHEMA}")
    };
    Err(FileError {
        file: file.to_string(),
        problems: vec![FileProblem {
            position: Some(line_column(text, range.start)),
            place: "schema".to_string(),
            found: format!("schema {written}"),
            expected: advice,
        }],
    })
}

/// An error listing `problems` with their lines and columns, if there are any.
pub(super) fn nothing_wrong(file: &str, text: &str, problems: &[Problem]) -> Result<(), FileError> {
    if problems.is_empty() {
        return Ok(());
    }
    let listed = problems
        .iter()
        .take(200)
        .map(|problem| FileProblem {
            position: locate(text, &problem.path),
            place: problem.place(),
            found: problem.found.clone(),
            expected: problem.expected.clone(),
        })
        .collect();
    Err(FileError { file: file.to_string(), problems: listed })
}

/// The nearest place on the way to a value that the text has: a field left out has none.
fn locate(text: &str, path: &[Step]) -> Option<(usize, usize)> {
    (1..=path.len())
        .rev()
        .find_map(|length| find(text, &path[..length]))
        .map(|range| line_column(text, range.start))
}

fn explain(file: &str, text: &str, error: &SpannedError) -> FileError {
    let position = (error.span.start.line, error.span.start.col);
    let token = token_at(text, position);
    let (found, expected) = match &error.code {
        Ron::NoSuchStructField { expected, found, outer } => (
            format!("the unknown field `{}`{}", short(found), of(outer.as_deref())),
            nearest(found, expected, "a field"),
        ),
        Ron::NoSuchEnumVariant { expected, found, outer } => (
            format!("the unknown kind `{}`{}", short(found), of(outer.as_deref())),
            nearest(found, expected, "one"),
        ),
        Ron::MissingStructField { field, outer } => (
            format!("no field `{field}`{}", of(outer.as_deref())),
            format!("`{field}: …` among its fields"),
        ),
        Ron::DuplicateStructField { field, outer } => (
            format!("the field `{field}`{} a second time", of(outer.as_deref())),
            "each field once".to_string(),
        ),
        Ron::InvalidValueForType { expected, found } => (found.clone(), expected.clone()),
        Ron::ExpectedDifferentLength { expected, found } => {
            (format!("{found} elements"), expected.clone())
        }
        Ron::ExceededRecursionLimit => {
            ("brackets nested too deep".to_string(), "a layout or pump file".to_string())
        }
        Ron::Eof => ("the end of the file".to_string(), "the rest of it; was it cut short?".into()),
        Ron::TrailingCharacters => (token, "nothing after the closing bracket".to_string()),
        other => {
            let said = other.to_string();
            let expected = match said.strip_prefix("Expected ") {
                Some(rest) => rest.trim_end_matches('.').to_string(),
                None => format!("RON text that can be read ({said})"),
            };
            (token, expected)
        }
    };
    let problem = FileProblem { position: Some(position), place: String::new(), found, expected };
    FileError { file: file.to_string(), problems: vec![problem] }
}

fn of(outer: Option<&str>) -> String {
    outer.map(|name| format!(" in `{name}`")).unwrap_or_default()
}

fn short(name: &str) -> String {
    name.chars().take(60).collect()
}

fn nearest(found: &str, expected: &[&str], what: &str) -> String {
    let list: Vec<String> = expected.iter().map(|name| format!("`{name}`")).collect();
    let list = list.join(", ");
    match nearest_name(found, expected.iter().copied()) {
        Some(near) => format!("{what} of {list}; did you mean `{near}`?"),
        None => format!("{what} of {list}"),
    }
}

/// What stands at a line and column, as far as it goes without a break, for a message.
fn token_at(text: &str, (line, column): (usize, usize)) -> String {
    let rest: String = text
        .lines()
        .nth(line.saturating_sub(1))
        .map(|line| line.chars().skip(column.saturating_sub(1)).take(41).collect())
        .unwrap_or_default();
    let end = rest
        .char_indices()
        .skip(1)
        .find(|(_, letter)| letter.is_whitespace() || ",:()[]{}\"".contains(*letter))
        .map_or(rest.len(), |(at, _)| at);
    let token = rest[..end].trim();
    if token.is_empty() { "the end of a line".to_string() } else { format!("`{token}`") }
}
