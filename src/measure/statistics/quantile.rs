//! Quantiles.

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
}
