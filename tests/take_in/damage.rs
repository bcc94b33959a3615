//! Seeded damage to every format: bytes flipped, left out, put in, copied. Whatever comes of it, an
//! answer does.

use crate::files::{Bench, Faces};

const ROUNDS: u64 = 150;

/// Marsaglia's xorshift64 with Vigna's multiplier: small, seeded, the same everywhere.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize % most
    }
}

/// Letters that mean something where they land in a scan.
const TELLING: &[u8] = b"0123456789.-+eE/ \n\r\tvfnaif\x00\x7f\x80\xff";

fn damaged(sound: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = sound.to_vec();
    for _ in 0..=dice.below(3) {
        let at = dice.below(bytes.len());
        match dice.below(6) {
            0 => bytes[at] ^= 1 << dice.below(8),
            1 => bytes[at] = TELLING[dice.below(TELLING.len())],
            2 => bytes.insert(at, TELLING[dice.below(TELLING.len())]),
            3 => drop(bytes.remove(at)),
            4 => bytes.truncate(at.max(1)),
            _ => {
                let end = (at + dice.below(40)).min(bytes.len());
                let piece: Vec<u8> = bytes[at..end].to_vec();
                let to = dice.below(bytes.len());
                bytes.splice(to..to, piece);
            }
        }
    }
    bytes
}

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
            let mut dice = Dice((seed as u64 + 1).wrapping_mul(1_000_003).wrapping_add(round) | 1);
            bench.write(file, damaged(&sound, &mut dice));
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
