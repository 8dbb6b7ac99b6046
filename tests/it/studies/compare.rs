//! Comparisons: intervals that hold what they promise.

use framelap::measure::measures;
use framelap::scenario::{Scenario, Spread};
use framelap::study::compare::compare;
use framelap::study::luck::Verdict;
use framelap::study::{Runner, Watch};

use super::on_one_and_two_threads;
use crate::world::{assert_near, bare, codec_cost};

/// A decoder of so many ms on average, far from its next frame; frames differ by a factor of mean 1.
fn decoder(mean_ms: f64, cv: f64, frames: u32) -> Scenario {
    let mut scenario = bare(frames);
    scenario.decode.work = codec_cost(mean_ms, Spread::LogNormal { cv });
    scenario
}

/// The factor has mean 1, so a decoder of 5.25 ms takes exactly 0.25 ms longer on average than one of 5 ms. A 95 % interval
/// by Student's t over 8 seeds (Law and Kelton, *Simulation Modeling and Analysis*, chapter 10: paired t) must hold that in
/// 95 % of repetitions; the standard error of 400 of them is 1.1 %.
#[test]
fn paired_intervals_hold_the_true_difference_95_times_in_100() {
    let (repetitions, seeds) = (400_u32, 8);
    let mean = measures::find("stream_ms.mean").unwrap();
    let runner = Runner::new();
    let (mut held, mut held_by_each) = (0, 0);
    for repetition in 0..repetitions {
        let mut both = [decoder(5.0, 0.2, 40), decoder(5.25, 0.2, 40)];
        both[0].run.seed = u64::from(repetition * seeds) + 1;
        let comparison = compare(&both, seeds, &runner, &Watch::nobody()).unwrap();
        let row = comparison.row(mean).unwrap();
        let difference = &row.differences[0];
        let (found, half) = (difference.mean.unwrap(), difference.half_width.unwrap());
        held += u32::from((found - 0.25).abs() <= half);
        let [a, b] = [&row.values[0], &row.values[1]];
        held_by_each += u32::from((a.mean.unwrap() - 5.0).abs() <= a.half_width.unwrap());
        // Under the same luck the difference is known much better than either side.
        assert!(10.0 * half < a.half_width.unwrap().min(b.half_width.unwrap()));
    }
    let per_cent = |held: u32| 100.0 * f64::from(held) / f64::from(repetitions);
    assert_near("coverage of differences", per_cent(held), 95.0, 2.0);
    assert_near("coverage of means", per_cent(held_by_each), 95.0, 2.0);
}

/// What few frames leave unclear, more tell. That as many as it says are what tells it: `study::luck`.
#[test]
fn more_frames_tell_what_few_leave_unclear() {
    let mean = measures::find("stream_ms.mean").unwrap();
    // A decoder that is 1 % slower and takes another spread: its luck is not the same, so the pairing hides little.
    let pair = |frames| {
        let mut slower = bare(frames);
        slower.decode.work = codec_cost(5.05, Spread::Exponential);
        [decoder(5.0, 0.3, frames), slower]
    };
    let ask = |frames, seeds| {
        let comparison = compare(&pair(frames), seeds, &Runner::new(), &Watch::nobody()).unwrap();
        comparison.row(mean).unwrap().differences[0]
    };
    let short = ask(60, 8);
    assert_eq!(short.verdict, Verdict::Unclear);
    let (seeds, frames) = (short.seeds_to_tell.unwrap(), short.frames_to_tell.unwrap());
    assert!(seeds > 8 && frames > 60, "{seeds} seeds, {frames} frames");
    // The guess goes by the difference that these seeds happened to find, four times the true one.
    let long = ask(20_000, 8);
    assert_eq!(long.verdict, Verdict::Worse, "{long:?}");
}

#[test]
fn the_same_on_one_and_on_two_threads() {
    let mut sliced = Scenario::default();
    (sliced.run.frames, sliced.content.cv) = (400, 0.0);
    let mut whole = sliced.clone();
    whole.slices.count = 1;
    let all = [whole.clone(), sliced, whole];
    let comparison = on_one_and_two_threads(|runner, watch| compare(&all, 5, runner, watch).unwrap());
    let row = comparison.row(measures::usual()).unwrap();
    assert_eq!([row.differences[0].verdict, row.differences[1].verdict], [Verdict::Better, Verdict::Same]);
}
