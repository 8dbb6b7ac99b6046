//! Waiting: with one stage that takes time, the pipeline is a queue of the textbooks.
//!
//! Formulas: Kleinrock, Queueing Systems I (1975); Gross and Harris, Fundamentals of Queueing Theory. Their numbers were
//! computed with mpmath and agree with a Lindley recursion of 8e6 customers; times in units of the mean service.

use framelap::engine::Run;
use framelap::scenario::{Lead, Pacing, References, Scenario, Spread};
use framelap::work::WorkTable;

use crate::world::{
    MS, assert_mean, assert_near, assert_share, at, batch_mean, cut, decode_queue, draw_without_bits, intervals, line,
    mean, play, set_link, simulate,
};

/// Mean time between frames in the queues here \[ms\].
const INTERVAL_MS: f64 = 10.0;

/// The empty start is forgotten by then.
const FORGOTTEN: usize = 1000;

/// A frame every 10 ms, by the display's own clock.
fn periodic() -> Pacing {
    Pacing::Fixed { lead: Lead::Ms(5.0), every: 1 }
}

fn poisson() -> Pacing {
    intervals(INTERVAL_MS, Spread::Exponential)
}

/// A queue at the decoder at load `rho`.
fn queue(pacing: Pacing, service: Spread, rho: f64, frames: u32) -> Scenario {
    let mut scenario = decode_queue(frames, pacing, rho * INTERVAL_MS, service);
    scenario.display.refresh_hz = 100.0;
    scenario
}

/// Waits before decode after the start \[mean services\].
fn waits(run: &Run, service_ms: f64) -> Vec<f64> {
    let wait = |frame: &framelap::engine::FrameRecord| (at(frame.decode_start) - at(frame.arrived)) as f64;
    run.frames[FORGOTTEN..].iter().map(|frame| wait(frame) / MS / service_ms).collect()
}

/// Times from arrival to ready after the start \[mean services\].
fn sojourns(run: &Run, service_ms: f64) -> Vec<f64> {
    let sojourn = |frame: &framelap::engine::FrameRecord| (at(frame.ready) - at(frame.arrived)) as f64;
    run.frames[FORGOTTEN..].iter().map(|frame| sojourn(frame) / MS / service_ms).collect()
}

/// What theory says of a queue.
struct Theory {
    rho: f64,
    mean_wait: f64,
    /// P(W > 5).
    long_wait: Option<f64>,
    /// 95 and 99 % quantiles of the sojourn.
    tail: Option<[f64; 2]>,
}

fn theory(rho: f64, mean_wait: f64, long_wait: f64, tail: [f64; 2]) -> Theory {
    Theory { rho, mean_wait, long_wait: Some(long_wait), tail: Some(tail) }
}

fn only_mean(rho: f64, mean_wait: f64) -> Theory {
    Theory { rho, mean_wait, long_wait: None, tail: None }
}

/// Each measure within four standard errors by batch means; these at most a sixteenth of a mean, an eighth of a tail.
fn assert_queue(pacing: &Pacing, service: &Spread, expected: &Theory) {
    let rho = expected.rho;
    let what = |measure: &str| format!("{measure} of {pacing:?}, {service:?}, load {rho}");
    let (_, run) = simulate(&queue(pacing.clone(), service.clone(), rho, 300_000));
    let waits = waits(&run, rho * INTERVAL_MS);
    assert_mean(&what("mean wait"), &waits, expected.mean_wait, 0.25);
    if let Some(share) = expected.long_wait {
        assert_share(&what("P(W > 5)"), waits.iter().map(|&wait| wait > 5.0), share, 0.5);
    }
    let sojourns = sojourns(&run, rho * INTERVAL_MS);
    for (quantile, share) in expected.tail.into_iter().flatten().zip([0.05, 0.01]) {
        assert_share(&what("tail"), sojourns.iter().map(|&sojourn| sojourn > quantile), share, 0.75);
    }
}

/// `W = rho/(1 - rho)`; the sojourn is exponential.
#[test]
fn exponential_service() {
    assert_queue(&poisson(), &Spread::Exponential, &theory(0.5, 1.0, 0.041_042, [5.991_465, 9.210_340]));
    assert_queue(&poisson(), &Spread::Exponential, &theory(0.8, 4.0, 0.294_304, [14.978_661, 23.025_851]));
}

/// The variance of the mean wait over N frames is `rho (2 + 5 rho - 4 rho^2 + rho^3)/(1 - rho)^4 / N` (Daley, J.
/// Austral. Math. Soc. 8 (1968) 683-699; Whitt, Manag. Sci. 35 (1989) 1341-1366); at 0.7 of 10 ms the time in system is
/// 23.33 ms.
#[test]
fn exponential_service_to_its_known_error() {
    for rho in [0.5, 0.7, 0.8_f64] {
        let (_, run) = simulate(&queue(poisson(), Spread::Exponential, rho, 400_000));
        let sojourns = sojourns(&run, rho * INTERVAL_MS);
        let variance = rho * (2.0 + 5.0 * rho - 4.0 * rho.powi(2) + rho.powi(3)) / (1.0 - rho).powi(4);
        let error = (variance / sojourns.len() as f64).sqrt();
        assert_near(&format!("load {rho}"), mean(&sojourns), 1.0 / (1.0 - rho), 4.0 * error);
    }
}

/// Pollaczek and Khinchine: half the wait of exponential service. Tails by Erlang's sum.
#[test]
fn constant_service() {
    assert_queue(&poisson(), &Spread::Constant, &theory(0.5, 0.5, 0.001_236, [3.050_638, 4.336_256]));
    assert_queue(&poisson(), &Spread::Constant, &theory(0.8, 2.0, 0.100_497, [7.620_325, 11.355_887]));
}

/// `sigma = exp(-(1 - sigma)/rho)`; the sojourn is exponential of rate 1 - sigma.
#[test]
fn periodic_frames_with_exponential_service() {
    assert_queue(&periodic(), &Spread::Exponential, &theory(0.5, 0.255_001, 0.003_781, [3.759_647, 5.779_493]));
    assert_queue(&periodic(), &Spread::Exponential, &theory(0.8, 1.692_731, 0.098_169, [8.066_701, 12.400_484]));
}

/// Pollaczek and Khinchine: `W = rho (1 + cv^2) / (2 (1 - rho))`. Tails by inversion of the transform.
#[test]
fn general_service() {
    let gamma = |rho, cv, wait, tail| {
        let expected = Theory { rho, mean_wait: wait, long_wait: None, tail: Some(tail) };
        assert_queue(&poisson(), &Spread::Gamma { cv }, &expected);
    };
    gamma(0.5, 0.5, 0.625, [3.837_86, 5.592_57]);
    gamma(0.8, 0.5, 2.5, [9.476_22, 14.286_52]);
    gamma(0.8, 0.2, 2.08, [7.918_56, 11.825_82]);
    assert_queue(&poisson(), &Spread::LogNormal { cv: 0.3 }, &only_mean(0.5, 0.545));
    assert_queue(&poisson(), &Spread::LogNormal { cv: 0.3 }, &only_mean(0.8, 2.18));
}

/// The usual case of a headset: periodic frames, jittered service. No closed form: a Lindley recursion of 8e6 frames.
#[test]
fn periodic_frames_with_jittered_service() {
    for (cv, rho, mean_wait, waiting, p99) in [
        (0.3, 0.8, 0.074_43, 0.2691, 2.110),
        (0.5, 0.8, 0.3188, 0.4457, 3.872),
        (0.1, 0.9, 0.010_82, 0.1666, 1.2824),
        (0.3, 0.9, 0.2783, 0.5592, 3.033),
    ] {
        let what = format!("cv {cv}, load {rho}");
        let (_, run) = simulate(&queue(periodic(), Spread::Gamma { cv }, rho, 300_000));
        let waits = waits(&run, rho * INTERVAL_MS);
        assert_mean(&what, &waits, mean_wait, 0.15);
        assert_share(&what, waits.iter().map(|&wait| wait > 0.0), waiting, 0.05);
        let sojourns = sojourns(&run, rho * INTERVAL_MS);
        assert_share(&what, sojourns.iter().map(|&sojourn| sojourn > p99), 0.01, 0.6);
    }
}

/// Kingman (Some inequalities for the queue GI/G/1, Biometrika 49, 1962): the mean wait is at most
/// `(var interval + var service) / (2 interval (1 - rho))`.
#[test]
fn mean_wait_keeps_below_kingmans_bound() {
    for rho in [0.5, 0.8, 0.9] {
        for (pacing, interval_cv) in [
            (periodic(), 0.0),
            (intervals(INTERVAL_MS, Spread::Gamma { cv: 0.3 }), 0.3),
            (intervals(INTERVAL_MS, Spread::LogNormal { cv: 0.5 }), 0.5),
            (poisson(), 1.0),
        ] {
            for cv in [0.1, 0.3, 0.5, 1.0_f64] {
                let (_, run) = simulate(&queue(pacing.clone(), Spread::Gamma { cv }, rho, 30_000));
                let (wait, _) = batch_mean(&waits(&run, 1.0));
                let variance = (interval_cv * INTERVAL_MS).powi(2) + (cv * rho * INTERVAL_MS).powi(2);
                let bound = variance / (2.0 * INTERVAL_MS * (1.0 - rho));
                assert!(wait <= bound, "{pacing:?}, cv {cv}, load {rho}: {wait} ms above {bound} ms");
                assert!(wait > 0.0 || bound < 0.1, "{pacing:?}, cv {cv}, load {rho}: nothing waits");
            }
        }
    }
}

/// Lindley (The theory of queues with a single server, 1952): `W[k+1] = max(0, W[k] + S[k] - A[k])`. To the nanosecond.
fn lindley_ns(table: &WorkTable) -> Vec<i64> {
    let mut wait = 0;
    table
        .frames
        .iter()
        .map(|frame| {
            let now = wait;
            wait = i64::max(0, wait + frame.decode_ns - frame.interval_ns);
            now
        })
        .collect()
}

#[test]
fn every_wait_is_lindleys() {
    for service in [Spread::Exponential, Spread::Constant, Spread::Gamma { cv: 0.4 }] {
        for n in [1, 4] {
            let scenario = cut(queue(poisson(), service.clone(), 0.9, 20_000), n);
            let table = draw_without_bits(&scenario);
            let run = play(&scenario, &table);
            for (frame, wait_ns) in run.frames.iter().zip(lindley_ns(&table)) {
                assert_eq!(at(frame.decode_start) - at(frame.arrived), wait_ns);
            }
        }
    }
}

/// Little (A proof for the queuing formula L = lambda W, 1961) over the whole run, which starts and ends empty: the
/// integral of the number in system is the sum of the sojourns; and a decoder that never idles while there is a frame
/// works as long as the system is not empty. Arrivals and sojourns are those of the table, departures those of the run.
#[test]
fn number_in_system_obeys_little_to_the_nanosecond() {
    let scenario = queue(poisson(), Spread::Exponential, 0.8, 50_000);
    let table = draw_without_bits(&scenario);
    let run = play(&scenario, &table);

    let mut changes = Vec::new();
    let mut arrival_ns = 0;
    for (work, frame) in table.frames.iter().zip(&run.frames) {
        changes.extend([(arrival_ns, 1), (at(frame.ready), -1)]);
        arrival_ns += work.interval_ns;
    }
    changes.sort_unstable();
    let (mut area, mut occupied_ns, mut inside, mut since) = (0_i64, 0_i64, 0_i64, 0_i64);
    for (ns, change) in changes {
        area += inside * (ns - since);
        occupied_ns += if inside > 0 { ns - since } else { 0 };
        (inside, since) = (inside + change, ns);
    }
    let work_ns: i64 = table.frames.iter().map(|frame| frame.decode_ns).sum();
    assert_eq!(area, lindley_ns(&table).iter().sum::<i64>() + work_ns);
    assert_eq!(occupied_ns, work_ns);
    assert_eq!(inside, 0);
}

/// Poisson arrivals see time averages (Wolff, Oper. Res. 30 (1982) 223-231): a frame finds n before it with probability
/// `(1 - rho) rho^n`.
#[test]
fn frames_find_a_geometric_number_before_them() {
    let rho: f64 = 0.7;
    let (_, run) = simulate(&queue(poisson(), Spread::Exponential, rho, 300_000));
    let ready: Vec<i64> = run.frames.iter().map(|frame| at(frame.ready)).collect();
    let mut gone = 0;
    let found = run.frames.iter().enumerate().map(|(k, frame)| {
        while gone < k && ready[gone] <= at(frame.arrived) {
            gone += 1;
        }
        k - gone
    });
    let found: Vec<usize> = found.collect();
    for n in 0..5_usize {
        let expected = (1.0 - rho) * rho.powi(n as i32);
        assert_share(&format!("{n} before"), found.iter().map(|&before| before == n), expected, 0.1);
    }
}

/// Burke (The output of a queuing system, Oper. Res. 4, 1956): what leaves M/M/1 is Poisson again, so a second queue
/// behind it is M/M/1 too: 10/(1 - 0.8) and 8/(1 - 0.64) ms.
#[test]
fn a_queue_behind_a_queue_is_as_if_alone() {
    let mut scenario = decode_queue(400_000, intervals(12.5, Spread::Exponential), 8.0, Spread::Exponential);
    set_link(&mut scenario, 10.0, Spread::Exponential);
    let (_, run) = simulate(&scenario);
    let frames = &run.frames[FORGOTTEN..];
    let link: Vec<f64> = frames.iter().map(|frame| (at(frame.arrived) - at(frame.encoded)) as f64 / MS).collect();
    assert_mean("link", &link, 50.0, 0.15);
    assert_mean("decoder", &sojourns(&run, 1.0), 22.222_22, 0.05);

    let mut gaps: Vec<f64> =
        frames.windows(2).map(|pair| (at(pair[1].arrived) - at(pair[0].arrived)) as f64 / MS / 12.5).collect();
    let n = gaps.len() as f64;
    let products: Vec<f64> = gaps.windows(2).map(|pair| (pair[0] - 1.0) * (pair[1] - 1.0)).collect();
    assert_near("correlation of successive departures", mean(&products), 0.0, 4.0 / n.sqrt());
    // Kolmogorov and Smirnov, alpha 0.001: 1.94947/sqrt(n).
    gaps.sort_by(f64::total_cmp);
    let distance = gaps
        .iter()
        .enumerate()
        .map(|(i, gap)| {
            let expected = 1.0 - (-gap).exp();
            f64::max(expected - i as f64 / n, (i + 1) as f64 / n - expected)
        })
        .fold(0.0, f64::max);
    assert!(distance < 1.949_47 / n.sqrt(), "departures are not Poisson: {distance}");
}

/// Erlang C: two engines that need nothing of each other, waits `1.777778` services at load 0.8.
#[test]
fn two_independent_engines() {
    for (rho, waiting, mean_wait) in [(0.5, 0.333_333, 0.333_333), (0.8, 0.711_111, 1.777_778)] {
        let service_ms = 2.0 * rho * INTERVAL_MS;
        let mut scenario = decode_queue(400_000, poisson(), service_ms, Spread::Exponential);
        scenario.decode.engines = 2;
        scenario.stream.references = References::Independent;
        let (_, run) = simulate(&scenario);
        let waits = waits(&run, service_ms);
        assert_mean(&format!("load {rho}"), &waits, mean_wait, 0.2);
        assert_share(&format!("load {rho}"), waits.iter().map(|&wait| wait > 0.0), waiting, 0.05);
    }
}

/// A frame that needs the one before it gains nothing from further engines.
#[test]
fn engines_bound_by_references_are_one() {
    let mut scenario = queue(poisson(), Spread::Exponential, 0.8, 5000);
    let table = draw_without_bits(&scenario);
    let alone = play(&scenario, &table);
    scenario.decode.engines = 3;
    for references in [References::Frame, References::Bands { reach: 0 }, References::Bands { reach: 5 }] {
        scenario.stream.references = references;
        let run = play(&scenario, &table);
        assert!(run.frames == alone.frames && run.slices == alone.slices, "{references:?}");
    }
    scenario.stream.references = References::Independent;
    assert!(play(&scenario, &table).frames != alone.frames);
}

/// A stream of constant frames on a constant line waits for nothing while the bottleneck keeps up.
#[test]
fn constant_line_at_high_load_does_not_wait() {
    for n in [1, 8] {
        let (_, run) = simulate(&cut(line(90.0, [11.0, 4.0, 3.0], 2000), n));
        let expected = 11.0 + 7.0 / f64::from(n);
        for frame in &run.frames {
            assert_near("stream", (at(frame.ready) - at(frame.rendered)) as f64 / MS, expected, 3e-6 * f64::from(n));
        }
    }
}
