//! Spreads against their distribution functions (Johnson, Kotz and Balakrishnan, *Continuous univariate distributions* 1,
//! 1994); quantiles and moments computed with scipy.stats 1.17.

use std::f64::consts::{FRAC_1_SQRT_2, LN_2};

use statrs::distribution::{ContinuousCDF as _, Exp, Gamma, LogNormal, Normal};

use super::{assert_share, correlation, deviation, mean};
use crate::scenario::Spread;
use crate::work::law::{Law, truncated_mean};
use crate::work::luck::{Column, Luck};

const DRAWS: usize = 100_000;

fn draws(spread: &Spread, count: usize) -> Vec<f64> {
    let (law, luck) = (Law::new(spread), Luck::new(20_251_125, Column::Render));
    (0..count).map(|frame| law.draw(&mut luck.at(frame))).collect()
}

fn normal(cv: f64, low: f64, high: f64) -> Spread {
    Spread::Normal { cv, low, high }
}

/// Shares of draws below the known median, p95 and p99.
#[track_caller]
fn assert_quantiles(spread: &Spread, known: [(f64, f64); 3]) {
    let drawn = draws(spread, DRAWS);
    for (probability, quantile) in known {
        assert_share(drawn.iter().filter(|factor| **factor <= quantile).count(), DRAWS, probability);
    }
    assert!((mean(&drawn) - 1.0).abs() <= 4.0 * deviation(&drawn) / (DRAWS as f64).sqrt(), "mean {}", mean(&drawn));
}

fn at(median: f64, p95: f64, p99: f64) -> [(f64, f64); 3] {
    [(0.5, median), (0.95, p95), (0.99, p99)]
}

#[test]
fn log_normal_has_its_median_p95_and_p99() {
    assert_quantiles(&Spread::LogNormal { cv: 0.1 }, at(0.995_037, 1.172_457, 1.254_932));
    assert_quantiles(&Spread::LogNormal { cv: 0.2 }, at(0.980_581, 1.358_173, 1.554_423));
    assert_quantiles(&Spread::LogNormal { cv: 0.3 }, at(0.957_826, 1.552_358, 1.896_167));
    assert_quantiles(&Spread::LogNormal { cv: 0.5 }, at(0.894_427, 1.945_318, 2.684_112));
    assert_quantiles(&Spread::LogNormal { cv: 1.0 }, at(FRAC_1_SQRT_2, 2.781_129, 4.904_916));
}

#[test]
fn gamma_has_its_median_p95_and_p99() {
    assert_quantiles(&Spread::Gamma { cv: 0.1 }, at(0.996_669, 1.169_971, 1.247_226));
    assert_quantiles(&Spread::Gamma { cv: 0.2 }, at(0.986_699, 1.350_096, 1.523_078));
    assert_quantiles(&Spread::Gamma { cv: 0.3 }, at(0.970_165, 1.539_102, 1.826_542));
    assert_quantiles(&Spread::Gamma { cv: 0.5 }, at(0.918_015, 1.938_414, 2.511_279));
    assert_quantiles(&Spread::Gamma { cv: 1.0 }, at(LN_2, 2.995_732, 4.605_170));
}

/// Mean before dividing, cv and p99 after it.
#[test]
fn truncated_normals_have_mean_1_and_their_cv_and_p99() {
    let cases = [
        (0.3, 0.4, 2.0, 1.016_107_98, 0.277_169_67, 1.668_821),
        // The candidate of a 2025 amendment for immersive traffic, and the frame sizes of 3GPP TR 38.838, 5.1.1.1.
        (0.25, 0.25, 3.0, 1.001_109_46, 0.248_052_55, 1.579_961),
        (0.105, 0.5, 1.5, 1.0, 0.104_997_62, 1.244_263),
        (0.5, 0.0, 3.0, 1.027_556_35, 0.457_994_75, 2.108_775),
        (0.5, 0.5, 1.5, 1.0, 0.269_780_05, 1.486_087),
        (0.3, 0.7, 2.0, 1.085_773_80, 0.218_328_87, 1.576_478),
        // Truncation at two sigma, the jitter of TR 38.838: sd 0.879 626 of the whole normal's.
        (0.5, 0.0, 2.0, 1.0, 0.5 * 0.879_626, 1.924_042),
    ];
    for (cv, low, high, mean_before, cv_after, p99) in cases {
        assert!((truncated_mean(cv, low, high) - mean_before).abs() < 1e-8, "mean of Normal({cv}, {low}, {high})");
        let drawn = draws(&normal(cv, low, high), DRAWS);
        assert_share(drawn.iter().filter(|factor| **factor <= p99).count(), DRAWS, 0.99);
        assert!((mean(&drawn) - 1.0).abs() <= 4.0 * cv_after / (DRAWS as f64).sqrt());
        // The kurtosis of these laws is at most 3, so the standard error of a deviation is at most sd / sqrt(2n).
        let error = cv_after / (2.0 * DRAWS as f64).sqrt();
        assert!((deviation(&drawn) - cv_after).abs() <= 4.0 * error, "cv of Normal({cv}, {low}, {high})");
        let end = |end: f64| end / mean_before;
        let slack = 1e-8;
        assert!(drawn.iter().all(|factor| (end(low) - slack..=end(high) + slack).contains(factor)));
    }
}

/// Greatest distance between the draws' distribution and the law's.
fn kolmogorov_smirnov(mut drawn: Vec<f64>, cdf: impl Fn(f64) -> f64) -> f64 {
    drawn.sort_unstable_by(f64::total_cmp);
    let count = drawn.len() as f64;
    let distances = drawn.iter().enumerate().map(|(rank, &factor)| {
        let expected = cdf(factor);
        f64::max(expected - rank as f64 / count, (rank + 1) as f64 / count - expected)
    });
    distances.fold(0.0, f64::max)
}

/// Critical value of Kolmogorov and Smirnov's D for n = 10 000 at alpha 0.01 (scipy.stats.kstwo): 0.01628.
#[test]
fn draws_pass_the_kolmogorov_smirnov_test() {
    const COUNT: usize = 10_000;
    const LIMIT: f64 = 0.016_28;
    #[track_caller]
    fn check(spread: &Spread, cdf: impl Fn(f64) -> f64) {
        let distance = kolmogorov_smirnov(draws(spread, COUNT), cdf);
        assert!(distance < LIMIT, "{spread:?}: D = {distance}");
    }
    for cv in [0.05_f64, 0.3, 0.9, 1.1, 3.0] {
        let sigma = (1.0 + cv * cv).ln().sqrt();
        let log_normal = LogNormal::new(-sigma * sigma / 2.0, sigma).unwrap();
        check(&Spread::LogNormal { cv }, |factor| log_normal.cdf(factor));
        let gamma = Gamma::new(1.0 / (cv * cv), 1.0 / (cv * cv)).unwrap();
        check(&Spread::Gamma { cv }, |factor| gamma.cdf(factor));
    }
    let exponential = Exp::new(1.0).unwrap();
    check(&Spread::Exponential, |factor| exponential.cdf(factor));
    // The last window keeps one normal in 750: it is drawn through the inverse as a rule.
    for (cv, low, high) in [(0.15, 0.4, 1.6), (0.3, 0.7, 2.0), (3.0, 0.0, 4.0), (3.0, 0.995, 1.005)] {
        let (whole, scale) = (Normal::new(1.0, cv).unwrap(), truncated_mean(cv, low, high));
        let (below, above) = (whole.cdf(low), whole.cdf(high));
        check(&normal(cv, low, high), |factor| (whole.cdf(factor * scale) - below) / (above - below));
    }
    // The test can fail: another cv is told apart.
    let narrow = LogNormal::new(-0.045, 0.3).unwrap();
    assert!(kolmogorov_smirnov(draws(&Spread::LogNormal { cv: 0.33 }, COUNT), |factor| narrow.cdf(factor)) > LIMIT);
}

#[test]
fn samples_are_used_as_given_each_as_often() {
    let samples = [0.5, 0.75, 4.0];
    let drawn = draws(&Spread::Samples(samples.to_vec()), DRAWS);
    for sample in samples {
        let as_often = drawn.iter().filter(|factor| factor.total_cmp(&sample).is_eq()).count();
        assert_share(as_often, DRAWS, 1.0 / 3.0);
    }
    assert!(drawn.iter().all(|factor| samples.contains(factor)));
}

/// The first number drawn is the same whatever the parameters: a larger cv enlarges the same luck.
#[test]
fn a_larger_cv_meets_the_same_luck() {
    let with = |spread: fn(f64) -> Spread, cv: f64| draws(&spread(cv), 5000);
    let log_normal: fn(f64) -> Spread = |cv| Spread::LogNormal { cv };
    let gamma: fn(f64) -> Spread = |cv| Spread::Gamma { cv };
    let truncated: fn(f64) -> Spread = |cv| normal(cv, 0.2, 1.8);
    assert!(correlation(&with(log_normal, 0.10), &with(log_normal, 0.11)) > 0.999);
    assert!(correlation(&with(gamma, 0.10), &with(gamma, 0.11)) > 0.99);
    assert!(correlation(&with(gamma, 0.99), &with(gamma, 1.01)) > 0.5, "across the change of method at cv 1");
    assert!(correlation(&with(truncated, 0.30), &with(truncated, 0.31)) > 0.98);
    assert!(correlation(&with(log_normal, 0.1), &with(truncated, 0.1)) > 0.99, "both stand on the same normal");
}
