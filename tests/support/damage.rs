//! Seeded damage to a file: bytes flipped, left out, put in, copied, cut off.

/// Marsaglia's xorshift64 with Vigna's multiplier: small, seeded, the same everywhere.
pub(crate) struct Dice(u64);

impl Dice {
    /// The dice of one round of a seed.
    pub(crate) fn of(seed: u64, round: u64) -> Dice {
        Dice(seed.wrapping_mul(1_000_003).wrapping_add(round) | 1)
    }

    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize % most
    }
}

/// A sound file with one to three places damaged; `telling` are letters that mean something in it.
pub(crate) fn damaged(sound: &[u8], telling: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = sound.to_vec();
    for _ in 0..=dice.below(3) {
        let at = dice.below(bytes.len());
        match dice.below(6) {
            0 => bytes[at] ^= 1 << dice.below(8),
            1 => bytes[at] = telling[dice.below(telling.len())],
            2 => bytes.insert(at, telling[dice.below(telling.len())]),
            3 if bytes.len() > 1 => drop(bytes.remove(at)),
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
