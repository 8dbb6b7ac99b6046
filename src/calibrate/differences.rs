//! How far simulated quantiles lie from measured ones, with intervals.

use serde::Serialize;

use super::content;
use super::judge;
use super::mapping::Role;
use super::measured::Measured;
use crate::measure::statistics::{Z, quantile_degrees, quantile_interval, quantile_of_sorted, t_quantile_of};
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

/// Fewest degrees of freedom of an arm of a quantile's interval that are reckoned with, where they are put together.
const FEWEST_DEGREES: f64 = 4.0;

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

    /// Degrees of freedom of the two arms of that interval: how far each reaches hangs on the independent values that lie in
    /// it, and where values remember also on how often few stretches exceed the quantile.
    fn degrees(&self, p: f64, value: f64, [low, high]: [f64; 2]) -> Option<[f64; 2]> {
        let memory = content::memory_of(&self.in_order);
        let of_stretches = if memory > 1.0 { quantile_degrees(&self.in_order, 1.0 - p)? } else { f64::INFINITY };
        let below = |end: f64| self.sorted.partition_point(|&value| value < end);
        let arm = |from: f64, to: f64| {
            let values = below(to).abs_diff(below(from)) as f64;
            (1.0 / (1.0 / of_stretches + memory / values.max(1.0))).max(FEWEST_DEGREES)
        };
        Some([arm(low, value), arm(value, high)])
    }
}

impl Difference {
    fn of(quantile: f64, found: &Series, made: &Series) -> Option<Self> {
        let measured = quantile_of_sorted(&found.sorted, quantile)?;
        let simulated = quantile_of_sorted(&made.sorted, quantile)?;
        let measured_ci95 = found.interval(quantile);
        let simulated_ci95 = made.interval(quantile);
        let relative = (measured > 0.0).then(|| simulated / measured - 1.0);
        let relative_ci95 = relative.and_then(|_| {
            let known = |value, ci95: Option<[f64; 2]>, of: &Series| {
                let ci95 = ci95?;
                Some(Known { value, ci95, degrees: of.degrees(quantile, value, ci95)? })
            };
            of_ratio(known(measured, measured_ci95, found)?, known(simulated, simulated_ci95, made)?)
        });
        Some(Self { quantile, measured, measured_ci95, simulated, simulated_ci95, relative, relative_ci95 })
    }
}

/// A quantile, its interval, and the degrees of freedom of its arms, the lower first.
#[derive(Debug, Clone, Copy)]
struct Known {
    value: f64,
    ci95: [f64; 2],
    degrees: [f64; 2],
}

/// Interval of the second over the first, less 1, from the intervals of both, on the logarithm (variance estimates recovered:
/// Zou and Donner, Statistics in Medicine 27 (2008) 1693-1702). Together they have more degrees of freedom than each (Welch,
/// Biometrika 34 (1947) 28-35), so that each arm is taken in standard errors first.
fn of_ratio(below: Known, above: Known) -> Option<[f64; 2]> {
    let ln = |x: f64| (x > 0.0).then(|| x.ln());
    let (b, a) = (ln(below.value)?, ln(above.value)?);
    let ([b_low, b_high], [a_low, a_high]) =
        ([ln(below.ci95[0])?, ln(below.ci95[1])?], [ln(above.ci95[0])?, ln(above.ci95[1])?]);
    let low = (a - b) - together([a - a_low, b_high - b], [above.degrees[0], below.degrees[1]])?;
    let high = (a - b) + together([a_high - a, b - b_low], [above.degrees[1], below.degrees[0]])?;
    Some([low.exp_m1(), high.exp_m1()])
}

/// Two arms of 95 % intervals, with their degrees of freedom, put together.
fn together(arms: [f64; 2], degrees: [f64; 2]) -> Option<f64> {
    let errors = [arms[0] / t_975(degrees[0])?, arms[1] / t_975(degrees[1])?];
    let error = errors[0].hypot(errors[1]);
    if error <= 0.0 {
        return Some(0.0);
    }
    let spent: f64 = errors.iter().zip(degrees).map(|(of, degrees)| (of / error).powi(4) / degrees).sum();
    Some(error * t_975(1.0 / spent)?)
}

/// The quantile of 97.5 % of Student's t; of the normal law with endless degrees of freedom.
fn t_975(degrees: f64) -> Option<f64> {
    if degrees.is_finite() { t_quantile_of(0.975, degrees) } else { Some(Z) }
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
    /// within 3 %. Many drawings are held to a range about what
    /// is found, 4 of their standard errors to both sides, for p50, its ratio, p95, its ratio: intervals a tenth narrower hold 2 to 3 %
    /// less and lie outside.
    #[test]
    fn intervals_of_quantiles_hold_them() {
        const NEAR: f64 = 0.013;
        for (count, memory, drawings, found) in [
            (200, 0.0, 4000, Some([0.945, 0.9455, 0.956, 0.970])),
            (800, 0.0, 4000, Some([0.95, 0.9495, 0.954, 0.9595])),
            (800, 0.6, 4000, Some([0.96, 0.962, 0.965, 0.9635])),
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
                for which in [0, 1] {
                    let known: Vec<bool> = all.iter().filter_map(|found| found[at][which]).collect();
                    let share = known.iter().filter(|held| **held).count() as f64 / known.len() as f64;
                    println!("{count} alike by {memory}, p{p}, {which}: {share} of {}", known.len());
                    // 48 independent values are too few for p95.
                    if memory < 0.99 || p < 0.9 {
                        let enough = known.len() as u64 * 5 > drawings * 4;
                        assert!(enough && (0.92..=0.98).contains(&share), "{share} of {}", known.len());
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
        let known = |value, ci95, degrees| Known { value, ci95, degrees: [degrees; 2] };
        let endless = f64::INFINITY;
        let [low, high] = of_ratio(known(10.0, [9.0, 11.0], endless), known(11.0, [10.5, 11.5], endless)).unwrap();
        assert!(low < 0.1 && 0.1 < high);
        // Two alike of 19 degrees each have 38 together: Student's t is 2.093 of the one and 2.024 of the other (tables).
        let same = known(10.0, [10.0 / 1.1, 11.0], 19.0);
        let [low, high] = of_ratio(same, same).unwrap();
        let expected = 1.1_f64.ln() * 2.0_f64.sqrt() * 2.024_394 / 2.093_024;
        assert!((high.ln_1p() - expected).abs() < 1e-6 && (low.ln_1p() + expected).abs() < 1e-6, "{low} to {high}");
        // Without any luck of the second, the first one's alone is left.
        let [low, high] = of_ratio(known(10.0, [9.0, 11.0], 5.0), known(11.0, [11.0, 11.0], 5.0)).unwrap();
        assert!((low - 0.0).abs() < 1e-12 && (high - (11.0 / 9.0 - 1.0)).abs() < 1e-12);
    }
}
