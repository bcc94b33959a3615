//! What is wrong with a file: where, what was found, what was expected, what to do.

use std::fmt;

use super::ron_text::locate;
use crate::model::{Problem, Step};

/// One thing wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileProblem {
    /// Line and column, counted from 1, where there is one.
    pub position: Option<(usize, usize)>,
    /// The way to the value, such as `bodies[3].shape.radius_mm`; empty where there is none.
    pub place: String,
    /// What was found.
    pub found: String,
    /// What was expected, and so what to do.
    pub expected: String,
}

/// A file that can't be used, with everything found wrong in it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct FileError {
    /// The file as it was asked for.
    pub file: String,
    /// What is wrong; at least one entry.
    pub problems: Vec<FileProblem>,
}

/// Problems that one message lists before it only counts the rest.
pub(super) const LISTED: usize = 20;

impl FileError {
    pub(crate) fn one(
        file: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> FileError {
        let problem = FileProblem {
            position: None,
            place: String::new(),
            found: found.into(),
            expected: expected.into(),
        };
        FileError { file: file.into(), problems: vec![problem] }
    }

    /// The same error, laid at the value at `path` in `text`, where it has none yet.
    pub(crate) fn at(mut self, text: &str, path: &[Step]) -> FileError {
        for problem in self.problems.iter_mut().filter(|problem| problem.position.is_none()) {
            problem.position = locate(text, path);
            problem.place = place_text(path);
        }
        self
    }
}

impl fmt::Display for FileError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.problems.iter().take(LISTED).enumerate() {
            if index > 0 {
                writeln!(out)?;
            }
            write!(out, "{}", shown(&self.file))?;
            if let Some((line, column)) = problem.position {
                write!(out, ":{line}:{column}")?;
            }
            write!(out, ": ")?;
            if !problem.place.is_empty() {
                write!(out, "{}: ", shown(&problem.place))?;
            }
            write!(out, "found {}; expected {}", shown(&problem.found), shown(&problem.expected))?;
        }
        if self.problems.len() > LISTED {
            let more = self.problems.len() - LISTED;
            write!(out, "\n{}: and {more} more problems", shown(&self.file))?;
        }
        Ok(())
    }
}

/// The way to a value as text.
fn place_text(path: &[Step]) -> String {
    Problem { path: path.to_vec(), found: String::new(), expected: String::new() }.place()
}

/// Text from a file as it may go to a terminal: control characters are spelt out.
fn shown(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_control() {
            shown.extend(letter.escape_default());
        } else {
            shown.push(letter);
        }
    }
    shown
}
