//! How much fluid the reservoir holds, and where its surface lies.

use crate::geometry::{Triangles, clip};
use crate::model::{Line, LineKind, Pump, Ram, Vector};

/// Growth of the fluid's volume, per kelvin. Source: 0.0007 /K for mineral oil (a fluid power textbook,
/// equation 2.81; an engineering handbook's table).
pub const EXPANSION_PER_K: f64 = 0.0007;

/// Fluid in the reservoir with the rams in and out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// With the rams in: up to the level line, pump upright, mm³.
    pub rams_in_mm3: f64,
    /// With the rams out: less by the volume of their rods, mm³; negative when the rods need more
    /// than there is.
    pub rams_out_mm3: f64,
    /// Fluid elsewhere with the rams in: in rams whose bore is known, and in hoses, mm³.
    pub elsewhere_mm3: f64,
}

impl Fill {
    /// The fill of a pump whose level was set at its line with the rams in. When a rod goes out its
    /// volume is drawn from the reservoir.
    pub fn of(pump: &Pump, reservoir: &Triangles, rams: &[Ram]) -> Fill {
        let line_mm = pump.reservoir.level_line.z;
        let rams_in_mm3 = clip::volume_below_mm3(reservoir, &Vector::z(), line_mm);
        let rods_mm3: f64 = rams.iter().map(rods_mm3).sum();
        let elsewhere_mm3 = rams.iter().filter_map(annuli_mm3).sum();
        Fill { rams_in_mm3, rams_out_mm3: rams_in_mm3 - rods_mm3, elsewhere_mm3 }
    }

    /// The same with the fluid in hoses.
    #[must_use]
    pub fn with_lines<'a>(mut self, lines: impl Iterator<Item = &'a Line>) -> Fill {
        self.elsewhere_mm3 += lines.map(inside_mm3).sum::<f64>();
        self
    }

    /// Fluid in the reservoir, mm³, `warmer_k` warmer than when the level was set. All the fluid grows,
    /// also what is in rams and hoses, and the reservoir takes it; what holds it doesn't grow.
    ///
    /// ```
    /// use dryberth::checks::feed::Fill;
    /// // 1.2 l of fluid from −10 to 50 °C: 50.4 ml more.
    /// let fill = Fill { rams_in_mm3: 1.2e6, rams_out_mm3: 1.2e6, elsewhere_mm3: 0.0 };
    /// let more = fill.tank_mm3(false, 30.0) - fill.tank_mm3(false, -30.0);
    /// assert!((more - 50_400.0).abs() < 1e-6);
    /// ```
    pub fn tank_mm3(&self, rams_out: bool, warmer_k: f64) -> f64 {
        let grown = EXPANSION_PER_K * warmer_k * (self.rams_in_mm3 + self.elsewhere_mm3);
        grown + if rams_out { self.rams_out_mm3 } else { self.rams_in_mm3 }
    }

    /// The volume to set the level to, rams in, mm³, for which the reservoir holds `tank_mm3` in a case.
    /// The inverse of [`tank_mm3`](Self::tank_mm3) over the fill.
    pub(super) fn fill_for_mm3(&self, tank_mm3: f64, rams_out: bool, warmer_k: f64) -> f64 {
        let grown = EXPANSION_PER_K * warmer_k;
        let rods_mm3 = if rams_out { self.rams_in_mm3 - self.rams_out_mm3 } else { 0.0 };
        (tank_mm3 + rods_mm3 - grown * self.elsewhere_mm3) / (1.0 + grown)
    }
}

/// Volume of all rods of a kind of ram, mm³.
///
/// Source: π d² / 4 × stroke; a 10 mm rod of 100 mm stroke is 7.85 ml.
pub(crate) fn rods_mm3(ram: &Ram) -> f64 {
    round_mm2(ram.rod_mm) * ram.stroke_mm * f64::from(ram.count)
}

/// Fluid round the rods of a kind of ram when they are in, mm³; none when the bore isn't known.
///
/// Source: π (D² − d²) / 4 × stroke; what the rod leaves of the bore.
pub(crate) fn annuli_mm3(ram: &Ram) -> Option<f64> {
    let bore_mm = ram.bore_mm?;
    Some((round_mm2(bore_mm) - round_mm2(ram.rod_mm)) * ram.stroke_mm * f64::from(ram.count))
}

/// What a hose holds over its whole length, mm³; nothing in a cable or cord.
pub(crate) fn inside_mm3(line: &Line) -> f64 {
    match line.kind {
        LineKind::Hose => round_mm2(line.bore_mm()) * line.free_mm,
        LineKind::Cable(_) | LineKind::Cord => 0.0,
    }
}

fn round_mm2(diameter_mm: f64) -> f64 {
    std::f64::consts::PI / 4.0 * diameter_mm.powi(2)
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

    /// The surface in a reservoir that is open at some points: what stands over the lowest of them runs
    /// out. [`over_mm3`](Self::over_mm3) is what was spilled.
    ///
    /// ```
    /// use dryberth::checks::feed::Surface;
    /// use dryberth::geometry::Triangles;
    /// use dryberth::model::{Point, Vector};
    /// // An open cube of 100 mm, full, that leans by 45°: half of it runs out.
    /// let cube = Triangles::cuboid(&Point::origin(), &Point::new(100.0, 100.0, 100.0));
    /// let rim = [Point::new(0.0, 0.0, 100.0), Point::new(100.0, 0.0, 100.0)];
    /// let up = Vector::new(1.0, 0.0, 1.0).normalize();
    /// let surface = Surface::open(&cube, &up, 1.0e6, rim.iter());
    /// assert!((surface.over_mm3 - 0.5e6).abs() < 1e-3);
    /// ```
    pub fn open<'a>(
        reservoir: &Triangles,
        up_pump: &Vector,
        volume_mm3: f64,
        openings: impl Iterator<Item = &'a crate::model::Point>,
    ) -> Surface {
        let brim_mm = openings.map(|point| up_pump.dot(&point.coords)).reduce(f64::min);
        let Some(brim_mm) = brim_mm else { return Surface::of(reservoir, up_pump, volume_mm3) };
        let kept = clip::volume_below_mm3(reservoir, up_pump, brim_mm);
        if volume_mm3 <= kept {
            return Surface::of(reservoir, up_pump, volume_mm3);
        }
        let (low, high) = clip::extent_mm(reservoir, up_pump).unwrap_or((brim_mm, brim_mm));
        Surface { height_mm: brim_mm.clamp(low, high), over_mm3: volume_mm3 - kept }
    }

    /// What to add to a sentence when the fluid doesn't suffice.
    pub(crate) fn remark(&self) -> String {
        let ml = self.over_mm3 / crate::units::MM3_PER_ML;
        if ml < -0.5 {
            format!("; the rams' rods take {:.0} ml more than the reservoir holds", -ml)
        } else {
            String::new()
        }
    }
}
