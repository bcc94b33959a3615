//! What the reach headline found out beyond its verdicts.

use serde::Serialize;

use super::supply::Supply;
use crate::checks::Note;

/// One line's figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineDetails {
    /// The line's name.
    pub name: String,
    /// What it needs from exit to fitting, leads included, mm; none where no way was found.
    pub needed_mm: Option<f64>,
    /// What can be counted on: its free length, for a hose less what it shortens under pressure, mm.
    pub usable_mm: f64,
    /// Usable less needed, mm.
    pub slack_mm: Option<f64>,
    /// The same as a share of the free length, %.
    pub slack_pct: Option<f64>,
    /// The smallest radius that its middle bends at, mm; none where it is straight.
    pub smallest_radius_mm: Option<f64>,
    /// Where that is, at the longest such bend.
    pub smallest_radius_at: Option<[f64; 3]>,
    /// The smallest gap from its skin, mm; none where nothing is near.
    pub smallest_gap_mm: Option<f64>,
    /// To what.
    pub nearest: Option<String>,
    /// Whether that is a sharp edge which it touches or comes nearer to than it should.
    pub on_sharp_edge: bool,
    /// Angle of the first bend after the exit's straight lead, degrees.
    pub angle_at_exit_deg: f64,
    /// Angle of the last bend before the fitting's straight lead, degrees.
    pub angle_at_fitting_deg: f64,
    /// The longest run between exit, clips and fitting, mm.
    pub longest_span_mm: Option<f64>,
    /// For a cable: what it leaves at the pump.
    pub supply: Option<Supply>,
    /// The figures of [`supply`](Self::supply) in words.
    pub supply_words: Option<String>,
    /// What would change a failing answer, each tried by routing anew.
    pub advice: Vec<String>,
}

/// Something to cut or order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutItem {
    /// What.
    pub what: String,
    /// For which line.
    pub line: String,
    /// Length to cut, mm, allowances included; none for what is counted.
    pub cut_mm: Option<f64>,
    /// How many.
    pub count: u32,
    /// How the length comes about.
    pub because: String,
}

/// Details of the reach headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ReachDetails {
    /// Each line, in the layout's order.
    pub lines: Vec<LineDetails>,
    /// What to cut and order if the lines are renewed.
    pub cut_list: Vec<CutItem>,
}

impl ReachDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        let mut notes: Vec<Note> = self.lines.iter().map(LineDetails::note).collect();
        notes.extend(self.cut_list.iter().map(|item| Note {
            title: format!("To order for {}", item.line),
            text: match item.cut_mm {
                Some(cut_mm) => {
                    format!("{} × {}, {cut_mm:.0} mm: {}", item.count, item.what, item.because)
                }
                None => format!("{} × {}: {}", item.count, item.what, item.because),
            },
        }));
        notes
    }
}

impl LineDetails {
    fn note(&self) -> Note {
        let mut parts = Vec::new();
        match (self.needed_mm, self.slack_mm, self.slack_pct) {
            (Some(needed), Some(slack), Some(pct)) => parts.push(format!(
                "needs {needed:.0} mm of {:.0} mm usable: {slack:.0} mm ({pct:.1} %) slack",
                self.usable_mm
            )),
            _ => parts.push(format!("no way found; {:.0} mm usable", self.usable_mm)),
        }
        if let Some(radius) = self.smallest_radius_mm {
            parts.push(format!("bends at {radius:.0} mm"));
        }
        if let (Some(gap), Some(nearest)) = (self.smallest_gap_mm, &self.nearest) {
            let sharp = if self.on_sharp_edge { ", a sharp edge: sleeve it there" } else { "" };
            parts.push(format!("passes {nearest} at {gap:.1} mm{sharp}"));
        }
        parts.push(format!(
            "first bend {:.0}°, last bend {:.0}°",
            self.angle_at_exit_deg, self.angle_at_fitting_deg
        ));
        if let Some(span) = self.longest_span_mm {
            parts.push(format!("longest run between supports {span:.0} mm"));
        }
        parts.extend(self.supply_words.clone());
        parts.extend(self.advice.iter().cloned());
        Note { title: self.name.clone(), text: parts.join("; ") }
    }
}
