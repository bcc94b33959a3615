//! What a scan's numbers stand for.

use serde::Serialize;

/// The unit of a scan's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches of 25.4 mm.
    Inch,
}

impl Unit {
    /// How many mm it is.
    pub fn mm(self) -> f64 {
        match self {
            Unit::Mm => 1.0,
            Unit::Cm => 10.0,
            Unit::M => 1000.0,
            Unit::Inch => 25.4,
        }
    }
}

/// Which of a scan's axes points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Up {
    /// As glTF has it and phones write it: X left, Y up, Z forward.
    #[default]
    Y,
    /// As the vehicle frame has it: x forward, y left, z up.
    Z,
}
