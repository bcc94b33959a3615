//! The workshop's own settings, for the head of its documents.

use serde::{Deserialize, Serialize};

use super::problem::{Inspector, Problem};

/// The workshop, as its documents name it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Workshop {
    /// File schema.
    pub schema: u32,
    /// Its name.
    pub name: String,
    /// Address, telephone and the like, a line each.
    #[serde(default)]
    pub lines: Vec<String>,
    /// Path of its logo, a PNG file beside the settings file.
    #[serde(default)]
    pub logo: Option<String>,
    /// The colour of headings and rules, red, green and blue from 0 to 255; our own when left out.
    #[serde(default)]
    pub colour: Option<(u8, u8, u8)>,
    /// A closing word, such as what the workshop answers for and how long.
    #[serde(default)]
    pub closing: String,
}

impl Workshop {
    /// Everything in it that can't be used, in order; empty when it is sound.
    pub fn problems(&self) -> Vec<Problem> {
        let mut to = Inspector::default();
        to.name(&self.name);
        to.each("lines", &self.lines, |at, line| at.line(line));
        if self.lines.len() > 5 {
            to.field("lines", |at| {
                at.report(format!("{} lines", self.lines.len()), "at most 5 lines");
            });
        }
        if !self.closing.is_empty() {
            to.field("closing", |at| at.line(&self.closing));
        }
        to.finish()
    }
}
