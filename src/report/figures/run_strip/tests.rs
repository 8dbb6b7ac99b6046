//! The run strip of a run written by hand, and of real ones.

use super::*;
use crate::engine::{FrameRecord, RefreshRecord, Stamp};
use crate::scenario::{Pacing, Scenario, Spread};
use crate::study::{Workspace, answer};

/// A run written by hand: 100 Hz, photons 5 ms after vsync, frame k for refresh k + 1, pose 30 ms before that vsync.
/// Frame 1 is shown a refresh late, frame 2 is superseded, frame 3 lost.
fn by_hand() -> Run {
    let mut scenario = Scenario::default();
    scenario.display.refresh_hz = 100.0;
    (scenario.display.scanout_ms, scenario.display.persistence_ms) = (4.0, 2.0);
    let frame = |number: u32, shown: Option<u32>, fate: Fate, ready_ms: Option<i64>| FrameRecord {
        pose: Stamp::at((i64::from(number) + 1) * 10_000_000 - 30_000_000),
        ready: ready_ms.map_or(Stamp::NEVER, |ms| Stamp::at(ms * 1_000_000)),
        target: Some(number + 1),
        shown,
        fate,
        ..FrameRecord::default()
    };
    let refresh = |frame: Option<u32>, kind: RefreshKind| RefreshRecord {
        frame,
        kind,
        composed: kind != RefreshKind::ComposeMiss,
    };
    let frames = vec![
        frame(0, Some(1), Fate::Shown, Some(0)),
        frame(1, Some(3), Fate::Shown, Some(17)),
        frame(2, None, Fate::Superseded, Some(18)),
        frame(3, None, Fate::Lost, None),
        frame(4, Some(5), Fate::Shown, Some(45)),
        frame(5, Some(6), Fate::Shown, Some(55)),
    ];
    let refreshes = vec![
        refresh(None, RefreshKind::None),
        refresh(Some(0), RefreshKind::New),
        refresh(Some(0), RefreshKind::Miss),
        refresh(Some(1), RefreshKind::New),
        refresh(Some(1), RefreshKind::ComposeMiss),
        refresh(Some(4), RefreshKind::New),
        refresh(Some(5), RefreshKind::New),
    ];
    Run { frames, refreshes, grid: Grid::new(&scenario), ..Run::default() }
}

#[test]
fn a_run_by_hand_has_its_latencies_outcomes_and_kinds() {
    let strip = Strip::new(&by_hand(), 0);
    let latencies: Vec<Option<i64>> = strip.frames.iter().map(|shot| shot.latency_ns).collect();
    // From the pose 30 ms before vsync to photons 5 ms after it, and a refresh more for the late one.
    assert_eq!(latencies, [Some(35_000_000), Some(45_000_000), None, None, Some(35_000_000), Some(35_000_000)]);
    let outcomes: Vec<Outcome> = strip.frames.iter().map(Shot::outcome).collect();
    let expected =
        [Outcome::OnTime, Outcome::Late, Outcome::Superseded, Outcome::Failed, Outcome::OnTime, Outcome::OnTime];
    assert_eq!(outcomes, expected);
    // Counted from refresh 1, the first target, to 6, the last shown.
    assert_eq!((strip.first_refresh, strip.refreshes.len()), (1, 6));
    let places: Vec<f64> = strip.refreshes.iter().map(|beat| beat.at).collect();
    assert_eq!(places, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]);
    // Photons of refresh 2 show frame 0, whose pose was 20 ms before 0.
    assert_eq!(strip.refreshes[1].age_ns, Some(45_000_000));
    let freeze = strip.freeze.unwrap();
    assert_eq!((freeze.first, freeze.refreshes), (1, 1));
    assert!((freeze.length_ms - 10.0).abs() < 1e-9);
    assert_eq!(strip.frame_of(1), Some(1), "the frame that was due");
    assert_eq!(strip.frame_of(3), Some(1), "the frame on display");
    assert_eq!(strip.worst_refresh(0..6), Some(1));
    assert_eq!(strip.worst(0..6), Some(3));
    assert_eq!(strip.worst(4..6), Some(4));
}

#[test]
fn words_tell_single_values_and_folded_ones() {
    let strip = Strip::new(&by_hand(), 0);
    assert_eq!(strip.told(1..2), "45.000 ms, shown late");
    assert_eq!(strip.told(3..4), "lost on the link");
    assert_eq!(strip.told(0..6), "35.000 ms to 45.000 ms, mean 37.500 ms, 1 late, 1 superseded, 1 failed");
    assert_eq!(strip.told(90..95), "not counted");
    let why = [3, 1, 4].map(|frame| strip.worst_in_words(frame).unwrap());
    let late = "the longest of these that were late: 45.000 ms";
    assert_eq!(why, ["the first of these that was lost on the link", late, "the longest of these: 35.000 ms"]);
    let one = strip.refreshes_told(1..2).unwrap();
    assert!(
        one.starts_with("Refresh 2: missed\n") && one.ends_with("frame 0 on display, photon age 45.000 ms"),
        "{one}"
    );
    let all = strip.refreshes_told(0..6).unwrap();
    assert_eq!(
        all,
        "Refreshes 1 to 6: 4 new frame, 1 missed, 1 compositor too slow\nphoton age 35.000 ms to 55.000 ms"
    );
    assert_eq!(strip.refreshes_told(6..6), None);
}

/// A head-to-head with late frames, drops and misses.
fn rough() -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = 700;
    scenario.link.loss = 0.002;
    scenario.pacing = Pacing::Fixed { lead: crate::scenario::Lead::Ms(17.0), every: 1 };
    scenario
}

#[test]
fn counts_are_those_of_the_summary() {
    let answer = answer(&rough(), &mut Workspace::new());
    let strip = Strip::new(&answer.run, answer.summary.warmup as usize);
    let fold = strip.total;
    let fates = &answer.summary.fates;
    assert_eq!(fold.total(), fates.total());
    assert_eq!(fold.shown, fates.shown);
    assert_eq!(fold.of(Outcome::Superseded), fates.superseded);
    let gone = fates.skipped
        + fates.dropped_encode
        + fates.dropped_link
        + fates.dropped_decode
        + fates.lost
        + fates.undecodable;
    assert!(gone > 0 && fold.of(Outcome::Late) > 0, "{fold:?}");
    assert_eq!(fold.of(Outcome::Failed), gone);
    let mean = answer.summary.pose_to_photon_ms.mean.unwrap();
    assert!((fold.mean_ns().unwrap() / 1e6 - mean).abs() < 1e-9);
    let ends = fold.ends_ns.map(|ends| ends.map(ns_to_ms)).unwrap();
    assert_eq!(Some(ends[0]), answer.summary.pose_to_photon_ms.min);
    assert_eq!(Some(ends[1]), answer.summary.pose_to_photon_ms.max);
    let refreshes = strip.fold_refreshes(0..strip.refreshes.len());
    for kind in RefreshKind::ALL {
        assert_eq!(refreshes.of(kind), answer.summary.refresh_kinds.of(kind), "{kind:?}");
    }
    let longest = strip.freeze.map(|freeze| freeze.refreshes as u32);
    assert_eq!(longest, answer.summary.longest_freeze_refreshes);
    assert_eq!(strip.freeze.map(|freeze| freeze.length_ms), answer.summary.longest_freeze_ms);
}

#[test]
fn folding_by_blocks_is_folding_one_by_one() {
    let answer = answer(&rough(), &mut Workspace::new());
    let strip = Strip::new(&answer.run, 180);
    for (start, end) in [(0, 5000), (180, 700), (180, 181), (200, 231), (212, 244), (212, 245), (300, 650), (650, 300)]
    {
        let fold = strip.fold(start..end);
        let single = strip.frame_numbers().filter(|number| (start..end).contains(number));
        let mut latencies = Vec::new();
        let mut outcomes = [0; 5];
        for shot in single.map(|number| strip.frame(number).unwrap()) {
            outcomes[shot.outcome() as usize] += 1;
            latencies.extend(shot.latency_ns);
        }
        assert_eq!(fold.outcomes, outcomes, "{start}..{end}");
        assert_eq!((fold.shown as usize, fold.sum_ns), (latencies.len(), latencies.iter().sum()));
        let ends = latencies.iter().min().zip(latencies.iter().max()).map(|(least, most)| [*least, *most]);
        assert_eq!(fold.ends_ns, ends, "{start}..{end}");
    }
    for (first, end) in [(0, 0.0), (0, 100.5), (30, 100.0), (90, 3.0), (200, 1e9), (5000, 1.0)] {
        let expected = strip.refreshes_in(f64::NEG_INFINITY..end).end.max(first);
        assert_eq!(strip.refreshes_until(first, end), expected, "{first}, {end}");
    }
    let half = strip.refreshes.len() / 2;
    let (first, second) = (strip.fold_refreshes(0..half), strip.fold_refreshes(half..usize::MAX));
    let sums: Vec<u32> = first.kinds.iter().zip(second.kinds).map(|(one, two)| one + two).collect();
    assert_eq!(sums, strip.fold_refreshes(0..usize::MAX).kinds);
}

#[test]
fn without_targets_refreshes_lie_between_the_plans() {
    let mut scenario = Scenario::default();
    scenario.run.frames = 400;
    scenario.pacing = Pacing::Intervals { mean_ms: 14.0, spread: Spread::Exponential };
    let answer = answer(&scenario, &mut Workspace::new());
    let strip = Strip::new(&answer.run, 180);
    assert!(strip.refreshes.is_sorted_by(|one, two| one.at <= two.at));
    for (place, beat) in strip.refreshes.iter().enumerate() {
        let latch_ns = answer.run.grid.latch_ns((strip.first_refresh + place) as i64);
        let planned =
            answer.run.frames.iter().filter(|record| record.plan.ns().is_some_and(|ns| ns <= latch_ns)).count();
        let last = planned.saturating_sub(1) as f64;
        assert!(beat.at >= last && beat.at <= last + 1.0, "{beat:?}, {planned} planned");
    }
}

#[test]
fn few_frames_far_beyond_do_not_set_the_scale() {
    let mut run = by_hand();
    run.frames = (0..400)
        .map(|number| FrameRecord {
            pose: Stamp::at(i64::from(number) * 10_000_000 - i64::from(number % 10) * 100_000),
            shown: Some(if number == 300 { number + 60 } else { number + 3 }),
            target: Some(number + 3),
            fate: Fate::Shown,
            ..FrameRecord::default()
        })
        .collect();
    let strip = || Strip::new(&run, 0);
    let ([low, high], beyond) = range_of(&[strip(), strip()]).unwrap();
    assert!((low - 35.0).abs() < 1e-9 && (high - 37.7).abs() < 1e-9, "{low} to {high}");
    assert!((beyond.unwrap() - 605.0).abs() < 1e-9);
    let nothing = || Strip::new(&Run::default(), 0);
    assert_eq!(range_of(&[nothing(), nothing()]), None);
}

#[test]
fn the_table_has_every_frame_and_refresh() {
    use crate::report::figures::table::cells;
    let sides = [Strip::new(&by_hand(), 0), Strip::new(&by_hand(), 3)];
    let table = Strips { sides, limit_ms: 38.0, range_ms: None, beyond_ms: None }.table();
    let none = || (None::<f64>, None::<u64>);
    let (age, frame) = none();
    assert_eq!(table.rows[1], cells!["frame", 1_u64, "baseline", "shown", "yes", 45.0, age, frame]);
    let (latency, _) = none();
    assert_eq!(table.rows[7], cells!["refresh", 2_u64, "baseline", "miss", None::<&str>, latency, 45.0, 0_u64]);
    assert_eq!(table.rows[12], cells!["frame", 3_u64, "candidate", "lost", "yes", latency, latency, frame]);
}
