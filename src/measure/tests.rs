//! What must hold of every run, over drawn scenarios; and the rules of counting, on runs written by hand.

mod drawn;
mod laws;

use super::{Piece, Repairs, Samples, Summary, summarize, summarize_into, walk_back};
use crate::engine::{
    Engine, Fate, FrameRecord, Grid, RefreshKind, RefreshRecord, ResendRecord, Run, SliceRecord, Stamp,
};
use crate::scenario::{Lead, Pacing, Scenario};
use crate::work::{FrameWork, Shares, WorkTable, draw};

/// Runs the scenarios that are drawn and hands each run to `check`.
fn every_drawn(mut check: impl FnMut(&Scenario, &WorkTable, &Run)) {
    let mut engine = Engine::new();
    for number in 0..drawn::COUNT {
        let scenario = drawn::scenario(number);
        let table = draw(&scenario);
        check(&scenario, &table, engine.simulate(&scenario, &table));
    }
}

#[test]
fn drawn_scenarios_are_within_their_ranges_and_meet_everything() {
    let (mut fates, mut kinds) = ([0; 9], [0; 5]);
    let mut pieces = [0; Piece::COUNT];
    every_drawn(|scenario, table, run| {
        scenario.check().unwrap();
        let summary = summarize(scenario, table, run);
        for fate in Fate::ALL {
            fates[fate as usize] += summary.fates.of(fate);
        }
        for (count, kind) in kinds.iter_mut().zip(RefreshKind::ALL) {
            *count += summary.refresh_kinds.of(kind);
        }
        for piece in Piece::ALL {
            pieces[piece as usize] += u32::from(summary.exposed_ms.of(piece).is_some_and(|mean| mean > 0.0));
        }
    });
    assert!(fates.iter().all(|&count| count > 0), "fates {fates:?}");
    assert!(kinds.iter().all(|&count| count > 0), "kinds of refresh {kinds:?}");
    assert!(pieces.iter().all(|&count| count > 0), "pieces {pieces:?}");
}

#[test]
fn pieces_add_up_to_pose_to_photon_for_every_shown_frame() {
    every_drawn(|scenario, table, run| {
        for frame in 0..run.frames.len() {
            let spans = walk_back(scenario, table, run, frame);
            assert_eq!(spans.is_some(), run.frames[frame].fate == Fate::Shown, "{} frame {frame}", scenario.name);
            let Some(spans) = spans else { continue };
            assert_eq!(spans[0].start_ns, run.frames[frame].pose.ns().unwrap(), "{} frame {frame}", scenario.name);
            assert_eq!(spans[spans.len() - 1].end_ns, run.photon_ns(frame).unwrap());
            assert!(spans.windows(2).all(|pair| pair[0].end_ns == pair[1].start_ns));
            assert!(spans.iter().all(|span| span.length_ns() > 0), "{} frame {frame}: {spans:?}", scenario.name);
        }
    });
}

#[test]
fn means_of_pieces_add_up_to_the_mean_pose_to_photon() {
    every_drawn(|scenario, table, run| {
        let summary = summarize(scenario, table, run);
        match (summary.exposed_ms.total(), summary.pose_to_photon_ms.mean) {
            (Some(total), Some(mean)) => assert!((total - mean).abs() < 1e-9, "{} {total} {mean}", scenario.name),
            (total, mean) => assert_eq!(total, mean),
        }
    });
}

#[test]
fn every_frame_has_one_fate_and_every_refresh_one_kind() {
    every_drawn(|scenario, table, run| {
        let summary = summarize(scenario, table, run);
        let warmup = scenario.run.warmup as usize;
        assert_eq!(summary.fates.total() as usize, run.frames.len() - warmup);
        for fate in Fate::ALL {
            let count = run.frames[warmup..].iter().filter(|record| record.fate == fate).count();
            assert_eq!(summary.fates.of(fate) as usize, count);
        }
        assert_eq!(summary.refresh_kinds.total(), summary.refreshes);
        let new = |record: &FrameRecord| record.shown.is_some();
        let shown = run.frames[warmup..].iter().filter(|record| new(record)).count();
        assert_eq!(summary.pose_to_photon_ms.count as usize, shown);
        // A frame of the warm-up can be first shown after the first target of a counted one.
        assert!(summary.refresh_kinds.new as usize >= shown, "{}", scenario.name);
    });
}

#[test]
fn a_frame_alone_is_never_slower_than_among_others() {
    every_drawn(|scenario, table, run| {
        let mut samples = Samples::default();
        summarize_into(scenario, table, run, &mut samples);
        assert!(samples.stream_waiting.values_ms.iter().all(|&ms| ms >= 0.0), "{}", scenario.name);
        assert!(samples.stream_alone.values_ms.iter().all(|&ms| ms >= 0.0), "{}", scenario.name);
        for ((_, whole), ((_, alone), (_, waiting))) in
            samples.stream.iter().zip(samples.stream_alone.iter().zip(samples.stream_waiting.iter()))
        {
            assert!((whole - alone - waiting).abs() < 1e-9);
        }
    });
}

#[test]
fn samples_are_the_same_when_their_arrays_are_used_again() {
    let mut used = Samples::default();
    every_drawn(|scenario, table, run| {
        let mut fresh = Samples::default();
        let summary = summarize_into(scenario, table, run, &mut fresh);
        assert_eq!(summarize_into(scenario, table, run, &mut used), summary);
        fresh.scratch.clone_from(&used.scratch);
        assert_eq!(used, fresh);
    });
}

#[test]
fn late_correction_makes_up_pose_to_photon_less_its_own_age() {
    every_drawn(|scenario, table, run| {
        let mut samples = Samples::default();
        summarize_into(scenario, table, run, &mut samples);
        // Whatever is shown was composed, so every shown frame has a correction.
        assert_eq!(samples.corrected.numbers, samples.pose_to_photon.numbers, "{}", scenario.name);
        for ((frame, whole_ms), (_, corrected_ms)) in samples.pose_to_photon.iter().zip(samples.corrected.iter()) {
            let refresh = run.frames[frame as usize].shown.unwrap();
            let at = samples.correction_age.numbers.binary_search(&refresh).unwrap();
            assert!((whole_ms - corrected_ms - samples.correction_age.values_ms[at]).abs() < 1e-9);
        }
    });
}

/// A run with nothing counted but what is written here: frames of one slice that cost nothing, 100 Hz, latch 1 ms before.
fn by_hand(frames: Vec<FrameRecord>, refreshes: Vec<RefreshRecord>) -> (Scenario, WorkTable, Run) {
    let mut scenario = Scenario::default();
    scenario.slices.count = 1;
    scenario.display.refresh_hz = 100.0;
    scenario.display.latch_lead_ms = 1.0;
    scenario.run.frames = frames.len() as u32;
    scenario.run.warmup = 1;
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(5.0), every: 1 };
    let table = WorkTable {
        frames: vec![FrameWork::default(); frames.len()],
        row_shares: Shares::new(1, vec![1.0]),
        bit_shares: Shares::new(1, vec![1.0]),
        compose_ns: vec![0],
        ..WorkTable::default()
    };
    let mut run = Run { grid: Grid::new(&scenario), slice_count: 1, ..Run::default() };
    run.slices = frames.iter().map(|_| SliceRecord::default()).collect();
    run.frames = frames;
    run.refreshes = refreshes;
    (scenario, table, run)
}

fn refresh(kind: RefreshKind, frame: u32) -> RefreshRecord {
    RefreshRecord { frame: Some(frame), kind, composed: kind != RefreshKind::ComposeMiss }
}

#[test]
fn refreshes_count_from_the_first_of_a_counted_frame_to_the_last() {
    use RefreshKind::{ComposeMiss, Miss, New, Repeat};
    let frame = |target, shown: Option<u32>| FrameRecord {
        plan: Stamp::at(0),
        target: Some(target),
        shown,
        fate: if shown.is_some() { Fate::Shown } else { Fate::Lost },
        lead_ns: i64::from(target) * 1_000_000,
        ..FrameRecord::default()
    };
    let frames = vec![frame(1, Some(1)), frame(3, Some(4)), frame(6, None), frame(9, Some(9))];
    let kinds = [Repeat, New, Repeat, Miss, New, ComposeMiss, Miss, Repeat, Repeat, New, Repeat];
    let (scenario, table, run) = by_hand(frames, kinds.map(|kind| refresh(kind, 0)).to_vec());
    let summary = summarize(&scenario, &table, &run);
    // From 3, the target of frame 1, to 9: miss, new, compositor miss, miss, repeat, repeat, new.
    assert_eq!(summary.refreshes, 7);
    assert_eq!([summary.refresh_kinds.new, summary.refresh_kinds.repeat, summary.refresh_kinds.miss], [2, 2, 2]);
    assert_eq!((summary.longest_freeze_refreshes, summary.longest_freeze_ms), (Some(4), Some(40.0)));
    assert!((summary.missed_pct.unwrap() - 300.0 / 7.0).abs() < 1e-12);
    assert!((summary.missed_per_minute.unwrap() - 3.0 / 7.0 * 6000.0).abs() < 1e-9);
    assert_eq!(summary.delivered_share, Some(2.0 / 3.0));
    // None of them ever got ready.
    assert_eq!((summary.late_share, summary.headroom_ms), (Some(1.0), None));
    assert_eq!(summary.lead_ms, Some(6.0));
}

#[test]
fn nothing_to_measure_is_null_and_not_nought() {
    let frame = FrameRecord { plan: Stamp::at(0), fate: Fate::Skipped, ..FrameRecord::default() };
    let (scenario, table, run) = by_hand(vec![frame; 12], Vec::new());
    let summary = summarize(&scenario, &table, &run);
    let json = serde_json::to_value(&summary).unwrap();
    for name in ["late_share", "missed_pct", "missed_per_minute", "longest_freeze_refreshes", "longest_freeze_ms"] {
        assert!(json[name].is_null(), "{name}: {}", json[name]);
    }
    assert!(json["headroom_ms"].is_null() && json["growth_ms_per_frame"].is_null());
    for name in ["pose_to_photon_ms", "photon_age_ms", "stream_ms", "turnaround_ms", "correction_age_ms"] {
        for field in ["mean", "sd", "min", "p50", "p90", "p95", "p99", "p999", "max", "mean_ci95", "p99_ci95"] {
            assert!(json[name].as_object().unwrap().contains_key(field) && json[name][field].is_null());
        }
    }
    assert!(Piece::ALL.into_iter().all(|piece| json["exposed_ms"][piece.name()].is_null()));
    assert_eq!(json["fates"]["skipped"], 11);
    assert_eq!(json["delivered_share"], 0.0);
    assert_eq!(json["steady"], true);
}

/// At a rate that no pose rate fits, the age of correction beats, so that its batches differ without any chance in them.
#[test]
fn what_goes_by_the_clocks_has_no_interval() {
    let mut scenario = Scenario::default();
    scenario.display.refresh_hz = 89.7;
    let table = draw(&scenario);
    let answer = summarize(&scenario, &table, Engine::new().simulate(&scenario, &table));
    let ages = [answer.correction_age_ms, answer.motion_to_photon_ms.rotation];
    for age in ages {
        assert!(age.sd.unwrap() > 0.1 && age.p99.is_some());
        assert_eq!((age.mean_ci95, age.p99_ci95), (None, None));
    }
    assert!(answer.turnaround_ms.mean_ci95.is_some());
}

#[test]
fn json_has_every_name_and_no_number_that_is_none() {
    every_drawn(|scenario, table, run| {
        let json = serde_json::to_string(&summarize(scenario, table, run)).unwrap();
        for name in [
            "name",
            "frames",
            "warmup",
            "seed",
            "lead_ms",
            "steady",
            "delivered_share",
            "late_share",
            "refreshes",
            "pose_to_photon_ms",
            "photon_age_ms",
            "stream_ms",
            "turnaround_ms",
            "fates",
            "refresh_kinds",
            "missed_pct",
            "longest_freeze_ms",
            "headroom_ms",
            "offered_load",
            "busy",
            "exposed_ms",
            "budget",
        ] {
            assert!(json.contains(&format!("\"{name}\":")), "{name}");
        }
        let lead = serde_json::from_str::<serde_json::Value>(&json).unwrap()["lead_ms"].clone();
        assert_eq!(lead.is_null(), matches!(scenario.pacing, Pacing::Intervals { .. }));
    });
}

/// A queue that grows by 1.5 ms a frame: decode 11.5 ms at 100 Hz, nothing else, unbounded.
fn overloaded(frames: u32, bounded: bool) -> Summary {
    let mut scenario = drawn::bare(frames);
    scenario.decode.work.fixed_ms = 11.5;
    scenario.decode.buffer.frames = bounded.then_some(1);
    let table = draw(&scenario);
    let mut engine = Engine::new();
    summarize(&scenario, &table, engine.simulate(&scenario, &table))
}

#[test]
fn a_growing_queue_is_not_steady_and_has_no_quantiles() {
    let summary = overloaded(200, false);
    assert!(!summary.steady);
    assert!((summary.growth_ms_per_frame.unwrap() - 1.5).abs() < 1e-6, "{:?}", summary.growth_ms_per_frame);
    assert!(summary.turnaround_ms.mean.is_some() && summary.turnaround_ms.max.is_some());
    let Summary { pose_to_photon_ms: p2p, turnaround_ms: turnaround, .. } = &summary;
    assert_eq!([p2p.p50, p2p.p99, turnaround.p50, turnaround.p999, summary.headroom_ms], [None; 5]);
    assert_eq!([p2p.mean_ci95, turnaround.p99_ci95], [None; 2]);
    assert!(summary.left_over.parallax.p50.is_none() && summary.pacing_error.p99_p1_ms.is_none());
    assert!((summary.offered_load.decoder.unwrap() - 1.15).abs() < 1e-12);
    assert!((summary.busy.decoder.unwrap() - 1.0).abs() < 0.02);
    // Too few frames for a trend, but the load tells.
    assert!(!overloaded(25, false).steady);
    let bounded = overloaded(200, true);
    assert!(bounded.steady && bounded.growth_ms_per_frame.is_none() && bounded.turnaround_ms.p50.is_some());
}

#[test]
fn offered_load_counts_overheads_and_engines() {
    let mut scenario = drawn::bare(50);
    scenario.slices.count = 4;
    scenario.host.simulate.fixed_ms = 1.0;
    scenario.host.render.fixed_ms = 2.0;
    scenario.encode.work.fixed_ms = 3.0;
    scenario.encode.frame_overhead_ms = 0.2;
    scenario.encode.slice_overhead_ms = 0.1;
    scenario.encode.engines = 2;
    scenario.decode.work.fixed_ms = 4.0;
    scenario.decode.slice_overhead_ms = 0.25;
    scenario.link.unit_overhead_ms = 0.05;
    let table = draw(&scenario);
    let mut engine = Engine::new();
    let run = engine.simulate(&scenario, &table);
    let load = summarize(&scenario, &table, run).offered_load;
    let close = |found: Option<f64>, expected: f64| assert!((found.unwrap() - expected).abs() < 1e-9, "{found:?}");
    close(load.cpu, 0.1);
    close(load.gpu, 0.2);
    close(load.encoder, 3.6 / 20.0);
    close(load.decoder, 0.5);
    // 4 units of 0.05 ms, and 1000 bits a frame (0.1 Mbps at 100 Hz) at 100 Gbps, 10 ns, 2 or 3 a unit.
    assert!((load.link.unwrap() - 0.02).abs() < 2e-6);
}

#[test]
fn work_of_frames_that_were_dropped_is_offered_all_the_same() {
    let mut scenario = drawn::bare(60);
    scenario.encode.work.fixed_ms = 25.0;
    scenario.encode.buffer.frames = Some(0);
    scenario.host.frames_in_flight = 8;
    scenario.link.unit_overhead_ms = 2.0;
    let table = draw(&scenario);
    let mut engine = Engine::new();
    let run = engine.simulate(&scenario, &table);
    let summary = summarize(&scenario, &table, run);
    assert!(summary.fates.dropped_encode > 20, "{:?}", summary.fates);
    assert!((summary.offered_load.encoder.unwrap() - 2.5).abs() < 1e-9);
    assert!((summary.offered_load.link.unwrap() - 0.2).abs() < 2e-6);
    assert!(summary.busy.link.unwrap() < 0.09);
}

#[test]
fn slices_sent_again_are_told_with_those_repaired_and_those_in_time() {
    // Frames 1 to 4 count: 1 in time, 2 a ns late, 3 never complete, 4 asked for twice and in time.
    let latch_ns = by_hand(Vec::new(), Vec::new()).2.grid.latch_ns(9);
    let frame = |ready: Option<i64>| FrameRecord {
        target: Some(9),
        ready: ready.map_or(Stamp::NEVER, Stamp::at),
        ..FrameRecord::default()
    };
    let ready = [Some(0), Some(latch_ns), Some(latch_ns + 1), None, Some(latch_ns - 1)];
    let (scenario, table, mut run) = by_hand(ready.map(frame).into(), Vec::new());
    let slice = |ready: Option<i64>| SliceRecord {
        link_start: Stamp::at(0),
        complete: ready.map_or(Stamp::NEVER, |_| Stamp::at(1)),
        ..SliceRecord::default()
    };
    run.slices = ready.map(slice).into_iter().collect();
    let resend = |frame, attempt| ResendRecord {
        frame,
        slice: 0,
        attempt,
        asked: Stamp::at(0),
        link_start: Stamp::at(0),
        link_end: Stamp::at(1),
        arrive: Stamp::at(1),
    };
    run.resends =
        vec![resend(0, 1), resend(1, 1), resend(2, 1), resend(3, 1), resend(4, 1), resend(3, 2), resend(4, 2)];
    let expected = Repairs { resent: 4, repaired: 3, in_time: Some(2) };
    assert_eq!(summarize(&scenario, &table, &run).repairs, expected);
    // Without targets there is no time to be in.
    for record in &mut run.frames {
        record.target = None;
    }
    assert_eq!(summarize(&scenario, &table, &run).repairs, Repairs { in_time: None, ..expected });
}

#[test]
fn resends_of_counted_frames_are_offered_to_the_link() {
    let sent = |from_ms: i64, to_ms: i64| SliceRecord {
        link_start: Stamp::at(from_ms * 1_000_000),
        link_end: Stamp::at(to_ms * 1_000_000),
        ..SliceRecord::default()
    };
    let frame = |plan_ms: i64| FrameRecord { plan: Stamp::at(plan_ms * 1_000_000), ..FrameRecord::default() };
    let (scenario, table, mut run) = by_hand(vec![frame(0), frame(10), frame(20)], Vec::new());
    run.slices = [sent(1, 3), sent(11, 12), sent(21, 24)].into_iter().collect();
    let resend = |frame, from_ms: i64, to_ms: i64| ResendRecord {
        frame,
        slice: 0,
        attempt: 1,
        asked: Stamp::at(from_ms * 1_000_000),
        link_start: Stamp::at(from_ms * 1_000_000),
        link_end: Stamp::at(to_ms * 1_000_000),
        arrive: Stamp::at(to_ms * 1_000_000),
    };
    // One of the warm-up within the counted span, 10 to 30 ms, and one of a counted frame that ends after it.
    run.resends = vec![resend(0, 13, 14), resend(2, 26, 32)];
    run.end_ns = 40_000_000;
    let summary = summarize(&scenario, &table, &run);
    let close = |found: Option<f64>, expected: f64| assert!((found.unwrap() - expected).abs() < 1e-12, "{found:?}");
    close(summary.offered_load.link, (1.0 + 3.0 + 6.0) / 2.0 / 10.0);
    close(summary.busy.link, (1.0 + 1.0 + 3.0 + 4.0) / 20.0);
}
