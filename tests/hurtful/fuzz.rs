//! Seeded damage: bytes flipped, left out and put in. Whatever comes of it, an answer does.

use crate::glb::Glb;
use crate::workshop::{LAYOUT, PUMP, Workshop};

const ROUNDS: u64 = 300;

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

/// Letters that mean something where they land in RON.
const TELLING: &[u8] = b"0123456789.,-+eE()[]{}:\"'\\/*#rn \n_iN\x00\x1b\xff";

fn damaged(sound: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = sound.to_vec();
    for _ in 0..=dice.below(3) {
        let at = dice.below(bytes.len());
        match dice.below(5) {
            0 => bytes[at] ^= 1 << dice.below(8),
            1 => bytes[at] = TELLING[dice.below(TELLING.len())],
            2 => bytes.insert(at, TELLING[dice.below(TELLING.len())]),
            3 => drop(bytes.remove(at)),
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

fn survives(file: &str, sound: &[u8], seed: u64) {
    let workshop = Workshop::new();
    let (mut answered, mut slowest) = (0, std::time::Duration::ZERO);
    for round in 1..=ROUNDS {
        let mut dice = Dice(seed.wrapping_mul(1_000_003).wrapping_add(round) | 1);
        let bytes = damaged(sound, &mut dice);
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
