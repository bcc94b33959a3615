//! RON text into a layout or a pump, with errors that name line and column.

use ron::error::{Error as Ron, SpannedError};
use serde::de::DeserializeOwned;

use super::error::{FileError, FileProblem, LISTED};
use super::ron_text::{find, line_column, locate, past_blank};
use crate::model::{Layout, Problem, Pump, SCHEMA, ScanPlan, Step, nearest_name};

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

/// Reads the plan for a scan from RON text; `file` is its name for messages.
///
/// # Errors
/// As for [`layout_from_text`].
pub fn scan_plan_from_text(file: &str, text: &str) -> Result<ScanPlan, FileError> {
    let plan: ScanPlan = parse(file, text)?;
    nothing_wrong(file, text, &plan.problems())?;
    Ok(plan)
}

/// The RON dialect of our files: `option: "x"` need not be written `Some("x")`, nor
/// `Cable(area_mm2: 4, …)` with double brackets.
pub(super) fn options() -> ron::Options {
    use ron::extensions::Extensions;
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
}

pub(super) fn parse<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, FileError> {
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
        .enumerate()
        .map(|(index, problem)| FileProblem {
            // The rest is only counted, and finding a place takes a walk through the text.
            position: if index < LISTED { locate(text, &problem.path) } else { None },
            place: problem.place(),
            found: problem.found.clone(),
            expected: problem.expected.clone(),
        })
        .collect();
    Err(FileError { file: file.to_string(), problems: listed })
}

fn explain(file: &str, text: &str, error: &SpannedError) -> FileError {
    let at = where_found(text, (error.span.start.line, error.span.start.col));
    let position = line_column(text, at);
    let token = token_at(text, at);
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
        // That is what a point or a direction calls itself.
        Ron::ExpectedDifferentLength { expected, found } if expected.contains("matrix") => (
            if *found < 3 { format!("{found} numbers") } else { "more than 3 numbers".to_string() },
            "3 numbers in brackets: (x, y, z)".to_string(),
        ),
        Ron::ExpectedDifferentLength { expected, found } => {
            (format!("{found} elements"), expected.clone())
        }
        Ron::ExceededRecursionLimit => {
            ("brackets nested too deep".to_string(), "a layout or pump file".to_string())
        }
        Ron::Eof => ("the end of the file".to_string(), "the rest of it; was it cut short?".into()),
        Ron::IntegerOutOfBounds => {
            (token, "a whole number within the range of its field, not negative".to_string())
        }
        // The whole part of a fraction was read, and then something else than its dot expected.
        Ron::ExpectedComma if token.contains('.') => (token, "a whole number".to_string()),
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

/// The byte that the reader stumbled over: it tells a place before the blank in front of it, or
/// inside a number.
fn where_found(text: &str, (line, column): (usize, usize)) -> usize {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = &text[start..];
    let within = rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(at, _)| at);
    let at = past_blank(text, start + within);
    let number = |byte: &u8| byte.is_ascii_digit() || b".+-".contains(byte);
    if text.as_bytes().get(at).is_none_or(|byte| !number(byte)) {
        return at;
    }
    at - text.as_bytes()[..at].iter().rev().take_while(|byte| number(byte)).count()
}

/// What stands at a byte of the text, as far as it goes without a break, for a message.
fn token_at(text: &str, at: usize) -> String {
    let rest: String =
        text[at..].chars().take_while(|letter| !"\r\n".contains(*letter)).take(41).collect();
    let quoted = rest.starts_with('"');
    let end = rest
        .char_indices()
        .skip(1)
        .find(|(_, letter)| letter.is_whitespace() || ",:()[]{}\"".contains(*letter))
        .map_or(rest.len(), |(at, letter)| at + usize::from(quoted && letter == '"'));
    match &rest[..end] {
        "" => "the end of the file".to_string(),
        token => format!("`{}`", token.trim_end()),
    }
}
