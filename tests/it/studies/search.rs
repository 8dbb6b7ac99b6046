//! Searches against known optima of lot streaming: the best slice count, and geometric sublots.
//!
//! Potts and Baker, Oper. Res. Lett. 8 (1989) 297-303 (two stages); Glass, Gupta and Potts, EJOR 75 (1994) 378-394
//! (three stages). The numbers were derived anew and computed by the recurrence and a linear program.

use framelap::measure::measures;
use framelap::scenario::{Scenario, Shape};
use framelap::study::search::{Free, Limit, Question, Search, search};
use framelap::study::{Runner, Watch};

use super::on_one_and_two_threads;
use super::sweep::with_overheads;
use crate::world::{assert_near, line};

fn question(free: &[&str], runs: usize) -> Question {
    let free = free.iter().map(|text| Free::parse(text).unwrap()).collect();
    let goal = measures::find("stream_ms.p50").unwrap();
    Question { runs, budget: false, confirm_seeds: 0, ..Question::new(free, goal) }
}

fn ask(scenario: &Scenario, question: &Question) -> Search {
    search(scenario, question, &Runner::new(), &Watch::nobody(), |_| ()).unwrap()
}

fn best(found: &Search) -> (f64, f64) {
    let trial = &found.trail[found.best];
    (trial.values[0].as_f64().unwrap(), trial.goal.unwrap())
}

/// Line(4, 1, 6) with 0.10, 0.02 and 0.15 ms a slice is best at 6 slices, 7.853 ms; with all counts tried, and with fewer
/// runs than there are counts.
#[test]
fn the_best_slice_count_is_found_from_any_start() {
    for start in [1, 3, 6, 20, 64] {
        let mut scenario = with_overheads([4.0, 1.0, 6.0], [0.10, 0.02, 0.15]);
        scenario.slices.count = start;
        for (range, runs, all) in
            [("slices.count=1..64", 64, true), ("slices.count=1..64", 40, false), ("slices.count=1..64:log", 40, false)]
        {
            let found = ask(&scenario, &question(&[range], runs));
            let (count, latency_ms) = best(&found);
            assert_eq!((count, found.all_tried), (6.0, all), "from {start}, {range}, {runs} runs");
            assert_near("latency", latency_ms, 7.853_333, 1e-4);
            assert!(found.met && found.trail.len() <= runs);
        }
    }
}

/// Two stages of 6 and 3 ms in 4 slices: ratio 0.5, 6.2 ms. Stages of 6, 4 and 3 ms: ratio 0.7, 6.947888 ms.
#[test]
fn the_best_geometric_slices_are_found_from_any_start() {
    for (stages, ratio, best_ms) in [([6.0, 0.0, 3.0], 0.5, 6.2), ([6.0, 4.0, 3.0], 0.7, 6.947_888)] {
        for start in [0.05, 0.3, 1.0, 20.0] {
            let mut scenario = line(30.0, stages, 12);
            scenario.slices.count = 4;
            scenario.slices.shape = Shape::Geometric { ratio: start };
            let found = ask(&scenario, &question(&["slices.shape.ratio=0.05..20:log"], 150));
            let (at, latency_ms) = best(&found);
            assert_near(&format!("ratio from {start}"), at, ratio, 2e-3);
            assert_near(&format!("latency from {start}"), latency_ms, best_ms, 2e-3);
        }
    }
}

/// Count and ratio at once: with overheads of 0.2 ms a slice at each of two stages of 6 and 3 ms, the best of every ratio
/// at every count, found by trying them all.
#[test]
fn two_parameters_at_once_are_as_good_as_trying_all() {
    let mut scenario = line(30.0, [6.0, 0.0, 3.0], 12);
    scenario.slices.shape = Shape::Geometric { ratio: 1.0 };
    scenario.encode.slice_overhead_ms = 0.2;
    scenario.decode.slice_overhead_ms = 0.2;
    let mut least_ms = f64::INFINITY;
    for count in 1..=12 {
        scenario.slices.count = count;
        let found = ask(&scenario, &question(&["slices.shape.ratio=0.3..2:log"], 60));
        least_ms = least_ms.min(best(&found).1);
    }
    for start in [1, 12] {
        scenario.slices.count = start;
        let found = ask(&scenario, &question(&["slices.shape.ratio=0.3..2:log", "slices.count=1..12"], 400));
        assert!(best(&found).1 <= least_ms + 5e-3, "from {start}: {:?}, all: {least_ms}", best(&found));
    }
}

/// A decoder of 6 + 0.15 n ms in 33.3 ms may be loaded to 19.5 %: that allows 3 slices, and more would be better.
#[test]
fn a_limit_that_binds_is_kept() {
    let scenario = with_overheads([4.0, 1.0, 6.0], [0.10, 0.02, 0.15]);
    let limit = Limit::parse("offered_load.decoder<=0.195").unwrap();
    for runs in [30, 64] {
        let question = Question { limits: vec![limit], ..question(&["slices.count=1..64"], runs) };
        let found = ask(&scenario, &question);
        assert_eq!((best(&found).0, found.met), (3.0, true));
        assert!(found.held[0].met);
        let never = Limit::parse("offered_load.decoder<=0.15").unwrap();
        let none = ask(&scenario, &Question { limits: vec![never], ..question });
        assert_eq!((best(&none).0, none.met), (1.0, false), "one slice comes nearest");
    }
}

#[test]
fn the_same_on_one_and_on_two_threads() {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (80, 10, 0.0);
    let free = ["link.rate_mbps=300..3000:log", "slices.count=1..32", "stream.codec=H264,H265"];
    let free = free.iter().map(|text| Free::parse(text).unwrap()).collect();
    let question = Question { runs: 80, confirm_seeds: 2, ..Question::new(free, measures::usual()) };
    on_one_and_two_threads(|runner, watch| search(&scenario, &question, runner, watch, |_| ()).unwrap());
}
