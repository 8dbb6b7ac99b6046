//! What frames have in common with their neighbours: the content, whose complexity changes slowly, apart from the jitter of
//! each frame alone.

use crate::measure::statistics::{self, BatchMeans};

/// Lags that the memory is estimated from.
const LAGS: usize = 12;
/// Fewest values of a run that tell anything.
const FEWEST: usize = 60;
/// Correlation of neighbouring stretches beyond which frames remember longer than one lasts: some one in a hundred times
/// independent frames come so far by luck.
const STRETCHES_ALIKE: f64 = 0.55;
/// Most that neighbours are taken to be alike.
const MOST_ALIKE: f64 = 0.999;

/// The slowly changing part of a series of factors, as a first-order memory on the logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slow {
    /// Its variance on the logarithm.
    pub(super) variance: f64,
    /// Correlation of neighbouring frames' content.
    pub(super) memory: f64,
}

/// Correlation of neighbouring logarithms, over all runs together; none for too few.
pub(super) fn lag_one(runs: &[Vec<f64>]) -> Option<f64> {
    let covariances = covariances(runs, 1)?;
    (covariances[0] > 0.0).then(|| covariances[1] / covariances[0])
}

/// The slow part of factors that come in runs of frames that follow each other; none where neighbours are not more alike
/// than chance makes them (correlation within 2 / sqrt n).
///
/// With content `c` of memory m and a jitter of its own in each frame, the covariance at lag h >= 1 is that of the content
/// alone, `v m^h`: m is the one that fits lags 1 to 12 best, v follows.
pub(super) fn slow(runs: &[Vec<f64>]) -> Option<Slow> {
    let count: usize = runs.iter().map(Vec::len).sum();
    let covariances = covariances(runs, LAGS)?;
    if covariances[0] <= 0.0 || covariances[1] / covariances[0] < 2.0 / (count as f64).sqrt() {
        return None;
    }
    let fitted = |memory: f64| {
        let powers: Vec<f64> = (1..=LAGS as i32).map(|lag| memory.powi(lag)).collect();
        let squares: f64 = powers.iter().map(|power| power * power).sum();
        let products: f64 = powers.iter().zip(&covariances[1..]).map(|(power, c)| power * c).sum();
        let variance = (products / squares).clamp(0.0, covariances[0]);
        let error: f64 = powers.iter().zip(&covariances[1..]).map(|(power, c)| (c - variance * power).powi(2)).sum();
        (variance, error)
    };
    let candidates = (1..1000).map(|step| f64::from(step) / 1000.0).chain([0.9995, 0.9999]);
    let memory = candidates.min_by(|a, b| fitted(*a).1.total_cmp(&fitted(*b).1))?;
    let (variance, _) = fitted(memory);
    (variance > 0.0).then_some(Slow { variance, memory })
}

/// How many frames count as one independent one, by the part that lasts: the variance of the mean of values of which the share s
/// remembers by m is `1 + 2 s m / (1 - m)` times that of independent ones (Bayley and Hammersley, J. Royal Stat. Soc. Suppl. 8
/// (1946) 184-197); 1 where nothing lasts.
pub(super) fn memory(runs: &[Vec<f64>]) -> f64 {
    let share = |slow: Slow| Some(slow.variance / covariances(runs, 0)?[0]);
    if runs.iter().all(|run| run.len() < FEWEST) {
        return memory_of_short(runs).max(by_stretches(runs));
    }
    let slow = slow(runs);
    let by_lags = slow
        .zip(slow.and_then(share))
        .map_or(1.0, |(slow, share)| 1.0 + 2.0 * share * slow.memory / (1.0 - slow.memory));
    by_lags.max(by_stretches(runs))
}

/// The same by how much alike neighbouring stretches are that all is cut into: frames that remember longer than a stretch
/// lasts have hardly swung, so that their own neighbours tell too little of it. 1 where that may be luck.
fn by_stretches(runs: &[Vec<f64>]) -> f64 {
    let logs: Vec<f64> = runs.iter().flatten().map(|factor| factor.ln()).collect();
    let Some(batches) = BatchMeans::of(&logs) else { return 1.0 };
    let alike = batches.alike().unwrap_or(0.0);
    if alike > STRETCHES_ALIKE { batches.length as f64 * batches.widening() } else { 1.0 }
}

/// The same of runs that are all too short to tell more than how much alike neighbours are.
fn memory_of_short(runs: &[Vec<f64>]) -> f64 {
    let (mut products, mut squares, mut count) = (0.0, 0.0, 0);
    for run in runs {
        let logs: Vec<f64> = run.iter().map(|factor| factor.ln()).collect();
        let Some(mean) = statistics::mean(&logs) else { continue };
        products += logs.windows(2).map(|two| (two[0] - mean) * (two[1] - mean)).sum::<f64>();
        squares += logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>();
        count += logs.len();
    }
    by_neighbours(if squares > 0.0 { products / squares } else { 0.0 }, count)
}

/// The same of values whose memory is judged by neighbours alone, as of a first-order one.
pub(super) fn memory_of(values: &[f64]) -> f64 {
    by_neighbours(statistics::lag_one_correlation(values).unwrap_or(0.0), values.len())
}

/// Memory of so many values whose neighbours are so much alike; 1 where that may be luck.
fn by_neighbours(alike: f64, count: usize) -> f64 {
    let luck = 2.0 / (count as f64).sqrt();
    if alike > luck { (1.0 + alike) / (1.0 - alike.min(MOST_ALIKE)) } else { 1.0 }
}

/// Covariances of logarithms at lags 0 to `lags`, about the mean of each run.
fn covariances(runs: &[Vec<f64>], lags: usize) -> Option<Vec<f64>> {
    let mut sums = vec![0.0; lags + 1];
    let mut counts = vec![0.0; lags + 1];
    for run in runs.iter().filter(|run| run.len() >= FEWEST) {
        let logs: Vec<f64> = run.iter().map(|factor| factor.ln()).collect();
        let mean = statistics::mean(&logs)?;
        for lag in 0..=lags.min(logs.len() - 1) {
            sums[lag] += logs.iter().zip(&logs[lag..]).map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>();
            counts[lag] += logs.len() as f64;
        }
    }
    (counts[0] > 0.0).then(|| sums.iter().zip(&counts).map(|(sum, count)| sum / count.max(1.0)).collect())
}

/// cv of a log-normal law with this variance on the logarithm.
pub(super) fn cv_of(variance: f64) -> f64 {
    variance.exp_m1().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The correlation is that of logarithms, so the certified one of a set of NIST (Statistical Reference Datasets,
    /// univariate, public domain) must come out of its exponentials, to as many digits as these leave.
    #[test]
    fn memory_is_as_nist_certifies_it() {
        for (text, middle, certified) in [
            (include_str!("../../tests/reference/nist/michelso.csv"), 299.85, 0.535_199_668_621_283),
            (include_str!("../../tests/reference/nist/lottery.csv"), 500.0, -0.120_948_622_967_393),
            (include_str!("../../tests/reference/nist/lew.csv"), -177.0, -0.307_304_800_605_679),
        ] {
            let factors = text.lines().filter_map(|line| Some((line.parse::<f64>().ok()? - middle).exp()));
            let found = lag_one(&[factors.collect()]).unwrap();
            assert!((found - certified).abs() < 1e-12, "{found} is not {certified}");
        }
        assert_eq!(lag_one(&[vec![1.0; FEWEST - 1]]), None);
    }
}
