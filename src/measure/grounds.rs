//! What the intervals of one run may rest on: whether it is long enough, and how sure the lead is that it found itself.

use super::samples::Samples;
use super::statistics::{BatchMeans, Ranks, mean, upper_quantile_interval, variance_about};
use crate::scenario::{Lead, Pacing, Scenario};

/// Independent values that a run must be worth before the interval of its p99 is to be trusted: where content remembers, by
/// that memory, which is known; and by what batch means say, where a queue remembers. Found by trial on content of memory 0.99
/// and on M/M/1 at loads of 0.5 to 0.9 (`tests/it/coverage.rs`): below, intervals hold the truth too seldom.
const ENOUGH: Enough = Enough { by_content: 100.0, by_batches: 300.0 };

/// Independent values beyond a tuned lead, by the share that may be late, that a run must be worth before the interval of its
/// lead is to be trusted. Found by trial on content of memory 0.99 and a share of 0.5 % (`tests/it/coverage.rs`): frames that are
/// late come in a few clusters, and with 0.75, 1, 1.5 and 2 of them times from pose to photon lie inside their interval in only 92
/// to 93 % of runs.
const ENOUGH_LATE: f64 = 3.0;

#[derive(Debug, Clone, Copy)]
struct Enough {
    by_content: f64,
    by_batches: f64,
}

impl Enough {
    /// Enough to know a lead by, at which this share may be late.
    fn for_lead(late_share: f64) -> Self {
        let worth = ENOUGH_LATE / late_share;
        Self { by_content: ENOUGH.by_content.max(worth), by_batches: ENOUGH.by_batches.max(worth) }
    }
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
        let enough = Enough::for_lead(late_share);
        if given.needed(enough).is_none() {
            return Self { lead: FoundLead::Tuned(None), ..given };
        }
        // Late frames have the least slack.
        let tardiness_ms: Vec<f64> = samples.slack.values_ms.iter().map(|slack| -slack).collect();
        Self { lead: FoundLead::Tuned(given.doubt_of_lead(&tardiness_ms, late_share, enough)), ..given }
    }

    /// The same for values that do not grow with the lead.
    pub(super) fn whatever_lead(self) -> Self {
        Self { lead: FoundLead::Given, ..self }
    }

    /// Of a given lead and content that does not vary.
    #[cfg(test)]
    pub(super) const fn given() -> Self {
        Self { by_content: None, lead: FoundLead::Given }
    }

    /// Of a tuned lead that may as well be so much lower or higher \[ms\].
    #[cfg(test)]
    pub(super) const fn tuned(doubt: [f64; 2]) -> Self {
        Self { by_content: None, lead: FoundLead::Tuned(Some(doubt)) }
    }

    fn doubt_of_lead(&self, tardiness_ms: &[f64], late_share: f64, enough: Enough) -> Option<[f64; 2]> {
        let [low, high] = self.interval_where(enough, tardiness_ms, late_share)?;
        let mut values = tardiness_ms.to_vec();
        let edge = Ranks::new(&mut values).quantile(1.0 - late_share)?;
        Some([edge - low, high - edge])
    }

    /// The interval of the quantile that the share `beyond` lies above, where the values are enough for one.
    pub(super) fn upper_quantile_interval(&self, values: &[f64], beyond: f64) -> Option<[f64; 2]> {
        self.interval_where(ENOUGH, values, beyond)
    }

    fn interval_where(&self, enough: Enough, values: &[f64], beyond: f64) -> Option<[f64; 2]> {
        let needed = self.needed(enough)?;
        let variance = variance_about(values, mean(values)?)?;
        let worth = BatchMeans::of(values)?.effective_size(values.len(), variance);
        if worth < needed { None } else { upper_quantile_interval(values, beyond) }
    }

    /// How many independent values batch means must say that there are; none where the content tells that they are too few.
    fn needed(&self, enough: Enough) -> Option<f64> {
        match self.by_content {
            Some(worth) if worth < enough.by_content => None,
            // What is known needs no proof by batch means, which are luck themselves; they must not contradict it.
            Some(worth) => Some(enough.by_batches.min(0.5 * worth)),
            None => Some(enough.by_batches),
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

/// Frames of a run, those that do not count included, from which on the memory of its content leaves the p99 of pose to photon an
/// interval; none where content does not vary.
pub fn frames_for_p99_interval(scenario: &Scenario) -> Option<u64> {
    let content = &scenario.content;
    let worth = match scenario.pacing {
        Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } => Enough::for_lead(late_share).by_content,
        _ => ENOUGH.by_content,
    };
    let counted = worth * (1.0 + content.memory) / (1.0 - content.memory);
    (content.cv > 0.0 && counted.is_finite())
        .then(|| (counted.ceil() as u64).saturating_add(scenario.run.warmup.into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a tuned lead is in doubt by reaches from the quantile of tardiness to the ends of its interval.
    #[test]
    fn a_tuned_lead_is_as_much_in_doubt_as_its_quantile() {
        let values: Vec<f64> = (0..10_000_u32).map(|k| f64::from(k * 7919 % 10_000)).collect();
        let [below, above] = Grounds::given().doubt_of_lead(&values, 0.01, ENOUGH).unwrap();
        let [low, high] = upper_quantile_interval(&values, 0.01).unwrap();
        // Of type 7: between ranks 9899 and 9900 from 0.
        let edge = 9899.01;
        assert!((edge - below - low).abs() < 1e-6 && (edge + above - high).abs() < 1e-6, "{below}, {above}");
    }
}
