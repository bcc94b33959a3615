//! The gap that one pair of roles asks for, where it differs from the usual one.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Layout, Limits, Part, Role};

/// What is posed or led through the boot, as a role in a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Posed {
    /// Any solid of the pump.
    Pump,
    /// Its motor.
    Motor,
    /// Its reservoir.
    Tank,
    /// Its valve block.
    Block,
    /// Its bracket: feet, mounts, frame.
    Frame,
    /// Its plugs and connectors.
    Plug,
    /// A bolt, tie, strap or wedge that holds it.
    Fixing,
    /// A hose, a cable or the release cord.
    Line,
}

impl Posed {
    /// All of them.
    pub const ALL: [Posed; 8] = [
        Posed::Pump,
        Posed::Motor,
        Posed::Tank,
        Posed::Block,
        Posed::Frame,
        Posed::Plug,
        Posed::Fixing,
        Posed::Line,
    ];

    /// The role in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            Posed::Pump => "pump",
            Posed::Motor => "motor",
            Posed::Tank => "reservoir",
            Posed::Block => "valve block",
            Posed::Frame => "bracket",
            Posed::Plug => "plug",
            Posed::Fixing => "fixing",
            Posed::Line => "line",
        }
    }
}

impl From<Part> for Posed {
    fn from(part: Part) -> Posed {
        match part {
            Part::Motor => Posed::Motor,
            Part::Tank => Posed::Tank,
            Part::Block => Posed::Block,
            Part::Frame => Posed::Frame,
            Part::Plug => Posed::Plug,
        }
    }
}

/// A gap that the workshop asks for between two roles instead of the usual one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RequiredGap {
    /// What is posed.
    pub of: Posed,
    /// The bodies that it keeps away from.
    pub to: Role,
    /// How far, mm.
    pub gap_mm: f64,
}

impl RequiredGap {
    pub(crate) fn inspect(&self, limits: &Limits, to: &mut Inspector) {
        // Lines are led on a grid that keeps the usual gap everywhere.
        let least_mm = match self.of {
            Posed::Line if (0.0..=100.0).contains(&limits.gap_line_mm) => limits.gap_line_mm,
            _ => 0.0,
        };
        let unit =
            if least_mm > 0.0 { "mm; a line keeps at least limits.gap_line_mm" } else { "mm" };
        to.range("gap_mm", self.gap_mm, least_mm, 500.0, unit);
    }
}

impl Layout {
    /// The gap that what is posed keeps from a body of this role, mm, before sharp edges are looked at.
    ///
    /// It is the one stated for the pair; for a part of the pump that has none, the one stated for the
    /// whole pump; else the usual one of [`Limits`]. A fixing usually keeps a gap from terminals only,
    /// since it has to touch what it holds to: 0 means that it isn't asked.
    pub fn required_gap_mm(&self, of: Posed, to: Role) -> f64 {
        let stated = |of: Posed| {
            self.required_gaps.iter().find(|pair| pair.of == of && pair.to == to).map(|p| p.gap_mm)
        };
        let whole = || {
            let part = !matches!(of, Posed::Pump | Posed::Fixing | Posed::Line);
            part.then(|| stated(Posed::Pump)).flatten()
        };
        stated(of).or_else(whole).unwrap_or_else(|| self.limits.usual_gap_mm(of, to))
    }
}

impl Limits {
    /// The gap that a pair keeps where the layout states none for it, mm; 0 means that it isn't asked.
    pub fn usual_gap_mm(&self, of: Posed, to: Role) -> f64 {
        match (of, to) {
            (_, Role::Terminal) => self.gap_terminal_mm,
            (Posed::Fixing, _) => 0.0,
            (Posed::Line, _) => self.gap_line_mm,
            _ => self.gap_mm,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_stated_pair_counts_and_else_the_usual_gap() {
        let stated = |of, to, gap_mm| RequiredGap { of, to, gap_mm };
        let layout = Layout {
            required_gaps: vec![
                stated(Posed::Pump, Role::Module, 12.0),
                stated(Posed::Motor, Role::Module, 20.0),
                stated(Posed::Line, Role::Loom, 8.0),
            ],
            ..Layout::default()
        };
        let asked = |of, to| layout.required_gap_mm(of, to);
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found}");
        near(asked(Posed::Motor, Role::Module), 20.0);
        near(asked(Posed::Tank, Role::Module), 12.0);
        near(asked(Posed::Tank, Role::Panel), 5.0);
        near(asked(Posed::Plug, Role::Terminal), 25.0);
        near(asked(Posed::Line, Role::Loom), 8.0);
        near(asked(Posed::Line, Role::Panel), 3.0);
        near(asked(Posed::Fixing, Role::Module), 0.0);
        near(asked(Posed::Fixing, Role::Terminal), 25.0);
    }

    #[test]
    fn a_pair_stated_twice_or_out_of_range_is_a_problem() {
        let pair = |gap_mm| RequiredGap { of: Posed::Line, to: Role::Module, gap_mm };
        let layout = Layout { required_gaps: vec![pair(8.0), pair(2.0)], ..Layout::default() };
        let places: Vec<String> =
            layout.problems().iter().map(crate::model::Problem::place).collect();
        for place in ["required_gaps[1]", "required_gaps[1].gap_mm"] {
            assert!(places.iter().any(|found| found == place), "{place} in {places:?}");
        }
    }
}
