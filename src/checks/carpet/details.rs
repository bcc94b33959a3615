//! What the carpet headline found out beyond its verdicts.

use serde::Serialize;

use crate::checks::Note;
use crate::model::Point;

/// A trim surface that is pushed out of its place, and what would let it go back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrimLift {
    /// The trim's name.
    pub trim: String,
    /// What pushes it out most.
    pub what: String,
    /// How far, along its normal, mm.
    pub lift_mm: f64,
    /// How much of that it gives, mm; 0 for a board.
    pub give_mm: f64,
    /// Height to lose there before it goes back, mm; 0 when it gives.
    pub lose_mm: f64,
    /// The place of the peak.
    pub at: Point,
    /// Where it would have to be cut out instead: outlines in its faces, corners in order, without play
    /// round them; holes run the other way. Empty when it gives.
    pub outlines: Vec<Vec<Point>>,
}

impl TrimLift {
    /// The longest way across the outlines, mm.
    fn across_mm(&self) -> f64 {
        let all: Vec<&Point> = self.outlines.iter().flatten().collect();
        let ways = all.iter().flat_map(|a| all.iter().map(move |b| (**a - **b).norm()));
        ways.fold(0.0, f64::max)
    }
}

/// Details of the carpet headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CarpetDetails {
    /// Trims that are pushed out, in the layout's order.
    pub lifts: Vec<TrimLift>,
}

impl CarpetDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        let note = |lift: &TrimLift| {
            let at = format!("({:.0}, {:.0}, {:.0})", lift.at.x, lift.at.y, lift.at.z);
            let text = if lift.lose_mm > 0.0 {
                format!(
                    "{} stands {:.1} mm proud at {at}; it gives {:.1} mm. Lose {:.1} mm of height there, or \
                     cut it out: {} outline(s), {:.0} mm across, without play",
                    lift.what,
                    lift.lift_mm,
                    lift.give_mm,
                    lift.lose_mm,
                    lift.outlines.len(),
                    lift.across_mm()
                )
            } else {
                format!("{} stands {:.1} mm proud at {at}, which it gives", lift.what, lift.lift_mm)
            };
            Note { title: lift.trim.clone(), text }
        };
        self.lifts.iter().map(note).collect()
    }
}
