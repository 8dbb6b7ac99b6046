//! What the room promises as a whole; rules of one file are tested beside it.

mod columns;
#[cfg(all(target_os = "linux", target_arch = "x86_64"))]
mod golden;
mod luck;
mod read_wrong;
mod round_trip;
mod spreads;
mod transport;

use super::*;
use crate::scenario::{Scenario, Spread};

/// A scenario in which nothing varies: every cost of its own size, every size the target.
fn steady(frames: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = frames;
    scenario.run.warmup = 0;
    scenario.content.cv = 0.0;
    scenario.clock.error_us = 0.0;
    scenario.clock.drift_ppm = 0.0;
    scenario.stream.size = Spread::Constant;
    scenario.stream.vbv_frames = 0.0;
    scenario.stream.intra.factor = 1.0;
    scenario.slices.bits_penalty_pct = 0.0;
    scenario.display.compose.spread = Spread::Constant;
    scenario.display.compose.stall.chance = 0.0;
    scenario.host.simulate.spread = Spread::Constant;
    scenario.host.render.spread = Spread::Constant;
    scenario.encode.work.spread = Spread::Constant;
    scenario.decode.work.spread = Spread::Constant;
    for delay in [&mut scenario.pose.uplink, &mut scenario.link.delay] {
        delay.jitter_ms = 0.0;
        delay.spread = Spread::Constant;
    }
    scenario
}

/// One column of a table.
fn column<T>(table: &WorkTable, value: impl Fn(&FrameWork) -> T) -> Vec<T> {
    table.frames.iter().map(value).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Standard deviation, n - 1 below.
fn deviation(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (squares / (values.len() - 1) as f64).sqrt()
}

/// Pearson correlation.
fn correlation(left: &[f64], right: &[f64]) -> f64 {
    let (left_mean, right_mean) = (mean(left), mean(right));
    let products: f64 = left.iter().zip(right).map(|(l, r)| (l - left_mean) * (r - right_mean)).sum();
    products / (left.len() - 1) as f64 / (deviation(left) * deviation(right))
}

/// Asserts that a share counted among `count` independent draws is within four standard errors of its probability.
#[track_caller]
fn assert_share(found: usize, count: usize, probability: f64) {
    let share = found as f64 / count as f64;
    let error = (probability * (1.0 - probability) / count as f64).sqrt();
    assert!((share - probability).abs() <= 4.0 * error, "share {share}, expected {probability} +- {error}");
}
