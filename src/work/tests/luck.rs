//! One seed, one luck: what a change may move, and what it must leave alone.

use super::{assert_share, column, steady};
use crate::scenario::{Lead, Pacing, Repair, Scenario, Spread, Stall};
use crate::work::{FrameWork, WorkTable, draw};

/// A scenario in which every column has luck of its own, and bits move no other column.
fn lively() -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = 400;
    scenario.encode.work.per_mbit_ms = 0.0;
    scenario.decode.work.per_mbit_ms = 0.0;
    scenario.encode.work.stall = Stall { chance: 0.1, mean_ms: 1.0 };
    scenario.decode.work.spread = Spread::Gamma { cv: 0.2 };
    scenario.slices.spread_cv = 0.2;
    scenario.slices.bits_penalty_pct = 0.0;
    scenario.stream.vbv_frames = 0.0;
    scenario.link.loss = 0.01;
    scenario.link.repair = Repair::Resend { tries: 2 };
    scenario.link.closures.per_minute = 300.0;
    scenario
}

type Part = (&'static str, fn(&WorkTable) -> String);

fn of(table: &WorkTable, value: fn(&FrameWork) -> i64) -> String {
    format!("{:?}", column(table, value))
}

const PARTS: [Part; 13] = [
    ("simulate", |table| of(table, |frame| frame.simulate_ns)),
    ("render", |table| of(table, |frame| frame.render_ns)),
    ("encode", |table| of(table, |frame| frame.encode_ns)),
    ("decode", |table| of(table, |frame| frame.decode_ns)),
    ("bits", |table| of(table, |frame| frame.bits)),
    ("uplink", |table| of(table, |frame| frame.uplink_ns)),
    ("link delay", |table| of(table, |frame| frame.link_delay_ns)),
    ("clock", |table| of(table, |frame| frame.clock_error_ns)),
    ("rows", |table| format!("{:?}", table.row_shares)),
    ("shares", |table| format!("{:?}", table.bit_shares)),
    // Refreshes and closures reach a little beyond the run: the first 300 and 10 are in it.
    ("compose", |table| format!("{:?}", &table.compose_ns[..300])),
    ("closures", |table| format!("{:?}", &table.closures[..10])),
    ("losses", |table| format!("{:?}", table.losses)),
];

/// Asserts that a change moves exactly the named parts.
#[track_caller]
fn assert_moves(change: impl Fn(&mut Scenario), moved: &[&str]) {
    let before = draw(&lively());
    let mut scenario = lively();
    change(&mut scenario);
    let after = draw(&scenario);
    let found: Vec<_> = PARTS.iter().filter(|(_, part)| part(&before) != part(&after)).map(|(name, _)| *name).collect();
    assert_eq!(found, moved);
}

#[test]
fn same_seed_same_table() {
    assert_eq!(draw(&lively()), draw(&lively()));
    let mut reused = draw(&steady(1000));
    reused.draw_into(&lively());
    assert_eq!(reused, draw(&lively()), "whatever was in the arrays before");
    assert_moves(|scenario| scenario.notes.push_str("something else"), &[]);
}

#[test]
fn another_seed_is_another_table() {
    let all: Vec<_> = PARTS.iter().map(|(name, _)| *name).filter(|name| *name != "rows").collect();
    assert_moves(|scenario| scenario.run.seed = 2, &all);
}

#[test]
fn a_spread_moves_its_own_column_only() {
    let wide = Spread::Normal { cv: 2.0, low: 0.9, high: 1.2 };
    assert_moves(|scenario| scenario.host.simulate.spread = wide.clone(), &["simulate"]);
    assert_moves(|scenario| scenario.host.render.spread = Spread::Constant, &["render"]);
    assert_moves(|scenario| scenario.encode.work.spread = Spread::Gamma { cv: 2.0 }, &["encode"]);
    assert_moves(|scenario| scenario.decode.work.spread = wide.clone(), &["decode"]);
    assert_moves(|scenario| scenario.pose.uplink.spread = wide.clone(), &["uplink"]);
    assert_moves(|scenario| scenario.link.delay.spread = wide.clone(), &["link delay"]);
    assert_moves(|scenario| scenario.display.compose.spread = wide.clone(), &["compose"]);
    assert_moves(|scenario| scenario.slices.spread_cv = 0.3, &["shares", "losses"]);
    assert_moves(|scenario| scenario.clock.error_us = 10.0, &["clock"]);
    // Other packets in the frame, other losses.
    assert_moves(|scenario| scenario.stream.size = wide.clone(), &["bits", "losses"]);
}

#[test]
fn costs_stalls_pacing_and_link_leave_the_rest_alone() {
    assert_moves(|scenario| scenario.host.render.fixed_ms = 9.0, &["render"]);
    assert_moves(|scenario| scenario.encode.work.per_mbit_ms = 0.5, &["encode"]);
    assert_moves(|scenario| scenario.encode.work.stall.chance = 0.2, &["encode"]);
    assert_moves(|scenario| scenario.host.simulate.stall = Stall { chance: 0.5, mean_ms: 1.0 }, &["simulate"]);
    assert_moves(|scenario| scenario.encode.slice_overhead_ms = 1.0, &[]);
    assert_moves(|scenario| scenario.pacing = Pacing::Fixed { lead: Lead::Ms(12.0), every: 1 }, &[]);
    let adaptive =
        Pacing::Adaptive { start_ms: 20.0, min_ms: 5.0, max_ms: 50.0, step_ms: 0.1, late_target: 0.01, every: 1 };
    assert_moves(|scenario| scenario.pacing = adaptive.clone(), &[]);
    assert_moves(|scenario| scenario.link.loss = 0.02, &["losses"]);
    assert_moves(|scenario| scenario.link.closures.mean_ms = 9.0, &["closures"]);
    // Half the rate of frames: twice the bits, other nominal times for the clock; the draws are the same.
    let every_other = Pacing::Fixed { lead: Lead::Ms(12.0), every: 2 };
    assert_moves(|scenario| scenario.pacing = every_other.clone(), &["bits", "clock", "losses"]);
}

#[test]
fn the_slice_count_moves_the_cut_only() {
    assert_moves(|scenario| scenario.slices.count = 3, &["rows", "shares", "losses"]);
    assert_moves(
        |scenario| {
            scenario.slices.bits_penalty_pct = 1.0;
        },
        &["bits", "losses"],
    );
}

#[test]
fn a_longer_run_begins_like_a_shorter_one() {
    let mut scenario = lively();
    let short = draw(&scenario);
    scenario.run.frames = 500;
    let long = draw(&scenario);
    assert_eq!(long.frames[..400], short.frames);
    assert!(long.compose_ns.starts_with(&short.compose_ns));
    assert!(long.losses.rows().starts_with(short.losses.rows()));
    assert!((0..400).all(|frame| long.bit_shares.of(frame) == short.bit_shares.of(frame)));
}

/// Redraws at one frame must not shift the luck of the next.
#[test]
fn a_narrower_window_changes_only_the_frames_outside_it() {
    let factors = |half: f64| {
        let mut scenario = steady(5000);
        scenario.host.simulate.fixed_ms = 1.0;
        scenario.host.simulate.spread = Spread::Normal { cv: 0.3, low: 1.0 - half, high: 1.0 + half };
        column(&draw(&scenario), |frame| frame.simulate_ns)
    };
    let (wide, narrow) = (factors(0.9), factors(0.3));
    let inside = |ns: i64| (700_000..=1_300_000).contains(&ns);
    assert!(wide.iter().zip(&narrow).all(|(&wide, &narrow)| inside(narrow) && (wide == narrow || !inside(wide))));
    // 0.9 is three sigma, 0.3 is one: 1 - 0.682 689 / 0.997 300 are outside.
    assert_share(wide.iter().filter(|ns| !inside(**ns)).count(), 5000, 1.0 - 0.682_689 / 0.997_300);
}

#[test]
fn a_stall_is_added_to_the_same_draw() {
    let mut scenario = lively();
    let before = draw(&scenario);
    scenario.host.simulate.stall = Stall { chance: 0.1, mean_ms: 5.0 };
    let after = draw(&scenario);
    let stalled = before.frames.iter().zip(&after.frames).filter(|(b, a)| a.simulate_ns > b.simulate_ns).count();
    assert_share(stalled, 400, 0.1);
    assert!(before.frames.iter().zip(&after.frames).all(|(b, a)| a.simulate_ns >= b.simulate_ns));
}
