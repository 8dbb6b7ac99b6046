//! What a coded picture asks of the levels of its codec's standard, and of the budget.

use crate::scenario::levels::{self, Demand, Level, Limit, Tier, Usage};
use crate::scenario::{Codec, Scenario};
use crate::study::Answer;

/// How much of a limit one design uses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    /// What it asks for.
    pub used: f64,
    /// The limit, in the same unit.
    pub limit: f64,
    /// Whether the limit is held.
    pub met: bool,
}

impl Used {
    /// Share of the limit.
    pub fn share(&self) -> f64 {
        self.used / self.limit
    }
}

/// One limit, baseline and candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What is limited.
    pub name: &'static str,
    /// Unit of the numbers, after `scale`.
    pub units: [&'static str; 2],
    /// What to divide the numbers by before they are shown.
    pub scale: f64,
    /// Decimals to show them with.
    pub decimals: usize,
    /// Whether the limit is the least that is wanted and not the most.
    pub at_least: bool,
    /// Baseline and candidate; none where there is nothing to measure or no such limit.
    pub sides: [Option<Used>; 2],
}

/// The level that a design needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// Codec.
    pub codec: Codec,
    /// The smallest level that holds the stream, or the greatest there is.
    pub level: Level,
    /// Whether it does hold it.
    pub held: bool,
    /// The greatest level that the candidate's budget allows.
    pub allowed: String,
    /// Whether the budget allows the level.
    pub met: bool,
}

impl Needed {
    fn of(scenario: &Scenario, allowed: &str) -> Option<Self> {
        let codec = scenario.stream.codec;
        let found = levels::smallest(codec, &Demand::of(scenario));
        let tier = if codec == Codec::H264 { Tier::Main } else { Tier::High };
        let greatest = || levels::names(codec).last().map(|name| Level { name, tier });
        let level = found.or_else(greatest)?;
        let met = found.is_some() && levels::rank(level.name) <= levels::rank(allowed);
        Some(Self { codec, level, held: found.is_some(), allowed: allowed.to_owned(), met })
    }

    /// In words: the level needed, or that none holds the stream.
    pub fn in_words(&self) -> String {
        let codec = match self.codec {
            Codec::H264 => "H.264",
            Codec::H265 => "H.265",
            Codec::AV1 => "AV1",
        };
        let tier = match (self.codec, self.level.tier) {
            (Codec::H264, _) => "",
            (_, Tier::Main) => " Main",
            (_, Tier::High) => " High",
        };
        let name = self.level.name;
        if self.held { format!("{codec} level {name}{tier}") } else { format!("{codec}: beyond level {name}{tier}") }
    }
}

/// What two designs ask of the codec.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// The levels needed.
    pub needed: [Option<Needed>; 2],
    /// Limits of those levels, and the least bits per pixel that the candidate's budget wants.
    pub bars: Vec<Bar>,
}

/// Limits that are always shown, the others where they are not held: name, unit (for H.264 where it differs), scale, decimals.
const SHOWN: [(Limit, &str, [&str; 2], f64, usize); 4] = [
    (Limit::Size, "Picture size", ["M samples", "macroblocks"], 1e6, 2),
    (Limit::Rate, "Sample rate", ["M samples/s", "M macroblocks/s"], 1e6, 0),
    (Limit::Bitrate, "Bitrate", ["Mbit/s", "Mbit/s"], 1.0, 0),
    (Limit::Slices, "Slices", ["slices", "slices"], 1.0, 0),
];

/// The others: name, unit, scale, decimals.
const OTHERS: [(Limit, &str, [&str; 2], f64, usize); 7] = [
    (Limit::Width, "Width", ["samples", "macroblocks"], 1.0, 0),
    (Limit::Height, "Height", ["samples", "macroblocks"], 1.0, 0),
    (Limit::TileColumns, "Tile columns", ["tiles", "tiles"], 1.0, 0),
    (Limit::TileRate, "Tile rate", ["tiles/s", "tiles/s"], 1.0, 0),
    (Limit::TileSize, "Largest tile", ["M samples", "M samples"], 1e6, 2),
    (Limit::TileSampleRate, "Largest tile's rate", ["M samples/s", "M samples/s"], 1e6, 0),
    (Limit::HeaderRate, "Frame headers", ["1/s", "1/s"], 1.0, 0),
];

impl Limits {
    pub(super) fn new(answers: [&Answer; 2]) -> Self {
        let budget = &answers[1].scenario.budget;
        let needed = answers.map(|answer| Needed::of(&answer.scenario, &budget.level_max));
        let usages = [0, 1].map(|side: usize| {
            let scenario = &answers[side].scenario;
            let level = needed[side].as_ref().map(|needed| needed.level);
            level.map_or_else(Vec::new, |level| levels::usage(scenario.stream.codec, level, &Demand::of(scenario)))
        });
        let used =
            |limit: Limit| usages.each_ref().map(|side| side.iter().find(|usage| usage.limit == limit).map(used_of));
        let units = |of: [&'static str; 2]| {
            answers.map(|answer| if answer.scenario.stream.codec == Codec::H264 { of[1] } else { of[0] })
        };
        let bar = |&(limit, name, unit, scale, decimals): &(Limit, _, _, _, _)| Bar {
            name,
            units: units(unit),
            scale,
            decimals,
            at_least: false,
            sides: used(limit),
        };
        let mut bars: Vec<Bar> = SHOWN.iter().map(bar).collect();
        let broken = |bar: &Bar| bar.sides.iter().flatten().any(|used| !used.met);
        bars.extend(OTHERS.iter().map(bar).filter(broken));
        let limit = budget.bits_per_px_min;
        bars.push(Bar {
            name: "Bits per pixel",
            units: ["bit/px"; 2],
            scale: 1.0,
            decimals: 3,
            at_least: true,
            sides: answers.map(|answer| {
                let used = answer.summary.picture.bits_per_px?;
                Some(Used { used, limit, met: used >= limit })
            }),
        });
        Self { needed, bars }
    }
}

fn used_of(usage: &Usage) -> Used {
    Used { used: usage.used, limit: usage.allowed, met: usage.met() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::presets;
    use crate::study::{self, Workspace};

    fn answer(mut scenario: Scenario) -> Answer {
        scenario.run.frames = 60;
        scenario.run.warmup = 10;
        study::answer(&scenario, &mut Workspace::new())
    }

    fn find<'a>(limits: &'a Limits, name: &str) -> &'a Bar {
        limits.bars.iter().find(|bar| bar.name == name).unwrap()
    }

    /// ITU-T Rec. H.265, Tables A.8 and A.9: level 5.2 holds 8 912 896 samples, 1 069 547 520 samples/s, 240 Mbit/s in its High
    /// tier, 200 slices. 4096 x 2176 at 90 Hz are exactly that size and three quarters of that rate.
    #[test]
    fn default_picture_fills_level_5() {
        let answer = answer(Scenario::default());
        let limits = Limits::new([&answer, &answer]);
        let shares = ["Picture size", "Sample rate", "Bitrate", "Slices"]
            .map(|name| find(&limits, name).sides[1].unwrap().share());
        for (found, expected) in shares.into_iter().zip([1.0, 0.75, 200.0 / 240.0, 8.0 / 200.0]) {
            assert!((found - expected).abs() < 1e-12, "{found}, {expected}");
        }
        assert_eq!(limits.needed[0].as_ref().unwrap().in_words(), "H.265 level 5.2 High");
        assert!(limits.needed[0].as_ref().unwrap().met);
        let bits = find(&limits, "Bits per pixel");
        assert!(bits.at_least);
        assert_eq!(bits.sides[1].map(|used| used.used), answer.summary.picture.bits_per_px);
        assert_eq!(limits.bars.len(), 5);
    }

    #[test]
    fn level_and_whether_it_is_allowed_are_the_summarys() {
        for preset in presets::all() {
            for level in ["5", "6.2"] {
                let mut scenario = preset.scenario();
                level.clone_into(&mut scenario.budget.level_max);
                let answer = answer(scenario);
                let limits = Limits::new([&answer, &answer]);
                let needed = limits.needed[1].as_ref().unwrap();
                assert_eq!(needed.held.then_some(needed.level.name), answer.summary.picture.level.as_deref());
                let line = answer.summary.budget.iter().find(|line| line.name == "level").unwrap();
                assert_eq!(needed.met, line.met, "{} {level}", preset.slug);
                let line = answer.summary.budget.iter().find(|line| line.name == "bits_per_px").unwrap();
                assert_eq!(find(&limits, "Bits per pixel").sides[1].is_some_and(|used| used.met), line.met);
            }
        }
    }

    /// AV1 Annex A.3: one tile of 8 912 896 samples at 90 Hz is 802 160 640 > 588 251 136 samples/s, at every level.
    #[test]
    fn what_no_level_holds_shows_the_limit_that_is_broken() {
        let mut scenario = Scenario::default();
        scenario.stream.codec = Codec::AV1;
        scenario.slices.count = 1;
        let answer = answer(scenario);
        let limits = Limits::new([&answer, &answer]);
        let needed = limits.needed[1].as_ref().unwrap();
        assert!(!needed.held && !needed.met);
        assert_eq!(needed.in_words(), "AV1: beyond level 6.3 High");
        let tile = find(&limits, "Largest tile's rate").sides[1].unwrap();
        assert!(!tile.met && (tile.share() - 802_160_640.0 / 588_251_136.0).abs() < 1e-12);
    }
}
