//! Repeatable pseudo-random numbers for instances.

/// A linear congruential generator (Knuth's MMIX constants, from memory); the same seed gives the same
/// instances.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut d = Self(seed ^ 0x9E37_79B9_7F4A_7C15);
        d.roll(2);
        d
    }

    /// A number below `n`.
    pub fn roll(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    /// A number from `low` to `high`.
    pub fn within(&mut self, low: i64, high: i64) -> i64 {
        low + i64::try_from(self.roll(u64::try_from(high - low + 1).unwrap())).unwrap()
    }
}
