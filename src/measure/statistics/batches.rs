//! Batch means: what correlated values of one run tell of their mean, of its trend, and of how many independent ones they
//! are worth (Law and Kelton, *Simulation Modeling and Analysis*, chapter 9; Schmeiser, Oper. Res. 30, 1982).

use super::{mean, t_quantile, variance};

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

    /// Half-width of the 95 % interval of the mean: t with 19 degrees of freedom.
    pub fn half_width(&self) -> Option<f64> {
        let sd = variance(&self.means)?.sqrt();
        Some(t_quantile(0.975, BATCHES - 1)? * sd / (BATCHES as f64).sqrt())
    }

    /// How many independent values `count` correlated ones of this variance are worth: `n min(1, s^2 / (b s_b^2))`.
    pub fn effective_size(&self, count: usize, variance_of_values: f64) -> f64 {
        let of_means = variance(&self.means).unwrap_or(0.0) * self.length as f64;
        let share = if of_means > variance_of_values { variance_of_values / of_means } else { 1.0 };
        count as f64 * share
    }
}

/// A straight line through batch means, by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Rise per unit of the abscissa.
    pub slope: f64,
    /// The slope over its standard error, 18 degrees of freedom; infinite for points exactly on a rising line.
    pub t: f64,
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
        let residual: f64 = points().map(|(x, y)| (y - slope * x).powi(2)).sum();
        let error = (residual / (BATCHES - 2) as f64 / x_squares).sqrt();
        let t = if error > 0.0 {
            slope / error
        } else if slope == 0.0 {
            0.0
        } else {
            slope.signum() * f64::INFINITY
        };
        Some(Self { slope, t })
    }
}
