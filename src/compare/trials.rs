//! What the car said against what was predicted, and what that says about the tolerances.

use serde::Serialize;

use crate::checks::{Check, Scorecard, Verdict};
use crate::model::{Layout, Remark, Said, Trial};

/// The remark that the car's word makes beside what `card` predicts.
pub fn predicted(card: &Scorecard, said: Said, note: &str) -> Remark {
    let check = check_for(card, &said);
    Remark {
        predicted: check.and_then(|check| check.figure),
        tolerance: check.and_then(|check| check.figure.map(|_| check.tolerance)),
        verdict: check.map(|check| check.verdict.word().to_string()).unwrap_or_default(),
        said,
        note: note.to_string(),
    }
}

/// The check that predicts what the car said, if one does.
fn check_for<'a>(card: &'a Scorecard, said: &Said) -> Option<&'a Check> {
    let all = || card.headlines.iter().flat_map(|headline| &headline.checks);
    match said {
        Said::Proud { trim, .. } => card.check("lift", trim),
        Said::Gap { body, .. } => {
            card.check("clearance", body).or_else(|| card.check("travel", body))
        }
        Said::Touched { line } => card.check("line-gap", line),
        Said::Slack { line, .. } => card.check("slack", line),
        Said::LevelSeen(_) => all().find(|check| check.id == "sight"),
        // The load case that holds it least.
        Said::Rocked(_) => all().filter(|check| check.id == "load").min_by(|a, b| {
            let margin = |check: &Check| check.margin.unwrap_or(f64::NEG_INFINITY);
            margin(a).total_cmp(&margin(b))
        }),
        Said::Other(_) => None,
    }
}

impl Remark {
    /// What the car said as a figure, mm, where it is one.
    pub fn said_mm(&self) -> Option<f64> {
        match &self.said {
            Said::Proud { mm, .. } | Said::Gap { mm, .. } | Said::Slack { mm, .. } => Some(*mm),
            Said::Touched { .. } => Some(0.0),
            Said::Rocked(_) | Said::LevelSeen(_) | Said::Other(_) => None,
        }
    }

    /// How far off the prediction was, mm: what the car said less what was predicted. A trim that
    /// lay flat was predicted well by any figure at or below zero, and a line that touched by any
    /// at or below zero.
    pub fn off_mm(&self) -> Option<f64> {
        let (said, predicted) = (self.said_mm()?, self.predicted?);
        let floor =
            matches!(self.said, Said::Proud { .. } | Said::Gap { .. } | Said::Touched { .. });
        let predicted = if floor { predicted.max(0.0) } else { predicted };
        Some(said - predicted + 0.0)
    }

    /// Whether the car bore the prediction out: a figure within its tolerance; for a plain yes or no,
    /// the side of the limit. None when nothing was predicted.
    pub fn borne_out(&self) -> Option<bool> {
        let inside = [Verdict::Pass, Verdict::Tight].map(Verdict::word);
        match self.said {
            Said::LevelSeen(seen) if !self.verdict.is_empty() => {
                Some(seen == inside.contains(&self.verdict.as_str()))
            }
            Said::Rocked(rocked) if !self.verdict.is_empty() => {
                Some(rocked != inside.contains(&self.verdict.as_str()))
            }
            _ => Some(self.off_mm()?.abs() <= self.tolerance? + 1e-9),
        }
    }

    /// What was predicted, in words with its unit; empty when nothing was.
    pub fn predicted_words(&self) -> String {
        let verdict = &self.verdict;
        let (Some(figure), Some(tolerance)) = (self.predicted, self.tolerance) else {
            return verdict.clone();
        };
        match &self.said {
            Said::Proud { .. } if figure <= 0.0 => {
                format!("flat, {:.1} ± {tolerance:.1} mm behind ({verdict})", figure.abs())
            }
            Said::Rocked(_) => format!("held, {figure:.1} times what shakes it ({verdict})"),
            Said::LevelSeen(_) => format!("seen from {figure:.0} places ({verdict})"),
            _ => format!("{figure:.1} ± {tolerance:.1} mm ({verdict})"),
        }
    }

    /// What the car said, in words.
    pub fn words(&self) -> String {
        match &self.said {
            Said::Proud { trim, mm } if *mm <= 0.0 => format!("`{trim}` went back flat"),
            Said::Proud { trim, mm } => format!("`{trim}` stood proud by {mm} mm"),
            Said::Gap { body, mm } => format!("gap to `{body}`: {mm} mm"),
            Said::Touched { line } => format!("`{line}` touched"),
            Said::Slack { line, mm } => format!("`{line}`: {mm} mm to spare"),
            Said::Rocked(true) => "it rocked".to_string(),
            Said::Rocked(false) => "it did not rock".to_string(),
            Said::LevelSeen(true) => "the level line could be seen".to_string(),
            Said::LevelSeen(false) => "the level line could not be seen".to_string(),
            Said::Other(text) => text.clone(),
        }
    }
}

/// A tolerance that the trial says is too small.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Adjustment {
    /// The body whose own tolerance it is; none for the layout's tape tolerance.
    pub body: Option<String>,
    /// The tolerance now, ± mm.
    pub now_mm: f64,
    /// The tolerance that would have covered what the car said, ± mm.
    pub to_mm: f64,
    /// What it follows from.
    pub because: String,
}

/// The tolerances that would have covered what the car said, where a prediction was off by more than
/// its tolerance. Never smaller than now: one trial can show a tolerance too small, not too large.
///
/// A check's tolerance t is the root sum of squares of several (JCGM 100), one of them m. For it to
/// reach the difference d, m becomes √(m² + d² − t²), rounded up to 0.1 mm. A gap lays it at the body
/// that it is to; anything else at the tape. Of several remarks the largest counts.
pub fn adjustments(layout: &Layout, trial: &Trial) -> Vec<Adjustment> {
    let mut found: Vec<Adjustment> = Vec::new();
    for remark in &trial.remarks {
        let (Some(off), Some(tolerance)) = (remark.off_mm(), remark.tolerance) else { continue };
        if off.abs() <= tolerance + 1e-9 {
            continue;
        }
        let body = match &remark.said {
            Said::Gap { body, .. } => layout.bodies.iter().find(|known| known.name == *body),
            _ => None,
        };
        let now_mm = match body {
            Some(body) => crate::checks::body_tolerance_mm(&layout.limits, body),
            None => layout.limits.tape_mm,
        };
        let needed = (now_mm * now_mm + off * off - tolerance * tolerance).max(0.0).sqrt();
        let to_mm = ((needed * 10.0 - 1e-6).ceil() / 10.0).max(now_mm);
        let because = format!(
            "{}, predicted {:.1} ± {tolerance:.1} mm",
            remark.words(),
            remark.predicted.unwrap_or_default()
        );
        let body = body.map(|body| body.name.clone());
        match found.iter_mut().find(|known| known.body == body) {
            Some(known) if known.to_mm >= to_mm => {}
            Some(known) => *known = Adjustment { body, now_mm, to_mm, because },
            None => found.push(Adjustment { body, now_mm, to_mm, because }),
        }
    }
    found
}

/// The layout with these tolerances.
#[must_use]
pub fn adjusted(mut layout: Layout, adjustments: &[Adjustment]) -> Layout {
    for adjustment in adjustments {
        match &adjustment.body {
            None => layout.limits.tape_mm = adjustment.to_mm,
            Some(name) => {
                for body in layout.bodies.iter_mut().filter(|body| body.name == *name) {
                    body.tolerance_mm = Some(adjustment.to_mm);
                }
            }
        }
    }
    layout
}
