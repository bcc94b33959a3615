//! Seeded damage to every format: bytes flipped, left out, put in, copied. Whatever comes of it, an
//! answer does.

use crate::files::{Bench, Faces};
use crate::support::damage::{Dice, damaged};

const ROUNDS: u64 = 150;

/// Letters that mean something where they land in a scan.
const TELLING: &[u8] = b"0123456789.-+eE/ \n\r\tvfnaif\x00\x7f\x80\xff";

#[test]
fn damaged_scans_never_panic_or_hang() {
    let bench = Bench::new();
    bench.write(
        "plan.ron",
        "(schema: 1, deviation_mm: 1, crop: (from: (0, 0, 0), to: (150, 9000, 9000)))",
    );
    let formats = Faces::cuboid([0.1; 3], [0.3; 3]).every_format();
    for (seed, (file, sound)) in formats.into_iter().enumerate() {
        let mut answered = 0;
        for round in 1..=ROUNDS {
            let mut dice = Dice::of(seed as u64 + 1, round);
            bench.write(file, damaged(&sound, TELLING, &mut dice));
            let run = bench.run(&[file, "-o", "body.glb", "--plan", "plan.ron", "--json"]);
            if run.status == Some(0) {
                answered += 1;
                assert!(run.out.starts_with('{'), "{file}, round {round}: {}", run.out);
                // The body that came of it can be read again.
                let bytes = std::fs::read(bench.path("body.glb")).expect("a body");
                dryberth::format::triangles_from_glb("body.glb", &bytes).expect("a sound body");
            } else {
                let what = run.refusal(&["found ", "expected "]);
                assert_eq!(what, "", "{file}, round {round}");
            }
        }
        eprintln!("{file}: {answered} of {ROUNDS} still answered");
        assert!(answered < ROUNDS, "the damage must show");
    }
}
