//! Windows: frames in flight and blocking buffers tie the stages of the host into circuits.
//!
//! The cycle time is the largest (sum of times)/(number of tokens) over the circuits of the event graph: Baccelli,
//! Cohen, Olsder and Quadrat, Synchronization and Linearity (Wiley 1992), chapters 2 and 3. Closed two-station lines
//! and M/M/1/K: Gross and Harris, *Fundamentals of Queueing Theory*. All lines were reproduced by a max-plus
//! recurrence.

use framelap::engine::{FrameRecord, Run};
use framelap::scenario::{Buffer, Scenario, Spread, WhenFull};
use framelap::work::WorkTable;

use crate::world::{
    MS, assert_mean, assert_near, at, bare, codec_cost, draw_without_bits, host_cost, intervals, play, set_link,
    simulate,
};

/// Plans come far faster than frames can begin: one is always pending, the rest is skipped. The shortest interval that
/// a scenario may ask for is 1 ms; the times here are twice those of the source.
fn saturated(plans: u32) -> Scenario {
    let mut scenario = bare(plans);
    scenario.pacing = intervals(1.0, Spread::Constant);
    scenario
}

fn block(frames: u32) -> Buffer {
    Buffer { frames: Some(frames), when_full: WhenFull::Block }
}

fn begun(run: &Run) -> impl Iterator<Item = (usize, &FrameRecord)> {
    run.frames.iter().enumerate().filter(|(_, frame)| frame.start.happened())
}

/// Times between the starts of frames that began, after the start of the run \[ms\].
fn cycles_ms(run: &Run) -> Vec<f64> {
    let starts: Vec<i64> = begun(run).map(|(_, frame)| at(frame.start)).skip(20).collect();
    starts.windows(2).map(|pair| (pair[1] - pair[0]) as f64 / MS).collect()
}

/// Deterministic cycles: the mean over whole patterns is exact.
#[track_caller]
fn assert_cycle(what: &str, scenario: &Scenario, expected_ms: f64) {
    let table = draw_without_bits(scenario);
    let run = if scenario.stream.bitrate_mbps > 1.0 { simulate(scenario).1 } else { play(scenario, &table) };
    let cycles = cycles_ms(&run);
    assert!(cycles.len() > 300, "{what}: too few frames");
    for pair in cycles[100..300].windows(2) {
        assert_near(what, f64::midpoint(pair[0], pair[1]), expected_ms, 2e-6);
    }
}

/// max(10, 16, 8, 34/F): simulate, render, encode, and the circuit through all three with F tokens.
#[test]
fn frames_in_flight_bound_the_frame_rate() {
    for (frames, expected_ms) in [(1, 34.0), (2, 17.0), (3, 16.0), (4, 16.0)] {
        let mut scenario = saturated(12_000);
        scenario.host.simulate = host_cost(10.0, Spread::Constant);
        scenario.host.render = host_cost(16.0, Spread::Constant);
        scenario.encode.work = codec_cost(8.0, Spread::Constant);
        scenario.host.frames_in_flight = frames;
        assert_cycle(&format!("{frames} in flight"), &scenario, expected_ms);
    }
    // The encoder's pipeline counts in the circuit: (34 + 6)/2.
    let mut scenario = saturated(12_000);
    scenario.host.simulate = host_cost(10.0, Spread::Constant);
    scenario.host.render = host_cost(16.0, Spread::Constant);
    scenario.encode.work = codec_cost(8.0, Spread::Constant);
    scenario.encode.pipeline_ms = 6.0;
    scenario.host.frames_in_flight = 2;
    assert_cycle("pipeline", &scenario, 20.0);
}

/// max(8, 12, 6, (8 + 20)/B): a frame takes a place before the link from the start of its encode.
#[test]
fn link_window_counts_the_encoders_pipeline() {
    for (frames, expected_ms) in [(1, 28.0), (2, 14.0), (3, 12.0)] {
        let mut scenario = saturated(12_000);
        scenario.encode.work = codec_cost(8.0, Spread::Constant);
        scenario.encode.pipeline_ms = 20.0;
        set_link(&mut scenario, 12.0, Spread::Constant);
        scenario.decode.work = codec_cost(6.0, Spread::Constant);
        scenario.link.buffer = block(frames);
        assert_cycle(&format!("room for {frames}"), &scenario, expected_ms);
    }
}

/// Blocking costs nothing without jitter.
#[test]
fn blocking_costs_nothing_without_jitter() {
    let mut scenario = saturated(12_000);
    scenario.host.render = host_cost(12.0, Spread::Constant);
    scenario.encode.work = codec_cost(8.0, Spread::Constant);
    set_link(&mut scenario, 6.0, Spread::Constant);
    scenario.encode.buffer = block(1);
    scenario.link.buffer = block(1);
    assert_cycle("blocked", &scenario, 12.0);
}

/// Render and encode spread exponentially, means 12 and 8 ms or as given.
fn exponential(render_ms: f64, encode_ms: f64) -> Scenario {
    let mut scenario = saturated(300_000);
    scenario.host.render = host_cost(render_ms, Spread::Exponential);
    scenario.encode.work = codec_cost(encode_ms, Spread::Exponential);
    scenario
}

#[track_caller]
fn assert_mean_cycle(what: &str, scenario: &Scenario, expected_ms: f64) {
    assert_mean(what, &cycles_ms(&simulate(scenario).1), expected_ms, 0.04);
}

/// A closed line of two exponential stations with F frames: `8/(1 - 1/sum_{j<=F} (2/3)^j)`.
#[test]
fn jittered_frames_in_flight_are_a_closed_line() {
    for (frames, expected_ms) in [(1, 20.0), (2, 15.2), (3, 13.684_210), (4, 12.984_616)] {
        let mut scenario = exponential(12.0, 8.0);
        scenario.host.frames_in_flight = frames;
        assert_mean_cycle(&format!("{frames} in flight"), &scenario, expected_ms);
    }
}

/// Equal stations with room for B between them: M/M/1/(B+1), `10 (B + 2)/(B + 1)`; unequal ones: the closed line again
/// with F = B + 1.
#[test]
fn jittered_blocking_is_a_finite_queue() {
    for (frames, expected_ms) in [(1, 15.0), (2, 13.333_333), (4, 12.0)] {
        let mut scenario = exponential(10.0, 10.0);
        scenario.encode.buffer = block(frames);
        assert_mean_cycle(&format!("equal, room for {frames}"), &scenario, expected_ms);
    }
    for (frames, expected_ms) in [(1, 15.2), (2, 13.684_210)] {
        let mut scenario = exponential(12.0, 8.0);
        scenario.encode.buffer = block(frames);
        assert_mean_cycle(&format!("unequal, room for {frames}"), &scenario, expected_ms);
    }
}

/// When each stage begins each frame that began, to the nanosecond: a stage begins at the latest of the coming of the
/// frame, the end of the frame before, and, where the next stage blocks with room for B, the start there of the frame B
/// before; the CPU also waits for the coming out of the encoder of the frame F before.
#[test]
fn every_start_follows_the_max_plus_recurrence() {
    for (in_flight, room) in [(1, 1), (2, 1), (3, 2), (8, 1), (8, 3)] {
        let mut scenario = saturated(20_000);
        let spread = Spread::Gamma { cv: 0.6 };
        scenario.host.simulate = host_cost(9.0, spread.clone());
        scenario.host.render = host_cost(11.0, spread.clone());
        scenario.encode.work = codec_cost(10.0, spread.clone());
        scenario.encode.pipeline_ms = 3.0;
        set_link(&mut scenario, 10.0, spread);
        scenario.host.frames_in_flight = in_flight;
        scenario.encode.buffer = block(room);
        scenario.link.buffer = block(room);
        let (table, run) = simulate(&scenario);
        let frames: Vec<_> = begun(&run).filter(|(_, frame)| frame.ready.happened()).collect();
        assert!(frames.len() > 500);
        check_recurrence(&frames, &table, in_flight as usize, room as usize);
    }
}

fn check_recurrence(frames: &[(usize, &FrameRecord)], table: &WorkTable, in_flight: usize, room: usize) {
    let mut waited_for_room = 0;
    for at_frame in in_flight.max(room).max(1)..frames.len() {
        let (number, frame) = frames[at_frame];
        let before = |back: usize| frames[at_frame - back].1;
        let work = table.frames[number];
        assert_eq!(at(frame.simulated), at(frame.start) + work.simulate_ns);
        assert_eq!(at(frame.rendered), at(frame.render_start) + work.render_ns);
        assert_eq!(at(frame.encoded), at(frame.encode_start) + work.encode_ns + 3_000_000);

        let render = [at(frame.simulated), at(before(1).rendered), at(before(room).encode_start)];
        assert_eq!(at(frame.render_start), largest(&render), "render of frame {number}");
        let encoder_free = at(before(1).encoded) - 3_000_000;
        let encode = [at(frame.rendered), encoder_free, at(before(room).link_start)];
        assert_eq!(at(frame.encode_start), largest(&encode), "encode of frame {number}");
        assert_eq!(at(frame.link_start), largest(&[at(frame.encoded), at(before(1).sent)]), "link of frame {number}");
        waited_for_room += usize::from(render[2] > render[0].max(render[1]) || encode[2] > encode[0].max(encode[1]));

        // The CPU begins the newest plan, due at most 1 ms before, or the next one if none came since the last start.
        let free = largest(&[at(before(1).simulated), at(before(in_flight).encoded)]);
        assert_eq!(at(frame.start), free.max(at(frame.plan)), "start of frame {number}");
        assert!(
            free - at(frame.plan) <= 1_000_000 || number + 1 == table.frames.len(),
            "frame {number} is not the newest planned"
        );
    }
    assert!(in_flight < 8 || waited_for_room > 50, "room hardly ever mattered");
}

fn largest(values: &[i64]) -> i64 {
    values.iter().copied().max().expect("some")
}
