//! Working strength of cable ties.

/// Smallest loop strength, N, by width band, mm: a tie of width `low < w <= high`.
/// Source: QB/T 4494-2013 as a public page quotes it; lower than what tie makers state.
const TIE_BANDS: [(f64, f64); 12] = [
    (2.0, 50.0),
    (3.0, 80.0),
    (4.0, 130.0),
    (5.0, 180.0),
    (6.0, 220.0),
    (7.0, 360.0),
    (8.0, 450.0),
    (9.0, 530.0),
    (10.0, 800.0),
    (11.0, 890.0),
    (12.0, 950.0),
    (13.0, 1050.0),
];

/// Share of the loop strength that a tie is worked at. Source: IEC 62275 type 1 ties keep at least
/// half of their strength after ageing (as two public pages quote it).
const WORKING_SHARE: f64 = 0.5;

/// Smallest loop strength of a cable tie of `width_mm`, N; none for a width beyond 13 mm or not
/// above 0.
///
/// ```
/// assert_eq!(dryberth::checks::hold::tie_loop_n(4.8), Some(180.0));
/// assert_eq!(dryberth::checks::hold::tie_loop_n(20.0), None);
/// ```
pub fn tie_loop_n(width_mm: f64) -> Option<f64> {
    (width_mm > 0.0)
        .then(|| TIE_BANDS.iter().find(|(high, _)| width_mm <= *high))
        .flatten()
        .map(|(_, strength)| *strength)
}

/// Working strength of a cable tie of `width_mm`, N.
pub(super) fn tie_working_n(width_mm: f64) -> f64 {
    tie_loop_n(width_mm).map_or(0.0, |loop_n| loop_n * WORKING_SHARE)
}

/// Usual thickness of a cable tie's band, mm, by its width. Common practice, no source.
pub(super) fn tie_thick_mm(width_mm: f64) -> f64 {
    match width_mm {
        width if width <= 3.0 => 1.1,
        width if width <= 5.0 => 1.4,
        width if width <= 8.0 => 1.8,
        _ => 2.1,
    }
}
