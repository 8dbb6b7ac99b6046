//! Rare long frames as a mixture: most frames follow the body of a law, a few suffer an exponential stall on top.

use super::regression::median;
use crate::measure::statistics::quantile_of_sorted;

/// How far beyond the body a frame is a stall, in its upper standard deviations, on the logarithm.
const BEYOND: f64 = 4.5;
/// Normal quantile that the upper standard deviation is read at.
const NINETY: f64 = 1.281_551_565_544_6;
/// Fewest frames beyond that are called stalls.
const FEWEST: usize = 5;
/// Largest share of frames that are: more are no rare ones.
const MOST_SHARE: f64 = 0.2;
/// Largest factor from the stalls seen to all of them that is believed: short ones hide in the body.
const MOST_HIDDEN: f64 = 3.0;

/// Stalls of a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stalls {
    /// Probability a frame.
    pub(super) chance: f64,
    /// Mean length \[ms\].
    pub(super) mean_ms: f64,
    /// Ratio of a frame's time to its expected work beyond which it holds a stall for sure.
    pub(super) beyond: f64,
    /// How long a stall must be to be seen \[ms\].
    seen_from_ms: f64,
    /// Stalls that hide for each frame that shows none.
    hidden_share: f64,
}

impl Stalls {
    /// What the stalls that hide add to the mean and to the variance of ratios that show none, where frames work so long:
    /// moments of an exponential law cut off at what is seen.
    pub(super) fn in_body(&self, work_ms: f64) -> [f64; 2] {
        let (mean, end, share) = (self.mean_ms, self.seen_from_ms, self.hidden_share);
        let cut = (end / mean).exp_m1();
        if cut <= 0.0 {
            return [0.0; 2];
        }
        let first = share * (mean - end / cut) / work_ms;
        let second = share * (2.0 * mean * mean - (end * end + 2.0 * mean * end) / cut) / (work_ms * work_ms);
        [first, second - first * first]
    }
}

/// The middle of ratios, ascending and above 0, and how far their body reaches.
fn body(sorted: &[f64]) -> Option<(f64, f64)> {
    let middle = median(&mut sorted.to_vec())?;
    let upper = (quantile_of_sorted(sorted, 0.9)?.ln() - middle.ln()) / NINETY;
    Some((middle, (middle.ln() + BEYOND * upper).exp()))
}

/// How many of factors, ascending, lie as far beyond the others as stalls do; none where there are none, or enough to look for
/// stalls among them.
pub(super) fn too_few(sorted: &[f64]) -> Option<usize> {
    let above = &sorted[sorted.partition_point(|factor| *factor <= 0.0)..];
    let (_, beyond) = body(above)?;
    let seen = above.len() - above.partition_point(|factor| *factor <= beyond);
    (1..FEWEST).contains(&seen).then_some(seen)
}

/// Looks for stalls among `ratios`, each a frame's time over its expected work `work_ms`.
///
/// An exponential stall has no memory: what is longer than a threshold exceeds it by the same mean, so the mean excess
/// estimates the mean, and the share that hides below the threshold follows from it.
pub(super) fn find(ratios: &[f64], work_ms: &[f64]) -> Option<Stalls> {
    let mut sorted: Vec<f64> = ratios.iter().copied().filter(|ratio| *ratio > 0.0).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let (middle, beyond) = body(&sorted)?;
    let mut excess = Vec::new();
    let mut hidden_ms = 0.0;
    for (ratio, work) in ratios.iter().zip(work_ms).filter(|(ratio, _)| **ratio > beyond) {
        excess.push((ratio - beyond) * work);
        hidden_ms += (beyond - middle) * work;
    }
    let n = ratios.len() as f64;
    let seen = excess.len() as f64;
    if excess.len() < FEWEST || seen / n > MOST_SHARE {
        return None;
    }
    let mean_ms = excess.iter().sum::<f64>() / seen;
    let seen_from_ms = hidden_ms / seen;
    let hidden = (seen_from_ms / mean_ms).exp();
    let hidden_share = seen * (hidden - 1.0) / (n - seen);
    let chance = (seen / n * hidden).min(0.5);
    (mean_ms > 0.0 && hidden <= MOST_HIDDEN).then_some(Stalls { chance, mean_ms, beyond, seen_from_ms, hidden_share })
}
