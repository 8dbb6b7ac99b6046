//! Does it settle, and how busy is it: what is measured of runs whose loads are known.
//!
//! The utilisation law: a server is busy for the work that comes to it per time (Little's law on the server alone;
//! Denning and Buzen, The operational analysis of queueing network models, ACM Computing Surveys 10 (1978) 225-261).
//! Growth: derived here.

use framelap::engine::Run;
use framelap::measure::{Server, Summary, summarize};
use framelap::scenario::{References, Scenario, Spread};

use crate::world::{MS, assert_near, at, cut, decode_queue, host_cost, intervals, line, set_link, simulate};

fn measured(scenario: &Scenario) -> Summary {
    let (table, run) = simulate(scenario);
    summarize(scenario, &table, &run)
}

fn loads(summary: &Summary) -> [f64; 5] {
    Server::ALL.map(|server| summary.offered_load.of(server).unwrap())
}

/// A decoder of 6 + 0.1 n ms at 150 Hz keeps up with 6 slices and loses 0.0333 ms a frame with 7; one of 8 + 0.2 n ms at
/// 90 Hz keeps up with 15, loses 0.0889 with 16 and 0.8889 with 20. Slicing too finely makes a stable design unstable.
#[test]
fn a_slice_too_many_is_one_that_never_settles() {
    for (refresh_hz, [decode_ms, overhead_ms], n, growth_ms) in [
        (150.0, [6.0, 0.1], 6, None),
        (150.0, [6.0, 0.1], 7, Some(0.033_333)),
        (90.0, [8.0, 0.2], 15, None),
        (90.0, [8.0, 0.2], 16, Some(0.088_889)),
        (90.0, [8.0, 0.2], 20, Some(0.888_889)),
    ] {
        let mut scenario = cut(line(refresh_hz, [0.0, 0.0, decode_ms], 800), n);
        scenario.decode.slice_overhead_ms = overhead_ms;
        scenario.run.warmup = 100;
        let summary = measured(&scenario);
        let what = format!("{n} slices at {refresh_hz} Hz");
        assert_eq!(summary.steady, growth_ms.is_none(), "{what}");
        assert_eq!(summary.turnaround_ms.p99.is_some(), growth_ms.is_none(), "{what}");
        assert_eq!(summary.growth_ms_per_frame.is_some(), growth_ms.is_some(), "{what}");
        if let (Some(found), Some(expected)) = (summary.growth_ms_per_frame, growth_ms) {
            assert_near(&what, found, expected, 1e-6);
        }
        let load = (decode_ms + overhead_ms * f64::from(n)) * refresh_hz / 1000.0;
        assert_near(&what, loads(&summary)[4], load, 1e-8);
    }
}

/// Queues that are stable settle, whatever the luck.
#[test]
fn stable_queues_settle() {
    for seed in 0..40 {
        let mut scenario = decode_queue(4000, intervals(10.0, Spread::Exponential), 5.0, Spread::Exponential);
        scenario.run.seed = seed;
        let summary = measured(&scenario);
        assert!(summary.steady, "seed {seed} grows by {:?} ms a frame", summary.growth_ms_per_frame);
    }
}

/// Work per frame over engines and period, overheads included: known of every server, and so is the busy share of servers
/// that keep up.
#[test]
fn servers_are_as_busy_as_the_work_that_comes_to_them() {
    let mut scenario = cut(line(125.0, [4.0, 3.0, 10.0], 2000), 8);
    scenario.host.simulate = host_cost(2.0, Spread::Constant);
    scenario.host.render = host_cost(6.0, Spread::Constant);
    scenario.encode.frame_overhead_ms = 0.4;
    scenario.encode.slice_overhead_ms = 0.1;
    scenario.link.unit_overhead_ms = 0.05;
    scenario.decode.slice_overhead_ms = 0.2;
    scenario.decode.engines = 2;
    scenario.stream.references = References::Independent;
    scenario.run.warmup = 100;
    let summary = measured(&scenario);
    let expected = [2.0 / 8.0, 6.0 / 8.0, 5.2 / 8.0, 3.4 / 8.0, 11.6 / 16.0];
    for ((server, found), expected) in Server::ALL.into_iter().zip(loads(&summary)).zip(expected) {
        assert_near(server.name(), found, expected, 1e-7);
        let busy = summary.busy.of(server).unwrap();
        assert_near(&format!("busy {}", server.name()), busy, expected, 2.0 / 1900.0);
    }
}

/// What fills a run that starts and ends empty is what comes in: the busy share is all work over the whole span.
#[test]
fn busy_share_is_the_work_done_over_the_span() {
    let mut scenario = decode_queue(20_000, intervals(10.0, Spread::Exponential), 7.0, Spread::Exponential);
    set_link(&mut scenario, 5.0, Spread::Exponential);
    let (table, run) = simulate(&scenario);
    let summary = summarize(&scenario, &table, &run);
    let span_ns = (last_ready_ns(&run) - at(run.frames[0].plan)) as f64;
    let decode_ns: i64 = table.frames.iter().map(|frame| frame.decode_ns).sum();
    let link_ns: i64 = run.slices.all().records().map(|slice| at(slice.link_end) - at(slice.link_start)).sum();
    for (server, work_ns) in [(Server::Decoder, decode_ns), (Server::Link, link_ns)] {
        let expected = work_ns as f64 / span_ns;
        // The span of the counted frames may end at the last plan or with the last frame: 1e-3 of the whole.
        assert_near(server.name(), summary.busy.of(server).unwrap(), expected, 2e-3);
        assert_near(server.name(), summary.offered_load.of(server).unwrap(), work_ns as f64 / MS / 200_000.0, 1e-9);
    }
}

fn last_ready_ns(run: &Run) -> i64 {
    at(run.frames[run.frames.len() - 1].ready)
}
