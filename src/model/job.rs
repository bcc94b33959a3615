//! One customer's car: what was found, read, done.

use serde::{Deserialize, Serialize};

use super::problem::{Inspector, Problem};

/// A figure read on the car or on the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What was read: `supply at the plug, pump running`.
    pub what: String,
    /// The figure with its unit, in words.
    pub figure: String,
    /// What it says.
    #[serde(default)]
    pub means: String,
}

/// One customer's car.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// File schema.
    pub schema: u32,
    /// The workshop's number for the job.
    #[serde(default)]
    pub number: String,
    /// The car, so that it can be told from others of its model.
    pub car: String,
    /// When it was handed over, in words.
    #[serde(default)]
    pub when: String,
    /// The options it has, by name or code; the layout's usual ones when left out.
    #[serde(default)]
    pub options: Option<Vec<String>>,
    /// What was wrong, for the customer.
    #[serde(default)]
    pub found: Vec<String>,
    /// What was read on the old pump and its supply.
    #[serde(default)]
    pub readings: Vec<Reading>,
    /// What was done.
    #[serde(default)]
    pub done: Vec<String>,
    /// What was left as the factory made it: not cut, not drilled.
    #[serde(default)]
    pub not_cut: Vec<String>,
    /// What was missing or broken when the car came.
    #[serde(default)]
    pub missing: Vec<String>,
    /// What the customer should do and leave.
    #[serde(default)]
    pub care: Vec<String>,
}

impl Job {
    /// Everything in it that can't be used, in order; empty when it is sound.
    pub fn problems(&self) -> Vec<Problem> {
        let mut to = Inspector::default();
        to.field("car", |at| at.line(&self.car));
        for (name, list) in [
            ("found", &self.found),
            ("done", &self.done),
            ("not_cut", &self.not_cut),
            ("missing", &self.missing),
            ("care", &self.care),
        ] {
            to.each(name, list, |at, line| at.line(line));
        }
        to.each("readings", &self.readings, |at, reading| {
            at.field("what", |at| at.line(&reading.what));
            at.field("figure", |at| at.line(&reading.figure));
        });
        to.finish()
    }
}
