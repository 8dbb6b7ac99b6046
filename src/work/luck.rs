//! Where luck comes from: a small generator for each (column, frame), and for each slice, packet or epoch within.
//!
//! No draw takes a number from another's generator, however many it needs itself. So a draw depends on seed, column and
//! place only, and two scenarios with one seed meet the same luck.

use rand::SeedableRng as _;
use rand::rngs::Xoshiro256PlusPlus;

/// What is drawn. The numbers are part of what a seed means: they stay, whatever is added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Column {
    Content = 1,
    Size = 2,
    Simulate = 3,
    SimulateStall = 4,
    Render = 5,
    RenderStall = 6,
    Encode = 7,
    EncodeStall = 8,
    Decode = 9,
    DecodeStall = 10,
    Uplink = 11,
    LinkDelay = 12,
    Interval = 13,
    ClockError = 14,
    BitShare = 15,
    Compose = 16,
    ComposeStall = 17,
    ClosureGap = 18,
    ClosureLength = 19,
    Loss = 20,
    LossAgain = 21,
}

/// The luck of one column.
#[derive(Debug, Clone, Copy)]
pub(super) struct Luck(u64);

impl Luck {
    /// The luck of a column under a seed.
    pub(super) fn new(seed: u64, column: Column) -> Self {
        Self(mix(mix(seed).wrapping_add(column as u64)))
    }

    /// The generator of one frame (or refresh, epoch, closure).
    #[inline]
    pub(super) fn at(self, frame: usize) -> Xoshiro256PlusPlus {
        Xoshiro256PlusPlus::seed_from_u64(mix(self.0.wrapping_add(frame as u64)))
    }

    /// The luck within one frame, for its slices or packets.
    pub(super) fn within(self, frame: usize) -> Self {
        Self(mix(self.0.wrapping_add(frame as u64)))
    }
}

/// Spreads neighbouring numbers over all of u64: the finalizer "variant 13" of `SplitMix64` (Steele, Lea and Flood, Fast
/// splittable pseudorandom number generators, OOPSLA 2014; constants by Stafford), started off 0, its fixed point.
#[inline]
fn mix(number: u64) -> u64 {
    let mut z = number ^ 0x6a09_e667_f3bc_c909;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use rand::Rng as _;

    use super::*;

    #[test]
    fn no_two_places_share_a_generator() {
        let columns = [Column::Content, Column::Size, Column::Simulate, Column::Loss, Column::LossAgain];
        let mut seen = BTreeSet::new();
        for seed in [0, 1, 2, u64::MAX] {
            for column in columns {
                let luck = Luck::new(seed, column);
                for frame in 0..200 {
                    assert!(seen.insert(luck.at(frame).next_u64()));
                    for slice in 0..3 {
                        assert!(seen.insert(luck.within(frame).at(slice).next_u64()));
                    }
                }
            }
        }
    }

    #[test]
    fn a_place_has_its_luck_whatever_was_drawn_before() {
        let luck = Luck::new(7, Column::Render);
        let mut first = luck.at(3);
        first.next_u64();
        assert_ne!(first, luck.at(3));
        assert_eq!(luck.at(3), luck.at(3));
    }
}
