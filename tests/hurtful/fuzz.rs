//! Seeded damage to layouts, pumps and meshes. Whatever comes of it, an answer does.

use crate::glb::Glb;
use crate::support::damage::{Dice, damaged};
use crate::workshop::{LAYOUT, PUMP, Workshop};

const ROUNDS: u64 = 300;

/// Letters that mean something where they land in RON.
const TELLING: &[u8] = b"0123456789.,-+eE()[]{}:\"'\\/*#rn \n_iN\x00\x1b\xff";

fn survives(file: &str, sound: &[u8], seed: u64) {
    let workshop = Workshop::new();
    let (mut answered, mut slowest) = (0, std::time::Duration::ZERO);
    for round in 1..=ROUNDS {
        let bytes = damaged(sound, TELLING, &mut Dice::of(seed, round));
        workshop.write(file, &bytes);
        let run = workshop.check();
        slowest = slowest.max(run.took);
        let what = if matches!(run.status, Some(0 | 1)) {
            answered += 1;
            run.answer()
        } else {
            run.refusal(&["found ", "expected "])
        };
        assert_eq!(what, "", "{file}, seed {seed}, round {round}");
    }
    eprintln!("{file}: {answered} of {ROUNDS} still answered, slowest {slowest:?}");
    assert!(answered < ROUNDS, "the damage must show");
}

#[test]
fn damaged_layouts_never_panic_or_hang() {
    survives("layout.ron", LAYOUT.as_bytes(), 1);
}

#[test]
fn damaged_pumps_never_panic_or_hang() {
    survives("pump.ron", PUMP.as_bytes(), 2);
}

#[test]
fn damaged_meshes_never_panic_or_hang() {
    survives("bump.glb", &Glb::sound().bytes(), 3);
}
