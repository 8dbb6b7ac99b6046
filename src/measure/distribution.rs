//! From single values to a distribution.

use super::samples::Samples;
use super::statistics::{BatchMeans, Ranks, mean, upper_quantile_interval, variance_about};
use super::summary::Distribution;
use crate::scenario::{Lead, Pacing, Scenario};

/// Independent values that a run must be worth before the interval of its p99 is to be trusted: where content remembers, by
/// that memory, which is known; and by what batch means say, where a queue remembers. Found by trial on content of memory 0.99
/// and on M/M/1 at loads of 0.5 to 0.9 (`tests/it/coverage.rs`): below, intervals hold the truth too seldom.
const ENOUGH: Enough = Enough { by_content: 100.0, by_batches: 300.0 };

struct Enough {
    by_content: f64,
    by_batches: f64,
}

/// What the intervals of a run may rest on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grounds {
    /// How many independent frames the counted ones are worth by the memory of their content; none where it does not vary.
    by_content: Option<f64>,
    lead: FoundLead,
}

/// Frames of a run, those that do not count included, from which on the memory of its content leaves p99 an interval; none
/// where content does not vary.
pub fn frames_for_p99_interval(scenario: &Scenario) -> Option<u64> {
    let content = &scenario.content;
    let counted = ENOUGH.by_content * (1.0 + content.memory) / (1.0 - content.memory);
    (content.cv > 0.0 && content.memory < 1.0).then(|| counted.ceil() as u64 + u64::from(scenario.run.warmup))
}

/// How sure a lead is, which times from pose to photon grow with.
#[derive(Debug, Clone, Copy)]
enum FoundLead {
    /// It was given.
    Given,
    /// It was found from the run itself, and may as well be so much lower or higher \[ms\]; none where that is not known.
    Tuned(Option<[f64; 2]>),
}

impl Grounds {
    /// Of a run from its scenario and its slack.
    pub(super) fn of(scenario: &Scenario, samples: &Samples) -> Self {
        let content = &scenario.content;
        let counted = f64::from(scenario.run.frames.saturating_sub(scenario.run.warmup));
        let by_content = (content.cv > 0.0).then(|| counted * (1.0 - content.memory) / (1.0 + content.memory));
        let given = Self { by_content, lead: FoundLead::Given };
        let Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } = scenario.pacing else { return given };
        if given.needed().is_none() {
            return Self { lead: FoundLead::Tuned(None), ..given };
        }
        // Late frames have the least slack.
        let tardiness_ms: Vec<f64> = samples.slack.values_ms.iter().map(|slack| -slack).collect();
        Self { lead: FoundLead::Tuned(given.doubt_of_lead(&tardiness_ms, late_share)), ..given }
    }

    /// The same for values that do not grow with the lead.
    pub(super) fn whatever_lead(self) -> Self {
        Self { lead: FoundLead::Given, ..self }
    }

    fn doubt_of_lead(&self, tardiness_ms: &[f64], late_share: f64) -> Option<[f64; 2]> {
        let [low, high] = self.upper_quantile_interval(tardiness_ms, late_share)?;
        let mut values = tardiness_ms.to_vec();
        let edge = Ranks::new(&mut values).quantile(1.0 - late_share)?;
        Some([edge - low, high - edge])
    }

    /// The interval of the quantile that the share `beyond` lies above, where the values are enough for one.
    fn upper_quantile_interval(&self, values: &[f64], beyond: f64) -> Option<[f64; 2]> {
        let needed = self.needed()?;
        let variance = variance_about(values, mean(values)?)?;
        let worth = BatchMeans::of(values)?.effective_size(values.len(), variance);
        if worth < needed { None } else { upper_quantile_interval(values, beyond) }
    }

    /// How many independent values batch means must say that there are; none where the content tells that they are too few.
    fn needed(&self) -> Option<f64> {
        match self.by_content {
            Some(worth) if worth < ENOUGH.by_content => None,
            // What is known needs no proof by batch means, which are luck themselves; they must not contradict it.
            Some(worth) => Some(ENOUGH.by_batches.min(0.5 * worth)),
            None => Some(ENOUGH.by_batches),
        }
    }

    /// An interval about `middle`, wider by the doubt of a tuned lead; none where that is not known.
    fn with_lead(&self, middle: f64, [low, high]: [f64; 2]) -> Option<[f64; 2]> {
        match self.lead {
            FoundLead::Given => Some([low, high]),
            FoundLead::Tuned(doubt) => doubt
                .map(|[below, above]| [middle - (middle - low).hypot(below), middle + (high - middle).hypot(above)]),
        }
    }
}

/// Describes values in the order in which they came. Quantiles and intervals are left out where the run is not steady;
/// `scratch` then holds the values for further quantiles.
pub(super) fn describe<'a>(
    values: &[f64],
    steady: bool,
    grounds: &Grounds,
    scratch: &'a mut Vec<f64>,
) -> (Distribution, Option<Ranks<'a>>) {
    let Some(mean) = mean(values) else { return (Distribution::default(), None) };
    let variance = variance_about(values, mean);
    let mut distribution = Distribution {
        count: values.len() as u64,
        mean: Some(mean),
        sd: variance.map(f64::sqrt),
        min: values.iter().copied().reduce(|least, value| if value < least { value } else { least }),
        max: values.iter().copied().reduce(|greatest, value| if value > greatest { value } else { greatest }),
        ..Distribution::default()
    };
    if !steady {
        return (distribution, None);
    }
    scratch.clear();
    scratch.extend_from_slice(values);
    let mut ranks = Ranks::new(scratch);
    distribution.p50 = ranks.quantile(0.5);
    distribution.p90 = ranks.quantile(0.9);
    distribution.p95 = ranks.quantile(0.95);
    distribution.p99 = ranks.quantile(0.99);
    distribution.p999 = ranks.quantile(0.999);
    // What fills no batch counts for the mean.
    distribution.mean_ci95 = BatchMeans::of(values).and_then(|batches| {
        let about = batches.interval()?.map(|end| mean + (end - batches.mean()));
        grounds.with_lead(mean, about)
    });
    distribution.p99_ci95 =
        distribution.p99.and_then(|p99| grounds.with_lead(p99, grounds.upper_quantile_interval(values, 0.01)?));
    (distribution, Some(ranks))
}

impl Distribution {
    /// The distribution of values that are all so much greater \[ms\].
    pub(super) fn later_by(self, ms: f64) -> Self {
        let later = |value: Option<f64>| value.map(|value| value + ms);
        let both = |ends: Option<[f64; 2]>| ends.map(|ends| ends.map(|end| end + ms));
        Self {
            count: self.count,
            mean: later(self.mean),
            sd: self.sd,
            min: later(self.min),
            p50: later(self.p50),
            p90: later(self.p90),
            p95: later(self.p95),
            p99: later(self.p99),
            p999: later(self.p999),
            max: later(self.max),
            mean_ci95: both(self.mean_ci95),
            p99_ci95: both(self.p99_ci95),
        }
    }
}
