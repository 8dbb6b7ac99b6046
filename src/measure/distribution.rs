//! From single values to a distribution.

use super::grounds::Grounds;
use super::statistics::{BatchMeans, Ranks, mean, variance_about};
use super::summary::Distribution;

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
    distribution.mean_ci95 = BatchMeans::of(values).filter(BatchMeans::differ).and_then(|batches| {
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

#[cfg(test)]
mod tests {
    use super::super::statistics::upper_quantile_interval;
    use super::*;

    /// Intervals are those of batch means and of the tail test, about the mean of all and as they come; a doubt of the lead is added
    /// as the root of the sum of squares.
    #[test]
    fn intervals_are_those_of_the_statistics() {
        // Each value once, spread evenly over the run: 7919 is coprime to 10 003. What fills no batch is three at the beginning.
        let values: Vec<f64> = (0..10_003_u32).map(|k| f64::from(k * 7919 % 10_003)).collect();
        let scratch = &mut Vec::new();
        let (plain, _) = describe(&values, true, &Grounds::given(), scratch);
        let batches = BatchMeans::of(&values).unwrap();
        let [low, high] = batches.interval().unwrap().map(|end| end - batches.mean() + plain.mean.unwrap());
        let found = plain.mean_ci95.unwrap();
        assert!((found[0] - low).abs() < 1e-9 && (found[1] - high).abs() < 1e-9, "{found:?} is not {low} to {high}");
        assert_eq!(plain.p99_ci95, upper_quantile_interval(&values, 0.01));
        let (doubted, _) = describe(&values, true, &Grounds::tuned([3.0, 4.0]), scratch);
        for (middle, plain, wider) in [
            (plain.mean.unwrap(), found, doubted.mean_ci95.unwrap()),
            (plain.p99.unwrap(), plain.p99_ci95.unwrap(), doubted.p99_ci95.unwrap()),
        ] {
            let below = ((middle - plain[0]).powi(2) + 9.0).sqrt();
            let above = ((plain[1] - middle).powi(2) + 16.0).sqrt();
            assert!((middle - wider[0] - below).abs() < 1e-9 && (wider[1] - middle - above).abs() < 1e-9, "{wider:?}");
        }
    }
}
