//! Small worlds that outside checks are made of, and the sums that judge them.

use framelap::engine::{Engine, FrameRecord, Run, Stamp};
use framelap::scenario::{
    Buffer, CodecCost, Delay, Lead, Pacing, PixelCost, References, Scenario, Shape, Spread, Stall, WhenFull,
};
use framelap::work::{WorkTable, draw};

/// Nanoseconds in a millisecond.
pub(crate) const MS: f64 = 1e6;

/// A buffer that never fills.
pub(crate) const ENDLESS: Buffer = Buffer { frames: None, when_full: WhenFull::DropNewest };

/// A rate at which a byte takes 1.6 ns, so that whole bytes bend no slice by more than that \[Mbit/s\].
const LINE_RATE_MBPS: f64 = 5000.0;

/// The pipeline stripped of every cost, delay, limit and spread: 30 Hz, one slice, frames planned 20 ms before their
/// latch. What a check is about is put back by the check.
pub(crate) fn bare(frames: u32) -> Scenario {
    let mut scenario = Scenario::default();
    let nothing = PixelCost {
        fixed_ms: 0.0,
        per_mpx_ms: 0.0,
        content: 0.0,
        spread: Spread::Constant,
        stall: Stall { chance: 0.0, mean_ms: 0.0 },
    };
    let no_delay = Delay { fixed_ms: 0.0, jitter_ms: 0.0, spread: Spread::Constant };

    let display = &mut scenario.display;
    display.refresh_hz = 30.0;
    display.eye_px = (320, 1920);
    display.latch_lead_ms = 0.0;
    display.scanout_ms = 0.0;
    display.persistence_ms = 0.0;
    display.compose.fixed_ms = 0.0;
    display.compose.spread = Spread::Constant;
    display.compose.stall.chance = 0.0;

    scenario.pose.processing_ms = 0.0;
    scenario.pose.uplink = no_delay.clone();

    scenario.host.simulate = nothing.clone();
    scenario.host.render = nothing;
    scenario.host.frames_in_flight = 8;

    scenario.slices.count = 1;
    scenario.slices.block_px = 1;
    scenario.slices.bits_penalty_pct = 0.0;

    let encode = &mut scenario.encode;
    encode.work = codec_cost(0.0, Spread::Constant);
    encode.frame_overhead_ms = 0.0;
    encode.slice_overhead_ms = 0.0;
    encode.buffer = ENDLESS;

    let stream = &mut scenario.stream;
    stream.bitrate_mbps = 0.1;
    stream.content = 0.0;
    stream.size = Spread::Constant;
    stream.vbv_frames = 0.0;
    stream.intra.factor = 1.0;
    stream.slice_header_bytes = 0;

    let link = &mut scenario.link;
    link.rate_mbps = 100_000.0;
    link.unit_overhead_ms = 0.0;
    link.packet_header_bytes = 0;
    link.propagation_us = 0.0;
    link.delay = no_delay;
    link.buffer = ENDLESS;

    let decode = &mut scenario.decode;
    decode.work = codec_cost(0.0, Spread::Constant);
    decode.frame_overhead_ms = 0.0;
    decode.slice_overhead_ms = 0.0;
    decode.buffer = ENDLESS;

    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(20.0), every: 1 };
    scenario.clock.error_us = 0.0;
    scenario.clock.drift_ppm = 0.0;
    scenario.content.cv = 0.0;
    scenario.run.frames = frames;
    scenario.run.warmup = 0;
    scenario
}

/// Work of a codec that depends on nothing but its spread.
pub(crate) fn codec_cost(mean_ms: f64, spread: Spread) -> CodecCost {
    CodecCost {
        fixed_ms: mean_ms,
        per_mpx_ms: 0.0,
        per_mbit_ms: 0.0,
        content: 0.0,
        spread,
        stall: Stall { chance: 0.0, mean_ms: 0.0 },
    }
}

/// Work of a host's stage that depends on nothing but its spread.
pub(crate) fn host_cost(mean_ms: f64, spread: Spread) -> PixelCost {
    PixelCost { fixed_ms: mean_ms, per_mpx_ms: 0.0, content: 0.0, spread, stall: Stall { chance: 0.0, mean_ms: 0.0 } }
}

/// Makes frames take the link `mean_ms` on average, spread as their sizes are.
pub(crate) fn set_link(scenario: &mut Scenario, mean_ms: f64, size: Spread) {
    if mean_ms > 0.0 {
        // A stream of more than 5000 Mbit/s is out of range.
        let load = mean_ms * MS / scenario.frame_period_ns();
        scenario.link.rate_mbps = LINE_RATE_MBPS.min(5000.0 / load);
        scenario.stream.bitrate_mbps = scenario.link.rate_mbps * load;
    }
    scenario.stream.size = size;
}

/// Encode, link and decode take so many ms, all else nothing, at `refresh_hz`.
pub(crate) fn line(refresh_hz: f64, [encode, link, decode]: [f64; 3], frames: u32) -> Scenario {
    let mut scenario = bare(frames);
    scenario.display.refresh_hz = refresh_hz;
    scenario.encode.work = codec_cost(encode, Spread::Constant);
    set_link(&mut scenario, link, Spread::Constant);
    scenario.decode.work = codec_cost(decode, Spread::Constant);
    scenario
}

/// The same cut into `n` equal slices, on a picture whose rows they divide.
pub(crate) fn cut(mut scenario: Scenario, n: u32) -> Scenario {
    scenario.slices.count = n;
    scenario.slices.shape = Shape::Equal;
    let rows = [1920, 2520].into_iter().find(|rows| rows % n == 0).expect("a height that the slices divide");
    scenario.display.eye_px.1 = rows;
    scenario
}

/// A queue at the decoder: frames planned as `pacing` says come to it at once.
pub(crate) fn decode_queue(frames: u32, pacing: Pacing, mean_ms: f64, spread: Spread) -> Scenario {
    let mut scenario = bare(frames);
    scenario.pacing = pacing;
    scenario.decode.work = codec_cost(mean_ms, spread);
    scenario.stream.references = References::Frame;
    scenario
}

/// Plans at intervals.
pub(crate) fn intervals(mean_ms: f64, spread: Spread) -> Pacing {
    Pacing::Intervals { mean_ms, spread }
}

/// Draws and plays a scenario.
pub(crate) fn simulate(scenario: &Scenario) -> (WorkTable, Run) {
    let table = draw(scenario);
    let run = play(scenario, &table);
    (table, run)
}

/// Plays a scenario, one that a file may hold, on a table.
pub(crate) fn play(scenario: &Scenario, table: &WorkTable) -> Run {
    scenario.check().expect("a scenario in its ranges");
    let mut engine = Engine::new();
    engine.simulate(scenario, table);
    engine.take_run()
}

/// Draws a table whose frames are empty: a link that takes no time.
pub(crate) fn draw_without_bits(scenario: &Scenario) -> WorkTable {
    let mut table = draw(scenario);
    table.frames.iter_mut().for_each(|frame| frame.bits = 0);
    table
}

/// An instant that must have happened \[ns\].
pub(crate) fn at(stamp: Stamp) -> i64 {
    stamp.ns().expect("it happened")
}

/// From rendered to ready \[ns\].
pub(crate) fn stream_ns(frame: &FrameRecord) -> i64 {
    at(frame.ready) - at(frame.rendered)
}

/// Stream latency of every frame that got ready \[ms\].
pub(crate) fn stream_ms(run: &Run) -> Vec<f64> {
    run.frames.iter().filter(|frame| frame.ready.happened()).map(|frame| stream_ns(frame) as f64 / MS).collect()
}

/// Stream latency of a run in which every frame has the same, to `within_ns` \[ns\].
pub(crate) fn same_stream_ns(run: &Run, within_ns: i64) -> i64 {
    let first = stream_ns(&run.frames[0]);
    for (number, frame) in run.frames.iter().enumerate() {
        let ns = stream_ns(frame);
        assert!((ns - first).abs() <= within_ns, "frame {number} takes {ns} ns, frame 0 {first} ns");
    }
    first
}

/// Mean.
pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Standard deviation (n - 1).
pub(crate) fn sd(values: &[f64]) -> f64 {
    let mean = mean(values);
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (values.len() as f64 - 1.0)).sqrt()
}

/// Mean of correlated values and its standard error by 20 batch means (Law and Kelton, *Simulation Modeling and
/// Analysis*, chapter 9).
pub(crate) fn batch_mean(values: &[f64]) -> (f64, f64) {
    let length = values.len() / 20;
    let batches: Vec<f64> = values.chunks_exact(length).take(20).map(mean).collect();
    (mean(&batches), sd(&batches) / 20_f64.sqrt())
}

/// Asserts that a mean of correlated values is the expected one, to four standard errors by batch means; and that these
/// are small enough (`within`, relative) for the check to say something.
#[track_caller]
pub(crate) fn assert_mean(what: &str, values: &[f64], expected: f64, within: f64) {
    let (found, error) = batch_mean(values);
    assert!(4.0 * error <= within * expected.abs(), "{what}: too noisy, {found} with standard error {error}");
    assert!((found - expected).abs() <= 4.0 * error, "{what}: {found}, standard error {error}, expected {expected}");
}

/// Asserts that a share of correlated yes and no is the expected one, as [`assert_mean`] does.
#[track_caller]
pub(crate) fn assert_share(what: &str, yes: impl Iterator<Item = bool>, expected: f64, within: f64) {
    let values: Vec<f64> = yes.map(|yes| f64::from(u8::from(yes))).collect();
    assert_mean(what, &values, expected, within);
}

/// Share of yes among independent values must be the expected one, to four standard errors of the binomial law.
#[track_caller]
pub(crate) fn assert_independent_share(what: &str, yes: impl Iterator<Item = bool>, expected: f64) {
    let (mut hits, mut count) = (0.0, 0.0);
    for hit in yes {
        count += 1.0;
        hits += f64::from(u8::from(hit));
    }
    assert!(expected * count > 20.0, "{what}: {count} values say nothing about a share of {expected}");
    assert_near(what, hits / count, expected, 4.0 * (expected * (1.0 - expected) / count).sqrt());
}

/// Asserts that two numbers are as near as told.
#[track_caller]
pub(crate) fn assert_near(what: &str, found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{what}: {found}, expected {expected} to {within}");
}

/// Quantile of type 7 (Hyndman and Fan, The American Statistician 50, 1996).
pub(crate) fn quantile(values: &[f64], p: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let position = (sorted.len() - 1) as f64 * p;
    let (below, above) = (position.floor() as usize, position.ceil() as usize);
    sorted[below] + position.fract() * (sorted[above] - sorted[below])
}
