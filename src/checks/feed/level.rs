//! How much fluid the reservoir holds, and where its surface lies.

use crate::geometry::{Triangles, clip};
use crate::model::{Pump, Ram, Vector};

/// Fluid in the reservoir with the rams in and out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// With the rams in: up to the level line, pump upright, mm³.
    pub rams_in_mm3: f64,
    /// With the rams out: less by the volume of their rods, mm³; negative when the rods need more
    /// than there is.
    pub rams_out_mm3: f64,
}

impl Fill {
    /// The fill of a pump whose level was set at its line with the rams in. When a rod goes out its
    /// volume is drawn from the reservoir.
    pub fn of(pump: &Pump, reservoir: &Triangles, rams: &[Ram]) -> Fill {
        let line_mm = pump.reservoir.level_line.z;
        let rams_in_mm3 = clip::volume_below_mm3(reservoir, &Vector::z(), line_mm);
        let rods_mm3: f64 = rams.iter().map(rods_mm3).sum();
        Fill { rams_in_mm3, rams_out_mm3: rams_in_mm3 - rods_mm3 }
    }
}

/// Volume of all rods of a kind of ram, mm³.
///
/// Source: π d² / 4 × stroke; a 10 mm rod of 100 mm stroke is 7.85 ml.
pub(crate) fn rods_mm3(ram: &Ram) -> f64 {
    std::f64::consts::PI / 4.0 * ram.rod_mm.powi(2) * ram.stroke_mm * f64::from(ram.count)
}

/// A free surface in the reservoir.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Height along the up direction, pump's frame, mm.
    pub height_mm: f64,
    /// Fluid that the tank can't hold, mm³; negative when fluid is missing.
    pub over_mm3: f64,
}

impl Surface {
    /// The surface of `volume_mm3` of fluid in a closed reservoir whose up is `up_pump`, unit
    /// length. More than fits stands at the top, less than nothing at the bottom.
    pub fn of(reservoir: &Triangles, up_pump: &Vector, volume_mm3: f64) -> Surface {
        let whole = reservoir.volume_mm3();
        let held = volume_mm3.clamp(0.0, whole);
        let height_mm = clip::height_of_volume_mm(reservoir, up_pump, held)
            .or_else(|| clip::extent_mm(reservoir, up_pump).map(|(low, _)| low))
            .unwrap_or(0.0);
        Surface { height_mm, over_mm3: volume_mm3 - held }
    }

    /// What to add to a sentence when the fluid doesn't fit or doesn't suffice.
    pub(crate) fn remark(&self) -> String {
        let ml = self.over_mm3 / crate::units::MM3_PER_ML;
        if ml < -0.5 {
            format!("; the rams' rods take {:.0} ml more than the reservoir holds", -ml)
        } else {
            String::new()
        }
    }
}
