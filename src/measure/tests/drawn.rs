//! Scenarios to check with: drawn ones that use everything, and a bare one that costs nothing.

use crate::scenario::{
    AfterMissing, Choose, Effect, HandOff, Lead, Light, Pacing, References, Repair, Scenario, Shape, Spread, Taken,
    WhenFull,
};
use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt, SeedableRng};

/// How many scenarios are drawn.
pub(super) const COUNT: u64 = 150;

/// One of a few.
fn one<T: Clone>(luck: &mut Xoshiro256PlusPlus, of: &[T]) -> T {
    of[luck.random_range(0..of.len())].clone()
}

/// The scenario of a number: the same for the same number. Its costs are near what its frame period allows.
pub(super) fn scenario(number: u64) -> Scenario {
    let luck = &mut Xoshiro256PlusPlus::seed_from_u64(number);
    let mut scenario = Scenario { name: format!("drawn {number}"), ..Scenario::default() };
    scenario.run.frames = luck.random_range(60..160);
    scenario.run.warmup = luck.random_range(0..30);
    scenario.run.seed = number;
    stages(&mut scenario, luck);
    link(&mut scenario, luck);
    time(&mut scenario, luck);
    scenario
}

fn stages(scenario: &mut Scenario, luck: &mut Xoshiro256PlusPlus) {
    scenario.slices.count = one(luck, &[1, 2, 3, 5, 8, 16]);
    scenario.slices.shape = one(luck, &[Shape::Equal, Shape::Geometric { ratio: 0.7 }]);
    scenario.slices.spread_cv = one(luck, &[0.0, 0.3]);
    scenario.host.parts = one(luck, &[1, 2, 3]);
    scenario.host.frames_in_flight = one(luck, &[1, 2, 4]);
    scenario.host.simulate.fixed_ms = luck.random_range(0.5..6.0);
    scenario.host.render.fixed_ms = luck.random_range(0.0..4.0);
    scenario.pose.taken = one(luck, &[Taken::AtSimulate, Taken::AtRender]);
    scenario.encode.engines = one(luck, &[1, 1, 2, 3]);
    scenario.decode.engines = one(luck, &[1, 1, 2, 3]);
    scenario.encode.pipeline_ms = one(luck, &[0.0, 1.5]);
    scenario.decode.pipeline_ms = one(luck, &[0.0, 2.5]);
    scenario.encode.hand_off = one(luck, &[HandOff::Slice, HandOff::Frame]);
    scenario.encode.work.fixed_ms = luck.random_range(0.0..6.0);
    scenario.decode.work.fixed_ms = luck.random_range(0.0..10.0) * one(luck, &[1.0, 1.0, 1.0, 5.0]);
    scenario.decode.work.spread = Spread::Gamma { cv: 0.5 };
    scenario.encode.buffer.frames = one(luck, &[Some(1), Some(2), None]);
    scenario.encode.buffer.when_full = one(luck, &[WhenFull::Block, WhenFull::DropNewest, WhenFull::DropOldest]);
    scenario.link.buffer.frames = one(luck, &[Some(1), Some(2), None]);
    scenario.link.buffer.when_full = one(luck, &[WhenFull::Block, WhenFull::DropNewest, WhenFull::DropOldest]);
    scenario.decode.buffer.frames = one(luck, &[Some(0), Some(1), None]);
    scenario.decode.buffer.when_full = one(luck, &[WhenFull::DropNewest, WhenFull::DropOldest]);
    scenario.stream.references =
        one(luck, &[References::Frame, References::Bands { reach: 1 }, References::Independent]);
    scenario.stream.after_missing = one(luck, &[AfterMissing::Conceal, AfterMissing::RequestIntra]);
}

fn link(scenario: &mut Scenario, luck: &mut Xoshiro256PlusPlus) {
    let link = &mut scenario.link;
    link.rate_mbps = one(luck, &[150.0, 600.0, 2400.0]);
    link.hand_off = one(luck, &[HandOff::Slice, HandOff::Frame]);
    link.repair = one(luck, &[Repair::Nothing, Repair::Resend { tries: 2 }, Repair::Parity { overhead_pct: 5.0 }]);
    link.loss = one(luck, &[0.0, 1e-4, 2e-3]);
    link.propagation_us = one(luck, &[0.1, 200.0]);
    link.delay.jitter_ms = one(luck, &[0.05, 2.0]);
    link.closures.per_minute = one(luck, &[0.0, 100.0, 600.0]);
    link.closures.mean_ms = 5.0;
    link.closures.effect = one(luck, &[Effect::Hold, Effect::Lose]);
}

fn time(scenario: &mut Scenario, luck: &mut Xoshiro256PlusPlus) {
    scenario.display.refresh_hz = one(luck, &[60.0, 72.0, 90.0]);
    scenario.display.light = one(luck, &[Light::Global, Light::Rolling]);
    scenario.display.compose.stall.chance = one(luck, &[0.0, 0.1]);
    scenario.display.compose.stall.mean_ms = 4.0;
    let every = one(luck, &[1, 1, 2]);
    scenario.pacing = match luck.random_range(0..4) {
        0 => Pacing::Fixed { lead: Lead::Ms(luck.random_range(10.0..50.0)), every },
        1 => Pacing::Fixed { lead: Lead::Tuned { late_share: 0.05 }, every },
        2 => Pacing::Adaptive { start_ms: 30.0, min_ms: 10.0, max_ms: 80.0, step_ms: 0.5, late_target: 0.05, every },
        _ => Pacing::Intervals { mean_ms: luck.random_range(9.0..18.0), spread: Spread::Gamma { cv: 0.3 } },
    };
    let intervals = matches!(scenario.pacing, Pacing::Intervals { .. });
    scenario.display.choose = if intervals { Choose::Newest } else { one(luck, &[Choose::Newest, Choose::OnTarget]) };
}

/// 100 Hz, one slice, every cost 0 but what a test sets; no chance, no bounds.
pub(super) fn bare(frames: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = frames;
    scenario.run.warmup = 10;
    scenario.display.refresh_hz = 100.0;
    scenario.display.compose.fixed_ms = 0.0;
    scenario.display.compose.stall.chance = 0.0;
    scenario.slices.count = 1;
    scenario.slices.bits_penalty_pct = 0.0;
    scenario.host.frames_in_flight = 8;
    for cost in [&mut scenario.host.simulate, &mut scenario.host.render] {
        (cost.fixed_ms, cost.per_mpx_ms, cost.spread) = (0.0, 0.0, Spread::Constant);
    }
    for work in [&mut scenario.encode.work, &mut scenario.decode.work] {
        (work.fixed_ms, work.per_mpx_ms, work.per_mbit_ms, work.spread) = (0.0, 0.0, 0.0, Spread::Constant);
    }
    (scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms) = (0.0, 0.0);
    (scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms) = (0.0, 0.0);
    scenario.encode.buffer.frames = None;
    scenario.link.buffer.frames = None;
    scenario.decode.buffer.frames = None;
    scenario.stream.bitrate_mbps = 0.1;
    scenario.stream.size = Spread::Constant;
    scenario.stream.vbv_frames = 0.0;
    scenario.stream.intra.factor = 1.0;
    scenario.stream.slice_header_bytes = 0;
    scenario.link.rate_mbps = 100_000.0;
    scenario.link.unit_overhead_ms = 0.0;
    scenario.link.packet_header_bytes = 0;
    scenario.content.cv = 0.0;
    scenario.clock.error_us = 0.0;
    scenario.clock.drift_ppm = 0.0;
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(40.0), every: 1 };
    scenario
}
