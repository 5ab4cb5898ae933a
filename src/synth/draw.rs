//! Draws from a small seeded generator, so that a recipe always gives the same bytes.
//!
//! The generator is SplitMix64: Steele, Lea, Flood (2014), "Fast splittable pseudorandom number
//! generators", OOPSLA, figure 17 [figure number and constants from memory]. One stream a
//! connection keeps every connection independent of how many others were drawn before it. Fit for
//! inventing data, not for cryptography.

/// One stream of draws.
#[derive(Clone, Debug)]
pub struct Draw {
    state: u64,
}

const GAMMA: u64 = 0x9e37_79b9_7f4a_7c15;

impl Draw {
    /// The stream with number `stream` of a seed.
    pub fn stream(seed: u64, stream: u64) -> Self {
        let mut draw = Self::seeded(seed);
        let mixed = draw.bits() ^ stream.wrapping_mul(GAMMA);
        Self::seeded(Self::seeded(mixed).bits())
    }

    /// The stream that begins at a state of the generator.
    pub fn seeded(state: u64) -> Self {
        Self { state }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(GAMMA);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform on [0, 1), 53 bits.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// Whole number in [low, high], both included; `low` where the range is empty.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        low + (self.unit() * (high - low + 1).max(1) as f64) as i64
    }

    /// Index below `n`; 0 where `n` is 0.
    pub fn index(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }

    /// Exponential waiting time with mean 1.
    pub fn wait(&mut self) -> f64 {
        -(1.0 - self.unit()).ln()
    }

    /// Index drawn with the weights given; the last one where rounding leaves a rest.
    pub fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.unit() * weights.iter().sum::<f64>();
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return index;
            }
        }
        weights.len().saturating_sub(1)
    }
}
