//! Numbers that look random and are the same for the same seed.

/// A generator of 64-bit numbers: SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014). Good enough to choose times and bays; never used for secrets.
pub(crate) struct Dice(u64);

impl Dice {
    /// A generator for one of several who play with one seed.
    pub(crate) fn of(seed: u64, player: u64) -> Self {
        let mut dice = Self(seed ^ player.wrapping_mul(0xA076_1D64_78BD_642F));
        dice.roll();
        dice
    }

    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A number below `end`, which is at least 1.
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.roll() % end
    }

    /// One of several.
    pub(crate) fn of_list<'l, T>(&mut self, list: &'l [T]) -> &'l T {
        let place = usize::try_from(self.below(list.len() as u64)).unwrap();
        &list[place]
    }

    /// Yes in `percent` of all cases.
    pub(crate) fn yes(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }
}
