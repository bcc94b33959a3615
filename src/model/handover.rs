//! What a layout says for the sheets: the way in, tape edges, what can be moved, the release.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Axis, Place};

/// An edge or face that a tape can be laid against: a plane square to one axis of the car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TapeEdge {
    /// What it is, as in "from …": `the rear sill's inner edge`.
    pub name: String,
    /// The axis that is measured along.
    pub axis: Axis,
    /// Where it stands on that axis, mm.
    pub at_mm: f64,
}

/// A body that can be unbolted and fitted again elsewhere.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unbolt {
    /// The body's name.
    pub body: String,
    /// How it comes out: fasteners and plugs.
    pub how: String,
    /// How it is moved from where it was measured; left out when it goes outside the boot for good.
    #[serde(default)]
    pub refit: Option<Place>,
    /// Where that is, in words.
    pub refit_words: String,
}

/// What the sheets say that no check computes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Handover {
    /// The spot at which the factory put the pump; for the picture from before.
    pub before: Option<String>,
    /// What has to come out to get at the pump, in order.
    pub access: Vec<String>,
    /// How the roof is closed by hand with the emergency release, step by step, for the customer.
    pub release: Vec<String>,
    /// Edges that positions are measured from.
    pub tape_edges: Vec<TapeEdge>,
    /// What can be unbolted and fitted elsewhere.
    pub unbolt: Vec<Unbolt>,
}

/// Longest text of one line of a sheet, characters.
pub(super) const LONGEST_LINE: usize = 600;

impl Handover {
    pub(crate) fn inspect(
        &self,
        to: &mut Inspector,
        bodies: &BTreeSet<&str>,
        spots: &BTreeSet<&str>,
    ) {
        if let Some(before) = &self.before {
            to.known("before", before, "a spot", spots);
        }
        to.each("access", &self.access, |at, text| at.line(text));
        to.each("release", &self.release, |at, text| at.line(text));
        to.each("tape_edges", &self.tape_edges, |at, edge| {
            at.name(&edge.name);
            at.range("at_mm", edge.at_mm, -20_000.0, 20_000.0, "mm");
        });
        to.each("unbolt", &self.unbolt, |at, unbolt| {
            at.known("body", &unbolt.body, "a body", bodies);
            at.field("how", |at| at.line(&unbolt.how));
            at.field("refit_words", |at| at.line(&unbolt.refit_words));
            if let Some(refit) = &unbolt.refit {
                at.field("refit", |at| refit.inspect(at));
            }
        });
    }
}
