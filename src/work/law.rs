//! Factors of mean 1: a spread made ready to draw from.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{Rng, RngExt as _};
use rand_distr::{Distribution as _, Exp1, Gamma, Open01, StandardNormal};
use statrs::distribution::{Continuous as _, ContinuousCDF as _, Normal};

use super::luck::Luck;
use crate::scenario::{Spread, Stall};

/// Redraws of a truncated normal before its inverse is taken instead; a far window would otherwise take for ever.
const REDRAWS: u32 = 64;

/// A spread with its constants worked out. The first number drawn is the same normal, exponential or uniform whatever
/// the parameters, so that a scenario with a slightly larger cv meets the same luck slightly enlarged.
#[derive(Debug, Clone)]
pub(super) enum Law<'a> {
    /// Always 1.
    One,
    /// Normal(1, cv) within `low..=high`, times `scale`, one over the mean of that.
    Normal { cv: f64, low: f64, high: f64, scale: f64 },
    /// `exp(sigma z - sigma^2/2)`.
    LogNormal { sigma: f64 },
    /// Gamma of shape above 1, scaled to mean 1.
    Gamma(Gamma<f64>),
    /// Gamma of shape k up to 1: that of shape k + 1, scaled by 1/k, times `u^(1/k)` (Marsaglia and Tsang, A simple
    /// method for generating gamma variables, ACM TOMS 26 (2000), section 6).
    SmallGamma { above: Gamma<f64>, power: f64 },
    /// Exponential of mean 1.
    Exponential,
    /// One of these.
    Samples(&'a [f64]),
}

impl<'a> Law<'a> {
    /// The law of a spread, whose parameters are in their ranges.
    pub(super) fn new(spread: &'a Spread) -> Self {
        match *spread {
            Spread::Constant => Self::One,
            Spread::Normal { cv, low, high } => {
                Self::Normal { cv, low, high, scale: 1.0 / truncated_mean(cv, low, high) }
            }
            Spread::LogNormal { cv } => Self::log_normal(cv),
            Spread::Gamma { cv } => Self::gamma(1.0 / (cv * cv)),
            Spread::Exponential => Self::Exponential,
            Spread::Samples(ref samples) => Self::Samples(samples),
        }
    }

    /// Log-normal of mean 1: `sigma^2 = ln(1 + cv^2)`.
    pub(super) fn log_normal(cv: f64) -> Self {
        Self::LogNormal { sigma: log_sigma(cv) }
    }

    fn gamma(shape: f64) -> Self {
        let made = if shape > 1.0 {
            Gamma::new(shape, 1.0 / shape).map(Self::Gamma)
        } else {
            Gamma::new(shape + 1.0, 1.0 / shape).map(|above| Self::SmallGamma { above, power: 1.0 / shape })
        };
        // Only a cv so small that one over its square is beyond what doubles hold has no gamma law: the factor is 1 then.
        made.unwrap_or(Self::One)
    }

    /// The factor of a frame (or refresh) by its luck, which a law that is always 1 does not ask for.
    #[inline]
    pub(super) fn draw_at(&self, luck: Luck, number: usize) -> f64 {
        if matches!(self, Self::One) { 1.0 } else { self.draw(&mut luck.at(number)) }
    }

    /// Draws a factor.
    #[inline]
    pub(super) fn draw(&self, luck: &mut Xoshiro256PlusPlus) -> f64 {
        match *self {
            Self::One => 1.0,
            Self::Normal { cv, low, high, scale } => truncated_normal(cv, low, high, luck) * scale,
            Self::LogNormal { sigma } => (sigma * standard_normal(luck) - sigma * sigma / 2.0).exp(),
            Self::Gamma(ref gamma) => gamma.sample(luck),
            Self::SmallGamma { ref above, power } => {
                let whole = above.sample(luck);
                let uniform: f64 = Open01.sample(luck);
                whole * uniform.powf(power)
            }
            Self::Exponential => exponential(luck),
            Self::Samples(samples) => samples[luck.random_range(0..samples.len())],
        }
    }
}

/// Standard deviation of the logarithm of a log-normal with the given cv.
pub(super) fn log_sigma(cv: f64) -> f64 {
    (cv * cv).ln_1p().sqrt()
}

/// Normal(0, 1).
#[inline]
pub(super) fn standard_normal(luck: &mut impl Rng) -> f64 {
    StandardNormal.sample(luck)
}

/// Exponential of mean 1.
#[inline]
pub(super) fn exponential(luck: &mut impl Rng) -> f64 {
    Exp1.sample(luck)
}

/// Uniform on (0, 1), both ends left out.
#[inline]
pub(super) fn uniform(luck: &mut impl Rng) -> f64 {
    Open01.sample(luck)
}

/// The delay of a stall \[ms\], mostly 0.
#[inline]
pub(super) fn stall_ms(stall: Stall, luck: &mut impl Rng) -> f64 {
    if uniform(luck) < stall.chance { stall.mean_ms * exponential(luck) } else { 0.0 }
}

#[inline]
fn truncated_normal(cv: f64, low: f64, high: f64, luck: &mut Xoshiro256PlusPlus) -> f64 {
    for _ in 0..REDRAWS {
        let value = 1.0 + cv * standard_normal(luck);
        if (low..=high).contains(&value) {
            return value;
        }
    }
    let (normal, [from, to]) = (Normal::standard(), [low, high].map(|end| (end - 1.0) / cv));
    let (below, above) = (normal.cdf(from), normal.cdf(to));
    (1.0 + cv * normal.inverse_cdf(below + (above - below) * uniform(luck))).clamp(low, high)
}

/// Mean of Normal(1, cv) truncated to `low..=high` (Johnson, Kotz and Balakrishnan, Continuous univariate distributions 1,
/// 13.10.1); exactly 1 where the window is symmetric.
pub(super) fn truncated_mean(cv: f64, low: f64, high: f64) -> f64 {
    if ((1.0 - low) - (high - 1.0)).abs() < 1e-12 {
        return 1.0;
    }
    let (normal, [from, to]) = (Normal::standard(), [low, high].map(|end| (end - 1.0) / cv));
    let mean = 1.0 + cv * (normal.pdf(from) - normal.pdf(to)) / (normal.cdf(to) - normal.cdf(from));
    // Where the window is so narrow against cv that nothing is left of the difference, the law is flat on it.
    if (low..=high).contains(&mean) { mean } else { f64::midpoint(low, high) }
}
