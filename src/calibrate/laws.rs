//! Which law a spread follows: each of the scenario's laws fitted by maximum likelihood, and the best of them by AIC.

use rayon::prelude::*;
use statrs::distribution::{Continuous, ContinuousCDF, Exp, Gamma, LogNormal, Normal};
use statrs::function::gamma::digamma;

use super::goodness::{self, Goodness};
use crate::measure::statistics;
use crate::stop::Stop;

/// A family of laws that a scenario's spread can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Family {
    /// Normal.
    Normal,
    /// Log-normal.
    LogNormal,
    /// Gamma.
    Gamma,
    /// Exponential.
    Exponential,
}

impl Family {
    /// All, in the order of tables.
    pub const ALL: [Self; 4] = [Self::Normal, Self::LogNormal, Self::Gamma, Self::Exponential];

    /// Its name, as in a scenario file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Normal => "Normal",
            Self::LogNormal => "LogNormal",
            Self::Gamma => "Gamma",
            Self::Exponential => "Exponential",
        }
    }

    /// Parameters that are estimated.
    const fn parameters(self) -> f64 {
        match self {
            Self::Exponential => 1.0,
            Self::Normal | Self::LogNormal | Self::Gamma => 2.0,
        }
    }
}

/// A law fitted to values, and how well it fits them.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Law {
    /// Its family.
    pub family: Family,
    /// Mean of the fitted law, in the unit of the values.
    pub mean: f64,
    /// Standard deviation of the fitted law over its mean.
    pub cv: f64,
    /// Log-likelihood at the estimates.
    pub log_likelihood: f64,
    /// Akaike's criterion, 2 p - 2 log L (Akaike 1974): the least one is the best.
    pub aic: f64,
    /// Distances between the values and the law.
    pub goodness: Goodness,
}

/// The estimates themselves.
enum Estimate {
    Normal(Normal),
    LogNormal(LogNormal),
    Gamma(Gamma),
    Exponential(Exp),
}

impl Law {
    /// Fits one family to finite values by maximum likelihood; the values come sorted. None where it cannot be: fewer than
    /// two values, all alike, or values that the family does not have.
    pub fn fit(family: Family, sorted: &[f64]) -> Option<Self> {
        let estimate = Estimate::of(family, sorted)?;
        let log_likelihood: f64 = sorted.iter().map(|&x| estimate.ln_pdf(x)).sum();
        let (mean, cv) = estimate.mean_and_cv()?;
        log_likelihood.is_finite().then(|| Self {
            family,
            mean,
            cv,
            log_likelihood,
            aic: 2.0 * family.parameters() - 2.0 * log_likelihood,
            goodness: goodness::one_sample(sorted, |x| estimate.cdf(x)),
        })
    }

    /// All families that can be fitted to finite values, the best by AIC first.
    pub fn fit_all(values: &[f64]) -> Vec<Self> {
        Self::fit_all_unless(values, Stop::NEVER)
    }

    /// The same; some may be missing where it is given up.
    pub(super) fn fit_all_unless(values: &[f64], stop: Stop<'_>) -> Vec<Self> {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        // What is all alike follows no law.
        if sorted.first() == sorted.last() {
            return Vec::new();
        }
        let fit = |family: &Family| if stop.asked() { None } else { Self::fit(*family, &sorted) };
        let mut laws: Vec<Self> = Family::ALL.par_iter().filter_map(fit).collect();
        laws.sort_by(|a, b| a.aic.total_cmp(&b.aic));
        laws
    }
}

impl Estimate {
    fn of(family: Family, values: &[f64]) -> Option<Self> {
        let n = values.len() as f64;
        let mean = statistics::mean(values)?;
        // Maximum likelihood divides by n, not by n - 1.
        let sd_of =
            |values: &[f64]| Some((statistics::variance(values)? * (n - 1.0) / n).sqrt()).filter(|sd| *sd > 0.0);
        let positive = values.iter().all(|x| *x > 0.0);
        match family {
            Family::Normal => Some(Self::Normal(Normal::new(mean, sd_of(values)?).ok()?)),
            Family::Exponential if positive => Some(Self::Exponential(Exp::new(1.0 / mean).ok()?)),
            Family::LogNormal if positive => {
                let logs: Vec<f64> = values.iter().map(|x| x.ln()).collect();
                Some(Self::LogNormal(LogNormal::new(statistics::mean(&logs)?, sd_of(&logs)?).ok()?))
            }
            Family::Gamma if positive => {
                let mean_log = statistics::mean(&values.iter().map(|x| x.ln()).collect::<Vec<_>>())?;
                let shape = gamma_shape(mean.ln() - mean_log)?;
                let rate = shape / mean;
                // Beyond what doubles hold, the law cannot be told.
                let held = values.iter().all(|x| x * rate > 0.0 && (x * rate).is_finite());
                held.then(|| Gamma::new(shape, rate).ok().map(Self::Gamma))?
            }
            _ => None,
        }
    }

    fn ln_pdf(&self, x: f64) -> f64 {
        match self {
            Self::Normal(law) => law.ln_pdf(x),
            Self::LogNormal(law) => law.ln_pdf(x),
            Self::Gamma(law) => law.ln_pdf(x),
            Self::Exponential(law) => law.ln_pdf(x),
        }
    }

    fn cdf(&self, x: f64) -> f64 {
        match self {
            Self::Normal(law) => law.cdf(x),
            Self::LogNormal(law) => law.cdf(x),
            Self::Gamma(law) => law.cdf(x),
            Self::Exponential(law) => law.cdf(x),
        }
    }

    fn mean_and_cv(&self) -> Option<(f64, f64)> {
        use statrs::statistics::Distribution;
        let (mean, sd) = match self {
            Self::Normal(law) => (law.mean(), law.std_dev()),
            Self::LogNormal(law) => (law.mean(), law.std_dev()),
            Self::Gamma(law) => (law.mean(), law.std_dev()),
            Self::Exponential(law) => (law.mean(), law.std_dev()),
        };
        let (mean, sd) = (mean?, sd?);
        (mean > 0.0).then_some((mean, sd / mean))
    }
}

/// Shape of a gamma law by maximum likelihood: the root of `ln k - digamma(k) = s`, with `s` the logarithm of the mean less
/// the mean of the logarithms, above 0. The left side falls from infinity to 0, and Minka's start (Minka 2002, "Estimating
/// a gamma distribution") is within some per cent of the root.
fn gamma_shape(s: f64) -> Option<f64> {
    if !(s.is_finite() && s > 0.0) {
        return None;
    }
    let start = (3.0 - s + ((s - 3.0).powi(2) + 24.0 * s).sqrt()) / (12.0 * s);
    let (mut low, mut high) = (start / 2.0, start * 2.0);
    for _ in 0..200 {
        let middle = (low * high).sqrt();
        if middle.ln() - digamma(middle) > s {
            low = middle;
        } else {
            high = middle;
        }
        if high - low <= 1e-14 * high {
            break;
        }
    }
    Some((low * high).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::reference;

    fn assert_near(found: f64, expected: f64, what: &str) {
        assert!((found - expected).abs() <= 1e-8 * expected.abs().max(1.0), "{what}: {found} is not {expected}");
    }

    /// Once a panic of the library: a value times the rate is no longer above 0.
    #[test]
    fn values_beyond_what_doubles_hold_follow_no_gamma_law() {
        for values in [[1e-320, 1e3, 1e300], [1e-308, 1.0, 1e308], [5e-324, 1.0, 2.0]] {
            let _ = Law::fit_all(&values);
        }
    }

    #[test]
    fn estimates_and_distances_are_those_of_scipy() {
        let lines = reference::lines("law");
        for cells in &lines {
            let family = Family::ALL.into_iter().find(|family| family.name() == cells[1]).unwrap();
            let law = Law::fit(family, &reference::sorted(cells[0])).unwrap();
            let found = [law.mean, law.cv, law.log_likelihood, law.aic, law.goodness.ks, law.goodness.ad];
            for (at, (found, expected)) in found.into_iter().zip(reference::numbers(&cells[2..])).enumerate() {
                assert_near(found, expected, &format!("{} {} number {at}", cells[0], cells[1]));
            }
        }
        assert_eq!(lines.len(), 3 * Family::ALL.len());
    }

    #[test]
    fn the_least_aic_comes_first() {
        let laws = Law::fit_all(&reference::sorted("ten"));
        let families: Vec<Family> = laws.iter().map(|law| law.family).collect();
        assert_eq!(families, [Family::LogNormal, Family::Gamma, Family::Normal, Family::Exponential]);
    }

    #[test]
    fn what_a_family_cannot_have_is_not_fitted() {
        let families = |values: &[f64]| Law::fit_all(values).iter().map(|law| law.family).collect::<Vec<_>>();
        assert_eq!(families(&[-1.0, 2.0, 3.0]), [Family::Normal]);
        assert!(families(&[1.0]).iter().all(|family| *family == Family::Exponential));
        assert!(families(&[]).is_empty());
        assert!(!families(&[2.0, 2.0, 2.0]).contains(&Family::Gamma));
    }
}
