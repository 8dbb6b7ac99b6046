//! Tiny worlds whose whole log is written by hand. Times in us for readability.

use super::{Engine, Fate, RefreshKind, Run, Stamp};
use crate::scenario::{Lead, Pacing, Scenario, WhenFull};
use crate::work::{FrameWork, Shares, WorkTable};

/// 100 Hz, latch 1 ms before vsync, lead 6 ms, two slices a frame, no overheads but 20 us a unit on a 100 Mbps link.
fn scenario(frames: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.display.refresh_hz = 100.0;
    scenario.display.latch_lead_ms = 1.0;
    scenario.slices.count = 2;
    scenario.encode.frame_overhead_ms = 0.0;
    scenario.encode.slice_overhead_ms = 0.0;
    scenario.decode.frame_overhead_ms = 0.0;
    scenario.decode.slice_overhead_ms = 0.0;
    scenario.stream.slice_header_bytes = 0;
    scenario.link.packet_header_bytes = 0;
    scenario.link.propagation_us = 0.0;
    scenario.link.rate_mbps = 100.0;
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(6.0), every: 1 };
    scenario.run.frames = frames;
    scenario.run.warmup = 0;
    scenario
}

/// Frames that cost 0.5, 1, 2, 1 ms; 1000 bytes a slice; 0.3 ms up, 0.1 ms delay down.
fn table(frames: u32) -> WorkTable {
    let frame = FrameWork {
        simulate_ns: 500_000,
        render_ns: 1_000_000,
        encode_ns: 2_000_000,
        decode_ns: 1_000_000,
        bits: 16_000,
        uplink_ns: 300_000,
        link_delay_ns: 100_000,
        ..FrameWork::default()
    };
    WorkTable {
        frames: vec![frame; frames as usize],
        row_shares: Shares::new(2, vec![0.5, 0.5]),
        bit_shares: Shares::new(2, vec![0.5, 0.5]),
        compose_ns: vec![0],
        ..WorkTable::default()
    }
}

fn us(stamp: Stamp) -> String {
    stamp.ns().map_or("-".to_owned(), |ns| (ns / 1000).to_string())
}

/// One line a frame, one a slice, one a refresh.
fn log(run: &Run) -> String {
    let mut lines = Vec::new();
    for (frame, record) in run.frames.iter().enumerate() {
        lines.push(format!(
            "frame {frame}: pose {} plan {} simulate {}..{} render {}..{} ready {} {} at {}",
            us(record.pose),
            us(record.plan),
            us(record.start),
            us(record.simulated),
            us(record.render_start),
            us(record.rendered),
            us(record.ready),
            record.fate.name(),
            us(record.fate_at),
        ));
        for (slice, record) in run.slices_of(frame).records().enumerate() {
            lines.push(format!(
                "  slice {slice}: come {} encode {}..{} link {}..{} arrive {} decode {}..{} out {}",
                us(record.come),
                us(record.encode_start),
                us(record.encode_end),
                us(record.link_start),
                us(record.link_end),
                us(record.arrive),
                us(record.decode_start),
                us(record.decode_end),
                us(record.decode_out),
            ));
        }
    }
    for (refresh, record) in run.refreshes.iter().enumerate() {
        let frame = record.frame.map_or("-".to_owned(), |frame| frame.to_string());
        lines.push(format!("refresh {refresh}: {} {frame}", record.kind.name()));
    }
    lines.push(format!("end {}", run.end_ns / 1000));
    lines.join("\n")
}

#[test]
fn two_frames_of_two_slices() {
    let mut engine = Engine::new();
    let run = engine.simulate(&scenario(2), &table(2));
    // Refresh 1 latches at 9 ms, the first later than the lead. The pose is the newest whole ms before 3 - 1 - 0.3 ms.
    let expected = "\
frame 0: pose 1000 plan 3000 simulate 3000..3500 render 3500..4500 ready 7200 shown at 9000
  slice 0: come 4500 encode 4500..5500 link 5500..5600 arrive 5700 decode 5700..6200 out 6200
  slice 1: come 4500 encode 5500..6500 link 6500..6600 arrive 6700 decode 6700..7200 out 7200
frame 1: pose 11000 plan 13000 simulate 13000..13500 render 13500..14500 ready 17200 shown at 19000
  slice 0: come 14500 encode 14500..15500 link 15500..15600 arrive 15700 decode 15700..16200 out 16200
  slice 1: come 14500 encode 15500..16500 link 16500..16600 arrive 16700 decode 16700..17200 out 17200
refresh 0: none -
refresh 1: new 0
refresh 2: new 1
end 19000";
    assert_eq!(log(run), expected);
}

#[test]
fn a_frame_that_comes_out_at_its_latch_makes_it_and_one_a_nanosecond_later_does_not() {
    let mut engine = Engine::new();
    let mut table = table(1);
    table.frames[0].render_ns += 1_800_000;
    let run = engine.simulate(&scenario(1), &table);
    assert_eq!((run.slack_ns(0), run.late(0), run.frames[0].shown), (Some(0), Some(false), Some(1)));
    table.frames[0].render_ns += 1;
    let run = engine.simulate(&scenario(1), &table);
    assert_eq!((run.slack_ns(0), run.late(0), run.frames[0].shown), (Some(-1), Some(true), Some(2)));
    let kinds: Vec<_> = run.refreshes.iter().map(|refresh| refresh.kind).collect();
    assert_eq!(kinds, [RefreshKind::None, RefreshKind::Miss, RefreshKind::New]);
}

#[test]
fn a_plan_that_falls_due_as_the_processor_frees_skips_nothing() {
    // Simulate takes a whole period: the next plan falls due at the instant at which the processor frees.
    let mut engine = Engine::new();
    let mut table = table(3);
    for frame in &mut table.frames {
        frame.simulate_ns = 10_000_000;
    }
    let run = engine.simulate(&scenario(3), &table);
    assert!(run.frames.iter().all(|frame| frame.fate == Fate::Shown), "{}", log(run));
    for frame in &mut table.frames {
        frame.simulate_ns = 10_000_001;
    }
    let run = engine.simulate(&scenario(3), &table);
    // Frame 1 begins a nanosecond late; frame 2 two, at the end.
    assert_eq!(run.frames[2].start, Stamp::at(23_000_002), "{}", log(run));
}

#[test]
fn room_before_decode_drops_as_told() {
    // Decode takes 2.5 periods: while frame 0 is decoded frames 1 and 2 come to a room for one.
    let fates = |when_full| {
        let mut scenario = scenario(4);
        scenario.decode.buffer.when_full = when_full;
        let mut table = table(4);
        for frame in &mut table.frames {
            frame.decode_ns = 25_000_000;
        }
        let mut engine = Engine::new();
        let run = engine.simulate(&scenario, &table);
        run.frames.iter().map(|frame| frame.fate).collect::<Vec<_>>()
    };
    let (shown, dropped) = (Fate::Shown, Fate::DroppedDecode);
    assert_eq!(fates(WhenFull::DropNewest), [shown, shown, dropped, shown]);
    assert_eq!(fates(WhenFull::DropOldest), [shown, dropped, shown, shown]);
}

#[test]
fn arrays_used_again_leave_no_trace() {
    let mut used = Engine::new();
    used.simulate(&scenario(40), &table(40));
    let mut slow = table(5);
    for frame in &mut slow.frames {
        frame.simulate_ns = 35_000_000;
    }
    let again = log(used.simulate(&scenario(5), &slow));
    assert!(again.contains("skipped"), "{again}");
    assert_eq!(again, log(Engine::new().simulate(&scenario(5), &slow)));
}

#[test]
fn a_slice_takes_at_most_150_bytes_at_eight_a_frame() {
    let frame = size_of::<super::FrameRecord>() + size_of::<FrameWork>() + size_of::<super::world::Backstage>();
    let slice = size_of::<super::SliceRecord>() + frame.div_ceil(8);
    assert!(slice <= 150, "{slice} bytes");
}
