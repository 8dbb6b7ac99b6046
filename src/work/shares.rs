//! How a frame is cut: shares of rows and of bits.

use super::law::Law;
use super::luck::{Column, Luck};
use crate::scenario::{Scenario, Shape};
use crate::stop::{Stop, Stopped};

/// Share of the rows of each slice, the same in every frame.
pub fn row_shares(scenario: &Scenario) -> Vec<f64> {
    let count = scenario.slices.count;
    match &scenario.slices.shape {
        Shape::Equal => {
            let (count, rows) = (u64::from(count), u64::from(scenario.block_rows()));
            let border = |slice: u64| slice * rows / count;
            (0..count).map(|slice| (border(slice + 1) - border(slice)) as f64 / rows as f64).collect()
        }
        Shape::Geometric { ratio } => scaled((0..count).map(|slice| ratio.powi(slice.cast_signed())).collect()),
        Shape::Weights(weights) => scaled(weights.clone()),
    }
}

/// Draws the share of the bits of each slice: the rows' shares for all frames, or a row a frame where bits vary.
pub(super) fn draw_bit_shares(
    scenario: &Scenario,
    rows: &[f64],
    values: &mut Vec<f64>,
    stop: Stop<'_>,
) -> Result<(), Stopped> {
    let cv = scenario.slices.spread_cv;
    if cv <= 0.0 {
        values.extend(rows);
        return Ok(());
    }
    let law = Law::log_normal(cv);
    let luck = Luck::new(scenario.run.seed, Column::BitShare);
    for frame in 0..scenario.run.frames as usize {
        if stop.asked() {
            return Err(Stopped);
        }
        let start = values.len();
        let luck = luck.within(frame);
        values.extend(rows.iter().enumerate().map(|(slice, share)| share * law.draw(&mut luck.at(slice))));
        scale(&mut values[start..]);
    }
    Ok(())
}

fn scaled(mut shares: Vec<f64>) -> Vec<f64> {
    scale(&mut shares);
    shares
}

/// Scales to sum 1.
fn scale(shares: &mut [f64]) {
    let sum: f64 = shares.iter().sum();
    for share in shares {
        *share /= sum;
    }
}
