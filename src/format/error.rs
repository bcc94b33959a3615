//! What is wrong with a file: where, what was found, what was expected, what to do.

use std::fmt;

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
const LISTED: usize = 20;

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
}

impl fmt::Display for FileError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.problems.iter().take(LISTED).enumerate() {
            if index > 0 {
                writeln!(out)?;
            }
            write!(out, "{}", self.file)?;
            if let Some((line, column)) = problem.position {
                write!(out, ":{line}:{column}")?;
            }
            write!(out, ": ")?;
            if !problem.place.is_empty() {
                write!(out, "{}: ", problem.place)?;
            }
            write!(out, "found {}; expected {}", problem.found, problem.expected)?;
        }
        if self.problems.len() > LISTED {
            write!(out, "\n{}: and {} more problems", self.file, self.problems.len() - LISTED)?;
        }
        Ok(())
    }
}
