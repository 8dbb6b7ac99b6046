//! The spread of what is left of a stage: a law where one is close enough, else samples of it.

use crate::calibrate::content::{self, Slow};
use crate::calibrate::laws::{Family, Law};
use crate::measure::statistics;
use crate::scenario::Spread;

/// Greatest distance of Kolmogorov and Smirnov at which a law still serves, whatever a test says of many frames.
const CLOSE: f64 = 0.03;
/// Its critical value at 1 % times the root of the number of values (the limit law: Smirnov, Ann. Math. Stat. 19
/// (1948) 279-281).
const KS_AT_ONE_PCT: f64 = 1.627_62;
/// Samples that a scenario carries at most: evenly spread quantiles stand for more.
const MOST_SAMPLES: usize = 400;

/// Whether a law is close enough to so many values: within the critical distance at 1 %, or within [`CLOSE`].
pub(in crate::calibrate) fn serves(law: &Law, values: usize) -> bool {
    law.goodness.ks <= (KS_AT_ONE_PCT / (values as f64).sqrt()).max(CLOSE)
}

/// The scenario's spread for factors of mean 1, ascending: their law, or samples of them, the part that lasts taken out.
pub(in crate::calibrate) fn factor_spread(
    factors: &[f64],
    slow: Option<Slow>,
    law: Option<&Law>,
    samples: bool,
) -> Spread {
    let alike = factors.first().zip(factors.last()).is_none_or(|(least, most)| most - least < 1e-9);
    if alike {
        return Spread::Constant;
    }
    let all = content_free(factors, slow);
    if samples {
        return Spread::Samples(thinned(&all));
    }
    let Some(law) = law.and_then(|law| Law::fit(law.family, &all)) else { return Spread::Constant };
    let cv = law.cv.min(3.0);
    match law.family {
        _ if cv < 1e-6 => Spread::Constant,
        Family::Normal => Spread::Normal { cv, low: (1.0 - 4.0 * cv).max(0.0), high: 1.0 + 4.0 * cv },
        Family::LogNormal => Spread::LogNormal { cv },
        Family::Gamma => Spread::Gamma { cv },
        Family::Exponential => Spread::Exponential,
    }
}

/// Drops the part that lasts where samples stand for a law, and says so: taken out of samples as measured and put back as
/// content of a log-normal law, it would give other values than those measured.
pub(in crate::calibrate) fn drop_from_samples(slow: &mut Option<Slow>, law_serves: bool) -> Option<String> {
    if law_serves {
        return None;
    }
    slow.take().map(|slow| {
        format!(
            "a part of the spread lasts from frame to frame (cv {:.2} %, of one frame to the next correlated by {:.3}), beside what \
             each frame has of its own; samples are drawn apart from each other, so that it does not last in the scenario",
            content::cv_of(slow.variance) * 100.0,
            slow.memory
        )
    })
}

/// Factors with their spread on the logarithm shrunk by the part that lasts, and of mean 1 again.
fn content_free(factors: &[f64], slow: Option<Slow>) -> Vec<f64> {
    let logs: Vec<f64> = factors.iter().map(|x| x.max(1e-9).ln()).collect();
    let (Some(mean), Some(variance)) = (statistics::mean(&logs), statistics::variance(&logs)) else {
        return factors.to_vec();
    };
    let rest = slow.map_or(1.0, |slow| (1.0 - slow.variance / variance).max(0.0).sqrt());
    let shrunk: Vec<f64> = logs.iter().map(|log| (mean + (log - mean) * rest).exp()).collect();
    let mean = statistics::mean(&shrunk).unwrap_or(1.0);
    shrunk.iter().map(|x| x / mean).collect()
}

/// At most [`MOST_SAMPLES`] of sorted values: the means of stretches of equal length, so that the mean stays.
fn thinned(sorted: &[f64]) -> Vec<f64> {
    let count = sorted.len().min(MOST_SAMPLES);
    let border = |at: usize| at * sorted.len() / count.max(1);
    (0..count)
        .map(|at| {
            let stretch = &sorted[border(at)..border(at + 1)];
            let mean = stretch.iter().sum::<f64>() / stretch.len() as f64;
            (mean * 1e6).round() / 1e6
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::statistics::quantile_of_sorted;

    #[test]
    fn samples_keep_mean_and_quantiles() {
        let sorted: Vec<f64> = (0..10_000).map(|k| 0.5 + f64::from(k) / 10_000.0).collect();
        let thin = thinned(&sorted);
        assert_eq!(thin.len(), MOST_SAMPLES);
        assert!((statistics::mean(&thin).unwrap() - 0.99995).abs() < 1e-5);
        assert!((quantile_of_sorted(&thin, 0.95).unwrap() - 1.45).abs() < 2e-3);
    }
}
