//! The engine against a bare recurrence of the core job, in one process, as a ratio.
//!
//! Core job: a host of period 11.111111 ms before a display of period 11.122223 ms, so that the phase sweeps; buffers
//! without bound, no policies. The recurrence (each server begins a thing when it is there and the server is free)
//! gives the same nanoseconds, which is checked first; it works on costs cut into slices beforehand, the engine cuts
//! them as it goes. Arrays are reused by both. `cargo bench --bench engine`.

use std::hint::black_box;
use std::time::{Duration, Instant};

use framelap::engine::Engine;
use framelap::scenario::{Pacing, Scenario, Spread};
use framelap::work::{self, WorkTable};

/// Frames gone through in all rounds together; both run in each round, the least time of each counts. Few frames in a few rounds
/// would be over before the processor runs at its speed.
const FRAMES_OF_ALL: u32 = 1_000_000;
/// Fewest rounds.
const ROUNDS: u32 = 5;

fn main() {
    println!("core job; least of {ROUNDS} and more interleaved rounds, ms");
    println!(
        "{:>10} {:>6} {:>12} {:>10} {:>8} {:>12}",
        "frames", "slices", "recurrence", "engine", "ratio", "ns/service"
    );
    for (frames, slices) in
        [(1_000, 8), (2_000, 8), (10_000, 1), (10_000, 8), (10_000, 32), (100_000, 8), (1_000_000, 8)]
    {
        compare(frames, slices);
    }
}

fn compare(frames: u32, slices: u32) {
    let scenario = core_job(frames, slices);
    let table = work::draw(&scenario);
    let mut engine = Engine::new();
    let mut bare = Bare::new(&scenario, &table, &mut engine);
    bare.check(&mut engine, &scenario, &table);
    let (mut least_bare, mut least_engine) = (Duration::MAX, Duration::MAX);
    for _ in 0..ROUNDS.max(FRAMES_OF_ALL / frames) {
        least_bare = least_bare.min(time(|| bare.play()));
        least_engine = least_engine.min(time(|| {
            black_box(engine.simulate(&scenario, &table).end_ns);
        }));
    }
    let ms = |duration: Duration| duration.as_secs_f64() * 1e3;
    let services = f64::from(frames) * f64::from(3 * slices + 2);
    println!(
        "{frames:>10} {slices:>6} {:>12.3} {:>10.3} {:>8.1} {:>12.2}",
        ms(least_bare),
        ms(least_engine),
        ms(least_engine) / ms(least_bare),
        ms(least_engine) * 1e6 / services,
    );
}

fn time(run: impl FnOnce()) -> Duration {
    let start = Instant::now();
    run();
    start.elapsed()
}

fn core_job(frames: u32, slices: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.display.refresh_hz = 1e9 / 11_122_223.0;
    scenario.pacing = Pacing::Intervals { mean_ms: 11.111_111, spread: Spread::Constant };
    scenario.host.frames_in_flight = 8;
    for buffer in [&mut scenario.encode.buffer, &mut scenario.link.buffer, &mut scenario.decode.buffer] {
        buffer.frames = None;
    }
    // A little less work than the default, so that 32 slices keep up.
    scenario.decode.slice_overhead_ms = 0.1;
    scenario.decode.work.per_mpx_ms = 0.5;
    scenario.slices.count = slices;
    scenario.run.frames = frames;
    scenario
}

/// Costs of one slice at encoder, link and decoder \[ns\].
type Costs = [i64; 3];

/// Starts and ends of one slice at encoder, link and decoder \[ns\].
type Times = [i64; 6];

/// The recurrence with its arrays.
struct Bare {
    /// Plan, simulate, render, delay after the link of each frame \[ns\].
    frames: Vec<[i64; 4]>,
    costs: Vec<Costs>,
    latches: Vec<i64>,
    times: Vec<Times>,
    ready: Vec<i64>,
    shown: Vec<u32>,
    slices: usize,
}

impl Bare {
    /// Takes the cut costs from a run of the engine.
    fn new(scenario: &Scenario, table: &WorkTable, engine: &mut Engine) -> Self {
        let propagation_ns = framelap::engine::us_to_ns(scenario.link.propagation_us);
        let run = engine.simulate(scenario, table);
        let between = |a: framelap::engine::Stamp, b: framelap::engine::Stamp| match (a.ns(), b.ns()) {
            (Some(a), Some(b)) => b - a,
            _ => 0,
        };
        Self {
            frames: run
                .frames
                .iter()
                .zip(&table.frames)
                .map(|(record, work)| {
                    let plan = record.plan.ns().unwrap_or(0);
                    [plan, work.simulate_ns, work.render_ns, work.link_delay_ns + propagation_ns]
                })
                .collect(),
            costs: run
                .slices
                .all()
                .records()
                .map(|slice| {
                    [
                        between(slice.encode_start, slice.encode_end),
                        between(slice.link_start, slice.link_end),
                        between(slice.decode_start, slice.decode_end),
                    ]
                })
                .collect(),
            latches: (0..run.refreshes.len() as i64).map(|refresh| run.grid.latch_ns(refresh)).collect(),
            times: vec![[0; 6]; run.slices.all().len()],
            ready: vec![0; run.frames.len()],
            shown: vec![u32::MAX; run.refreshes.len()],
            slices: run.slice_count,
        }
    }

    fn play(&mut self) {
        let (mut cpu, mut gpu, mut encoder, mut link, mut arrived, mut decoder) = (0, 0, 0, 0, 0, 0);
        let slices = self.slices;
        let rows = self.costs.chunks_exact(slices).zip(self.times.chunks_exact_mut(slices));
        for ((&[plan, simulate, render, delay], (costs, times)), ready) in
            self.frames.iter().zip(rows).zip(&mut self.ready)
        {
            cpu = plan.max(cpu) + simulate;
            gpu = cpu.max(gpu) + render;
            for (&[encode, send, decode], times) in costs.iter().zip(times) {
                let encode_start = gpu.max(encoder);
                encoder = encode_start + encode;
                let link_start = encoder.max(link);
                link = link_start + send;
                arrived = (link + delay).max(arrived);
                let decode_start = arrived.max(decoder);
                decoder = decode_start + decode;
                *times = [encode_start, encoder, link_start, link, decode_start, decoder];
            }
            *ready = decoder;
        }
        let mut next = 0;
        for (&latch, shown) in self.latches.iter().zip(&mut self.shown) {
            while next < self.ready.len() && self.ready[next] <= latch {
                next += 1;
            }
            *shown = if next == 0 { u32::MAX } else { next as u32 - 1 };
        }
        black_box(&self.shown);
    }

    /// Panics unless recurrence and engine agree on every start, end, ready time and refresh.
    fn check(&mut self, engine: &mut Engine, scenario: &Scenario, table: &WorkTable) {
        self.play();
        let run = engine.simulate(scenario, table);
        for (times, slice) in self.times.iter().zip(run.slices.all().records()) {
            let engine_times = [
                slice.encode_start,
                slice.encode_end,
                slice.link_start,
                slice.link_end,
                slice.decode_start,
                slice.decode_end,
            ];
            assert_eq!(engine_times.map(framelap::engine::Stamp::ns), times.map(Some));
        }
        for (ready, frame) in self.ready.iter().zip(&run.frames) {
            assert_eq!(frame.ready.ns(), Some(*ready));
        }
        for ((shown, refresh), &latch) in self.shown.iter().zip(&run.refreshes).zip(&self.latches) {
            let expected =
                if latch < 0 || *shown == u32::MAX || !refresh.composed { refresh.frame } else { Some(*shown) };
            assert_eq!(refresh.frame, expected);
        }
    }
}
