//! Random vibration of a car's body, and what it does to something sprung on it.

use std::f64::consts::PI;

/// Corners of the random vibration of a passenger car's body, Hz and (m/s²)²/Hz; straight between them
/// on double-logarithmic paper. Source: ISO 16750-3, test IV, from memory; the r.m.s. that its figures
/// give, 27.8 m/s², is the one that the standard states.
pub const BODY_PROFILE: [(f64, f64); 6] =
    [(10.0, 20.0), (55.0, 6.5), (180.0, 0.25), (300.0, 0.25), (360.0, 0.14), (1000.0, 0.14)];

/// The density of a profile at `hz`; beyond its ends that of the end, 0 without corners.
///
/// ```
/// use dryberth::checks::hold::{BODY_PROFILE, density_at};
/// assert!((density_at(&BODY_PROFILE, 10.0) - 20.0).abs() < 1e-12);
/// // Halfway between corners on the paper: the geometric mean of both.
/// let middle = density_at(&BODY_PROFILE, (55.0_f64 * 180.0).sqrt());
/// assert!((middle - (6.5_f64 * 0.25).sqrt()).abs() < 1e-9);
/// ```
pub fn density_at(profile: &[(f64, f64)], hz: f64) -> f64 {
    let (Some(first), Some(last)) = (profile.first(), profile.last()) else { return 0.0 };
    if hz <= first.0 {
        return first.1;
    }
    profile
        .windows(2)
        .find(|pair| hz <= pair[1].0)
        .map_or(last.1, |pair| pair[0].1 * (hz / pair[0].0).powf(steepness(pair)))
}

/// Area under a profile: the mean square of the acceleration. Closed form of each straight on
/// double-logarithmic paper.
///
/// ```
/// use dryberth::checks::hold::{BODY_PROFILE, mean_square};
/// assert!((mean_square(&BODY_PROFILE).sqrt() - 27.8).abs() < 0.05);
/// ```
pub fn mean_square(profile: &[(f64, f64)]) -> f64 {
    profile
        .windows(2)
        .map(|pair| {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            let n = steepness(pair);
            if (n + 1.0).abs() < 1e-9 {
                low * from * (to / from).ln()
            } else {
                (high * to - low * from) / (n + 1.0)
            }
        })
        .sum()
}

/// Slope of a straight of a profile in dB an octave: 10 · N · log₁₀ 2.
pub fn octave_db(from: (f64, f64), to: (f64, f64)) -> f64 {
    10.0 * steepness(&[from, to]) * 2.0_f64.log10()
}

/// N in density ∝ frequency^N.
fn steepness(pair: &[(f64, f64)]) -> f64 {
    (pair[1].1 / pair[0].1).ln() / (pair[1].0 / pair[0].0).ln()
}

/// R.m.s. acceleration of one sprung mass, in the root of the density's unit times Hz, by Miles'
/// equation √(π/2 · f · Q · W): natural frequency `hz`, amplification `resonance` at it, density there.
///
/// Range: density about flat for an octave either side. Source: Miles (1954), as NASA sheets give it.
///
/// ```
/// // 100 Hz, Q 10, 0.04 g²/Hz: 7.93 g.
/// assert!((dryberth::checks::hold::miles_rms(100.0, 10.0, 0.04) - 7.93).abs() < 5e-3);
/// ```
pub fn miles_rms(hz: f64, resonance: f64, density: f64) -> f64 {
    (PI / 2.0 * hz * resonance * density).sqrt()
}
