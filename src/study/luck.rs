//! What studies over several seeds say: means with intervals, and differences paired by seed.

use serde::Serialize;

use super::StudyError;
use crate::measure::statistics::{mean, sd, t_half_width, t_quantile};
use crate::measure::{Better, Measure};
use crate::scenario::{RunLength, Scenario};

/// Most seeds that a study may ask for.
pub const MOST_SEEDS: u32 = 1000;

/// Seeds of a study unless told otherwise.
pub const USUAL_SEEDS: u32 = 8;

/// Differences below this share of the values are rounding.
const DUST: f64 = 1e-9;

/// Most frames or seeds that are told as what it would take.
const MOST_NEEDED: f64 = 1e9;

/// A mean over seeds with its 95 % t-interval.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Mean {
    /// Mean over the seeds; none unless there is a value at every seed.
    pub mean: Option<f64>,
    /// Half the width of the 95 % interval; none for a single seed.
    pub half_width: Option<f64>,
}

impl Mean {
    /// Of one value a seed.
    pub fn of(values: &[Option<f64>]) -> Self {
        match values.iter().copied().collect::<Option<Vec<f64>>>() {
            Some(values) => Self { mean: mean(&values), half_width: t_half_width(&values) },
            None => Self::default(),
        }
    }

    /// The same, so many times as large: in another unit.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { mean: self.mean.map(|mean| mean * factor), half_width: self.half_width.map(|half| half * factor) }
    }
}

/// What can be said of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Better, beyond luck.
    Better,
    /// Worse, beyond luck.
    Worse,
    /// More, beyond luck, of what is neither good nor bad.
    More,
    /// Less, beyond luck, of what is neither good nor bad.
    Less,
    /// The same at every seed.
    Same,
    /// Whether there is a difference is not told at this length.
    Unclear,
    /// A value is absent at some seed.
    NotMeasured,
}

impl Verdict {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Better => "better",
            Self::Worse => "worse",
            Self::More => "more",
            Self::Less => "less",
            Self::Same => "the same",
            Self::Unclear => "unclear",
            Self::NotMeasured => "not measured",
        }
    }

    /// Whether luck alone would hardly bring the difference about.
    pub const fn sure(self) -> bool {
        matches!(self, Self::Better | Self::Worse | Self::More | Self::Less)
    }
}

/// A difference paired by seed: the other's value less the first's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difference {
    /// Mean over the seeds; none unless both have a value at every seed.
    pub mean: Option<f64>,
    /// Half the width of the 95 % interval of the mean: t over the seeds.
    pub half_width: Option<f64>,
    /// What can be said.
    pub verdict: Verdict,
    /// Seeds of this length that would tell a difference of this size, where these do not.
    pub seeds_to_tell: Option<u64>,
    /// Frames a run, its warm-up among them, that would tell it with these seeds, where these do not.
    pub frames_to_tell: Option<u64>,
}

impl Difference {
    /// Of values by seed, both under the same luck. `run` is the length of each run.
    pub fn of(first: &[Option<f64>], other: &[Option<f64>], measure: &Measure, run: RunLength) -> Self {
        let pairs: Option<Vec<(f64, f64)>> = first.iter().zip(other).map(|(a, b)| Some(((*a)?, (*b)?))).collect();
        let Some(pairs) = pairs.filter(|pairs| !pairs.is_empty()) else { return Self::none() };
        let gaps: Vec<f64> = pairs.iter().map(|(a, b)| b - a).collect();
        let size = pairs.iter().map(|(a, b)| a.abs().max(b.abs())).fold(0.0, f64::max);
        let mean = mean(&gaps);
        let half_width = t_half_width(&gaps);
        let found = Self { mean, half_width, ..Self::none() };
        if gaps.iter().all(|gap| gap.abs() <= DUST * size) {
            return Self { verdict: Verdict::Same, ..found };
        }
        let (Some(mean), Some(half)) = (mean, half_width) else { return Self { verdict: Verdict::Unclear, ..found } };
        if mean.abs() > half {
            return Self { verdict: beyond_luck(mean, measure.better), ..found };
        }
        let sd = sd(&gaps).unwrap_or_default();
        Self {
            verdict: Verdict::Unclear,
            seeds_to_tell: seeds_to_tell(mean, sd),
            // The variance of a mean, and of a quantile, falls with the frames that count.
            frames_to_tell: needed(f64::from(run.frames - run.warmup) * (half / mean).powi(2) + f64::from(run.warmup)),
            ..found
        }
    }

    /// The same, so many times as large: in another unit.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        let Mean { mean, half_width } = Mean { mean: self.mean, half_width: self.half_width }.times(factor);
        Self { mean, half_width, ..self }
    }

    const fn none() -> Self {
        Self { mean: None, half_width: None, verdict: Verdict::NotMeasured, seeds_to_tell: None, frames_to_tell: None }
    }
}

fn beyond_luck(mean: f64, better: Better) -> Verdict {
    match (better, mean > 0.0) {
        (Better::Less, false) | (Better::More, true) => Verdict::Better,
        (Better::Less, true) | (Better::More, false) => Verdict::Worse,
        (Better::Neither, true) => Verdict::More,
        (Better::Neither, false) => Verdict::Less,
    }
}

fn needed(number: f64) -> Option<u64> {
    (number <= MOST_NEEDED).then(|| number.ceil() as u64)
}

/// Least number of seeds whose t-interval, at this standard deviation, leaves out 0.
fn seeds_to_tell(mean: f64, sd: f64) -> Option<u64> {
    let tells = |seeds: u64| {
        let t = t_quantile(0.975, seeds as usize - 1).unwrap_or(f64::INFINITY);
        t * sd / (seeds as f64).sqrt() < mean.abs()
    };
    // Above what the normal law asks for, and t asks for little more.
    let most = needed((sd / mean).powi(2) * 4.0 + 16.0)?;
    let (mut low, mut high) = (2, most);
    while low < high {
        let middle = low.midpoint(high);
        if tells(middle) { high = middle } else { low = middle + 1 }
    }
    Some(high)
}

/// Refuses no seeds, and more than a study may ask for.
pub(super) fn check_seeds(seeds: u32) -> Result<(), StudyError> {
    if (1..=MOST_SEEDS).contains(&seeds) {
        return Ok(());
    }
    Err(StudyError::question("seeds", &seeds, format!("whole numbers 1 to {MOST_SEEDS}")))
}

/// The scenario under the luck of the seed so many after the first.
pub(super) fn under_luck(scenario: &Scenario, number: u32, first: u64) -> Scenario {
    let mut scenario = scenario.clone();
    scenario.run.seed = first.wrapping_add(u64::from(number));
    scenario
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;

    /// Of a thousand counted frames.
    const RUN: RunLength = RunLength { frames: 1100, warmup: 100, seed: 1 };

    fn of(first: &[f64], other: &[f64]) -> Difference {
        let some = |values: &[f64]| values.iter().copied().map(Some).collect::<Vec<_>>();
        Difference::of(&some(first), &some(other), measures::usual(), RUN)
    }

    /// Differences 1, 2, 3: mean 2, sd 1, t(2) = 4.302653 (Student's t, any table), half width 2.484138.
    #[test]
    fn the_interval_is_students_over_the_paired_differences() {
        let difference = of(&[10.0, 20.0, 30.0], &[11.0, 22.0, 33.0]);
        assert_eq!(difference.mean, Some(2.0));
        assert!((difference.half_width.unwrap() - 2.484_138).abs() < 1e-5);
        assert_eq!(difference.verdict, Verdict::Unclear);
        // 2 sd away from 0: t(3)/sqrt(4) = 1.591 < 2 tells, t(2)/sqrt(3) = 2.484 does not.
        assert_eq!(difference.seeds_to_tell, Some(4));
        // Of the frames that count (2.484138 / 2)^2 = 1.542735 times as many, and the warm-up.
        assert_eq!(difference.frames_to_tell, Some(100 + 1543));
    }

    #[test]
    fn verdicts_follow_the_measure_and_its_luck() {
        assert_eq!(of(&[10.0, 20.0], &[9.0, 19.01]).verdict, Verdict::Better);
        assert_eq!(of(&[9.0, 19.01], &[10.0, 20.0]).verdict, Verdict::Worse);
        assert_eq!(of(&[9.0, 19.0], &[9.0, 19.0]).verdict, Verdict::Same);
        assert_eq!(of(&[9.0], &[9.5]).verdict, Verdict::Unclear);
        let absent = Difference::of(&[Some(1.0), None], &[Some(1.0), Some(2.0)], measures::usual(), RUN);
        assert_eq!((absent.verdict, absent.mean), (Verdict::NotMeasured, None));
        let busy = measures::find("busy.gpu").unwrap();
        let more = Difference::of(&[Some(0.1), Some(0.2)], &[Some(0.2), Some(0.301)], busy, RUN);
        assert_eq!(more.verdict, Verdict::More);
        assert_eq!(Mean::of(&[Some(1.0), None]), Mean::default());
        assert_eq!(Mean::of(&[Some(1.0), Some(3.0)]).mean, Some(2.0));
        // A difference of nothing would never be told.
        let never = of(&[1.0, 2.0], &[2.0, 1.0]);
        assert_eq!((never.seeds_to_tell, never.frames_to_tell), (None, None));
    }
}
