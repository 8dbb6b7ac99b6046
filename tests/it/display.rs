//! Between the pipeline and the eye: phases of two clocks, late frames, leads.
//!
//! Phases: equidistribution of a rotation by an irrational angle (Weyl, Math. Ann. 77 (1916) 313-352), shares derived
//! here. Late shares are tails of the law of the one random stage.

use framelap::engine::{Fate, Pilot, RefreshKind, Run};
use framelap::measure::summarize;
use framelap::scenario::{Choose, Lead, Pacing, Scenario, Spread};

use crate::world::{
    MS, assert_independent_share, assert_near, at, bare, codec_cost, draw_without_bits, intervals, mean, play,
    quantile, sd, simulate, stream_ms,
};

/// Waits of shown frames from ready to the latch that took them \[ms\].
fn latch_waits_ms(run: &Run) -> Vec<f64> {
    let wait = |frame: &framelap::engine::FrameRecord| {
        let latch_ns = run.grid.latch_ns(i64::from(frame.shown?));
        Some((latch_ns - at(frame.ready)) as f64 / MS)
    };
    run.frames.iter().filter_map(wait).collect()
}

/// Frames every `period_ms` against 90 Hz, to half a per cent: the wait is uniform up to the shorter period, `1 - T/p` of
/// the refreshes repeat or `1 - p/T` of the frames are superseded.
#[test]
fn source_and_display_drift_past_each_other() {
    let refresh_ms = 1000.0 / 90.0;
    for (period_ms, repeats, superseded, wait_ms, p95_ms) in
        [(13.0171, 0.146_422, 0.0, 5.5556, 10.556), (7.0171, 0.0, 0.368_461, 3.5086, 6.6662)]
    {
        let mut scenario = bare(20_000);
        scenario.display.refresh_hz = 90.0;
        scenario.pacing = intervals(period_ms, Spread::Constant);
        let table = draw_without_bits(&scenario);
        let run = play(&scenario, &table);
        let waits = latch_waits_ms(&run);
        let shortest = f64::min(period_ms, refresh_ms);
        assert_near("mean wait", wait_ms, shortest / 2.0, 1e-4);
        assert_near("mean wait", mean(&waits), wait_ms, 0.005 * wait_ms);
        assert_near("95 % of waits", quantile(&waits, 0.95), p95_ms, 0.005 * p95_ms);
        // The last frame has no newer one to be superseded by.
        let longest = waits[..waits.len() - 1].iter().copied().fold(0.0, f64::max);
        assert_near("longest wait", longest, shortest, 0.005 * shortest);
        assert!(longest < shortest + 1e-5, "a shown frame waited too long");

        let count = |kind| run.refreshes.iter().filter(|refresh| refresh.kind == kind).count() as f64;
        let refreshes = run.refreshes.len() as f64;
        assert_near("repeats", count(RefreshKind::Repeat) / refreshes, repeats, 0.005 * repeats + 1.0 / refreshes);
        assert_near("misses without targets", count(RefreshKind::Miss), 0.0, 0.0);
        let gone = run.frames.iter().filter(|frame| frame.fate == Fate::Superseded).count() as f64;
        assert_near("superseded", gone / 20_000.0, superseded, 0.005 * superseded);

        let summary = summarize(&scenario, &table, &run);
        assert_near("measured", f64::from(summary.refresh_kinds.repeat), count(RefreshKind::Repeat), 1.0);
        assert_near("delivered", summary.delivered_share.expect("frames count"), 1.0 - gone / 20_000.0, 1e-12);
        assert_eq!(summary.late_share, None, "nothing is late without targets");
    }
}

/// A constant 18 ms and a link delay of mean 1 ms; frames shown at their target only; no frame meets another.
fn delayed(spread: Spread, lead: Lead, frames: u32) -> Scenario {
    let mut scenario = bare(frames);
    scenario.display.choose = Choose::OnTarget;
    scenario.encode.work = codec_cost(10.0, Spread::Constant);
    scenario.decode.work = codec_cost(8.0, Spread::Constant);
    scenario.link.delay.jitter_ms = 1.0;
    scenario.link.delay.spread = spread;
    scenario.pacing = Pacing::Fixed { lead, every: 1 };
    scenario
}

fn late(run: &Run) -> impl Iterator<Item = bool> {
    (0..run.frames.len()).map(|frame| run.late(frame).expect("it has a target"))
}

/// `exp(-(lead - A))`; the target refresh of a late frame is a miss, unless it shows the late frame before.
#[test]
fn late_share_is_the_tail_of_the_delay() {
    for (slack_ms, share) in [(1.0, 0.367_879), (2.303, 0.1), (4.605, 0.01)] {
        let scenario = delayed(Spread::Exponential, Lead::Ms(18.0 + slack_ms), 100_000);
        let table = draw_without_bits(&scenario);
        let run = play(&scenario, &table);
        let lates: Vec<bool> = late(&run).collect();
        let misses = lates.windows(2).filter(|pair| !pair[0] && pair[1]).count() + usize::from(lates[0]);
        let summary = summarize(&scenario, &table, &run);
        assert_near("misses", f64::from(summary.refresh_kinds.miss), misses as f64, 0.0);
        let refreshes = f64::from(summary.refreshes);
        assert_near("missed", summary.missed_pct.expect("refreshes"), 100.0 * misses as f64 / refreshes, 1e-9);
        assert_independent_share(&format!("slack {slack_ms}"), late(&run), share);
        for (frame, work) in table.frames.iter().enumerate() {
            let slack_ns = (slack_ms * MS).round() as i64 - work.link_delay_ns;
            assert_eq!(run.slack_ns(frame), Some(slack_ns));
        }
    }
}

/// P(X > 6) and P(X > 8) of a log-normal decoder of mean 4 ms (scipy).
#[test]
fn late_share_is_the_tail_of_the_decoder() {
    for (cv, lead_ms, share) in [
        (0.2, 6.0, 0.015_921),
        (0.3, 6.0, 0.063_259),
        (0.5, 6.0, 0.136_860),
        (0.3, 8.0, 0.006_072),
        (0.5, 8.0, 0.044_234),
    ] {
        let mut scenario = bare(100_000);
        scenario.decode.work = codec_cost(4.0, Spread::LogNormal { cv });
        scenario.pacing = Pacing::Fixed { lead: Lead::Ms(lead_ms), every: 1 };
        let run = play(&scenario, &draw_without_bits(&scenario));
        assert_independent_share(&format!("cv {cv}, lead {lead_ms}"), late(&run), share);
    }
}

/// A tuned lead is the quantile of what the frames need: 18 ms and that of the delay; `22.605` ms for one in a hundred.
#[test]
fn tuned_lead_is_a_quantile() {
    for (spread, late_share, delay_ms) in [
        (Spread::Exponential, 0.01, 4.605_170),
        (Spread::Exponential, 0.05, 2.995_732),
        (Spread::Gamma { cv: 0.3 }, 0.01, 1.826_542),
        (Spread::Gamma { cv: 0.3 }, 0.05, 1.539_102),
        (Spread::LogNormal { cv: 0.3 }, 0.01, 1.896_167),
        (Spread::LogNormal { cv: 0.3 }, 0.05, 1.552_358),
    ] {
        let scenario = delayed(spread.clone(), Lead::Tuned { late_share }, 50_000);
        let run = play(&scenario, &draw_without_bits(&scenario));
        let Pilot::Found(lead_ns) = run.pilot else { panic!("no lead found: {:?}", run.pilot) };
        let what = format!("{spread:?}, {late_share}");

        let needed = stream_ms(&run);
        assert_near(&what, lead_ns as f64 / MS, quantile(&needed, 1.0 - late_share), 1.01e-6);
        assert_independent_share(&what, needed.iter().map(|&ms| ms > 18.0 + delay_ms), late_share);
        let too_late = late(&run).filter(|&late| late).count() as f64 / 50_000.0;
        assert!(too_late <= late_share && too_late > late_share - 2.0 / 50_000.0, "{what}: {too_late} late");
    }
}

/// An adaptive lead settles near the tuned one: a sampled chain of step 0.1 ms up and `0.1 q/(1 - q)` down gives 22.630 ms
/// with sd 0.222. It forgets in some 1000 frames: 400 independent values here, four standard errors.
#[test]
fn adaptive_lead_settles_at_the_tuned_one() {
    let mut scenario = delayed(Spread::Exponential, Lead::Ms(0.0), 400_000);
    scenario.pacing =
        Pacing::Adaptive { start_ms: 22.0, min_ms: 1.0, max_ms: 33.0, step_ms: 0.1, late_target: 0.01, every: 1 };
    let table = draw_without_bits(&scenario);
    let run = play(&scenario, &table);
    let leads: Vec<f64> = run.frames[5000..].iter().map(|frame| frame.lead_ns as f64 / MS).collect();
    assert_near("mean", mean(&leads), 22.630, 4.0 * 0.222 / 20.0);
    assert_near("sd", sd(&leads), 0.222, 4.0 * 0.222 / 800_f64.sqrt());
    // In balance the steps up and down cancel: late frames times step are the others times step q/(1 - q).
    let share = late(&run).skip(5000).filter(|&late| late).count() as f64 / leads.len() as f64;
    let drift_ms = (leads[leads.len() - 1] - leads[0]) / leads.len() as f64;
    assert_near("late share", share, 0.01 + drift_ms / 0.1, 1e-4);
}

/// A host clock 1 ms late eats 1 ms of slack: e times as many late frames.
#[test]
fn clock_error_eats_slack() {
    let scenario = delayed(Spread::Exponential, Lead::Ms(18.0 + 4.605), 200_000);
    let mut table = draw_without_bits(&scenario);
    let count = |run: &Run| late(run).filter(|&late| late).count() as f64;
    let right = count(&play(&scenario, &table));
    table.frames.iter_mut().for_each(|frame| frame.clock_error_ns = 1_000_000);
    let wrong_run = play(&scenario, &table);
    assert_independent_share("a clock 1 ms late", late(&wrong_run), 0.01 * std::f64::consts::E);
    // Frames late with the right clock are late with the wrong one: the ratio has the error of the added ones.
    let wrong = count(&wrong_run);
    let error = (std::f64::consts::E * (std::f64::consts::E - 1.0) / right).sqrt();
    assert_near("times as many", wrong / right, std::f64::consts::E, 4.0 * error);
    table.frames.iter_mut().for_each(|frame| frame.clock_error_ns = -1_000_000);
    assert_independent_share("1 ms early", late(&play(&scenario, &table)), 0.01 / std::f64::consts::E);
}

/// Clock errors as drawn: Normal of 500 us after each synchronisation. Late share
/// `E exp(-(s - X)) = exp(-s + 0.5^2/2)`, by the mean of the log-normal, while the slack stays positive.
#[test]
fn clock_errors_of_the_host_spread_the_slack() {
    let mut scenario = delayed(Spread::Exponential, Lead::Ms(18.0 + 3.0), 200_000);
    scenario.clock.error_us = 500.0;
    scenario.clock.resync_s = 0.01;
    let run = play(&scenario, &draw_without_bits(&scenario));
    assert_independent_share("late", late(&run), (-3.0_f64 + 0.125).exp());
}

/// Frames that no link loss may delay are all late at once if the lead misses them, and none if it does not.
#[test]
fn constant_pipeline_is_late_always_or_never() {
    for (lead_ms, expected) in [(18.0, false), (17.999_999, true)] {
        let mut scenario = delayed(Spread::Exponential, Lead::Ms(lead_ms), 100);
        scenario.link.delay.jitter_ms = 0.0;
        let (_, run) = simulate(&scenario);
        // 3334 bits take 33 ns at 100 Gbit/s.
        let bare_link = play(&scenario, &draw_without_bits(&scenario));
        assert!(late(&bare_link).all(|late| late == expected), "lead {lead_ms}");
        assert!(late(&run).all(|late| late), "the link's 33 ns count");
    }
}
