//! What intervals are worth: 95 % intervals hold what is known, from a very long run or from a closed form, in 95 % of 400
//! repetitions, and steady runs are hardly ever called unsteady. Two standard errors of 400 repetitions are 2.2 %.

use framelap::measure::statistics::mean;
use framelap::measure::{Distribution, Summary};
use framelap::scenario::{Lead, Pacing, Scenario, Spread};
use framelap::study::luck::Mean;
use framelap::study::{Gains, Workspace};
use rayon::prelude::*;

use crate::world::{decode_queue, intervals};

const REPETITIONS: u64 = 400;

fn repeated(scenario: &Scenario, repetitions: u64) -> Vec<Summary> {
    let run = |workspace: &mut Workspace, seed| {
        let mut scenario = scenario.clone();
        scenario.run.seed = seed;
        workspace.summary(&scenario)
    };
    (0..repetitions).into_par_iter().map_init(Workspace::new, run).collect()
}

/// Asserts that 95 % of the intervals hold the truth: within 2 % and two standard errors of so many repetitions. That the statistics
/// themselves are closer than that: `measure/statistics/tests.rs`.
#[track_caller]
fn assert_held(what: &str, intervals: &[Option<[f64; 2]>], truth: f64) {
    let known: Vec<[f64; 2]> = intervals.iter().copied().flatten().collect();
    assert!(known.len() * 4 > intervals.len() * 3, "{what}: only {} intervals of {}", known.len(), intervals.len());
    let held = known.iter().filter(|[low, high]| *low <= truth && truth <= *high).count();
    let share = held as f64 / known.len() as f64;
    println!("{what}: {:.1} % of {}", 100.0 * share, known.len());
    let chance = 2.0 * (0.95_f64 * 0.05 / known.len() as f64).sqrt();
    assert!((share - 0.95).abs() <= 0.02 + chance, "{what}: {held} of {} hold {truth}", known.len());
}

/// Asserts that hardly ever an interval is given.
#[track_caller]
fn assert_none(what: &str, intervals: &[Option<[f64; 2]>]) {
    let known = intervals.iter().flatten().count();
    assert!(known * 20 <= intervals.len(), "{what}: {known} intervals of {}", intervals.len());
}

fn means(runs: &[Summary], of: fn(&Summary) -> &Distribution) -> Vec<Option<[f64; 2]>> {
    runs.iter().map(|summary| of(summary).mean_ci95).collect()
}

fn p99s(runs: &[Summary], of: fn(&Summary) -> &Distribution) -> Vec<Option<[f64; 2]>> {
    runs.iter().map(|summary| of(summary).p99_ci95).collect()
}

/// Shares of runs that are called unsteady.
#[track_caller]
fn assert_steady(what: &str, runs: &[Summary]) {
    let unsteady = runs.iter().filter(|summary| !summary.steady).count();
    println!("{what}: {unsteady} of {} called unsteady", runs.len());
    // 1 % at most, and two standard errors of so many.
    assert!(unsteady <= 8, "{what}: {unsteady} of {} called unsteady", runs.len());
}

/// The usual scenario, whose content has a memory of a hundred frames: 9500 frames are worth 48 independent ones. Means have an
/// interval; its p99, and the lead that is found from it, cannot have one. The truth is from 16 runs of 380 000 frames.
#[test]
fn intervals_of_the_usual_scenario() {
    let runs = repeated(&Scenario::default(), REPETITIONS);
    assert_held("turnaround", &means(&runs, |s| &s.turnaround_ms), TURNAROUND_MS);
    assert_none("p99 of turnaround", &p99s(&runs, |s| &s.turnaround_ms));
    assert_none("pose to photon, lead tuned", &means(&runs, |s| &s.pose_to_photon_ms));
    assert_steady("usual scenario", &runs);
}

/// Three times as many frames: now p99 is known, and the lead is not yet.
#[test]
fn intervals_of_a_long_run() {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup) = (30_000, 500);
    let runs = repeated(&scenario, REPETITIONS / 2);
    assert_held("turnaround of 30 000 frames", &means(&runs, |s| &s.turnaround_ms), TURNAROUND_MS);
    assert_held("p99 of it", &p99s(&runs, |s| &s.turnaround_ms), 19.620);
    assert_none("pose to photon, lead tuned", &means(&runs, |s| &s.pose_to_photon_ms));
    assert_none("p99 of it", &p99s(&runs, |s| &s.pose_to_photon_ms));
}

/// Content that remembers by 0.9: these frames are worth 605 independent ones, three of them late, and a lead that is found so has
/// an interval. The truth is from 12 runs of 400 000 frames; p99 is a refresh.
#[test]
fn intervals_at_a_tuned_lead() {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.content.memory) = (12_000, 500, 0.9);
    let runs = repeated(&scenario, REPETITIONS);
    assert_held("pose to photon, lead tuned", &means(&runs, |s| &s.pose_to_photon_ms), 35.322);
    assert_held("p99 of it", &p99s(&runs, |s| &s.pose_to_photon_ms), 35.833_33);
}

/// 2000 frames only, at a lead that is given.
#[test]
fn intervals_of_short_runs_and_steadiness() {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup) = (2000, 100);
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(40.0), every: 1 };
    let runs = repeated(&scenario, REPETITIONS);
    assert_held("turnaround of 2000 frames", &means(&runs, |s| &s.turnaround_ms), TURNAROUND_MS);
    assert_held("pose to photon of them", &means(&runs, |s| &s.pose_to_photon_ms), 34.725);
    assert_held("photon age of them", &means(&runs, |s| &s.photon_age_ms), 35.487);
    assert_held("stream latency of them", &means(&runs, |s| &s.stream_ms), 9.1126);
    // Some 2 ns on average, and none in nearly all runs.
    assert_none("waiting in the stream", &means(&runs, |s| &s.stream_waiting_ms));
    assert_none("p99 of them", &p99s(&runs, |s| &s.pose_to_photon_ms));
    assert_steady("short runs", &runs);
}

/// M/M/1: the time in the system is exponential, of mean 1 / (mu - lambda) (Kleinrock 1975, section 3.2). The heavier the load,
/// the longer its memory: 9000 customers are worth 930 independent ones at 0.5, 110 at 0.8 and 25 at 0.9 (by the autocovariance of
/// M/M/1, Daley 1968), so that longer runs are asked for.
#[test]
fn intervals_and_steadiness_of_a_queue() {
    let queue = |load: f64, frames: u32| {
        let arrivals = intervals(10.0, Spread::Exponential);
        let mut scenario = decode_queue(frames, arrivals, 10.0 * load, Spread::Exponential);
        scenario.run.warmup = frames / 10;
        scenario
    };
    for (load, frames, repetitions) in [(0.5, 10_000, 400), (0.8, 40_000, 200), (0.9, 80_000, 200)] {
        let runs = repeated(&queue(load, frames), repetitions);
        let mean_ms = 10.0 * load / (1.0 - load);
        assert_held(&format!("time in M/M/1 at {load}"), &means(&runs, |s| &s.turnaround_ms), mean_ms);
        if load < 0.9 {
            let p99_ms = mean_ms * 100.0_f64.ln();
            assert_held(&format!("p99 of it at {load}"), &p99s(&runs, |s| &s.turnaround_ms), p99_ms);
        }
    }
    assert_none("p99 of few at 0.9", &p99s(&repeated(&queue(0.9, 10_000), REPETITIONS), |s| &s.turnaround_ms));
    // At 0.9 a steady run looks much like one that grows.
    assert_steady("M/M/1 at 0.9", &repeated(&queue(0.9, 2000), REPETITIONS));
}

/// Turnaround of the usual scenario \[ms\]: the mean over 32 runs of 380 000 frames.
const TURNAROUND_MS: f64 = 16.970;

/// Decisions: t over eight seeds, of values and of what the verdict says of two designs. What is known is the mean over runs of
/// this length, which all 3200 runs together know eight times as surely as eight of them.
#[test]
fn intervals_over_seeds() {
    let mut sliced = Scenario::default();
    (sliced.run.frames, sliced.run.warmup) = (1000, 100);
    sliced.content.memory = 0.9;
    let mut whole = sliced.clone();
    whole.slices.count = 1;
    let both = [whole, sliced];
    let of = |space: &mut Workspace, seed: u64| {
        both.each_ref().map(|scenario| {
            let mut scenario = scenario.clone();
            scenario.run.seed = seed;
            let found = space.summary(&scenario).pose_to_photon_ms;
            [found.p50.unwrap(), found.p99.unwrap()]
        })
    };
    let runs: Vec<[[f64; 2]; 2]> = (0..8 * REPETITIONS).into_par_iter().map_init(Workspace::new, of).collect();
    let gains: Vec<Option<[f64; 2]>> =
        runs.iter().map(|[whole, sliced]| Some([whole[0] - sliced[0], whole[1] - sliced[1]])).collect();
    let ends = |mean: Mean| mean.mean.zip(mean.half_width).map(|(mean, half)| [mean - half, mean + half]);
    for (at, name) in [(0, "p50"), (1, "p99")] {
        let values: Vec<Option<f64>> = runs.iter().map(|[_, sliced]| Some(sliced[at])).collect();
        let of_values: Vec<_> = values.chunks(8).map(|eight| ends(Mean::of(eight))).collect();
        let truth = |values: &[Option<f64>]| mean(&values.iter().copied().flatten().collect::<Vec<_>>()).unwrap();
        assert_held(&format!("{name} over 8 seeds"), &of_values, truth(&values));
        let of_gains: Vec<_> = gains.chunks(8).map(|eight| ends(Gains::of(eight).at[at])).collect();
        let all: Vec<Option<f64>> = gains.iter().map(|gains| gains.map(|gains| gains[at])).collect();
        assert_held(&format!("gain in {name} over 8 seeds"), &of_gains, truth(&all));
    }
}
