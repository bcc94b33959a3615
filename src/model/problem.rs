//! What is wrong with a value, and where in its file it stands.

use std::collections::BTreeSet;

use super::{Point, Vector};

/// One step of the way from the top of a file to a value in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// A named field.
    Field(&'static str),
    /// An element of a list, counted from 0.
    Index(usize),
}

/// A value that was read but can't be used: where, what was found, what was expected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The way to the value.
    pub path: Vec<Step>,
    /// The value as found, in words.
    pub found: String,
    /// What would have been accepted, and so what to do.
    pub expected: String,
}

impl Problem {
    /// The way to the value as text: `bodies[3].shape.radius_mm`.
    pub fn place(&self) -> String {
        let mut text = String::new();
        for step in &self.path {
            match step {
                Step::Field(name) if text.is_empty() => text.push_str(name),
                Step::Field(name) => {
                    text.push('.');
                    text.push_str(name);
                }
                Step::Index(index) => text.push_str(&format!("[{index}]")),
            }
        }
        text
    }
}

/// Coordinates beyond this are slips of the keyboard, not boots: 20 m, mm.
const FARTHEST_MM: f64 = 20_000.0;

/// Most entries in any one list of a file; a boot has hundreds of things, not thousands.
const LONGEST_LIST: usize = 5_000;

/// Problems that get a suggestion.
const SUGGESTED: usize = 20;

/// Collects [`Problem`]s while walking down a value.
#[derive(Debug, Default)]
pub(crate) struct Inspector {
    path: Vec<Step>,
    found: Vec<Problem>,
}

impl Inspector {
    pub(crate) fn finish(self) -> Vec<Problem> {
        self.found
    }

    pub(crate) fn field(&mut self, name: &'static str, inspect: impl FnOnce(&mut Self)) {
        self.path.push(Step::Field(name));
        inspect(self);
        self.path.pop();
    }

    pub(crate) fn each<T>(
        &mut self,
        name: &'static str,
        items: &[T],
        mut inspect: impl FnMut(&mut Self, &T),
    ) {
        self.field(name, |at| {
            if items.len() > LONGEST_LIST {
                at.report(
                    format!("a list of {} entries", items.len()),
                    format!("at most {LONGEST_LIST} entries"),
                );
                return;
            }
            for (index, item) in items.iter().enumerate() {
                at.path.push(Step::Index(index));
                inspect(at, item);
                at.path.pop();
            }
        });
    }

    pub(crate) fn report(&mut self, found: impl Into<String>, expected: impl Into<String>) {
        self.found.push(Problem {
            path: self.path.clone(),
            found: found.into(),
            expected: expected.into(),
        });
    }

    pub(crate) fn name(&mut self, name: &str) {
        self.field("name", |at| {
            if name.trim().is_empty() {
                at.report("an empty name", "a name that says what it is");
            } else if name.chars().count() > 120 {
                at.report(
                    format!("a name of {} characters", name.chars().count()),
                    "at most 120 characters",
                );
            } else if name.chars().any(char::is_control) {
                at.report("a name with control characters", "printable text on one line");
            }
        });
    }

    /// A line of a sheet: some text, and not a book.
    pub(crate) fn line(&mut self, text: &str) {
        let length = text.chars().count();
        if text.trim().is_empty() {
            self.report("an empty text", "a sentence");
        } else if length > super::handover::LONGEST_LINE {
            self.report(
                format!("a text of {length} characters"),
                format!("at most {} characters", super::handover::LONGEST_LINE),
            );
        } else if text.chars().any(|letter| letter.is_control() && !"\n\t".contains(letter)) {
            self.report("a text with control characters", "printable text");
        }
    }

    pub(crate) fn range(
        &mut self,
        name: &'static str,
        value: f64,
        low: f64,
        high: f64,
        unit: &str,
    ) {
        self.field(name, |at| {
            if !value.is_finite() || value < low || value > high {
                at.report(
                    format!("{value}"),
                    format!("a number from {low} to {high} {unit}").trim_end().to_string(),
                );
            }
        });
    }

    pub(crate) fn point(&mut self, name: &'static str, point: &Point) {
        self.field(name, |at| at.point_here(point));
    }

    pub(crate) fn point_here(&mut self, point: &Point) {
        if let Some(odd) =
            point.iter().find(|value| !value.is_finite() || value.abs() > FARTHEST_MM)
        {
            self.report(
                format!("a coordinate of {odd}"),
                format!("(x, y, z) in mm, each within {FARTHEST_MM} of the origin"),
            );
        }
    }

    pub(crate) fn direction(&mut self, name: &'static str, direction: &Vector) {
        self.field(name, |at| {
            let length = direction.norm();
            if !length.is_finite() || !(1e-3..=1e6).contains(&length) {
                at.report(
                    format!("({}, {}, {})", direction.x, direction.y, direction.z),
                    "a direction (x, y, z) that is not zero; its length doesn't matter",
                );
            }
        });
    }

    /// A reference by name: reports it, with the nearest known name, when nothing carries it.
    pub(crate) fn known(
        &mut self,
        name: &'static str,
        wanted: &str,
        kind: &str,
        names: &BTreeSet<&str>,
    ) {
        if names.contains(wanted) {
            return;
        }
        // Looking for the nearest name costs; after many mistakes nobody reads the suggestion.
        let few = self.found.len() < SUGGESTED;
        let nearest = few.then(|| nearest_name(wanted, names.iter().copied())).flatten();
        let expected = match nearest {
            Some(near) => format!("the name of {kind} of this file; did you mean `{near}`?"),
            None if names.is_empty() => format!("the name of {kind}, but none is listed"),
            None => format!("the name of {kind} of this file"),
        };
        self.field(name, |at| at.report(format!("`{wanted}`"), expected));
    }

    /// Reports each name that stands twice in a list.
    pub(crate) fn unique<'a>(&mut self, list: &'static str, names: impl Iterator<Item = &'a str>) {
        let mut seen = BTreeSet::new();
        for (index, name) in names.enumerate() {
            if !seen.insert(name) {
                self.path.extend([Step::Field(list), Step::Index(index), Step::Field("name")]);
                self.report(
                    format!("`{name}` a second time"),
                    "a name that no other entry of the list has",
                );
                self.path.truncate(self.path.len() - 3);
            }
        }
    }
}

/// The known name most like `wanted`, if any is like it at all.
pub(crate) fn nearest_name<'a>(
    wanted: &str,
    names: impl Iterator<Item = &'a str>,
) -> Option<&'a str> {
    let wanted: String = wanted.chars().take(120).collect::<String>().to_lowercase();
    names
        .map(|name| (strsim::jaro_winkler(&wanted, &name.to_lowercase()), name))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}
