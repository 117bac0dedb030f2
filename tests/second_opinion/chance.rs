//! Numbers at random from a seed, so that a case that fails can be made again.

/// The generator SplitMix64, from memory.
pub struct Chance(u64);

impl Chance {
    /// The numbers of one case; every case has its own.
    pub fn of_case(case: u64) -> Chance {
        Chance(case.wrapping_mul(0x2545_f491_4f6c_dd1d) ^ 0x5eed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `least` up to and including `most`.
    pub fn from(&mut self, least: i64, most: i64) -> i64 {
        assert!(least <= most);
        least + (self.next() % (most - least + 1).unsigned_abs()).cast_signed()
    }

    /// True once in so many times.
    pub fn once_in(&mut self, times: i64) -> bool {
        self.from(1, times) == 1
    }

    /// One of a list.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.from(0, of.len() as i64 - 1) as usize]
    }

    /// Between 0 and 1; only to make up cases with, never to judge them.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}
