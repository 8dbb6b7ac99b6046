//! A small table, pinned: what a seed means must not change unnoticed, by an edit here or by a new version of a crate.
//!
//! Values are those of x86-64 Linux; another system's logarithms and exponentials may round the last nanosecond otherwise.

use super::steady;
use crate::scenario::{Delay, Pacing, Repair, Scenario, Spread, Stall};
use crate::work::{draw, write};

/// Every kind of spread at least once.
fn colourful() -> Scenario {
    let mut scenario = steady(10);
    scenario.run.seed = 20_251_125;
    scenario.content.cv = 0.2;
    scenario.content.memory = 0.9;
    scenario.clock.error_us = 50.0;
    scenario.clock.drift_ppm = 20.0;
    scenario.clock.resync_s = 0.05;
    scenario.stream.size = Spread::Normal { cv: 0.15, low: 0.4, high: 1.6 };
    scenario.stream.vbv_frames = 1.5;
    scenario.stream.intra.factor = 2.5;
    scenario.stream.intra.every = Some(6);
    scenario.slices.count = 3;
    scenario.slices.spread_cv = 0.2;
    scenario.host.simulate.spread = Spread::LogNormal { cv: 0.15 };
    scenario.host.render.spread = Spread::Gamma { cv: 0.2 };
    scenario.host.render.stall = Stall { chance: 0.3, mean_ms: 1.0 };
    scenario.encode.work.spread = Spread::Gamma { cv: 1.5 };
    scenario.decode.work.spread = Spread::Samples(vec![0.5, 1.0, 1.5]);
    scenario.pose.uplink = Delay { fixed_ms: 0.3, jitter_ms: 0.05, spread: Spread::Exponential };
    scenario.link.delay =
        Delay { fixed_ms: 0.1, jitter_ms: 0.2, spread: Spread::Normal { cv: 2.0, low: 0.9, high: 1.2 } };
    scenario.link.loss = 0.01;
    scenario.link.repair = Repair::Resend { tries: 2 };
    scenario.link.closures.per_minute = 200.0;
    scenario.display.compose.spread = Spread::Normal { cv: 0.1, low: 0.5, high: 1.4 };
    scenario.display.compose.stall = Stall { chance: 0.1, mean_ms: 1.0 };
    scenario.pacing = Pacing::Intervals { mean_ms: 11.0, spread: Spread::Exponential };
    scenario
}

#[test]
fn a_small_table_stays_as_it_is() {
    let scenario = colourful();
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &scenario, &draw(&scenario)).unwrap();
    let beginnings = ["frames.csv", "refreshes.csv", "closures.csv", "losses.csv"].map(|name| {
        let table = std::fs::read_to_string(folder.path().join(name)).unwrap();
        let lines: Vec<&str> = table.lines().take(12).collect();
        format!("{name}\n{}\n", lines.join("\n"))
    });
    let text = beginnings.join("\n");
    assert!(text == include_str!("golden.txt"), "{text}");
}
