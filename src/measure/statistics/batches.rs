//! Batch means: what correlated values of one run tell of their mean, of its trend, and of how many independent ones they
//! are worth (Law and Kelton, *Simulation Modeling and Analysis*, chapter 9; Schmeiser, Oper. Res. 30, 1982).

use super::{lag_one_correlation, mean, t_quantile_of, variance};

/// Batches that a run is cut into.
pub const BATCHES: usize = 20;

/// The means of [`BATCHES`] batches of equal length. A rest that fills no batch is left out at the beginning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchMeans {
    /// Values in a batch.
    pub length: usize,
    /// Mean of each batch.
    pub means: [f64; BATCHES],
}

impl BatchMeans {
    /// The batch means of values in the order in which they came; none for fewer values than batches.
    pub fn of(values: &[f64]) -> Option<Self> {
        let length = values.len() / BATCHES;
        if length == 0 {
            return None;
        }
        let batched = &values[values.len() - length * BATCHES..];
        let mut means = [0.0; BATCHES];
        for (batch, values) in means.iter_mut().zip(batched.chunks_exact(length)) {
            *batch = mean(values)?;
        }
        Some(Self { length, means })
    }

    /// The 95 % interval of the mean, as [`interval`] has it.
    pub fn interval(&self) -> Option<[f64; 2]> {
        interval(&self.means)
    }

    /// Whether more than half of the batches have a mean of their own. Where most are the same, what makes a difference is rare, or
    /// was not met at all: their scatter says nothing of how rare.
    pub fn differ(&self) -> bool {
        let alike = |mean: &f64| self.means.iter().filter(|other| other.to_bits() == mean.to_bits()).count();
        self.means.iter().all(|mean| 2 * alike(mean) < BATCHES)
    }

    /// The mean of the batches.
    pub fn mean(&self) -> f64 {
        self.means.iter().sum::<f64>() / BATCHES as f64
    }

    /// How many times the variance of the mean is as large as that of independent batches.
    ///
    /// Batches that are short against the memory of a run are alike, and their scatter is too small. With correlation r of
    /// neighbours, as in a first-order memory, the factor is `(1 + r) / (1 - r)`; r is corrected for its bias, -(1 + 3 r) / n
    /// (Kendall, Biometrika 41 (1954) 403-404), and counts above 0.1.
    pub fn widening(&self) -> f64 {
        widening(&self.means)
    }

    /// Correlation r of neighbouring batches, corrected as there; none where all are equal.
    pub fn alike(&self) -> Option<f64> {
        alike(&self.means)
    }

    /// How many independent values `count` correlated ones of this variance are worth: `n min(1, s^2 / (b s_b^2))`, with the
    /// variance of batch means widened likewise.
    pub fn effective_size(&self, count: usize, variance_of_values: f64) -> f64 {
        let of_means = variance(&self.means).unwrap_or(0.0) * self.length as f64 * self.widening();
        let share = if of_means > variance_of_values { variance_of_values / of_means } else { 1.0 };
        count as f64 * share
    }
}

/// Correlation of neighbouring batches up to which they count as independent: half a standard error of it.
const ALIKE: f64 = 0.1;
/// Largest correlation that is reckoned with.
const MOST_ALIKE: f64 = 0.9;

/// Half-width of the 95 % interval of the mean of values of successive stretches of a run, as of batch means.
pub fn half_width(stretches: &[f64]) -> Option<f64> {
    Some(t_quantile_of(0.975, degrees(stretches))? * variance_of_mean(stretches)?.sqrt())
}

/// Degrees of freedom of the variance of values of successive stretches of a run: fewer where neighbours are alike.
pub fn degrees(stretches: &[f64]) -> f64 {
    ((stretches.len() as f64 - 1.0) / widening(stretches)).max(FEWEST_DEGREES)
}

/// 95 % interval of the mean of values of successive stretches of a run, as of batch means: Student's t, with the variance
/// widened and fewer degrees of freedom where neighbours are alike, and t bent where the values are skewed, so that the
/// interval reaches further to the side of the rare large ones (A. Tafazzoli and J. R. Wilson, *Skart*, IIE Transactions 43
/// (2011) 110-128; the skewness after Willink, Commun. Stat. Theory Methods 34 (2005)).
pub fn interval(stretches: &[f64]) -> Option<[f64; 2]> {
    cautious_interval(stretches, f64::INFINITY, f64::INFINITY)
}

/// The same with so many degrees of freedom at the most, and no end bent further away than so many half widths of the straight
/// interval.
pub fn cautious_interval(stretches: &[f64], most_degrees: f64, most_bent: f64) -> Option<[f64; 2]> {
    let count = stretches.len() as f64;
    let mean = mean(stretches)?;
    let degrees = degrees(stretches).min(most_degrees).max(FEWEST_DEGREES);
    let t = t_quantile_of(0.975, degrees)?;
    let error = variance_of_mean(stretches)?.sqrt();
    let bend = skewness(stretches) / (6.0 * count.sqrt());
    let bent = |t: f64| {
        if bend.abs() < LEAST_BEND { t } else { ((1.0 + 6.0 * bend * (t - bend)).cbrt() - 1.0) / (2.0 * bend) }
    };
    let ends = [t, -t].map(|t| bent(t).clamp(-most_bent * t.abs(), most_bent * t.abs()));
    Some(ends.map(|t| mean - t * error))
}

/// Bend of t below which it is taken for straight: the formula would divide nothing by nothing.
const LEAST_BEND: f64 = 1e-4;

/// Skewness, corrected for its bias as far as the count does it: `n / ((n - 1) (n - 2)) sum((x - mean)^3) / s^3`; 0 for fewer
/// than three values or all equal.
fn skewness(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let Some((mean, variance)) = mean(values).zip(variance(values)) else { return 0.0 };
    if count < 3.0 || variance <= 0.0 {
        return 0.0;
    }
    let cubes: f64 = values.iter().map(|value| (value - mean).powi(3)).sum();
    count / ((count - 1.0) * (count - 2.0)) * cubes / variance.powf(1.5)
}

/// Variance of the mean of values of successive stretches of a run, widened where neighbours are alike.
fn variance_of_mean(stretches: &[f64]) -> Option<f64> {
    Some(variance(stretches)? * widening(stretches) / stretches.len() as f64)
}

/// Fewest degrees of freedom of an interval, however much alike batches are.
const FEWEST_DEGREES: f64 = 2.0;

fn widening(means: &[f64]) -> f64 {
    match alike(means) {
        Some(alike) if alike > ALIKE => {
            let alike = alike.min(MOST_ALIKE);
            (1.0 + alike) / (1.0 - alike)
        }
        _ => 1.0,
    }
}

/// Correlation of neighbours, corrected for its bias.
fn alike(means: &[f64]) -> Option<f64> {
    let found = lag_one_correlation(means)?;
    Some(found + (1.0 + 3.0 * found) / means.len() as f64)
}

impl Trend {
    /// Whether chance alone would hardly bring about such a rise: p < 0.001 on both sides.
    pub fn sure(&self) -> bool {
        t_quantile_of(0.9995, self.degrees).is_some_and(|limit| self.t > limit)
    }
}

/// A straight line through batch means, by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Rise per unit of the abscissa.
    pub slope: f64,
    /// The slope over its standard error, 18 degrees of freedom; infinite for points exactly on a rising line. Where what is
    /// left of neighbouring batches is alike, the error is wider and the degrees are fewer.
    pub t: f64,
    /// Degrees of freedom.
    pub degrees: f64,
}

impl Trend {
    /// The line through batch means `y` over batch means `x`; none when all `x` are equal.
    pub fn of(x: &BatchMeans, y: &BatchMeans) -> Option<Self> {
        let (x_mean, y_mean) = (mean(&x.means)?, mean(&y.means)?);
        let points = || x.means.iter().zip(&y.means).map(|(x, y)| (x - x_mean, y - y_mean));
        let x_squares: f64 = points().map(|(x, _)| x * x).sum();
        if x_squares <= 0.0 {
            return None;
        }
        let slope = points().map(|(x, y)| x * y).sum::<f64>() / x_squares;
        let left: Vec<f64> = points().map(|(x, y)| y - slope * x).collect();
        let residual: f64 = left.iter().map(|left| left * left).sum();
        let wider = widening(&left);
        let degrees = (BATCHES - 2) as f64;
        let error = (residual * wider / degrees / x_squares).sqrt();
        let t = if error > 0.0 {
            slope / error
        } else if slope == 0.0 {
            0.0
        } else {
            slope.signum() * f64::INFINITY
        };
        Some(Self { slope, t, degrees: (degrees / wider).max(FEWEST_DEGREES) })
    }
}
