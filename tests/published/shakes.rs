//! Random vibration and natural frequencies: published figures and closed forms.

use dryberth::checks::hold::{
    BODY_PROFILE, Shake, Spring, density_at, inertia_kg_mm2, mean_square, miles_rms, octave_db,
};
use dryberth::geometry::Solid;
use dryberth::model::{Point, Pose, Shape, Vector};
use nalgebra::Matrix3;

use crate::near;

#[test]
fn areas_under_profiles() {
    // ISO 16750-3 passenger-car body: breakpoints from memory; the r.m.s. of 27.8 m/s² that goes with
    // them, from memory too, agrees with the log-log area of 771.93 (CALC). ± 0.05 and ± 0.01.
    near(mean_square(&BODY_PROFILE), 771.93, 0.01);
    near(mean_square(&BODY_PROFILE).sqrt(), 27.8, 0.05);
    // Straight lines on plain paper give 33.9: the wrong way (CALC).
    let plain: f64 = BODY_PROFILE
        .windows(2)
        .map(|pair| (pair[1].0 - pair[0].0) * (pair[0].1 + pair[1].1) / 2.0)
        .sum();
    near(plain.sqrt(), 33.9, 0.05);
    // NAVMAT shape, g²/Hz: breakpoints from memory, 6.06 g from memory, 6.058 CALC.
    let navmat = [(20.0, 0.01), (80.0, 0.04), (350.0, 0.04), (2000.0, 0.007)];
    near(mean_square(&navmat).sqrt(), 6.058, 1e-3);
    // GEVS qualification, from memory: 14.1 g, 14.14 CALC; acceptance at half the density: 10.0, 9.995
    // CALC: √2 less, not 2.
    let gevs = [(20.0, 0.026), (50.0, 0.16), (800.0, 0.16), (2000.0, 0.026)];
    near(mean_square(&gevs).sqrt(), 14.14, 5e-3);
    let half = gevs.map(|(hz, density)| (hz, density / 2.0));
    near(mean_square(&half).sqrt(), 9.995, 5e-3);
    // Flat 0.2 g²/Hz, 20 to 2000 Hz: 396 g², 19.9 g, 3 sigma 59.7 g. READ (a course note), MATCH.
    let flat = [(20.0, 0.2), (2000.0, 0.2)];
    near(mean_square(&flat), 396.0, 1e-9);
    near(3.0 * mean_square(&flat).sqrt(), 59.7, 0.01);
    // A slope of exactly −1, where the closed form changes: W f ln(f2 / f1).
    near(mean_square(&[(10.0, 1.0), (100.0, 0.1)]), 10.0 * 10.0_f64.ln(), 1e-9);
    near(mean_square(&[]), 0.0, 1e-12);
}

#[test]
fn a_slope_in_decibels_keeps_its_logarithm() {
    // Trap T14: a course prints dB an octave = 10 N; it has lost log₁₀ 2. 20:0.01 to 80:0.04 has N = 1:
    // +3.01 dB an octave (CALC).
    near(octave_db((20.0, 0.01), (80.0, 0.04)), 3.0103, 1e-4);
}

#[test]
fn densities_between_corners_are_log_log() {
    near(density_at(&BODY_PROFILE, 55.0), 6.5, 1e-12);
    near(density_at(&BODY_PROFILE, 5.0), 20.0, 1e-12);
    near(density_at(&BODY_PROFILE, 2000.0), 0.14, 1e-12);
    // 6.5 (f / 55)^N, N = ln(0.25 / 6.5) / ln(180 / 55) = −2.748: at 100 Hz 1.257 (CALC).
    near(density_at(&BODY_PROFILE, 100.0), 1.257, 1e-3);
}

#[test]
fn miles_equation() {
    // √(π/2 · f · Q · W): READ in a NASA-style sheet. fn 100, Q 10, 0.04 g²/Hz: 7.93 g, 3 sigma 23.8;
    // fn 200, Q 20, 0.01: 7.93 (CALC).
    near(miles_rms(100.0, 10.0, 0.04), 7.93, 5e-3);
    near(3.0 * miles_rms(100.0, 10.0, 0.04), 23.8, 0.05);
    near(miles_rms(200.0, 20.0, 0.01), 7.93, 5e-3);
    // Trap T4: a tutorial's first form √(π/2 · f · S / ζ) is √2 · √2 too large; with Q = 1 / (2 ζ) the
    // right one is √(π f S / (4 ζ)).
    let damping = 0.05;
    let right = (std::f64::consts::PI * 100.0 * 0.04 / (4.0 * damping)).sqrt();
    near(miles_rms(100.0, 1.0 / (2.0 * damping), 0.04), right, 1e-9);
    let wrong = (std::f64::consts::FRAC_PI_2 * 100.0 * 0.04 / damping).sqrt();
    assert!((wrong / right - 2.0_f64.sqrt()).abs() < 1e-9);
}

fn spring(at: [f64; 3], n_mm: f64) -> Spring {
    Spring { at: Point::from(at), along: Vector::z(), along_n_mm: n_mm, across_n_mm: n_mm }
}

#[test]
fn frequencies_of_a_block_on_four_corners() {
    // Closed form, springs k every way at (± a, ± b, 0), centre of gravity among them: three
    // √(4 k / m), turning √(4 k b² / I) about x, √(4 k a² / I) about y, √(4 k (a² + b²) / I) about z.
    let (k, m, a, b) = (50.0_f64, 4.0_f64, 90.0_f64, 50.0_f64);
    let inertia = [9_000.0_f64, 21_000.0, 25_000.0];
    let springs: Vec<Spring> = [(a, b), (a, -b), (-a, b), (-a, -b)]
        .iter()
        .map(|(x, y)| spring([*x, *y, 0.0], k))
        .collect();
    let matrix = Matrix3::from_diagonal(&Vector::from(inertia));
    let shake = Shake::of(&springs, &Point::origin(), m, &matrix, 10.0).expect("sound");
    let hz = |stiff: f64, mass: f64| (1000.0 * stiff / mass).sqrt() / std::f64::consts::TAU;
    let mut expected = [
        hz(4.0 * k, m),
        hz(4.0 * k, m),
        hz(4.0 * k, m),
        hz(4.0 * k * b * b, inertia[0]),
        hz(4.0 * k * a * a, inertia[1]),
        hz(4.0 * k * (a * a + b * b), inertia[2]),
    ];
    expected.sort_by(f64::total_cmp);
    for (mode, expected) in shake.modes.iter().zip(expected) {
        near(mode.hz, expected, 1e-9 * expected);
    }
}

#[test]
fn a_pendulum_on_a_spring_couples_as_the_quadratic_says() {
    // Closed form: one spring k every way h below the centre of gravity: sideways shift and turn couple,
    // det[k − m w, k h; k h, k h² − I w] = 0: w = 0 and w = k (1 / m + h² / I).
    let (k, m, h, i) = (80.0_f64, 4.0_f64, 60.0_f64, 15_000.0_f64);
    let matrix = Matrix3::identity() * i;
    let shake = Shake::of(&[spring([0.0, 0.0, -h], k)], &Point::origin(), m, &matrix, 10.0);
    let shake = shake.expect("sound");
    let high = (1000.0 * k * (1.0 / m + h * h / i)).sqrt() / std::f64::consts::TAU;
    near(shake.modes[5].hz, high, 1e-9 * high);
    near(shake.modes[4].hz, high, 1e-9 * high);
    assert!(shake.modes[0].hz < 1e-3 && shake.modes[2].hz < 1e-3);
    assert!(!shake.held() && shake.motion_mm(&Point::origin(), &Vector::x()).is_none());
}

#[test]
fn one_mass_on_springs_moves_as_miles_says() {
    // 4 kg on 400 N/mm through its middle: 50.33 Hz; W there 20 (f/10)^N; r.m.s. acceleration by Miles
    // over (2πf)², times 3.
    let springs: Vec<Spring> =
        [[60.0, 0.0, 0.0], [-60.0, 0.0, 0.0], [0.0, 60.0, 0.0], [0.0, -60.0, 0.0]]
            .iter()
            .map(|at| spring(*at, 100.0))
            .collect();
    let matrix = Matrix3::identity() * 1000.0;
    let shake = Shake::of(&springs, &Point::origin(), 4.0, &matrix, 10.0).expect("sound");
    let hz = (400.0e3_f64 / 4.0).sqrt() / std::f64::consts::TAU;
    near(shake.lowest_hz(), hz, 1e-9);
    let rms = miles_rms(hz, 10.0, density_at(&BODY_PROFILE, hz));
    let expected = 3.0 * 1000.0 * rms / (std::f64::consts::TAU * hz).powi(2);
    near(shake.motion_mm(&Point::origin(), &Vector::x()).expect("held"), expected, 1e-9);
    near(shake.rms_m_s2().expect("held")[2], rms, 1e-9);
    // As tapped: everything by the same factor.
    near(shake.tapped(75.0).lowest_hz(), 75.0, 1e-9);
}

#[test]
fn inertia_of_textbook_bodies() {
    // I1: cube of 300 mm, 18 kg: 0.270 kg m², inside the band 0.3 ± 0.05 of UN R17 annex 9 (READ; mass
    // and size from memory). I3: cylinder, axis m r²/2, transverse m (3 r² + h²)/12 (textbook, from
    // memory). I4: two halves of a box make the whole.
    let solid = |shape: &Shape| Solid::of(shape, &Pose::identity(), |_| None).expect("sound");
    let cube = solid(&Shape::Box { from: Point::origin(), to: Point::new(300.0, 300.0, 300.0) });
    let found = inertia_kg_mm2(&[cube], 18.0).expect("a volume");
    near(found[(1, 1)], 0.270e6, 1e-3);
    let bar = solid(&Shape::Cylinder {
        from: Point::new(10.0, 0.0, 0.0),
        to: Point::new(130.0, 0.0, 0.0),
        radius_mm: 38.0,
    });
    let found = inertia_kg_mm2(&[bar], 2.0).expect("a volume");
    near(found[(0, 0)], 2.0 * 38.0 * 38.0 / 2.0, 2.0);
    near(found[(1, 1)], 2.0 * (3.0 * 38.0 * 38.0 + 120.0 * 120.0) / 12.0, 2.0);
    let half = |x: f64| {
        solid(&Shape::Box { from: Point::new(x, 0.0, 0.0), to: Point::new(x + 50.0, 80.0, 60.0) })
    };
    let found = inertia_kg_mm2(&[half(0.0), half(50.0)], 3.0).expect("a volume");
    near(found[(2, 2)], 3.0 * (100.0 * 100.0 + 80.0 * 80.0) / 12.0, 1e-6);
    assert!(inertia_kg_mm2(&[], 3.0).is_none());
}
