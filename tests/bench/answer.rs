//! What a whole answer costs: draw, tuned pilot, run, measure, on one core with arrays used again; and its steps.
//! `cargo bench --bench answer`.

use divan::Bencher;
use framelap::engine::Engine;
use framelap::measure;
use framelap::scenario::Scenario;
use framelap::study::Workspace;
use framelap::work::{self, WorkTable};

/// Frames and slices.
const SIZES: [(u32, u32); 4] = [(2_000, 8), (10_000, 8), (10_000, 32), (100_000, 8)];

fn main() {
    divan::main();
}

/// The default scenario: the decoder does less where 32 slices would overload it.
fn scenario((frames, slices): (u32, u32)) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = frames;
    scenario.slices.count = slices;
    scenario.decode.work.per_mpx_ms = 0.5;
    scenario.decode.slice_overhead_ms = 0.1;
    scenario
}

#[divan::bench(args = SIZES)]
fn whole_answer(bencher: Bencher<'_, '_>, size: (u32, u32)) {
    let scenario = scenario(size);
    let mut workspace = Workspace::new();
    bencher.bench_local(|| workspace.summary(&scenario).pose_to_photon_ms.p99);
}

#[divan::bench(args = SIZES)]
fn step_1_draw(bencher: Bencher<'_, '_>, size: (u32, u32)) {
    let scenario = scenario(size);
    let mut table = WorkTable::default();
    bencher.bench_local(|| table.draw_into(&scenario));
}

#[divan::bench(args = SIZES)]
fn step_2_run_with_pilot(bencher: Bencher<'_, '_>, size: (u32, u32)) {
    let scenario = scenario(size);
    let table = work::draw(&scenario);
    let mut engine = Engine::new();
    bencher.bench_local(|| engine.simulate(&scenario, &table).end_ns);
}

#[divan::bench(args = SIZES)]
fn step_2_slice_by_slice(bencher: Bencher<'_, '_>, size: (u32, u32)) {
    let scenario = scenario(size);
    let table = work::draw(&scenario);
    let mut engine = Engine::slice_by_slice();
    bencher.bench_local(|| engine.simulate(&scenario, &table).end_ns);
}

#[divan::bench(args = SIZES)]
fn step_3_measure(bencher: Bencher<'_, '_>, size: (u32, u32)) {
    let scenario = scenario(size);
    let table = work::draw(&scenario);
    let mut engine = Engine::new();
    engine.simulate(&scenario, &table);
    bencher.bench_local(|| measure::summarize(&scenario, &table, engine.run()));
}
