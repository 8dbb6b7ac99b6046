//! Service told from a pipeline: a codec with both is simulated, the instants at which things go in and come out are
//! measured, and both come out again within the stated intervals.

use std::fmt::Write as _;
use std::fs;

use framelap::calibrate::{Estimate, Fit, Mapping, Measured, Role, Samples, Sheet, StageFit, adopt, replay};
use framelap::engine::Engine;
use framelap::scenario::{CodecCost, Decode, Pacing, Scenario, Spread, Stall};
use framelap::work;
use rayon::prelude::*;

/// Frames that come at random, two of three while the one before is in service: 6 ms with a jitter of 10 %, which come out
/// 9 ms after it.
fn codec(seed: u64, frames: u32, slices: u32) -> Scenario {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.run.seed) = (frames, 0, seed);
    scenario.pacing = Pacing::Intervals { mean_ms: 9.0, spread: Spread::Exponential };
    scenario.host.frames_in_flight = 8;
    for cost in [&mut scenario.host.simulate, &mut scenario.host.render] {
        (cost.fixed_ms, cost.per_mpx_ms, cost.spread) = (0.1, 0.0, Spread::Constant);
    }
    scenario.content.cv = 0.0;
    scenario.slices.count = slices;
    scenario.slices.block_px = 1;
    scenario.encode.buffer.frames = None;
    scenario.encode.work = CodecCost {
        fixed_ms: 6.0,
        per_mpx_ms: 0.0,
        per_mbit_ms: 0.0,
        content: 0.0,
        spread: Spread::Gamma { cv: 0.1 },
        stall: Stall { chance: 0.0, mean_ms: 0.0 },
    };
    (scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms) = (0.0, 0.0);
    scenario.encode.pipeline_ms = 9.0;
    scenario
}

/// The same as a decoder of four slices, which differ by some 30 % within a frame; the first one takes 0.5 ms more.
fn sliced_decoder(seed: u64, frames: u32) -> Scenario {
    let mut scenario = codec(seed, frames, 4);
    scenario.slices.spread_cv = 0.3;
    scenario.decode = Decode {
        work: scenario.encode.work.clone(),
        frame_overhead_ms: 0.5,
        slice_overhead_ms: 0.0,
        pipeline_ms: 9.0,
        engines: 1,
        buffer: scenario.encode.buffer,
    };
    (scenario.encode.work.fixed_ms, scenario.encode.pipeline_ms) = (0.0, 0.0);
    // Slices of a frame come to the decoder nearly together.
    scenario.link.rate_mbps = 100_000.0;
    (scenario.link.unit_overhead_ms, scenario.link.delay.jitter_ms) = (0.0, 0.0);
    scenario.link.delay.spread = Spread::Constant;
    scenario.link.buffer.frames = None;
    scenario
}

/// The instants of a run as a file: in microseconds of a clock that began long ago.
fn instants(scenario: &Scenario) -> String {
    let table = work::draw(scenario);
    let mut engine = Engine::new();
    let run = engine.simulate(scenario, &table);
    let slices = scenario.slices.count;
    let mut text =
        if slices > 1 { "frame,slice,decode_in_us,decode_out_us\n" } else { "frame,encode_in_us,encode_out_us\n" }
            .to_owned();
    for (at, slice) in run.slices.all().records().enumerate() {
        let (frame, slice_number) = (at / slices as usize, at % slices as usize);
        let [come, out] = if slices > 1 { [slice.arrive, slice.decode_out] } else { [slice.come, slice.encode_out] };
        let (Some(come), Some(out)) = (come.ns(), out.ns()) else { continue };
        let us = |ns: i64| 1.7e12 + ns as f64 * 1e-3;
        let number = if slices > 1 { format!("{frame},{slice_number}") } else { frame.to_string() };
        writeln!(text, "{number},{:.3},{:.3}", us(come), us(out)).unwrap();
    }
    text
}

fn measured(text: &str) -> Measured {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    fs::write(&path, text).unwrap();
    let sheet = Sheet::read(&path).unwrap();
    Measured::of(&sheet, &Mapping::propose(&sheet))
}

fn holds(estimate: Option<Estimate>, truth: f64) -> bool {
    estimate.and_then(|estimate| estimate.ci95).is_some_and(|[low, high]| low <= truth && truth <= high)
}

/// The stated 95 % intervals of service, its spread and pipeline hold the known ones in 95 % of 200 repetitions: between 178
/// and 198 in all but one of 1000 such tests (binomial law).
#[test]
fn service_and_pipeline_come_out_again() {
    let held: Vec<[bool; 3]> = (0..200)
        .into_par_iter()
        .map(|seed| {
            let fit = StageFit::of(&measured(&instants(&codec(seed, 600, 1))), Role::Encode).unwrap();
            [holds(fit.constant_ms, 6.0), holds(fit.cv, 0.1), holds(fit.pipeline_ms, 9.0)]
        })
        .collect();
    let counts: Vec<usize> = (0..3).map(|p| held.iter().filter(|held| held[p]).count()).collect();
    println!("{counts:?} of 200 hold");
    assert!(counts.iter().all(|count| (178..=198).contains(count)), "{counts:?} of 200");
}

/// The same from a row a slice, with what the first slice takes more.
#[test]
fn slices_tell_pipeline_and_overhead_of_the_frame() {
    let held: Vec<[bool; 3]> = (0..200)
        .into_par_iter()
        .map(|seed| {
            let scenario = sliced_decoder(seed, 400);
            let fit = StageFit::of(&measured(&instants(&scenario)), Role::Decode).unwrap();
            [holds(fit.constant_ms, 6.0), holds(fit.frame_overhead_ms, 0.5), holds(fit.pipeline_ms, 9.0)]
        })
        .collect();
    let counts: Vec<usize> = (0..3).map(|p| held.iter().filter(|held| held[p]).count()).collect();
    println!("{counts:?} of 200 hold");
    assert!(counts.iter().all(|count| (178..=198).contains(count)), "{counts:?} of 200");
}

/// Frames that go in every `period_ms`, are served for 5 ms and somewhat more and come out 9 ms later.
fn regular(period_ms: f64, frames: u32) -> String {
    let mut free_ms = 0.0_f64;
    let mut text = "frame,encode_in_ms,encode_out_ms\n".to_owned();
    for k in 0..frames {
        let came_ms = f64::from(k) * period_ms;
        free_ms = free_ms.max(came_ms) + 5.0 + 0.1 * f64::from(k * 7 % 10);
        writeln!(text, "{k},{came_ms},{}", free_ms + 9.0).unwrap();
    }
    text
}

fn said(fit: &StageFit, words: &str) -> bool {
    fit.notes.iter().any(|note| note.contains(words))
}

#[test]
fn what_instants_cannot_tell_is_refused_in_words() {
    // Nothing comes back to back: service and pipeline together.
    let fit = StageFit::of(&measured(&regular(30.0, 300)), Role::Encode).unwrap();
    assert!((fit.constant_ms.unwrap().value - 14.45).abs() < 0.05 && fit.pipeline_ms.is_none(), "{fit:?}");
    assert!(!fit.spaced && said(&fit, "too few came back to back (0 did)"), "{:?}", fit.notes);
    // Nothing finds it idle: the service alone.
    let fit = StageFit::of(&measured(&regular(3.0, 300)), Role::Encode).unwrap();
    assert!((fit.constant_ms.unwrap().value - 5.45).abs() < 0.05 && fit.pipeline_ms.is_none(), "{fit:?}");
    assert!(fit.spaced && said(&fit, "fewer than 10 frames found the stage idle"), "{:?}", fit.notes);
    // Durations: neither.
    let durations: Vec<String> = (0..300).map(|k| (5.0 + 0.1 * f64::from(k % 10)).to_string()).collect();
    let fit = StageFit::of(&measured(&format!("encode_ms\n{}\n", durations.join("\n"))), Role::Encode).unwrap();
    assert!(!fit.spaced && said(&fit, "durations alone do not tell service from a pipeline"), "{:?}", fit.notes);
    // Slices that never wait: not even that.
    let slice =
        |k: u32| format!("{},{},{},{}", k / 4, k % 4, 20 * k, f64::from(20 * k) + 14.0 + 0.1 * f64::from(k % 10));
    let slices: Vec<String> = (0..600).map(slice).collect();
    let fit = Fit::of(&measured(&format!("frame,slice,decode_in_ms,decode_out_ms\n{}\n", slices.join("\n"))));
    assert!(fit.stages.is_empty(), "{:?}", fit.stages);
    assert_eq!(
        fit.not_told,
        ["decode: found 0 slices back to back and 599 that found it idle, allowed: enough to know 30 frames by"]
    );
}

/// The scenario has the pipeline and the service, and a replay the service of each frame, whether or not it waited.
#[test]
fn the_scenario_and_its_replay_keep_them_apart() {
    let truth = codec(3, 2000, 1);
    let measured = measured(&instants(&truth));
    let mut base = Scenario::default();
    (base.slices.count, base.encode.engines, base.encode.frame_overhead_ms) = (1, 2, 0.0);
    base.encode.slice_overhead_ms = 0.0;
    let made = adopt(&base, &Fit::of(&measured), Samples::WhereNoLawFits).scenario;
    assert!((made.encode.pipeline_ms - 9.0).abs() < 0.15, "{}", made.encode.pipeline_ms);
    assert!((made.encode.work.fixed_ms - 6.0).abs() < 0.15, "{}", made.encode.work.fixed_ms);
    assert_eq!(made.encode.engines, 1);
    let off_ms = made.encode.pipeline_ms - 9.0;
    let (_, again) = replay(&made, &measured).unwrap();
    let drawn = work::draw(&truth);
    let mut engine = Engine::new();
    let run = engine.simulate(&truth, &drawn);
    // Frames that were encoded, in their order.
    let encoded: Vec<i64> =
        (0..2000).filter(|&k| run.frames[k].encoded.happened()).map(|k| drawn.frames[k].encode_ns).collect();
    for (frame, &ns) in encoded.iter().enumerate().skip(1) {
        let apart_ms = (again.frames[frame].encode_ns - ns) as f64 * 1e-6;
        // Exact where it waited, else off by what the pipeline is off by.
        assert!((apart_ms + off_ms).abs() < 0.002 || apart_ms.abs() < off_ms.abs() + 0.002, "{frame}: {apart_ms}");
    }
}
