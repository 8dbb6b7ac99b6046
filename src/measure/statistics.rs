//! Statistics of one run and of several: moments, quantiles, intervals. Every definition names its source; what cannot be
//! had of so few values is none.

mod batches;
mod quantile;
mod tail;

use std::sync::LazyLock;

use statrs::distribution::{ContinuousCDF, StudentsT};

pub use batches::{BATCHES, BatchMeans, Trend, cautious_interval, degrees, half_width, interval};
pub use quantile::{Ranks, quantile_of_sorted};
pub use tail::{quantile_degrees, quantile_interval, upper_quantile_interval};

/// Mean, in two passes: the second mends the rounding of the first.
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let count = values.len() as f64;
    let rough = sum_of(values, |value| value) / count;
    Some(rough + sum_of(values, |value| value - rough) / count)
}

/// Sum of a term over values, in four sums side by side: as quick as the processor adds, and closer than one.
#[inline]
fn sum_of(values: &[f64], term: impl Fn(f64) -> f64) -> f64 {
    let mut sums = [0.0; 4];
    let fours = values.chunks_exact(4);
    let rest: f64 = fours.remainder().iter().map(|&value| term(value)).sum();
    for four in fours {
        for (sum, &value) in sums.iter_mut().zip(four) {
            *sum += term(value);
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
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
    let squares = sum_of(values, |value| (value - mean) * (value - mean));
    let rest = sum_of(values, |value| value - mean);
    Some(((squares - rest * rest / values.len() as f64) / (values.len() - 1) as f64).max(0.0))
}

/// Standard deviation with n - 1.
pub fn sd(values: &[f64]) -> Option<f64> {
    variance(values).map(f64::sqrt)
}

/// Correlation of each value with the next, both about the mean of all; none for fewer than two values or all equal.
pub fn lag_one_correlation(values: &[f64]) -> Option<f64> {
    let mean = mean(values)?;
    let squares = sum_of(values, |value| (value - mean) * (value - mean));
    let products: f64 = values.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
    (values.len() > 1 && squares > 0.0).then(|| products / squares)
}

/// The 97.5 % quantile of the normal law.
pub const Z: f64 = 1.959_963_985;

/// Quantile `p` of Student's t with so many degrees of freedom; none unless 0 < p < 1 and there is at least one.
pub fn t_quantile(p: f64, degrees: usize) -> Option<f64> {
    t_quantile_of(p, degrees as f64)
}

/// The same with degrees of freedom between whole numbers.
pub fn t_quantile_of(p: f64, degrees: f64) -> Option<f64> {
    /// That of batch means which are not alike, asked for in every interval.
    static USUAL: LazyLock<Option<f64>> = LazyLock::new(|| work_out(0.975, (BATCHES - 1) as f64));
    let same = |one: f64, other: f64| one.to_bits() == other.to_bits();
    if same(p, 0.975) && same(degrees, (BATCHES - 1) as f64) { *USUAL } else { work_out(p, degrees) }
}

fn work_out(p: f64, degrees: f64) -> Option<f64> {
    if degrees < 1.0 || !(p > 0.0 && p < 1.0) {
        return None;
    }
    StudentsT::new(0.0, 1.0, degrees).ok().map(|t| t.inverse_cdf(p))
}

/// Half-width of the 95 % t-interval of the mean of independent values (seeds of a study); none for fewer than two.
pub fn t_half_width(values: &[f64]) -> Option<f64> {
    let sd = sd(values)?;
    Some(t_quantile(0.975, values.len() - 1)? * sd / (values.len() as f64).sqrt())
}

#[cfg(test)]
mod tests;
