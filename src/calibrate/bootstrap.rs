//! Intervals by drawing again: the moving-block bootstrap (Künsch, Ann. Stat. 17 (1989) 1217-1241), whose blocks keep what
//! neighbouring frames have in common.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};
use rayon::prelude::*;
use serde::Serialize;

use super::watch::Steps;
use crate::measure::statistics::{Z, quantile_of_sorted, t_quantile};
use crate::stop::Stopped;

/// Times that data are drawn again.
pub(super) const ROUNDS: usize = 200;
/// Most rows that are drawn. Of more data only so many are, and the intervals shrink by the root of what was left out:
/// subsampling (Politis and Romano, Ann. Stat. 22 (1994) 2031-2050, for estimates whose error falls with the root of n).
const MOST_DRAWN: usize = 50_000;
/// Seed of the drawing: the same data give the same intervals.
const SEED: u64 = 0x0ca1_1b4a;
/// Share of the rounds that must give a value for an interval to be told.
const ENOUGH: f64 = 0.8;

/// An estimate and its 95 % interval; none where the data are too few or too uneven for one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Low and high end of its 95 % interval.
    pub ci95: Option<[f64; 2]>,
}

impl Estimate {
    /// An estimate without an interval.
    pub const fn alone(value: f64) -> Self {
        Self { value, ci95: None }
    }
}

/// Estimates of several parameters at once, from rows drawn again in blocks of `block`; `of` makes the parameters from
/// numbers of rows, each none where they do not tell it.
pub(super) fn estimates<const P: usize>(
    rows: usize,
    block: usize,
    steps: &Steps<'_>,
    of: impl Fn(&[usize]) -> [Option<f64>; P] + Sync,
) -> Result<[Option<Estimate>; P], Stopped> {
    let all: Vec<usize> = (0..rows).collect();
    let values = of(&all);
    let count = rows.min(MOST_DRAWN);
    let again: Vec<[Option<f64>; P]> = (0..ROUNDS as u64)
        .into_par_iter()
        .map(|round| {
            steps.one()?;
            Ok(of(&drawn(rows, count, block, &mut Xoshiro256PlusPlus::seed_from_u64(SEED + round))))
        })
        .collect::<Result<_, Stopped>>()?;
    let shrink = (count as f64 / rows as f64).sqrt() * for_few(count / block.max(1));
    Ok(std::array::from_fn(|p| {
        let value = values[p]?;
        let mut found: Vec<f64> = again.iter().filter_map(|values| values[p]).collect();
        found.sort_unstable_by(f64::total_cmp);
        let enough = found.len() as f64 >= ENOUGH * ROUNDS as f64;
        let at = |share| Some(value + (quantile_of_sorted(&found, share)? - value) * shrink);
        let ci95 = enough.then(|| Some([at(0.025)?, at(0.975)?])).flatten();
        Some(Estimate { value, ci95 })
    }))
}

/// By how many times wider an interval of so many blocks is than what drawing them again shows: their scatter has one degree
/// of freedom less than there are blocks, and is itself only estimated (Student's t for the normal law).
fn for_few(blocks: usize) -> f64 {
    let blocks = blocks.max(2);
    let t = t_quantile(0.975, blocks - 1).unwrap_or(Z);
    t / Z * (blocks as f64 / (blocks - 1) as f64).sqrt()
}

/// `count` of so many rows, in blocks that begin anywhere and go around the end.
fn drawn(rows: usize, count: usize, block: usize, luck: &mut Xoshiro256PlusPlus) -> Vec<usize> {
    let mut chosen = Vec::with_capacity(count + block);
    while chosen.len() < count {
        let start = luck.random_range(0..rows);
        chosen.extend((start..start + block).map(|row| row % rows));
    }
    chosen.truncate(count);
    chosen
}

/// Length of blocks for values with this lag-one correlation: 1 where it is within what chance makes of independent values
/// (2 / sqrt n); else the cube root of their number, longer where neighbours are more alike, as for a first-order memory
/// (after Hall, Horowitz and Jing, Biometrika 82 (1995) 561-574), at most a tenth of them.
pub(super) fn block_length(rows: usize, lag_one: Option<f64>) -> usize {
    let lag_one = lag_one.unwrap_or(0.0);
    if lag_one.abs() < 2.0 / (rows as f64).sqrt() {
        return 1;
    }
    let memory = ((1.0 + lag_one) / (1.0 - lag_one.min(0.999))).max(1.0);
    ((rows as f64).cbrt() * memory.powf(2.0 / 3.0)).ceil().min((rows / 10).max(1) as f64) as usize
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use super::*;
    use crate::calibrate::mapping::Role;
    use crate::calibrate::watch::Watch;
    use crate::stop::Stop;

    #[test]
    fn interval_of_a_mean_is_that_of_its_standard_error() {
        let values: Vec<f64> = (0..1000).map(|k| f64::from((k * 7919) % 1000) / 1000.0).collect();
        let mean = |rows: &[usize]| [Some(rows.iter().map(|&row| values[row]).sum::<f64>() / rows.len() as f64)];
        let watch = Watch::nobody();
        let [estimate] = estimates(1000, 1, &Steps::of(&watch, Role::Encode, ROUNDS), mean).unwrap();
        let estimate = estimate.unwrap();
        let [low, high] = estimate.ci95.unwrap();
        assert!((estimate.value - 0.4995).abs() < 1e-9);
        // 1.96 sd / sqrt n on both sides, sd of the uniform law 1 / sqrt 12.
        let half = 1.96 / 12.0_f64.sqrt() / 1000.0_f64.sqrt();
        assert!(((high - low) / (2.0 * half) - 1.0).abs() < 0.1, "{low} {high}");
    }

    /// Of 200 000 rows a quarter is drawn, and the interval is as narrow as if all were.
    #[test]
    fn many_rows_have_the_narrow_interval_that_they_deserve() {
        let values: Vec<f64> = (0..200_000).map(|k| f64::from((k * 7919) % 1000) / 1000.0).collect();
        let mean = |rows: &[usize]| [Some(rows.iter().map(|&row| values[row]).sum::<f64>() / rows.len() as f64)];
        let watch = Watch::nobody();
        let [estimate] = estimates(200_000, 1, &Steps::of(&watch, Role::Encode, ROUNDS), mean).unwrap();
        let [low, high] = estimate.unwrap().ci95.unwrap();
        let half = 1.96 / 12.0_f64.sqrt() / 200_000.0_f64.sqrt();
        assert!(((high - low) / (2.0 * half) - 1.0).abs() < 0.15, "{low} {high}");
    }

    #[test]
    fn stopped_drawings_end() {
        let flag = AtomicBool::new(true);
        let watch = Watch::new(Stop::when(&flag), &|_| ());
        let steps = Steps::of(&watch, Role::Encode, ROUNDS);
        assert_eq!(estimates(10, 1, &steps, |rows| [Some(rows.len() as f64)]), Err(Stopped));
    }

    #[test]
    fn blocks_grow_with_memory_and_stay_short() {
        assert_eq!(block_length(1000, None), 1);
        assert_eq!(block_length(1000, Some(0.05)), 1);
        assert_eq!(block_length(1000, Some(-0.1)), 10);
        assert!(block_length(100_000, Some(0.99)) > 1000);
        assert_eq!(block_length(50, Some(0.99)), 5);
    }
}
