//! Statistics of one run and of several: moments, quantiles, intervals. Every definition names its source; what cannot be
//! had of so few values is none.

mod batches;
mod quantile;

use statrs::distribution::{ContinuousCDF, StudentsT};

pub use batches::{BATCHES, BatchMeans, Trend};
pub use quantile::{Ranks, quantile_of_sorted, quantile_ranks};

/// Mean, in two passes: the second mends the rounding of the first.
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let count = values.len() as f64;
    let rough = values.iter().sum::<f64>() / count;
    Some(rough + values.iter().map(|value| value - rough).sum::<f64>() / count)
}

/// Variance with n - 1, by the corrected two-pass formula (T. F. Chan and others, Am. Stat. 37, 1983).
pub fn variance(values: &[f64]) -> Option<f64> {
    variance_about(values, mean(values)?)
}

/// Variance with n - 1 of values whose mean is known.
pub fn variance_about(values: &[f64], mean: f64) -> Option<f64> {
    if values.len() < 2 {
        return None;
    }
    let (mut squares, mut rest) = (0.0, 0.0);
    for value in values {
        let deviation = value - mean;
        squares += deviation * deviation;
        rest += deviation;
    }
    Some(((squares - rest * rest / values.len() as f64) / (values.len() - 1) as f64).max(0.0))
}

/// Standard deviation with n - 1.
pub fn sd(values: &[f64]) -> Option<f64> {
    variance(values).map(f64::sqrt)
}

/// Correlation of each value with the next, both about the mean of all; none for fewer than two values or all equal.
pub fn lag_one_correlation(values: &[f64]) -> Option<f64> {
    let mean = mean(values)?;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let products: f64 = values.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
    (values.len() > 1 && squares > 0.0).then(|| products / squares)
}

/// Quantile `p` of Student's t with so many degrees of freedom; none unless 0 < p < 1 and there is at least one.
pub fn t_quantile(p: f64, degrees: usize) -> Option<f64> {
    if degrees == 0 || !(p > 0.0 && p < 1.0) {
        return None;
    }
    StudentsT::new(0.0, 1.0, degrees as f64).ok().map(|t| t.inverse_cdf(p))
}

/// Half-width of the 95 % t-interval of the mean of independent values (seeds of a study); none for fewer than two.
pub fn t_half_width(values: &[f64]) -> Option<f64> {
    let sd = sd(values)?;
    Some(t_quantile(0.975, values.len() - 1)? * sd / (values.len() as f64).sqrt())
}

#[cfg(test)]
mod tests;
