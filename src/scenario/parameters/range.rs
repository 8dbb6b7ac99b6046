//! Ranges of numbers, and how a slider walks them.

use super::unit::Unit;
use crate::scenario::Scenario;

/// What a number may be, and how it is turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Numeric {
    /// Its unit.
    pub unit: Unit,
    /// Least value.
    pub low: f64,
    /// Greatest value; infinite where there is no bound.
    pub high: f64,
    /// Whether the value must lie above `low`.
    pub low_open: bool,
    /// Whether the value must lie below `high`.
    pub high_open: bool,
    /// Whether 0 is allowed too, below `low`; what it means.
    pub zero: Option<&'static str>,
    /// A bound that the rest of the scenario sets.
    pub bound: Bound,
    /// How a slider walks the range.
    pub scale: Scale,
    /// Least and greatest value of a slider, within the range and finite.
    pub slider: (f64, f64),
    /// Step of a slider and of the arrow keys.
    pub step: f64,
    /// Whether only whole numbers are allowed.
    pub whole: bool,
    /// The only values allowed, where the range is not all.
    pub only: &'static [f64],
}

/// A greatest value that the rest of the scenario sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// None.
    Free,
    /// So many refresh periods.
    RefreshPeriods(f64),
    /// Rows of coding blocks in a frame.
    BlockRows,
    /// One less than the frames of the run.
    BelowFrames,
}

/// How a slider walks a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// In equal steps.
    Linear,
    /// In equal ratios, from 0 (where the range has it) to `least` in one step.
    Logarithmic {
        /// Least value above 0 that the slider shows.
        least: f64,
    },
}

impl Numeric {
    /// From `low` to `high`, both allowed, linear.
    pub(super) const fn new(unit: Unit, low: f64, high: f64) -> Self {
        Self {
            unit,
            low,
            high,
            low_open: false,
            high_open: false,
            zero: None,
            bound: Bound::Free,
            scale: Scale::Linear,
            slider: (low, high),
            step: 0.01,
            whole: false,
            only: &[],
        }
    }

    /// Whole numbers from `low` to `high`.
    pub(super) const fn count(unit: Unit, low: f64, high: f64) -> Self {
        Self { whole: true, step: 1.0, ..Self::new(unit, low, high) }
    }

    /// Walked in equal ratios down to `least`.
    pub(super) const fn log(self, least: f64) -> Self {
        Self { scale: Scale::Logarithmic { least }, ..self }
    }

    /// Without the least value itself.
    pub(super) const fn above(self, slider_low: f64) -> Self {
        Self { low_open: true, slider: (slider_low, self.slider.1), ..self }
    }

    /// Without the greatest value itself.
    pub(super) const fn below(self, slider_high: f64) -> Self {
        Self { high_open: true, slider: (self.slider.0, slider_high), ..self }
    }

    /// With a slider that covers only the usual part.
    pub(super) const fn usually(self, low: f64, high: f64) -> Self {
        Self { slider: (low, high), ..self }
    }

    /// With 0 allowed too.
    pub(super) const fn or_zero(self, meaning: &'static str) -> Self {
        Self { zero: Some(meaning), slider: (0.0, self.slider.1), ..self }
    }

    /// With a bound that the rest of the scenario sets.
    pub(super) const fn bound(self, bound: Bound) -> Self {
        Self { bound, ..self }
    }

    /// With another step.
    pub(super) const fn step(self, step: f64) -> Self {
        Self { step, ..self }
    }

    /// Only these values.
    pub(super) const fn only(self, only: &'static [f64]) -> Self {
        Self { only, ..self }
    }

    /// The greatest value in this scenario, its own bound included.
    pub fn high_in(&self, scenario: &Scenario) -> f64 {
        let bound = match self.bound {
            Bound::Free => f64::INFINITY,
            Bound::RefreshPeriods(periods) => periods * scenario.refresh_period_ns() / 1e6,
            Bound::BlockRows => f64::from(scenario.block_rows()),
            Bound::BelowFrames => f64::from(scenario.run.frames) - 1.0,
        };
        self.high.min(bound)
    }

    /// Least and greatest value of a slider in this scenario.
    pub fn slider_in(&self, scenario: &Scenario) -> (f64, f64) {
        let (low, high) = self.slider;
        (low, high.min(self.high_in(scenario)).max(low))
    }

    /// Whether the number is allowed, bounds of the scenario aside.
    pub fn allows(&self, number: f64) -> bool {
        self.allows_up_to(number, self.high)
    }

    /// Whether the number is allowed in this scenario.
    pub fn allows_in(&self, number: f64, scenario: &Scenario) -> bool {
        self.allows_up_to(number, self.high_in(scenario))
    }

    fn allows_up_to(&self, number: f64, high: f64) -> bool {
        let within_low = if self.low_open { number > self.low } else { number >= self.low };
        let within_high = if self.high_open { number < high } else { number <= high };
        let listed = self.only.is_empty() || self.only.contains(&number);
        let whole = !self.whole || number.fract() == 0.0;
        number.is_finite() && (within_low && within_high && listed && whole || number == 0.0 && self.zero.is_some())
    }

    /// What is allowed, in words: `1 to 64`, `above 0 to 3`, `0 (off) or 1 to 60 frames`.
    pub fn words(&self) -> String {
        self.words_up_to(self.high, "")
    }

    /// What is allowed in this scenario, in words that say where its own bound comes from.
    pub fn words_in(&self, scenario: &Scenario) -> String {
        let high = self.high_in(scenario);
        let from = match self.bound {
            _ if high >= self.high => String::new(),
            Bound::Free => String::new(),
            Bound::RefreshPeriods(1.0) => " (the refresh period)".to_owned(),
            Bound::RefreshPeriods(periods) => format!(" ({periods} refresh periods)"),
            Bound::BlockRows => " (the rows of coding blocks)".to_owned(),
            Bound::BelowFrames => " (below run.frames)".to_owned(),
        };
        self.words_up_to(high, &from)
    }

    fn words_up_to(&self, high: f64, from: &str) -> String {
        if !self.only.is_empty() {
            let listed: Vec<String> = self.only.iter().map(ToString::to_string).collect();
            return self.unit.with(listed.join(", "));
        }
        let zero = self.zero.map_or(String::new(), |meaning| format!("0 ({meaning}) or "));
        let low = if self.low_open { format!("above {}", self.low) } else { self.low.to_string() };
        let whole = if self.whole { "whole numbers " } else { "" };
        let range = match (high.is_finite(), self.high_open) {
            (false, _) if self.low_open => low,
            (false, _) => format!("{low} and more"),
            (true, true) => format!("{low} to below {}", short(high)),
            (true, false) if self.whole => format!("{low} to {}", high as u64),
            (true, false) => format!("{low} to {}", short(high)),
        };
        format!("{zero}{whole}{}{from}", self.unit.with(range))
    }
}

/// A bound with at most six decimals: periods are no round numbers.
fn short(number: f64) -> f64 {
    let short = (number * 1e6).round() / 1e6;
    if short.is_finite() { short } else { number }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_say_what_they_allow() {
        let cv = Numeric::new(Unit::NONE, 0.0, 3.0).above(0.001);
        assert!(!cv.allows(0.0) && cv.allows(1e-9) && cv.allows(3.0) && !cv.allows(3.000_001));
        assert_eq!(cv.words(), "above 0 to 3");
        let vbv = Numeric::new(Unit::FRAMES, 1.0, 60.0).or_zero("off");
        assert!(vbv.allows(0.0) && !vbv.allows(0.5) && vbv.allows(1.0) && vbv.allows(60.0));
        assert_eq!(vbv.words(), "0 (off) or 1 to 60 frames");
        let block = Numeric::count(Unit::PX, 1.0, 64.0).only(&[1.0, 16.0]);
        assert!(block.allows(16.0) && !block.allows(2.0));
        assert_eq!(block.words(), "1, 16 px");
        let high = Numeric::new(Unit::NONE, 1.0, f64::INFINITY).above(1.01);
        assert!(high.allows(1e9) && !high.allows(1.0) && !high.allows(f64::INFINITY) && !high.allows(f64::NAN));
        assert_eq!(high.words(), "above 1");
        let low = Numeric::new(Unit::NONE, 0.0, 1.0).below(0.99);
        assert!(low.allows(0.0) && !low.allows(1.0));
        assert_eq!(low.words(), "0 to below 1");
        assert!(!Numeric::count(Unit::NONE, 1.0, 8.0).allows(2.5));
    }

    #[test]
    fn the_scenario_bounds_what_hangs_on_it() {
        let mut scenario = Scenario::default();
        let lead = Numeric::new(Unit::MS, 0.0, f64::INFINITY).bound(Bound::RefreshPeriods(2.0));
        assert!(lead.allows_in(22.0, &scenario) && !lead.allows_in(23.0, &scenario));
        assert_eq!(lead.words_in(&scenario), "0 to 22.222222 ms (2 refresh periods)");
        let count = Numeric::count(Unit::NONE, 1.0, 64.0).bound(Bound::BlockRows);
        assert_eq!(count.words_in(&scenario), "whole numbers 1 to 64");
        scenario.display.eye_px.1 = 320;
        assert!(count.allows_in(20.0, &scenario) && !count.allows_in(21.0, &scenario));
        assert_eq!(count.words_in(&scenario), "whole numbers 1 to 20 (the rows of coding blocks)");
    }
}
