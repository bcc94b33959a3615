//! What sheets are made of, whatever they are written as.

use crate::checks::Details;
use crate::documents::pdf::{ACCENT, Colour};
use crate::model::{Job, Workshop};

use super::section::Section;
use super::{Handed, Logo};

/// A picture with a line under it.
pub(crate) struct Shot {
    pub(crate) png: Vec<u8>,
    pub(crate) caption: String,
    /// Width over height.
    pub(crate) aspect: f64,
}

pub(crate) enum Block {
    Heading(String),
    Text(String),
    Bullets(Vec<String>),
    /// Numbered; with a box to tick when `true`.
    Steps(Vec<String>, bool),
    Table {
        shares: Vec<f64>,
        head: Vec<String>,
        rows: Vec<Vec<String>>,
    },
    Pictures(Vec<Shot>),
    /// Drawings side by side.
    Sections(Vec<Section>),
    Cautions {
        title: String,
        items: Vec<String>,
        closing: String,
    },
    /// What was checked, and what is to be written down.
    Sign(Vec<(String, String)>),
}

pub(crate) struct Sheet {
    pub(crate) title: String,
    pub(crate) subtitle: String,
    pub(crate) facts: Vec<(String, String)>,
    pub(crate) blocks: Vec<Block>,
    pub(crate) workshop: Option<Workshop>,
    pub(crate) logo: Option<Logo>,
    /// Sizes of running text, points, the best first: the first with which it keeps to its pages.
    pub(crate) sizes: Vec<f64>,
    /// The pages that it should take at most.
    pub(crate) most_pages: usize,
}

impl Sheet {
    pub(crate) fn colour(&self) -> Colour {
        self.workshop.as_ref().and_then(|workshop| workshop.colour).unwrap_or(ACCENT)
    }

    /// What stands at every page's foot.
    pub(crate) fn foot(&self) -> String {
        let who = self.workshop.as_ref().map_or("", |workshop| workshop.name.as_str());
        let dot = if who.is_empty() { "" } else { " · " };
        format!("{who}{dot}{}", self.title)
    }
}

/// The facts at a sheet's head.
pub(super) fn facts(handed: &Handed) -> Vec<(String, String)> {
    let boot = handed.boot;
    let job: Option<&Job> = handed.job;
    let mut facts = Vec::new();
    let mut add = |name: &str, value: &str| {
        if !value.is_empty() {
            facts.push((name.to_string(), value.to_string()));
        }
    };
    add("Car", job.map_or("", |job| job.car.as_str()));
    add("Model", &boot.layout().name);
    add("Pump", &boot.pump().name);
    let options = boot.fitted().join(", ");
    add("Options", if options.is_empty() { "none" } else { &options });
    add("Job", job.map_or("", |job| job.number.as_str()));
    add("Date", job.map_or("", |job| job.when.as_str()));
    facts
}

/// A table with these shares of the width and these heads.
pub(super) fn table(shares: &[f64], head: &[&str], rows: Vec<Vec<String>>) -> Block {
    let head = head.iter().map(|text| (*text).to_string()).collect();
    Block::Table { shares: shares.to_vec(), head, rows }
}

/// What a spot's checks found out beyond their verdicts.
pub(super) fn details<'a>(handed: &Handed<'a>) -> Option<&'a Details> {
    handed.card.details.as_ref()
}
