//! Quantiles and their intervals.

use statrs::distribution::{Binomial, DiscreteCDF};

/// Probability left out on either side of an interval.
const TAIL: f64 = 0.025;

/// Between which order statistics (from 0) quantile `p` of `count` values lies, and how far towards the second: type 7
/// of Hyndman and Fan, Am. Stat. 50 (1996).
fn position(count: usize, p: f64) -> (usize, f64) {
    let position = (count - 1) as f64 * p.clamp(0.0, 1.0);
    let below = (position as usize).min(count - 1);
    (below, position - below as f64)
}

/// Quantile `p` of ascending values, of type 7.
pub fn quantile_of_sorted(sorted: &[f64], p: f64) -> Option<f64> {
    if sorted.is_empty() {
        return None;
    }
    let (below, weight) = position(sorted.len(), p);
    let low = sorted[below];
    if weight > 0.0 { Some(low + weight * (sorted[below + 1] - low)) } else { Some(low) }
}

/// Order statistics of values, sorted no further than asked for: a few quantiles cost less than a sort.
#[derive(Debug)]
pub struct Ranks<'a> {
    values: &'a mut [f64],
    /// Ranks that hold their order statistic, ascending; what lies between two of them is unsorted, but does lie there.
    settled: Vec<usize>,
}

impl<'a> Ranks<'a> {
    /// The ranks of these values, whose order is lost. No value may be NaN.
    pub fn new(values: &'a mut [f64]) -> Self {
        Self { values, settled: Vec::with_capacity(32) }
    }

    /// The value of a rank, from 0.
    pub fn at(&mut self, rank: usize) -> Option<f64> {
        if rank >= self.values.len() {
            return None;
        }
        if let Err(place) = self.settled.binary_search(&rank) {
            let start = place.checked_sub(1).map_or(0, |before| self.settled[before] + 1);
            let end = self.settled.get(place).copied().unwrap_or(self.values.len());
            self.values[start..end].select_nth_unstable_by(rank - start, f64::total_cmp);
            self.settled.insert(place, rank);
        }
        Some(self.values[rank])
    }

    /// Quantile `p`, of type 7.
    pub fn quantile(&mut self, p: f64) -> Option<f64> {
        if self.values.is_empty() {
            return None;
        }
        let (below, weight) = position(self.values.len(), p);
        let low = self.at(below)?;
        if weight > 0.0 { Some(low + weight * (self.at(below + 1)? - low)) } else { Some(low) }
    }

    /// 95 % interval of quantile `p` where the values tell as much as `effective` independent ones: the ranks for that
    /// many, stretched outward to all. None where so few values have no such interval.
    pub fn quantile_interval(&mut self, p: f64, effective: f64) -> Option<[f64; 2]> {
        let count = self.values.len();
        let effective = (effective.floor().max(0.0) as usize).min(count);
        let (low, high) = quantile_ranks(effective, p)?;
        let low = (low * count / effective).max(1);
        let high = (high * count).div_ceil(effective).min(count);
        Some([self.at(low - 1)?, self.at(high - 1)?])
    }
}

/// Ranks from 1, low and high, of the order statistics between which quantile `p` of `count` independent values lies,
/// with at most 2.5 % on either side: the number of values below it is binomial (David and Nagaraja, *Order
/// Statistics*, 3rd ed. 2003, section 7.1). None where no such ranks exist.
pub fn quantile_ranks(count: usize, p: f64) -> Option<(usize, usize)> {
    if count == 0 || !(p > 0.0 && p < 1.0) {
        return None;
    }
    // Without this many values even the extremes leave out too much.
    let out_of_reach = |share: f64| share.powf(count as f64) > TAIL;
    if out_of_reach(p) || out_of_reach(1.0 - p) {
        return None;
    }
    let below = Binomial::new(p, count as u64).ok()?;
    let spread = 1.96 * (count as f64 * p * (1.0 - p)).sqrt();
    // F(low - 1) <= 2.5 %, the greatest such low.
    let mut low = ((count as f64 * p - spread) as u64).clamp(1, count as u64);
    while low > 1 && below.cdf(low - 1) > TAIL {
        low -= 1;
    }
    while below.cdf(low) <= TAIL {
        low += 1;
    }
    // F(high - 1) >= 97.5 %, the least such high.
    let mut high = ((count as f64 * p + spread) as u64 + 1).clamp(1, count as u64);
    while below.cdf(high - 1) < 1.0 - TAIL {
        high += 1;
    }
    while high > 1 && below.cdf(high - 2) >= 1.0 - TAIL {
        high -= 1;
    }
    Some((low as usize, high as usize))
}
