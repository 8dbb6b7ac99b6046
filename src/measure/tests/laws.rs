//! Two laws that hold on every path, without chance or steadiness, when both edges of the window are clipped: the
//! utilisation law, and Little's law (J. D. C. Little, Oper. Res. 9, 1961; for a finite window: S. Stidham, Oper. Res.
//! 22, 1974).

use super::every_drawn;
use crate::engine::{Run, Stamp};
use crate::measure::{Server, summarize};
use crate::scenario::{HandOff, Scenario};

/// A stay at a stage from coming to leaving \[ns\]; what has not left by the end of the run stays until then.
type Stay = (i64, i64);

fn stay(run: &Run, from: Stamp, to: Stamp) -> Option<Stay> {
    Some((from.ns()?, to.ns().unwrap_or(run.end_ns)))
}

/// Integral over a window of how many stays there are at a time, by walking along time; and the most at one time.
fn integral(stays: &[Stay], window: Stay) -> (i64, i64) {
    let mut changes: Vec<(i64, i64)> = stays.iter().flat_map(|&(from, to)| [(from, 1), (to, -1)]).collect();
    // At one instant those that leave leave first.
    changes.sort_unstable();
    let (mut there, mut most, mut sum, mut since) = (0, 0, 0, window.0);
    for (at, change) in changes {
        let until = at.clamp(window.0, window.1);
        sum += there * (until - since);
        since = until;
        there += change;
        // A stay of no length leaves before it comes in this order; it makes no difference to any sum.
        most = most.max(there);
    }
    (sum, most)
}

/// Sum of the stays' lengths within a window.
fn clipped(stays: &[Stay], window: Stay) -> i64 {
    stays.iter().map(|&(from, to)| (to.min(window.1) - from.max(window.0)).max(0)).sum()
}

/// Services of every server.
fn services(run: &Run, server: Server) -> Vec<Stay> {
    let frames = run.frames.iter();
    let slices = run.slices.all().records();
    let stay = |from, to| stay(run, from, to);
    match server {
        Server::Cpu => frames.filter_map(|frame| stay(frame.start, frame.simulated)).collect(),
        Server::Gpu => frames.filter_map(|frame| stay(frame.render_start, frame.rendered)).collect(),
        Server::Encoder => slices.filter_map(|slice| stay(slice.encode_start, slice.encode_end)).collect(),
        Server::Link => {
            let first = slices.filter_map(|slice| stay(slice.link_start, slice.link_end));
            first.chain(run.resends.iter().filter_map(|resend| stay(resend.link_start, resend.link_end))).collect()
        }
        Server::Decoder => slices.filter_map(|slice| stay(slice.decode_start, slice.decode_end)).collect(),
    }
}

/// First counted plan to a frame period after the last.
fn window(scenario: &Scenario, run: &Run) -> Option<Stay> {
    let plans = || run.frames[scenario.run.warmup as usize..].iter().filter_map(|frame| frame.plan.ns());
    Some((plans().min()?, plans().max()? + scenario.frame_period_ns().round() as i64))
}

#[test]
fn busy_share_is_throughput_times_mean_service_on_every_server() {
    every_drawn(|scenario, table, run| {
        let window = window(scenario, run).unwrap();
        let busy = summarize(scenario, table, run).busy;
        for server in Server::ALL {
            let engines = match server {
                Server::Encoder => i64::from(scenario.encode.engines),
                Server::Decoder => i64::from(scenario.decode.engines),
                Server::Cpu | Server::Gpu | Server::Link => 1,
            };
            let services: Vec<Stay> = services(run, server).into_iter().filter(|&(from, to)| from < to).collect();
            let (in_service_ns, most) = integral(&services, window);
            assert!(most <= engines, "{}: {most} in service at the {}", scenario.name, server.label());
            let within: Vec<Stay> =
                services.into_iter().filter(|&(from, to)| to > window.0 && from < window.1).collect();
            let span_ns = (window.1 - window.0) as f64;
            let throughput = within.len() as f64 / span_ns;
            let mean_service_ns = clipped(&within, window) as f64 / within.len().max(1) as f64;
            let found = busy.of(server).unwrap();
            for expected in [throughput * mean_service_ns, in_service_ns as f64 / span_ns] {
                assert!(
                    (found - expected / engines as f64).abs() < 1e-9,
                    "{}: {} busy {found}, not {expected}",
                    scenario.name,
                    server.label()
                );
            }
        }
    });
}

/// Stays of slices at encoder, link and decoder, pipelines and waits included, and of frames from plan to ready.
fn stays_of_stages(scenario: &Scenario, run: &Run) -> [Vec<Stay>; 4] {
    let mut stays: [Vec<Stay>; 4] = Default::default();
    for (frame, record) in run.frames.iter().enumerate() {
        if record.ready.happened() {
            stays[3].extend(stay(run, record.plan, record.ready));
        }
        let slices = run.slices_of(frame);
        let last = slices.at(slices.len() - 1).record();
        for slice in slices.records().filter(|slice| slice.decode_out.happened()) {
            let to_link = if scenario.encode.hand_off == HandOff::Frame { last.encode_out } else { slice.encode_out };
            let to_decoder = if scenario.link.hand_off == HandOff::Frame { last.arrive } else { slice.arrive };
            stays[0].extend(stay(run, slice.come, slice.encode_out));
            stays[1].extend(stay(run, to_link, slice.arrive));
            stays[2].extend(stay(run, to_decoder, slice.decode_out));
        }
    }
    stays
}

#[test]
fn number_there_is_rate_times_time_spent_on_every_stage() {
    every_drawn(|scenario, _, run| {
        let window = window(scenario, run).unwrap();
        let span_ns = (window.1 - window.0) as f64;
        for stays in stays_of_stages(scenario, run) {
            assert!(stays.iter().all(|&(from, to)| from <= to), "{}: a stay ends before it begins", scenario.name);
            let within: Vec<Stay> =
                stays.iter().copied().filter(|&(from, to)| to > window.0 && from < window.1).collect();
            let mean_number = integral(&stays, window).0 as f64 / span_ns;
            let rate = within.len() as f64 / span_ns;
            let mean_stay_ns = clipped(&within, window) as f64 / within.len().max(1) as f64;
            assert!((mean_number - rate * mean_stay_ns).abs() < 1e-9, "{}", scenario.name);
        }
    });
}
