//! Random valid scenarios: the default one with a few things turned, so that a failing one shrinks to what matters.

use framelap::engine::{Engine, Run};
use framelap::scenario::{
    AfterMissing, Buffer, Choose, Effect, HandOff, Lead, Pacing, References, Repair, Scenario, Shape, Spread, Taken,
    WhenFull,
};
use framelap::work::{WorkTable, draw};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// The same random scenarios every time; `PROPTEST_CASES` asks for more of them.
pub(crate) fn same_every_time(seed: u64) -> ProptestConfig {
    ProptestConfig { rng_seed: RngSeed::Fixed(seed), failure_persistence: None, ..ProptestConfig::default() }
}

prop_compose! {
    /// A valid scenario of a few dozen frames.
    pub(crate) fn scenarios()(
        seed in 0..1000_u64,
        frames in 10..70_u32,
        turns in prop::collection::vec((0..TURNS.len(), 0.0..1.0_f64), 0..18),
    ) -> Scenario {
        let mut scenario = Scenario::default();
        scenario.run.seed = seed;
        scenario.run.frames = frames;
        scenario.run.warmup = frames / 10;
        for (turn, share) in turns {
            TURNS[turn](&mut scenario, share);
        }
        scenario.settle("");
        scenario
    }
}

/// A scenario drawn and played.
pub(crate) struct Played {
    pub(crate) scenario: Scenario,
    pub(crate) table: WorkTable,
    pub(crate) run: Run,
}

impl Played {
    pub(crate) fn new(scenario: Scenario) -> Self {
        let table = draw(&scenario);
        let mut engine = Engine::new();
        engine.simulate(&scenario, &table);
        Self { scenario, table, run: engine.take_run() }
    }
}

prop_compose! {
    /// One of them, played.
    pub(crate) fn played()(scenario in scenarios()) -> Played {
        Played::new(scenario)
    }
}

// A scenario tells its story; a whole run as well would drown it.
impl std::fmt::Debug for Played {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&framelap::scenario::to_ron(&self.scenario))
    }
}

/// Turns something to a share of what it can be.
type Turn = fn(&mut Scenario, f64);

/// One of `n` choices, and a share within it.
fn choice(share: f64, n: usize) -> (usize, f64) {
    let scaled = share * n as f64;
    (scaled as usize, scaled.fract())
}

fn whole(share: f64, low: u32, high: u32) -> u32 {
    low + (share * f64::from(high - low + 1)) as u32
}

fn spread(share: f64) -> Spread {
    let (kind, share) = choice(share, 6);
    let cv = 0.05 + share;
    match kind {
        0 => Spread::Constant,
        1 => Spread::Normal { cv, low: 0.2, high: 2.0 },
        2 => Spread::LogNormal { cv },
        3 => Spread::Gamma { cv },
        4 => Spread::Exponential,
        _ => Spread::Samples(vec![0.5, 0.5 + share, 3.0]),
    }
}

fn room(share: f64, may_block: bool) -> Buffer {
    let (kind, share) = choice(share, if may_block { 4 } else { 3 });
    let frames = Some(whole(share, 0, 3));
    match kind {
        0 => Buffer { frames, when_full: WhenFull::DropNewest },
        1 => Buffer { frames, when_full: WhenFull::DropOldest },
        2 => Buffer { frames: None, when_full: WhenFull::DropOldest },
        _ => Buffer { frames: frames.map(|frames| frames.max(1)), when_full: WhenFull::Block },
    }
}

fn pacing(share: f64) -> Pacing {
    let (kind, share) = choice(share, 4);
    let every = whole(share, 1, 3);
    match kind {
        0 => Pacing::Fixed { lead: Lead::Ms(1.0 + 60.0 * share), every },
        1 => Pacing::Fixed { lead: Lead::Tuned { late_share: 0.01 + 0.3 * share }, every },
        2 => {
            let start_ms = 5.0 + 60.0 * share;
            Pacing::Adaptive { start_ms, min_ms: 2.0, max_ms: 90.0, step_ms: 0.5, late_target: 0.05, every }
        }
        _ => Pacing::Intervals { mean_ms: 3.0 + 30.0 * share, spread: spread(share) },
    }
}

const TURNS: &[Turn] = &[
    |s, x| s.display.refresh_hz = 30.0 + 110.0 * x,
    |s, x| s.display.latch_lead_ms = 14.0 * x,
    |s, _| s.display.choose = Choose::OnTarget,
    |s, x| s.display.compose.fixed_ms = 8.0 * x,
    |s, x| s.display.compose.stall.chance = 0.4 * x,
    |s, x| s.display.compose.stall.mean_ms = 6.0 * x,
    |s, _| s.pose.taken = Taken::AtRender,
    |s, x| s.pose.rate_hz = 60.0 + 2000.0 * x,
    |s, x| s.pose.uplink.fixed_ms = 15.0 * x,
    |s, x| s.pose.uplink.jitter_ms = 5.0 * x,
    |s, x| s.host.simulate.fixed_ms = 12.0 * x,
    |s, x| s.host.simulate.spread = spread(x),
    |s, x| s.host.render.per_mpx_ms = 1.5 * x,
    |s, x| s.host.render.spread = spread(x),
    |s, x| s.host.render.stall.chance = 0.2 * x,
    |s, x| s.host.render.stall.mean_ms = 10.0 * x,
    |s, x| s.host.parts = whole(x, 1, 5),
    |s, x| s.host.frames_in_flight = whole(x, 1, 5),
    |s, x| s.slices.count = whole(x, 1, 20),
    |s, x| s.slices.shape = Shape::Geometric { ratio: 0.3 + 2.0 * x },
    |s, x| s.slices.shape = Shape::Weights(vec![x, 0.0, 1.0, 0.5, 2.0 * x]),
    |s, x| s.slices.spread_cv = x,
    |s, x| s.encode.work.per_mpx_ms = 1.5 * x,
    |s, x| s.encode.work.spread = spread(x),
    |s, x| s.encode.pipeline_ms = 12.0 * x,
    |s, x| s.encode.slice_overhead_ms = x,
    |s, x| s.encode.engines = whole(x, 1, 4),
    |s, _| s.encode.hand_off = HandOff::Frame,
    |s, x| s.encode.buffer = room(x, true),
    |s, x| s.stream.bitrate_mbps = 20.0 + 1000.0 * x,
    |s, x| s.stream.size = spread(x),
    |s, x| s.stream.vbv_frames = if x < 0.5 { 0.0 } else { 3.0 * x },
    |s, x| s.stream.intra.every = Some(whole(x, 1, 12)),
    |s, _| s.stream.after_missing = AfterMissing::RequestIntra,
    |s, x| {
        s.stream.references =
            if x < 0.5 { References::Independent } else { References::Bands { reach: whole(x, 0, 5) } }
    },
    |s, x| s.link.rate_mbps = 150.0 + 2000.0 * x,
    |s, x| s.link.unit_overhead_ms = x,
    |s, x| s.link.delay.jitter_ms = 5.0 * x,
    |s, x| s.link.delay.spread = spread(x),
    |s, _| s.link.hand_off = HandOff::Frame,
    |s, x| s.link.loss = 0.03 * x,
    |s, x| s.link.loss = 0.5 * x,
    |s, x| s.link.closures.per_minute = 600.0 * x,
    |s, x| s.link.closures.mean_ms = 0.1 + 40.0 * x,
    |s, _| s.link.closures.effect = Effect::Lose,
    |s, x| s.link.repair = Repair::Resend { tries: whole(x, 1, 4) },
    |s, x| s.link.repair = Repair::Parity { overhead_pct: 40.0 * x },
    |s, x| s.link.buffer = room(x, true),
    |s, x| s.decode.work.per_mpx_ms = 1.5 * x,
    |s, x| s.decode.work.spread = spread(x),
    |s, x| s.decode.work.stall.chance = 0.3 * x,
    |s, x| s.decode.work.stall.mean_ms = 20.0 * x,
    |s, x| s.decode.pipeline_ms = 12.0 * x,
    |s, x| s.decode.slice_overhead_ms = x,
    |s, x| s.decode.engines = whole(x, 1, 4),
    |s, x| s.decode.buffer = room(x, false),
    |s, x| s.pacing = pacing(x),
    |s, x| s.pacing = pacing(x),
    |s, x| s.clock.error_us = 8000.0 * x,
    |s, x| s.clock.resync_s = if x < 0.3 { 0.0 } else { 0.2 * x },
    |s, x| s.content.cv = x,
    |s, x| s.content.memory = 0.99 * x,
];
