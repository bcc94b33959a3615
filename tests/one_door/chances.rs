//! Chances over repeated measuring, where the chance itself is a closed form.

use std::sync::atomic::{AtomicU32, Ordering};

use dryberth::checks::{Boot, Holds, Meshes, tolerance_runs, tolerance_runs_watched};
use dryberth::model::Limits;

use super::{PUMP, check, ready};

fn chance(figure_mm: f64, limits: &str, runs: u32) -> Holds {
    let case = format!(
        r#"(name: "case", role: Module, shape: Box(from: ({}, -50, 300), to: (90, 50, 400))),"#,
        50.0 + figure_mm
    );
    let (boot, spot) = ready(&case, limits, "at: (0, 0, 300)", "", &Meshes::new());
    let card = tolerance_runs(&boot, &spot, runs, 7);
    check(&card, "clearance", "case").holds.unwrap()
}

#[test]
fn the_chance_of_a_gap_follows_the_normal_distribution() {
    // Half of 3 mm for the body and half of 1 mm for the pump: σ = √2.5 mm. The limit is 5 mm.
    let sigma = Limits::default();
    let sigma = (sigma.tape_mm / 2.0).hypot(sigma.bench_mm / 2.0);
    assert!((sigma - 2.5_f64.sqrt()).abs() < 1e-12);
    // Φ(−1), Φ(0), Φ(1), Φ(2); four standard deviations of 400 runs.
    for (sigmas, expected) in [(-1.0, 0.158_655), (0.0, 0.5), (1.0, 0.841_345), (2.0, 0.977_25)] {
        let holds = chance(5.0 + sigmas * sigma, "", 400);
        let close = 4.0 * (expected * (1.0 - expected) / 400.0_f64).sqrt();
        assert!((holds.chance - expected).abs() < close, "{sigmas}: {holds:?}");
        assert!(holds.low < holds.chance && holds.chance < holds.high && holds.runs == 400);
    }
}

#[test]
fn exact_measures_leave_nothing_to_chance() {
    let exact = "limits: (tape_mm: 0, scan_mm: 0, bench_mm: 0),";
    for (figure_mm, expected) in [(5.5, 1.0), (4.5, 0.0)] {
        assert!((chance(figure_mm, exact, 8).chance - expected).abs() < 1e-12);
    }
}

#[test]
fn a_pump_on_its_shelf_stays_on_it_however_the_shelf_was_measured() {
    let shelf = r#"(name: "shelf", role: Bracket, shape: Box(from: (-80, -80, 290), to: (80, 80, 300))),
        (name: "case", role: Module, shape: Box(from: (70, -50, 320), to: (90, 50, 400))),"#;
    let (boot, spot) = ready(shelf, "", "at: (0, 0, 300)", "", &Meshes::new());
    // A cube of frame stands on its shelf and goes where the shelf goes; then the case, 20 mm away,
    // is all that is near.
    let feet = dryberth::format::pump_from_text("cube", &PUMP.replace("Block", "Frame")).unwrap();
    let standing = Boot::prepare(boot.layout().clone(), feet, &Meshes::new(), &[]).unwrap();
    let card = tolerance_runs(&standing, &spot, 40, 1);
    let sure = |subject: &str| check(&card, "clearance", subject).holds.unwrap().chance;
    assert!((sure("case") - 1.0).abs() < 1e-12);
    assert!(card.check("clearance", "shelf").is_none());
    // The block of the plain cube must keep 5 mm from it instead, and doesn't.
    let card = tolerance_runs(&boot, &spot, 40, 1);
    assert!(check(&card, "clearance", "shelf").holds.unwrap().chance < 0.1);
}

#[test]
fn watched_runs_give_the_same_chances_or_none_when_they_are_given_up() {
    let (boot, spot) = ready("", "", "at: (0, 0, 300)", "", &Meshes::new());
    let most = AtomicU32::new(0);
    let watch = |done: u32| {
        most.fetch_max(done, Ordering::Relaxed);
        true
    };
    let card = tolerance_runs_watched(&boot, &spot, 12, 7, &watch).unwrap();
    assert_eq!(card, tolerance_runs(&boot, &spot, 12, 7));
    assert!(most.into_inner() >= 8, "it is told how far the runs are");
    assert!(tolerance_runs_watched(&boot, &spot, 12, 7, &|done| done < 3).is_none());
    assert!(tolerance_runs_watched(&boot, &spot, 12, 7, &|_| false).is_none());
}

#[test]
fn what_is_not_known_has_no_chance() {
    let (boot, spot) = ready("", "", "at: (0, 0, 300)", "", &Meshes::new());
    let card = tolerance_runs(&boot, &spot, 3, 1);
    assert!(check(&card, "seen", "pump").holds.is_none());
    assert!(card.holds.is_none());
    assert!(check(&card, "tilt", "pump").holds.is_some());
}

#[test]
fn intervals_are_wilsons() {
    // Closed forms: none of n, z²/(n + z²); all of n, n/(n + z²); z = 1.959964.
    let z2 = 3.841_459;
    let none = Holds::of(0, 100).unwrap();
    assert!(none.low.abs() < 1e-12 && (none.high - z2 / (100.0 + z2)).abs() < 1e-6);
    let all = Holds::of(100, 100).unwrap();
    assert!((all.low - 100.0 / (100.0 + z2)).abs() < 1e-6 && (all.high - 1.0).abs() < 1e-12);
    assert!(Holds::of(0, 0).is_none() && Holds::of(2, 1).is_none());
}
