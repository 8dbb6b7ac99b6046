//! How far values lie from a law, and from other values.

use serde::Serialize;

/// Distances of a sample from a law that was fitted to it.
///
/// The p-value is for a law that was *not* fitted to the same values: with fitted parameters the distances come out smaller,
/// so a small p still speaks against the law, but a large one says little for it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Goodness {
    /// Kolmogorov and Smirnov's distance: the greatest one between the distribution functions.
    pub ks: f64,
    /// Probability of a greater one if the law were true and not fitted.
    pub ks_p: f64,
    /// Anderson and Darling's A^2 (1952), which weighs the tails more.
    pub ad: f64,
}

/// Distances of sorted values from a distribution function.
pub(super) fn one_sample(sorted: &[f64], cdf: impl Fn(f64) -> f64) -> Goodness {
    let n = sorted.len() as f64;
    let shares: Vec<f64> = sorted.iter().map(|&x| cdf(x)).collect();
    let ks = shares.iter().enumerate().map(|(i, f)| (f - i as f64 / n).max((i + 1) as f64 / n - f)).fold(0.0, f64::max);
    // Beyond this the logarithm would be infinite; A^2 is large there anyway.
    let ln = |f: f64| f.max(f64::MIN_POSITIVE).ln();
    let weighted = shares.iter().zip(shares.iter().rev()).enumerate();
    let sum: f64 = weighted.map(|(i, (low, high))| (2 * i + 1) as f64 * (ln(*low) + ln(1.0 - high))).sum();
    Goodness { ks, ks_p: kolmogorov(ks, n), ad: -n - sum / n }
}

/// Kolmogorov and Smirnov's distance between two samples; both come sorted. None where one is empty.
pub fn two_samples(one: &[f64], other: &[f64]) -> Option<f64> {
    if one.is_empty() || other.is_empty() {
        return None;
    }
    let share = |sorted: &[f64], x: f64| sorted.partition_point(|value| *value <= x) as f64 / sorted.len() as f64;
    let apart = |x: &f64| (share(one, *x) - share(other, *x)).abs();
    one.iter().chain(other).map(apart).max_by(f64::total_cmp)
}

/// Probability that the distance of n values exceeds `distance`: Kolmogorov's limit with Stephens' correction for small n
/// (Stephens, J. Royal Stat. Soc. B 32 (1970) 115-122).
fn kolmogorov(distance: f64, n: f64) -> f64 {
    let root = n.sqrt();
    let x = (root + 0.12 + 0.11 / root) * distance;
    if x < 0.2 {
        return 1.0;
    }
    let terms = (1..=100).map(|k| {
        let k = f64::from(k);
        (-1.0_f64).powf(k - 1.0) * (-2.0 * k * k * x * x).exp()
    });
    (2.0 * terms.sum::<f64>()).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::reference;

    #[test]
    fn distances_of_a_uniform_law_are_those_by_hand() {
        let goodness = one_sample(&[0.1, 0.5, 0.6], |x| x);
        assert!((goodness.ks - 0.4).abs() < 1e-12);
        // -3 - (1 (ln .1 + ln .4) + 3 (ln .5 + ln .5) + 5 (ln .6 + ln .9)) / 3
        let by_hand = -3.0 - (0.04_f64.ln() + 3.0 * 0.25_f64.ln() + 5.0 * 0.54_f64.ln()) / 3.0;
        assert!((goodness.ad - by_hand).abs() < 1e-12);
    }

    #[test]
    fn probabilities_are_those_of_scipy() {
        for cells in reference::lines("kolmogorov") {
            let [n, distance, expected] = reference::numbers(&cells)[..] else { panic!("{cells:?}") };
            let found = kolmogorov(distance, n);
            assert!((found / expected - 1.0).abs() < 0.03, "n {n}, D {distance}: {found}, not {expected}");
        }
        assert!((kolmogorov(0.0, 50.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn distances_of_two_samples_are_those_of_scipy() {
        for cells in reference::lines("two") {
            let [factor, expected] = reference::numbers(&cells[1..])[..] else { panic!("{cells:?}") };
            let one = reference::sorted(cells[0]);
            let other: Vec<f64> = one.iter().map(|value| value * factor).collect();
            assert!((two_samples(&one, &other).unwrap() - expected).abs() < 1e-12, "{cells:?}");
        }
    }

    #[test]
    fn two_samples_with_ties() {
        assert_eq!(two_samples(&[1.0, 2.0, 2.0, 3.0], &[2.0, 2.0]), Some(0.25));
        assert_eq!(two_samples(&[1.0, 2.0], &[3.0, 4.0]), Some(1.0));
        assert_eq!(two_samples(&[1.0], &[]), None);
    }
}
