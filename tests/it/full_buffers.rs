//! Finite waiting rooms: shares of dropped and skipped frames.
//!
//! One server with K frames in system at most loses what embedded Markov chains say (Gross and Harris, Fundamentals of
//! Queueing Theory; computed, and simulated by another program). Which frame goes does not change the number in system:
//! dropping the newest or the oldest loses the same share, and so does the frame skipped by the next plan.

use framelap::engine::{Fate, Run};
use framelap::scenario::{Buffer, Lead, Pacing, References, Scenario, Spread, WhenFull};

use crate::world::{
    MS, assert_mean, assert_near, assert_share, at, bare, decode_queue, host_cost, intervals, set_link, simulate,
};

const INTERVAL_MS: f64 = 10.0;
const FRAMES: u32 = 100_000;

/// Dropping the newest and the oldest.
const DROPS: [WhenFull; 2] = [WhenFull::DropNewest, WhenFull::DropOldest];

fn room(frames: u32, when_full: WhenFull) -> Buffer {
    Buffer { frames: Some(frames), when_full }
}

fn poisson() -> Pacing {
    intervals(INTERVAL_MS, Spread::Exponential)
}

/// A frame every 10 ms at 100 Hz.
fn periodic() -> Pacing {
    Pacing::Fixed { lead: Lead::Ms(5.0), every: 1 }
}

/// Four standard errors, these at most 4 % of the share.
#[track_caller]
fn assert_fate(what: &str, run: &Run, fate: Fate, share: f64) {
    assert_share(what, run.frames.iter().map(|frame| frame.fate == fate), share, 0.16);
}

fn at_decoder(pacing: Pacing, service: Spread, rho: f64) -> Scenario {
    let mut scenario = decode_queue(FRAMES, pacing, rho * INTERVAL_MS, service);
    scenario.display.refresh_hz = 100.0;
    scenario
}

#[test]
fn buffer_before_decode_loses_the_known_share() {
    let (exponential, constant) = (Spread::Exponential, Spread::Constant);
    for (pacing, service, rho, by_room) in [
        (poisson(), &exponential, 0.8, [0.444_444, 0.262_295, 0.173_442, 0.121_847]),
        (poisson(), &constant, 0.8, [0.444_444, 0.199_570, 0.103_299, 0.058_764]),
        (periodic(), &exponential, 0.8, [0.286_505, 0.127_884, 0.067_606, 0.038_620]),
        (poisson(), &exponential, 1.2, [0.545_455, 0.395_604, 0.321_908, 0.278_650]),
        (poisson(), &constant, 1.2, [0.545_455, 0.333_864, 0.254_880, 0.218_621]),
        (periodic(), &exponential, 1.2, [0.434_598, 0.296_120, 0.240_541, 0.212_453]),
    ] {
        for (frames, share) in (0..).zip(by_room) {
            for when_full in DROPS {
                let mut scenario = at_decoder(pacing.clone(), service.clone(), rho);
                scenario.decode.buffer = room(frames, when_full);
                let (_, run) = simulate(&scenario);
                let what = format!("{pacing:?}, {service:?}, load {rho}, room for {frames}, {when_full:?}");
                assert_fate(&what, &run, Fate::DroppedDecode, share);
            }
        }
    }
}

/// Erlang B: without waiting room `rho/(1 + rho)` is lost whatever the service.
#[test]
fn without_waiting_room_only_the_mean_service_counts() {
    for service in [Spread::Gamma { cv: 0.3 }, Spread::LogNormal { cv: 1.0 }, Spread::Exponential, Spread::Constant] {
        let mut scenario = at_decoder(poisson(), service.clone(), 0.9);
        scenario.decode.buffer = room(0, WhenFull::DropNewest);
        assert_fate(&format!("{service:?}"), &simulate(&scenario).1, Fate::DroppedDecode, 0.473_684);
    }
}

/// The next plan skips the frame that waits for the CPU: a waiting room for one.
#[test]
fn processor_skips_what_a_room_for_one_would_drop() {
    let mut scenario = bare(FRAMES);
    scenario.display.refresh_hz = 100.0;
    scenario.host.frames_in_flight = 1;
    for (pacing, service, share) in [
        (poisson(), Spread::Exponential, 0.262_295),
        (poisson(), Spread::Constant, 0.199_570),
        (periodic(), Spread::Exponential, 0.127_884),
    ] {
        scenario.pacing = pacing;
        scenario.host.simulate = host_cost(8.0, service);
        assert_fate("skipped", &simulate(&scenario).1, Fate::Skipped, share);
    }
}

#[test]
fn buffers_before_encode_and_link_lose_the_known_share() {
    for when_full in DROPS {
        for (frames, share) in [(0, 0.444_444), (1, 0.262_295), (2, 0.173_442)] {
            let mut scenario = bare(FRAMES);
            scenario.pacing = poisson();
            scenario.encode.work.fixed_ms = 8.0;
            scenario.encode.work.spread = Spread::Exponential;
            scenario.encode.buffer = room(frames, when_full);
            assert_fate("before encode", &simulate(&scenario).1, Fate::DroppedEncode, share);

            let mut scenario = bare(FRAMES);
            scenario.pacing = poisson();
            set_link(&mut scenario, 8.0, Spread::Exponential);
            scenario.link.buffer = room(frames, when_full);
            assert_fate("before the link", &simulate(&scenario).1, Fate::DroppedLink, share);
        }
    }
}

/// M/M/2/K: two engines that need nothing of each other.
#[test]
fn two_independent_engines_lose_less() {
    for (frames, share) in [(0, 0.329_897), (1, 0.208_809), (2, 0.143_137)] {
        for when_full in DROPS {
            let mut scenario = at_decoder(poisson(), Spread::Exponential, 1.6);
            scenario.decode.engines = 2;
            scenario.stream.references = References::Independent;
            scenario.decode.buffer = room(frames, when_full);
            assert_fate(&format!("room for {frames}"), &simulate(&scenario).1, Fate::DroppedDecode, share);
        }
    }
}

/// M/M/1/2: the share lost is the same, the wait of what is left is not. `rho/(1 + rho)` of the frames served find the
/// server busy; they wait for its end, 1, when the newest goes, and `1/(1 + rho)` when the oldest does: those that stayed
/// longer are replaced (derived here from the memory of the exponential, which has none).
#[test]
fn dropping_the_oldest_keeps_the_frames_fresh() {
    let rho: f64 = 0.8;
    for (when_full, wait) in
        [(WhenFull::DropNewest, rho / (1.0 + rho)), (WhenFull::DropOldest, rho / (1.0 + rho).powi(2))]
    {
        let mut scenario = at_decoder(poisson(), Spread::Exponential, rho);
        scenario.decode.buffer = room(1, when_full);
        let (_, run) = simulate(&scenario);
        let waits: Vec<f64> = run
            .frames
            .iter()
            .filter(|frame| frame.ready.happened())
            .map(|frame| (at(frame.decode_start) - at(frame.arrived)) as f64 / MS / (rho * INTERVAL_MS))
            .collect();
        assert_mean(&format!("{when_full:?}"), &waits, wait, 0.05);
    }
}

/// A decoder too slow for the display at room for one: `1 - T/b` is dropped; without bound frames come `b - T` later
/// each (both derived here).
#[test]
fn constant_overload_drops_what_is_too_much() {
    for (decode_ms, growth_ms, share) in [(13.0, 1.888_889, 0.145_299), (14.0, 2.888_889, 0.206_349)] {
        let mut scenario = at_decoder(periodic(), Spread::Constant, decode_ms / INTERVAL_MS);
        scenario.display.refresh_hz = 90.0;
        scenario.run.frames = 2000;
        let (_, run) = simulate(&scenario);
        let [early, late] = [0, 300].map(|frame| at(run.frames[frame].ready) - at(run.frames[frame].plan));
        assert_near("growth", (late - early) as f64 / MS / 300.0, growth_ms, 1e-6);
        for when_full in DROPS {
            scenario.decode.buffer = room(1, when_full);
            let (_, run) = simulate(&scenario);
            let dropped = run.frames.iter().filter(|frame| frame.fate == Fate::DroppedDecode).count();
            assert_near("dropped", dropped as f64 / 2000.0, share, 2.0 / 2000.0);
        }
    }
}
