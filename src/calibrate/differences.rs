//! How far simulated quantiles lie from measured ones, with intervals.

use serde::Serialize;

use super::judge;
use super::mapping::Role;
use super::measured::Measured;
use crate::measure::statistics::{Z, lag_one_correlation, quantile_of_sorted};
use crate::study::Answer;

/// Quantiles that are told with intervals.
pub const TOLD: [f64; 4] = [0.5, 0.9, 0.95, 0.99];
/// Neighbours are taken to be alike by no more than this, so that an interval stays finite.
const MOST_ALIKE: f64 = 0.99;

/// Quantiles of one role, measured and simulated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Differences {
    /// The role.
    pub role: Role,
    /// A line each of [`TOLD`].
    pub rows: Vec<Difference>,
}

/// One quantile, measured and simulated \[ms, bits\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difference {
    /// Which.
    pub quantile: f64,
    /// Measured.
    pub measured: f64,
    /// Its 95 % interval; none where the frames are too few for one.
    pub measured_ci95: Option<[f64; 2]>,
    /// Simulated.
    pub simulated: f64,
    /// Its 95 % interval, for the length of the run.
    pub simulated_ci95: Option<[f64; 2]>,
    /// Simulated over measured, less 1; none where the measured one is not above 0.
    pub relative: Option<f64>,
    /// Its 95 % interval: both luck of the bench and luck of the run.
    pub relative_ci95: Option<[f64; 2]>,
}

/// The differences of all that was measured and is simulated.
pub(super) fn of(measured: &Measured, answer: &Answer) -> Vec<Differences> {
    let part = judge::comparable(measured, &answer.scenario);
    part.values
        .iter()
        .filter_map(|values| {
            let found: Vec<f64> = values.values.iter().copied().filter(|x| x.is_finite()).collect();
            let made = judge::simulated(values.role, answer)?;
            let (found, made) = (Series::new(found), Series::new(made));
            let rows: Option<Vec<Difference>> = TOLD.iter().map(|&p| Difference::of(p, &found, &made)).collect();
            Some(Differences { role: values.role, rows: rows? })
        })
        .collect()
}

/// How many times larger the variance of a mean is where neighbours are alike: by the correlation of neighbours.
pub(super) fn widening(lag_one: Option<f64>) -> f64 {
    let alike = lag_one.unwrap_or(0.0).clamp(0.0, MOST_ALIKE);
    (1.0 + alike) / (1.0 - alike)
}

struct Series {
    in_order: Vec<f64>,
    sorted: Vec<f64>,
}

impl Series {
    fn new(in_order: Vec<f64>) -> Self {
        let mut sorted = in_order.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        Self { in_order, sorted }
    }

    /// The interval of a quantile between two of the sorted values: the number of values below it is binomial, its variance
    /// as many times larger as neighbours are alike (that of the mean of a first-order memory, (1 + r) / (1 - r), with r the
    /// correlation of neighbours' being below: Bayley and Hammersley, J. Royal Stat. Soc. Suppl. 8 (1946) 184-197).
    fn interval(&self, p: f64, value: f64) -> Option<[f64; 2]> {
        let n = self.sorted.len() as f64;
        let below: Vec<f64> = self.in_order.iter().map(|x| if *x <= value { 1.0 } else { 0.0 }).collect();
        let half = Z * (n * p * (1.0 - p) * widening(lag_one_correlation(&below))).sqrt();
        let (low, high) = ((n * p - half).floor(), (n * p + half).ceil());
        if low < 0.0 || high >= n {
            return None;
        }
        Some([self.sorted[low as usize], self.sorted[high as usize]])
    }
}

impl Difference {
    fn of(quantile: f64, found: &Series, made: &Series) -> Option<Self> {
        let measured = quantile_of_sorted(&found.sorted, quantile)?;
        let simulated = quantile_of_sorted(&made.sorted, quantile)?;
        let measured_ci95 = found.interval(quantile, measured);
        let simulated_ci95 = made.interval(quantile, simulated);
        let relative = (measured > 0.0).then(|| simulated / measured - 1.0);
        let relative_ci95 = relative.and_then(|_| of_ratio([measured, simulated], [measured_ci95?, simulated_ci95?]));
        Some(Self { quantile, measured, measured_ci95, simulated, simulated_ci95, relative, relative_ci95 })
    }
}

/// Interval of the second over the first, less 1, from the intervals of both, on the logarithm (variance estimates recovered:
/// Zou and Donner, Statistics in Medicine 27 (2008) 1693-1702).
fn of_ratio([below, above]: [f64; 2], [of_below, of_above]: [[f64; 2]; 2]) -> Option<[f64; 2]> {
    let ln = |x: f64| (x > 0.0).then(|| x.ln());
    let (b, a) = (ln(below)?, ln(above)?);
    let ([b_low, b_high], [a_low, a_high]) =
        ([ln(of_below[0])?, ln(of_below[1])?], [ln(of_above[0])?, ln(of_above[1])?]);
    let low = (a - b) - (a - a_low).hypot(b_high - b);
    let high = (a - b) + (a_high - a).hypot(b - b_low);
    Some([low.exp_m1(), high.exp_m1()])
}

#[cfg(test)]
mod tests {
    use rand::rngs::Xoshiro256PlusPlus;
    use rand::{RngExt as _, SeedableRng as _};

    use super::*;

    /// The true median and p95 lie within their intervals in 95 % of 400 drawings: 380, and between 363 and 393 in all but
    /// one of 1000 such tests (binomial law). Neighbours are alike by 0.6 there (first-order memory, normal).
    #[test]
    fn intervals_of_quantiles_hold_them() {
        use statrs::distribution::{ContinuousCDF as _, Normal};
        let normal = Normal::standard();
        for p in [0.5, 0.95] {
            let truth = normal.inverse_cdf(p);
            let held = (0..400_u64).filter(|seed| {
                let mut luck = Xoshiro256PlusPlus::seed_from_u64(7 + seed);
                let mut last = normal.inverse_cdf(luck.random_range(1e-9..1.0));
                let series: Vec<f64> = (0..800)
                    .map(|_| {
                        last = 0.6 * last + 0.8 * normal.inverse_cdf(luck.random_range(1e-9..1.0));
                        last
                    })
                    .collect();
                let series = Series::new(series);
                let value = quantile_of_sorted(&series.sorted, p).unwrap();
                series.interval(p, value).is_some_and(|[low, high]| low <= truth && truth <= high)
            });
            let held = held.count();
            assert!((363..=393).contains(&held), "p{p}: {held} of 400");
        }
    }

    #[test]
    fn too_few_values_have_no_interval() {
        let few = Series::new((0..100).map(|k| f64::from(k * 37 % 100)).collect());
        assert_eq!(few.interval(0.99, 98.0), None);
        assert!(few.interval(0.5, 49.5).is_some());
    }

    #[test]
    fn interval_of_a_ratio_holds_both_lucks() {
        let [low, high] = of_ratio([10.0, 11.0], [[9.0, 11.0], [10.5, 11.5]]).unwrap();
        assert!(low < 0.1 && 0.1 < high);
        // Without any luck of the second, the first one's alone is left.
        let [low, high] = of_ratio([10.0, 11.0], [[9.0, 11.0], [11.0, 11.0]]).unwrap();
        assert!((low - 0.0).abs() < 1e-12 && (high - (11.0 / 9.0 - 1.0)).abs() < 1e-12);
    }
}
