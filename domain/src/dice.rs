//! Pseudo-random numbers that are the same at each run.

/// The generator SplitMix64 (Steele, Lea and Flood 2014).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// A number below `end`; 0 if there is none.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        let end = end as u64;
        usize::try_from(self.next().checked_rem(end).unwrap_or(0)).unwrap_or(0)
    }

    /// A number that is exponentially distributed about a mean given in 1/256, rounded down.
    pub(crate) fn waiting(&mut self, mean: u64) -> u64 {
        // −log₂ of a number between 0 and 1, in 1/256: the whole part by counting zeros, the rest by linear
        // interpolation.
        let bits = self.next();
        let zeros = u64::from(bits.leading_zeros());
        let below = bits.checked_shl(bits.leading_zeros() + 1).unwrap_or(0) >> 56;
        let logarithm = (zeros + 1) * 256 - below;
        // ln 2 is 0.693, or 177 of 256.
        mean.saturating_mul(logarithm).saturating_mul(177) >> 24
    }

    /// One of these.
    pub(crate) fn one<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        of.get(self.below(of.len())).copied()
    }
}
