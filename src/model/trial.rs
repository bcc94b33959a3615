//! What the car said at a trial fit, beside what was predicted.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;

/// One thing that the car said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Said {
    /// A carpet or board went back and stood proud by so much; 0 when it lay flat.
    Proud {
        /// The trim's name.
        trim: String,
        /// How far, mm.
        mm: f64,
    },
    /// The gap to a body or mover, by feeler or steel rule.
    Gap {
        /// The body's or mover's name.
        body: String,
        /// The gap, mm; 0 when they touched.
        mm: f64,
    },
    /// A line touched what it should have cleared.
    Touched {
        /// The line's name.
        line: String,
    },
    /// Spare length of a line, pulled straight at its fitting.
    Slack {
        /// The line's name.
        line: String,
        /// The spare length, mm; negative when it was short.
        mm: f64,
    },
    /// Whether the unit rocked when shaken by hand.
    Rocked(bool),
    /// Whether the level line could be seen with the trim as it will be.
    LevelSeen(bool),
    /// Anything else, in words; nothing was predicted of it.
    Other(String),
}

/// One thing that the car said, and what had been predicted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    /// What the car said.
    pub said: Said,
    /// The figure predicted, mm where it is a length; none when nothing was.
    #[serde(default)]
    pub predicted: Option<f64>,
    /// How far off the prediction was said to be at most, ±.
    #[serde(default)]
    pub tolerance: Option<f64>,
    /// The verdict predicted, as a word.
    #[serde(default)]
    pub verdict: String,
    /// Anything worth knowing.
    #[serde(default)]
    pub note: String,
}

/// One trial fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// The spot that was tried.
    pub spot: String,
    /// When, in the workshop's words.
    #[serde(default)]
    pub when: String,
    /// By whom.
    #[serde(default)]
    pub by: String,
    /// The options of the car that it was tried on.
    #[serde(default)]
    pub options: Vec<String>,
    /// What the car said.
    pub remarks: Vec<Remark>,
}

impl Trial {
    /// Everything in it that can't be used, in order; empty when it is sound.
    pub fn problems(&self) -> Vec<super::Problem> {
        let mut to = Inspector::default();
        self.inspect(&mut to);
        to.finish()
    }

    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.field("spot", |at| at.line(&self.spot));
        if self.remarks.is_empty() {
            to.field("remarks", |at| {
                at.report("no remark", "at least one thing that the car said")
            });
        }
        to.each("remarks", &self.remarks, |at, remark| {
            at.field("said", |at| match &remark.said {
                Said::Proud { trim, mm } => {
                    at.field("trim", |at| at.line(trim));
                    at.range("mm", *mm, 0.0, 500.0, "mm");
                }
                Said::Gap { body, mm } => {
                    at.field("body", |at| at.line(body));
                    at.range("mm", *mm, 0.0, 5_000.0, "mm");
                }
                Said::Touched { line } => at.field("line", |at| at.line(line)),
                Said::Slack { line, mm } => {
                    at.field("line", |at| at.line(line));
                    at.range("mm", *mm, -5_000.0, 5_000.0, "mm");
                }
                Said::Other(text) => at.line(text),
                Said::Rocked(_) | Said::LevelSeen(_) => {}
            });
            for (name, value) in [("predicted", remark.predicted), ("tolerance", remark.tolerance)]
            {
                if let Some(value) = value {
                    at.range(name, value, -1e6, 1e6, "");
                }
            }
        });
    }
}
