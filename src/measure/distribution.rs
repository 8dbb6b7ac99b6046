//! From single values to a distribution.

use super::samples::Samples;
use super::statistics::{BATCHES, BatchMeans, Ranks, half_width, mean, variance_about};
use super::summary::Distribution;
use crate::scenario::{Lead, Pacing, Scenario};

/// What each stretch of a run adds to the error of a lead that was found from the run itself \[ms\]: values that grow with the
/// lead are no surer than it.
pub type Leads = [f64; BATCHES];

/// The leads of a tuned run from its slack, in the order of frames; none where the lead was not tuned, or for too few.
///
/// The lead is a quantile, whose error is that of the share of late frames over the density there: so each stretch counts
/// with its own share of late frames, times the slope of the quantile between the ends of that share's interval.
pub fn tuned_leads(scenario: &Scenario, samples: &Samples) -> Option<Leads> {
    let Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } = scenario.pacing else { return None };
    let slack_ms = &samples.slack.values_ms;
    let length = slack_ms.len() / BATCHES;
    let batched = &slack_ms[slack_ms.len() - length * BATCHES..];
    let mut ordered = batched.to_vec();
    let mut ranks = Ranks::new(&mut ordered);
    let edge_ms = ranks.quantile(late_share)?;
    let mut late = [0.0; BATCHES];
    for (late, slack_ms) in late.iter_mut().zip(batched.chunks_exact(length)) {
        *late = slack_ms.iter().filter(|slack| **slack < edge_ms).count() as f64 / length as f64;
    }
    let half = half_width(&late)?;
    let [low, high] = [(late_share - half).max(0.0), (late_share + half).min(1.0)];
    let slope = (ranks.quantile(high)? - ranks.quantile(low)?) / (high - low).max(f64::MIN_POSITIVE);
    Some(late.map(|late| (late - late_share) * slope))
}

/// Describes values in the order in which they came. Quantiles and intervals are left out where the run is not steady;
/// `scratch` then holds the values for further quantiles. `leads` are those of values that grow with a tuned lead.
pub(super) fn describe<'a>(
    values: &[f64],
    steady: bool,
    leads: Option<&Leads>,
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
    if let Some(batches) = BatchMeans::of(values) {
        let mut sums = batches.means;
        if let Some(leads) = leads {
            sums.iter_mut().zip(leads).for_each(|(sum, lead)| *sum += lead);
        }
        distribution.mean_ci95 = half_width(&sums).map(|half| [mean - half, mean + half]);
        let of_all = variance.map_or(0.0, |variance| batches.effective_size(values.len(), variance));
        let effective = distribution.p99.map_or(0.0, |p99| effective_size_at(values, p99, 0.99)).min(of_all);
        let of_lead = leads.and_then(|leads| half_width(leads)).unwrap_or(0.0);
        distribution.p99_ci95 = ranks
            .quantile_interval(0.99, effective)
            .zip(distribution.p99)
            .map(|([low, high], p99)| [p99 - (p99 - low).hypot(of_lead), p99 + (high - p99).hypot(of_lead)]);
    }
    (distribution, Some(ranks))
}

/// 97.5 % quantile of the normal law.
const NORMAL: f64 = 1.959_963_985;

/// How many independent values these tell as much as about their quantile `p`: by batch means of whether each is beyond it,
/// `p (1 - p)` over the variance of the share that is; at most as many as there are.
fn effective_size_at(values: &[f64], quantile: f64, p: f64) -> f64 {
    let length = values.len() / BATCHES;
    let batched = &values[values.len() - length * BATCHES..];
    let share = |batch: &[f64]| batch.iter().filter(|value| **value > quantile).count() as f64 / length as f64;
    let shares: Vec<f64> = batched.chunks_exact(length.max(1)).map(share).collect();
    // The interval that those shares have themselves: as wide as with a variance that is known.
    let known = half_width(&shares).map_or(0.0, |half| (half / NORMAL).powi(2));
    if known > 0.0 { (p * (1.0 - p) / known).min(values.len() as f64) } else { values.len() as f64 }
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
