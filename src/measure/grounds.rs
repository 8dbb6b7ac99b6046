//! What the intervals of one run may rest on: whether it is long enough, and how sure the lead is that it found itself.

use super::samples::Samples;
use super::statistics::{BatchMeans, Ranks, mean, upper_quantile_interval, variance_about};
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
    pub(super) fn upper_quantile_interval(&self, values: &[f64], beyond: f64) -> Option<[f64; 2]> {
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
    pub(super) fn with_lead(&self, middle: f64, [low, high]: [f64; 2]) -> Option<[f64; 2]> {
        match self.lead {
            FoundLead::Given => Some([low, high]),
            FoundLead::Tuned(doubt) => doubt
                .map(|[below, above]| [middle - (middle - low).hypot(below), middle + (high - middle).hypot(above)]),
        }
    }
}

/// Frames of a run, those that do not count included, from which on the memory of its content leaves p99 an interval; none
/// where content does not vary.
pub fn frames_for_p99_interval(scenario: &Scenario) -> Option<u64> {
    let content = &scenario.content;
    let counted = ENOUGH.by_content * (1.0 + content.memory) / (1.0 - content.memory);
    (content.cv > 0.0 && content.memory < 1.0).then(|| counted.ceil() as u64 + u64::from(scenario.run.warmup))
}
