//! Frames at one stride against slice by slice: two ways through the engine that must leave the same run.

use framelap::engine::{Engine, Fate, Run};
use framelap::scenario::{
    AfterMissing, Buffer, Choose, Effect, HandOff, Lead, Pacing, Scenario, Spread, Taken, WhenFull,
};
use framelap::work::{Closure, FrameWork, Shares, WorkTable};
use proptest::prelude::*;

/// Times on a coarse grid with zeros among them, so that many events fall on one instant; some off the grid.
fn time_ns(most_halves: i64) -> impl Strategy<Value = i64> {
    prop_oneof![6 => (0..=most_halves).prop_map(|halves| halves * 500_000), 1 => Just(0), 2 => 0..=most_halves * 500_000]
}

fn buffer(block: bool) -> impl Strategy<Value = Buffer> {
    let when_full = if block {
        prop_oneof![Just(WhenFull::Block), Just(WhenFull::DropNewest), Just(WhenFull::DropOldest)].boxed()
    } else {
        prop_oneof![Just(WhenFull::DropNewest), Just(WhenFull::DropOldest)].boxed()
    };
    (when_full, prop::option::weighted(0.8, 0_u32..4)).prop_map(|(when_full, frames)| {
        let least = u32::from(when_full == WhenFull::Block);
        Buffer { frames: frames.map(|frames| frames.max(least)), when_full }
    })
}

fn hand_off() -> impl Strategy<Value = HandOff> {
    prop_oneof![3 => Just(HandOff::Slice), 1 => Just(HandOff::Frame)]
}

fn pacing() -> impl Strategy<Value = Pacing> {
    prop_oneof![
        (2_u32..60, 1_u32..3).prop_map(|(lead, every)| Pacing::Fixed { lead: Lead::Ms(f64::from(lead)), every }),
        (1_u32..40)
            .prop_map(|share| Pacing::Fixed { lead: Lead::Tuned { late_share: f64::from(share) / 100.0 }, every: 1 }),
        Just(Pacing::Intervals { mean_ms: 5.0, spread: Spread::Constant }),
        (0.1..3.0_f64).prop_map(|step_ms| Pacing::Adaptive {
            start_ms: 20.0,
            min_ms: 5.0,
            max_ms: 60.0,
            step_ms,
            late_target: 0.1,
            every: 1,
        }),
    ]
}

/// The same, and rarely one that outlasts the run.
fn cost_ns(most_halves: i64) -> impl Strategy<Value = i64> {
    prop_oneof![200 => time_ns(most_halves), 1 => 1_000_000_000..3_000_000_000_i64]
}

fn frame() -> impl Strategy<Value = FrameWork> {
    let costs = (cost_ns(8), cost_ns(8), cost_ns(24), cost_ns(24));
    (costs, 0_i64..60_000, time_ns(6), time_ns(6), time_ns(30), any::<bool>()).prop_map(
        |((simulate_ns, render_ns, encode_ns, decode_ns), bytes, uplink_ns, link_delay_ns, interval_ns, intra)| {
            FrameWork {
                simulate_ns,
                render_ns,
                encode_ns,
                decode_ns,
                bits: bytes * 8,
                uplink_ns,
                link_delay_ns,
                interval_ns,
                clock_error_ns: 0,
                intra,
            }
        },
    )
}

prop_compose! {
    fn scenario()(
        slices in 1_u32..7,
        hand_offs in (hand_off(), hand_off()),
        buffers in (buffer(true), buffer(true), buffer(false)),
        pacing in pacing(),
        frames_in_flight in 1_u32..5,
        refresh_hz in prop_oneof![Just(100.0), Just(90.0), Just(200.0)],
        coarse in any::<bool>(),
        at_render in any::<bool>(),
        request in any::<bool>(),
        on_target in any::<bool>(),
        rate_mbps in prop_oneof![Just(8.0), Just(80.0), Just(1000.0)],
    ) -> Scenario {
        let mut scenario = Scenario::default();
        scenario.display.refresh_hz = refresh_hz;
        scenario.slices.count = slices;
        (scenario.encode.hand_off, scenario.link.hand_off) = hand_offs;
        (scenario.encode.buffer, scenario.link.buffer, scenario.decode.buffer) = buffers;
        scenario.host.frames_in_flight = frames_in_flight;
        scenario.link.rate_mbps = rate_mbps;
        if coarse {
            scenario.encode.frame_overhead_ms = 0.0;
            scenario.encode.slice_overhead_ms = 0.5;
            scenario.decode.frame_overhead_ms = 0.5;
            scenario.decode.slice_overhead_ms = 0.0;
            scenario.link.unit_overhead_ms = 0.0;
            scenario.link.propagation_us = 0.0;
            scenario.link.packet_header_bytes = 0;
            scenario.stream.slice_header_bytes = 0;
            scenario.display.latch_lead_ms = 1.0;
        }
        if at_render {
            scenario.pose.taken = Taken::AtRender;
        }
        if request {
            scenario.stream.after_missing = AfterMissing::RequestIntra;
        }
        if on_target && !matches!(pacing, Pacing::Intervals { .. }) {
            scenario.display.choose = Choose::OnTarget;
        }
        scenario.pacing = pacing;
        scenario.run.warmup = 3;
        scenario
    }
}

prop_compose! {
    fn closures()(rows in prop::collection::vec((time_ns(400), time_ns(60).prop_map(|ns| ns + 1)), 0..4)) -> Vec<Closure> {
        let mut closures: Vec<Closure> = Vec::new();
        let mut rows = rows;
        rows.sort_unstable();
        for (start_ns, length_ns) in rows {
            match closures.last() {
                Some(last) if last.end_ns >= start_ns => {}
                _ => closures.push(Closure { start_ns, end_ns: start_ns + length_ns }),
            }
        }
        closures
    }
}

/// Frames that are seconds apart, take seconds at encoder, link and decoder, and have more than a hundred megabytes.
fn slow_down(scenario: &mut Scenario, frames: &mut [FrameWork]) {
    scenario.pacing = Pacing::Intervals { mean_ms: 1000.0, spread: Spread::Constant };
    scenario.display.choose = Choose::Newest;
    for work in frames {
        work.interval_ns *= 200;
        for much in [&mut work.encode_ns, &mut work.decode_ns, &mut work.link_delay_ns, &mut work.bits] {
            *much *= 3000;
        }
    }
}

fn world() -> impl Strategy<Value = (Scenario, WorkTable)> {
    let frames = prop::collection::vec(frame(), 12..40);
    (scenario(), frames, closures(), any::<u64>(), prop::bool::weighted(0.05)).prop_map(
        |(mut scenario, mut frames, closures, seed, slow)| {
            scenario.run.frames = frames.len() as u32;
            if slow {
                slow_down(&mut scenario, &mut frames);
            }
            scenario.link.closures.effect = Effect::Hold;
            let slices = scenario.slices.count as usize;
            let weights: Vec<f64> = (0..slices).map(|slice| f64::from((seed >> (4 * slice)) as u32 % 4)).collect();
            let sum: f64 = weights.iter().sum();
            let equal = vec![1.0 / slices as f64; slices];
            let bits = if sum > 0.0 { weights.iter().map(|weight| weight / sum).collect() } else { equal.clone() };
            let table = WorkTable {
                frames,
                row_shares: Shares::new(slices, equal),
                bit_shares: Shares::new(slices, bits),
                compose_ns: vec![500_000, 500_000, 9_000_000, 0],
                closures,
                ..WorkTable::default()
            };
            (scenario, table)
        },
    )
}

/// The first place at which two runs differ.
fn difference(one: &Run, other: &Run) -> Option<String> {
    for (frame, records) in one.frames.iter().zip(&other.frames).enumerate() {
        if records.0 != records.1 {
            return Some(format!("frame {frame}: {records:#?}"));
        }
    }
    for (index, records) in one.slices.all().records().zip(other.slices.all().records()).enumerate() {
        if records.0 != records.1 {
            let (frame, slice) = (index / one.slice_count, index % one.slice_count);
            return Some(format!("frame {frame} slice {slice}: {records:#?}"));
        }
    }
    if one.refreshes != other.refreshes {
        return Some("refreshes".to_owned());
    }
    let ends = (one.end_ns, one.pilot, other.end_ns, other.pilot);
    (ends.0 != ends.2 || ends.1 != ends.3).then(|| format!("{ends:?}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, ..ProptestConfig::default() })]
    #[test]
    fn strides_and_slices_leave_the_same_run((scenario, table) in world()) {
        let mut strides = Engine::new();
        let mut slices = Engine::slice_by_slice();
        let (one, other) = (strides.simulate(&scenario, &table), slices.simulate(&scenario, &table));
        prop_assert_eq!(difference(one, other), None);
    }
}

/// What random worlds found: a frame rendered in no time and dropped as it comes, by which the run ends, has been
/// simulated. Frame 0 is decoded until 34 ms and shown; of frame 1 the first slice meets that at 32 ms and is dropped
/// while the second is encoded; so frame 2 finds no room at 41 ms.
#[test]
fn a_frame_rendered_in_no_time_ends_the_run() {
    const MS: i64 = 1_000_000;
    let pacing = Pacing::Intervals { mean_ms: 10.0, spread: Spread::Constant };
    let mut scenario = Scenario { pacing, ..Scenario::default() };
    scenario.display.refresh_hz = 100.0;
    scenario.slices.count = 2;
    let none = Buffer { frames: Some(0), when_full: WhenFull::DropNewest };
    (scenario.encode.buffer, scenario.decode.buffer) = (none, none);
    (scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms) = (0.0, 0.0);
    (scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms) = (0.0, 0.0);
    (scenario.run.frames, scenario.run.warmup) = (3, 0);
    let work = |interval, render, encode, decode| FrameWork {
        simulate_ns: MS,
        render_ns: render * MS,
        encode_ns: encode * MS,
        decode_ns: decode * MS,
        interval_ns: interval * MS,
        ..FrameWork::default()
    };
    let shares = Shares::new(2, vec![0.5, 0.5]);
    let table = WorkTable {
        frames: vec![work(10, 1, 2, 30), work(30, 1, 40, 2), work(10, 0, 2, 2)],
        row_shares: shares.clone(),
        bit_shares: shares,
        compose_ns: vec![0],
        ..WorkTable::default()
    };
    let (mut strides, mut slices) = (Engine::new(), Engine::slice_by_slice());
    let (one, other) = (strides.simulate(&scenario, &table), slices.simulate(&scenario, &table));
    let fates = one.frames.iter().map(|frame| frame.fate).collect::<Vec<_>>();
    assert_eq!(fates, [Fate::Shown, Fate::DroppedDecode, Fate::DroppedEncode]);
    assert_eq!(one.end_ns, 41 * MS);
    assert_eq!(one.frames[2].simulated.ns(), Some(41 * MS));
    assert_eq!(difference(one, other), None);
}
