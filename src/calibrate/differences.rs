//! How far simulated quantiles lie from measured ones, with intervals.

use serde::Serialize;

use super::content;
use super::judge;
use super::mapping::Role;
use super::measured::Measured;
use crate::measure::statistics::{Z, quantile_interval, quantile_of_sorted};
use crate::study::Answer;

/// Quantiles that are told with intervals.
pub const TOLD: [f64; 4] = [0.5, 0.9, 0.95, 0.99];
/// Independent values that those which remember must be worth for the interval of a quantile: so many in all, and so many beyond
/// it. Found by trial: with half as many beyond, 90 % of intervals hold p99.
const FEWEST_WORTH: f64 = 20.0;
const WORTH_BEYOND: f64 = 1.0;
/// Steps in which the values beyond are gone through: intervals of middle quantiles are narrow.
const STEPS: usize = 500;

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

    /// The interval of a quantile between two of the sorted values. Where values do not remember, the number of them below it is
    /// binomial (Conover, *Practical Nonparametric Statistics*, 3rd ed. 1999, section 3.2), with ends between two values
    /// (Hettmansperger and Sheather, Stat. Prob. Letters 4 (1986) 75-79). Where they do, it is that of a run: the share of values
    /// beyond is tested over stretches; and they must be worth enough independent ones.
    fn interval(&self, p: f64) -> Option<[f64; 2]> {
        let n = self.sorted.len() as f64;
        let memory = content::memory_of(&self.in_order);
        if memory > 1.0 {
            let enough = FEWEST_WORTH.max(WORTH_BEYOND / (1.0 - p));
            return if n / memory < enough { None } else { quantile_interval(&self.in_order, 1.0 - p, STEPS) };
        }
        let half = Z * (n * p * (1.0 - p)).sqrt();
        // From 0, between two order statistics.
        let [low, high] = [n * p - half - 0.5, n * p + half - 0.5];
        let at = |position: f64| quantile_of_sorted(&self.sorted, position / (n - 1.0));
        if low < 0.0 || high > n - 1.0 { None } else { Some([at(low)?, at(high)?]) }
    }
}

impl Difference {
    fn of(quantile: f64, found: &Series, made: &Series) -> Option<Self> {
        let measured = quantile_of_sorted(&found.sorted, quantile)?;
        let simulated = quantile_of_sorted(&made.sorted, quantile)?;
        let measured_ci95 = found.interval(quantile);
        let simulated_ci95 = made.interval(quantile);
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
    use rayon::prelude::*;
    use statrs::distribution::{ContinuousCDF as _, Normal};

    use super::*;

    /// A first-order memory of neighbours alike by `memory`, normal.
    fn remembering(seed: u64, count: usize, memory: f64) -> Vec<f64> {
        let luck = &mut Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut normal = || Normal::standard().inverse_cdf(luck.random_range(1e-12..1.0));
        let mut last = normal();
        let own = (1.0 - memory * memory).sqrt();
        (0..count)
            .map(|_| {
                let value = last;
                last = memory * value + own * normal();
                value
            })
            .collect()
    }

    /// Quantiles lie within their intervals, and so does what one set has of another of the same law, in 95 % of drawings: of few
    /// within 3 %; intervals of a ratio put together from two may hold 1.5 % more. Many drawings are held to a range about what
    /// is found, 4 of their standard errors to both sides, for p50, its ratio, p95, its ratio: intervals a tenth narrower hold 2 to 3 %
    /// less and lie outside.
    #[test]
    fn intervals_of_quantiles_hold_them() {
        const NEAR: f64 = 0.013;
        for (count, memory, drawings, found) in [
            (800, 0.0, 4000, Some([0.95, 0.955, 0.954, 0.968])),
            (800, 0.6, 4000, Some([0.96, 0.975, 0.965, 0.981])),
            (3000, 0.9, 1000, None),
            (9900, 0.99, 400, None),
        ] {
            let drawn = |seed: u64| {
                let [one, other] = [2 * seed, 2 * seed + 1].map(|seed| {
                    Series::new(remembering(seed, count, memory).iter().map(|x| (0.1 * x).exp()).collect())
                });
                [0.5, 0.95].map(|p| {
                    let truth = (0.1 * Normal::standard().inverse_cdf(p)).exp();
                    let holds =
                        |ends: Option<[f64; 2]>, truth: f64| ends.map(|[low, high]| low <= truth && truth <= high);
                    let of = Difference::of(p, &one, &other).unwrap();
                    [holds(of.measured_ci95, truth), holds(of.relative_ci95, 0.0)]
                })
            };
            let all: Vec<[[Option<bool>; 2]; 2]> = (0..drawings).into_par_iter().map(drawn).collect();
            for (at, p) in [(0, 0.5), (1, 0.95)] {
                for (which, most) in [(0, 0.98), (1, 0.995)] {
                    let known: Vec<bool> = all.iter().filter_map(|found| found[at][which]).collect();
                    let share = known.iter().filter(|held| **held).count() as f64 / known.len() as f64;
                    println!("{count} alike by {memory}, p{p}, {which}: {share} of {}", known.len());
                    // 48 independent values are too few for p95.
                    if memory < 0.99 || p < 0.9 {
                        let enough = known.len() as u64 * 5 > drawings * 4;
                        assert!(enough && (0.92..=most).contains(&share), "{share} of {}", known.len());
                    }
                    if let Some(found) = found.map(|found| found[2 * at + which]) {
                        assert!((share - found).abs() <= NEAR, "{share} is not near {found}");
                    }
                }
            }
        }
    }

    #[test]
    fn too_few_values_have_no_interval() {
        let few = Series::new((0..100).map(|k| f64::from(k * 37 % 100)).collect());
        assert_eq!(few.interval(0.99), None);
        // Binomial: 50 values below the median, give or take 1.959964 times 5, the first of them with rank 0.
        let [low, high] = few.interval(0.5).unwrap();
        assert!((low - 39.700_18).abs() < 1e-5 && (high - 59.299_82).abs() < 1e-5, "{low} to {high}");
        let difference = Difference::of(0.5, &few, &few).unwrap();
        assert_eq!((difference.measured_ci95, difference.simulated_ci95), (Some([low, high]), Some([low, high])));
        // Where values remember, it is that of a run.
        let alike = Series::new(remembering(3, 3000, 0.9));
        assert_eq!(alike.interval(0.9), quantile_interval(&alike.in_order, 1.0 - 0.9, STEPS));
        assert!(alike.interval(0.9).is_some());
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
