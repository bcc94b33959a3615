//! Lengths, angles and other quantities at the edges of the program.
//!
//! Inside, a scalar's name ends in its unit (`slack_mm`, `tilt_deg`); this module holds the few
//! constants and conversions that those names need.

/// Standard acceleration of free fall, m/s². Source: ISO 80000-3 (3rd CGPM, 1901), exact.
pub const STANDARD_GRAVITY_M_S2: f64 = 9.80665;

/// Millimetres in an inch. Source: international inch (1959), exact.
pub const MM_PER_INCH: f64 = 25.4;

/// Cubic millimetres in a millilitre, exact.
pub const MM3_PER_ML: f64 = 1000.0;

/// Cubic millimetres in a litre, exact.
pub const MM3_PER_LITRE: f64 = 1.0e6;

/// The angle, in degrees, of a gradient given in percent (rise over run).
///
/// ```
/// // 20 % is 11.31°, the steepest slope that a parked car is checked on.
/// assert!((dryberth::units::gradient_deg(20.0) - 11.3099).abs() < 1e-4);
/// ```
pub fn gradient_deg(percent: f64) -> f64 {
    (percent / 100.0).atan().to_degrees()
}

/// Hydrostatic pressure, in pascal, of `head_mm` of a fluid of `density_kg_l`.
///
/// ```
/// // 0.5 m of 850 kg/m³ is 0.0417 bar.
/// assert!((dryberth::units::head_pa(500.0, 0.85) - 4167.8).abs() < 0.1);
/// ```
pub fn head_pa(head_mm: f64, density_kg_l: f64) -> f64 {
    density_kg_l * 1000.0 * STANDARD_GRAVITY_M_S2 * head_mm / 1000.0
}

/// Root sum of squares of independent tolerances (JCGM 100, clause 5.1.2, unit sensitivities).
///
/// ```
/// // A supplier's micrometer budget: 0.33, 0.29 and 0.25 µm give 0.51 µm.
/// assert!((dryberth::units::root_sum_of_squares(&[0.33, 0.29, 0.25]) - 0.505).abs() < 1e-3);
/// ```
pub fn root_sum_of_squares(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// A figure rounded to whole units for words, never minus nothing.
///
/// ```
/// assert_eq!(format!("{:.0} ml", dryberth::units::whole(-0.3)), "0 ml");
/// ```
pub fn whole(figure: f64) -> f64 {
    figure.round() + 0.0
}
