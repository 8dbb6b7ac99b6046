//! Levels of the codecs' standards: the smallest that holds a stream's size, rate, bitrate and slices.

mod av1;
mod h264;
mod h265;

use super::{Codec, Scenario, Shape};

/// What `budget.level_max` may be.
pub(super) const NAMES_ALLOWED: &str = "a level such as \"5.2\", from 1 to 7.3";

/// What a stream asks of a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Coded width of a frame \[px\].
    pub width_px: u32,
    /// Coded height of a frame \[px\].
    pub height_px: u32,
    /// Frames per second \[Hz\].
    pub rate_hz: f64,
    /// Bitrate \[Mbit/s\].
    pub bitrate_mbps: f64,
    /// Slices a frame.
    pub slices: u32,
    /// Height of the largest slice \[px\].
    pub slice_px: u32,
}

/// Tier of a level: how much bitrate it allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tier {
    /// The ordinary one, and the only one of H.264.
    Main,
    /// The one for more bitrate.
    High,
}

/// A level of one of the standards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Level {
    /// Its name in the standard: `5.2`.
    pub name: &'static str,
    /// Tier.
    pub tier: Tier,
}

/// How much of one limit of a level is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usage {
    /// What is limited.
    pub limit: Limit,
    /// What the stream asks for.
    pub used: f64,
    /// What the level allows, in the same unit.
    pub allowed: f64,
}

impl Usage {
    /// Whether the limit is held.
    pub fn met(&self) -> bool {
        self.used <= self.allowed
    }
}

/// What a level limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Picture size \[macroblocks for H.264, luma samples otherwise\].
    Size,
    /// Width \[macroblocks for H.264, luma samples otherwise\].
    Width,
    /// Height \[macroblocks for H.264, luma samples otherwise\].
    Height,
    /// Size times frame rate, per second.
    Rate,
    /// Bitrate \[Mbit/s\].
    Bitrate,
    /// Slices a picture; tiles for AV1.
    Slices,
    /// Columns of tiles (AV1).
    TileColumns,
    /// Tiles per second (AV1).
    TileRate,
    /// Largest tile \[luma samples\] (AV1).
    TileSize,
    /// Largest tile times frame rate \[luma samples/s\] (AV1).
    TileSampleRate,
    /// Frame headers per second (AV1).
    HeaderRate,
}

impl Demand {
    /// What a scenario's stream asks for.
    pub fn of(scenario: &Scenario) -> Self {
        let (width_px, height_px) = scenario.coded_px();
        Self {
            width_px,
            height_px,
            rate_hz: 1e9 / scenario.frame_period_ns(),
            bitrate_mbps: scenario.stream.bitrate_mbps,
            slices: scenario.slices.count,
            slice_px: largest_slice_px(scenario, height_px),
        }
    }
}

/// Height of a frame's largest slice \[px\]: whole rows of blocks where slices are equal, the largest share otherwise.
fn largest_slice_px(scenario: &Scenario, height_px: u32) -> u32 {
    let count = scenario.slices.count;
    let share = match &scenario.slices.shape {
        Shape::Equal => return (scenario.block_rows().div_ceil(count) * scenario.slices.block_px).min(height_px),
        Shape::Geometric { ratio } => {
            let sizes = || (0..count).map(|slice| ratio.powf(f64::from(slice)));
            sizes().fold(0.0, f64::max) / sizes().sum::<f64>()
        }
        Shape::Weights(weights) => weights.iter().copied().fold(0.0, f64::max) / weights.iter().sum::<f64>(),
    };
    ((share * f64::from(height_px)).ceil() as u32).min(height_px)
}

/// Names of a codec's levels, from the smallest.
pub fn names(codec: Codec) -> Vec<&'static str> {
    match codec {
        Codec::H264 => h264::LEVELS.iter().map(|level| level.name).collect(),
        Codec::H265 => h265::LEVELS.iter().map(|level| level.name).collect(),
        Codec::AV1 => av1::LEVELS.iter().map(|level| level.name).collect(),
    }
}

/// The smallest level, and its smallest tier, that holds the stream; none where no level does.
pub fn smallest(codec: Codec, demand: &Demand) -> Option<Level> {
    let tiers: &[Tier] = if codec == Codec::H264 { &[Tier::Main] } else { &[Tier::Main, Tier::High] };
    let levels = names(codec).into_iter().flat_map(|name| tiers.iter().map(move |&tier| Level { name, tier }));
    levels.into_iter().find(|&level| {
        let usage = usage(codec, level, demand);
        !usage.is_empty() && usage.iter().all(Usage::met)
    })
}

/// How much of each limit of a level a stream uses; empty where the codec has no such level or tier.
pub fn usage(codec: Codec, level: Level, demand: &Demand) -> Vec<Usage> {
    match codec {
        Codec::H264 => h264::usage(level, demand),
        Codec::H265 => h265::usage(level, demand),
        Codec::AV1 => av1::usage(level, demand),
    }
}

/// Order of a level by its name: `5.2` is 52, `5` and `5.0` are 50. None for what is no level's name.
pub fn rank(name: &str) -> Option<u32> {
    let (major, minor) = name.split_once('.').unwrap_or((name, "0"));
    let digit = |text: &str| (text.len() == 1).then(|| text.parse::<u32>().ok()).flatten();
    let (major, minor) = (digit(major)?, digit(minor)?);
    ((1..=7).contains(&major) && minor <= 3).then_some(major * 10 + minor)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stream(width_px: u32, height_px: u32, rate_hz: f64, bitrate_mbps: f64, slices: u32) -> Demand {
        Demand { width_px, height_px, rate_hz, bitrate_mbps, slices, slice_px: height_px.div_ceil(slices) }
    }

    fn names_of(demand: &Demand) -> [Option<(&'static str, Tier)>; 3] {
        [Codec::H264, Codec::H265, Codec::AV1]
            .map(|codec| smallest(codec, demand).map(|level| (level.name, level.tier)))
    }

    // Worked from ITU-T Rec. H.264 Tables, ITU-T Rec. H.265 Tables A.8 and A.9, AV1 specification Annex A.3.
    #[test]
    fn default_scenario_is_the_largest_picture_of_level_5() {
        let scenario = Scenario::default();
        let demand = Demand::of(&scenario);
        assert_eq!(demand, stream(4096, 2176, 90.0, 200.0, 8));
        assert_eq!(names_of(&demand), [Some(("6", Tier::Main)), Some(("5.2", Tier::High)), Some(("5.2", Tier::High))]);
        // 8 912 896 x 90 = 802 160 640 > 588 251 136 samples/s in one tile.
        let one = stream(4096, 2176, 90.0, 200.0, 1);
        assert_eq!(smallest(Codec::AV1, &one), None);
        let refused = usage(Codec::AV1, Level { name: "5.2", tier: Tier::High }, &one);
        let refused: Vec<_> = refused.iter().filter(|usage| !usage.met()).map(|usage| usage.limit).collect();
        assert_eq!(refused, [Limit::TileSampleRate]);
    }

    #[test]
    fn two_rows_more_ask_for_level_6() {
        let demand = stream(4096, 2178, 90.0, 200.0, 8);
        assert_eq!(names_of(&demand), [Some(("6", Tier::Main)), Some(("6", Tier::High)), Some(("6.0", Tier::High))]);
    }

    #[test]
    fn ultra_high_definition_at_90_hz() {
        let demand = stream(3840, 2160, 90.0, 50.0, 8);
        assert_eq!(names_of(&demand), [Some(("6", Tier::Main)), Some(("5.2", Tier::Main)), Some(("5.2", Tier::Main))]);
    }

    #[test]
    fn eighty_slices_at_full_high_definition() {
        let demand = stream(1920, 1080, 60.0, 20.0, 80);
        assert_eq!(names_of(&demand), [Some(("4.2", Tier::Main)), Some(("5", Tier::Main)), Some(("6.0", Tier::Main))]);
        // By size, rate and bitrate alone H.265 would need 4.1 only.
        let few = stream(1920, 1080, 60.0, 20.0, 8);
        assert_eq!(smallest(Codec::H265, &few).unwrap().name, "4.1");
        // 522 240 / 60 / 24 = 362.7.
        for (slices, level) in [(362, "4.2"), (363, "5")] {
            assert_eq!(smallest(Codec::H264, &stream(1920, 1080, 60.0, 20.0, slices)).unwrap().name, level);
        }
    }

    #[test]
    fn most_slices_at_90_hz() {
        let most = |codec, name| {
            let level = Level { name, tier: Tier::Main };
            let usage = usage(codec, level, &stream(640, 640, 90.0, 1.0, 1));
            usage.iter().find(|usage| usage.limit == Limit::Slices).unwrap().allowed as u32
        };
        for (codec, name, slices) in [
            (Codec::H264, "4.2", 241),
            (Codec::H264, "5.1", 455),
            (Codec::H264, "5.2", 960),
            (Codec::H265, "5", 200),
            (Codec::H265, "5.1", 200),
            (Codec::H265, "5.2", 200),
            (Codec::H265, "6", 600),
            (Codec::H265, "6.2", 600),
            (Codec::AV1, "5.0", 64),
            (Codec::AV1, "5.3", 64),
            (Codec::AV1, "6.0", 128),
        ] {
            assert_eq!(most(codec, name), slices, "{codec:?} {name}");
        }
    }

    #[test]
    fn width_is_limited_to_the_root_of_eight_pictures() {
        // sqrt(8 x 8 912 896) = 8444.0 at H.265 level 5.
        let wide = |width| smallest(Codec::H265, &stream(width, 64, 30.0, 1.0, 1)).unwrap().name;
        assert_eq!((wide(8444), wide(8446)), ("5", "6"));
        // sqrt(8 x 22 080) = 420.3 macroblocks of 16 at H.264 level 5, sqrt(8 x 36 864) = 543.1 at 5.1.
        let wide = |width| smallest(Codec::H264, &stream(width, 64, 30.0, 1.0, 1)).unwrap().name;
        assert_eq!((wide(6720), wide(6721)), ("5", "5.1"));
        assert_eq!((wide(8688), wide(8689)), ("5.1", "6"));
    }

    #[test]
    fn a_frame_wider_than_a_tile_is_cut_into_columns() {
        let demand = stream(4320, 2160, 72.0, 50.0, 8);
        let level = Level { name: "6.0", tier: Tier::Main };
        let columns = usage(Codec::AV1, level, &demand);
        let used = |limit| columns.iter().find(|usage| usage.limit == limit).unwrap().used as u32;
        assert_eq!((used(Limit::TileColumns), used(Limit::Slices), used(Limit::TileSize)), (2, 16, 2160 * 270));
    }

    #[test]
    fn levels_are_ordered_by_name() {
        for (name, order) in [("5", 50), ("5.0", 50), ("5.2", 52), ("6.1", 61), ("4.1", 41), ("7.3", 73)] {
            assert_eq!(rank(name), Some(order));
        }
        for name in ["", "8", "0", "5.4", "5.2.1", "five", "5.", "05", "52", "+5", "5.-1"] {
            assert_eq!(rank(name), None, "{name}");
        }
        for codec in [Codec::H264, Codec::H265, Codec::AV1] {
            let ranks: Vec<_> = names(codec).iter().map(|name| rank(name).unwrap()).collect();
            assert!(ranks.is_sorted_by(|a, b| a < b), "{ranks:?}");
        }
    }
}
