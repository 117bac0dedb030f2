//! How far a proof goes, and the random places and moments at which it is tried.
//!
//! Promises: the same seed throws the same again. A test that wants it says `mod dice;`.

#![allow(dead_code, reason = "each test uses what it needs")]
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

/// What the environment says, or else how far an ordinary run goes.
pub fn how_many(variable: &str, ordinary: u64) -> u64 {
    match std::env::var(variable) {
        Ok(text) => text
            .parse()
            .unwrap_or_else(|_| panic!("{variable} must be a whole number")),
        Err(_) => ordinary,
    }
}

/// Random numbers that come again for the same seed (xorshift64*, Vigna 2016).
pub struct Dice(u64);

impl Dice {
    /// The seed is SCRUPLE_SEED, and is printed, so that a failure can be played again.
    pub fn new() -> Self {
        let seed = how_many("SCRUPLE_SEED", 1);
        println!("SCRUPLE_SEED={seed}");
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) % bound
    }

    /// Changes one byte of a book's file, and says which and how. The first page, which holds the
    /// header and the plan, is a small part of a file: where `early`, it is one of that page.
    pub fn change(&mut self, file: &mut [u8], early: bool) -> String {
        let bound = if early { 4096 } else { file.len() as u64 };
        let place = usize::try_from(self.below(bound)).unwrap();
        let change = u8::try_from(1 + self.below(255)).unwrap();
        file[place] ^= change;
        format!("byte {place} xor {change}")
    }
}
