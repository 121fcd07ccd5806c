//! A reproducible stream of normal draws.

use rand_core::Rng;
use rand_pcg::Pcg64;
use statrs::distribution::{ContinuousCDF, Normal};

/// Standard normal draws that depend on nothing but the seed: PCG XSL RR 128/64 (O'Neill 2014), the upper 53
/// bits put in the middle of their cell, through the inverse of the normal distribution. The generator is
/// initialised here and not by a library's seeding, whose rule may change between versions.
#[derive(Debug, Clone)]
pub struct NormalDraws {
    generator: Pcg64,
    normal: Normal,
}

/// Stream number of the generator; any constant will do, it must stay the same.
const STREAM: u128 = 0x0a02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96;

impl NormalDraws {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        let high = mix(seed);
        let low = mix(high);
        let state = (u128::from(high) << 64) | u128::from(low);
        NormalDraws { generator: Pcg64::new(state, STREAM), normal: Normal::standard() }
    }

    /// The next uniform draw, above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        let bits = self.generator.next_u64() >> 11;
        (bits as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    /// The next normal draw.
    pub fn normal(&mut self) -> f64 {
        let uniform = self.uniform();
        self.normal.inverse_cdf(uniform)
    }
}

/// Spreads a seed over all bits (splitmix64, Steele and others 2014).
fn mix(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
