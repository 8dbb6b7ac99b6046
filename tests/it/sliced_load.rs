//! Sliced against whole frames when frames queue: Line(6, 4, 3), every stage Gamma(0.3), periodic frames, no drops.
//!
//! No closed form: an independent max-plus recurrence of 1e6 frames, with 95 % half-widths. Tolerance: three times the
//! half-widths of both.

use framelap::engine::{Fate, Pilot};
use framelap::scenario::{HandOff, Lead, Pacing, Scenario, Spread};

use crate::world::{
    MS, assert_near, at, batch_mean, cut, draw_without_bits, line, mean, play, quantile, sd, set_link, simulate,
    stream_ms, stream_ns,
};

fn loaded(refresh_hz: f64, n: u32, frames: u32) -> Scenario {
    let mut scenario = cut(line(refresh_hz, [6.0, 4.0, 3.0], frames), n);
    let spread = Spread::Gamma { cv: 0.3 };
    scenario.encode.work.spread = spread.clone();
    scenario.decode.work.spread = spread.clone();
    set_link(&mut scenario, 4.0, spread);
    scenario
}

/// A value and its half-width.
type Known = (f64, f64);

/// Statistic of all values within three times its half-width there and here, the latter from 20 batches.
#[track_caller]
fn assert_known(what: &str, values: &[f64], statistic: impl Fn(&[f64]) -> f64, (expected, width): Known) {
    let batches: Vec<f64> = values.chunks_exact(values.len() / 20).map(&statistic).collect();
    let own_width = 1.96 * sd(&batches) / 20_f64.sqrt();
    assert!(own_width < 0.08 * expected, "{what}: too noisy, {own_width}");
    assert_near(what, statistic(values), expected, 3.0 * (width + own_width));
}

fn above(ms: f64) -> impl Fn(&[f64]) -> f64 {
    move |values| values.iter().filter(|&&value| value > ms).count() as f64 / values.len() as f64
}

/// Mean, 95 and 99 % quantile and the shares above 10, 12 and 14 ms.
#[track_caller]
fn assert_curve(refresh_hz: f64, n: u32, mean_ms: Known, tail_ms: [Known; 2], above_ms: [f64; 3]) {
    let (_, run) = simulate(&loaded(refresh_hz, n, 120_000));
    assert!(run.frames.iter().all(|frame| frame.fate != Fate::Skipped), "a frame was skipped");
    let values = stream_ms(&run);
    let what = |measure: &str| format!("{measure}, {n} slices, {refresh_hz} Hz");
    assert_known(&what("mean"), &values, mean, mean_ms);
    for (p, known) in [0.95, 0.99].into_iter().zip(tail_ms) {
        assert_known(&what(&format!("{p} quantile")), &values, |values| quantile(values, p), known);
    }
    for (ms, share) in [10.0, 12.0, 14.0].into_iter().zip(above_ms) {
        if share > 0.08 {
            // The half-width of a share of 1e6 frames is not given: that of independent ones, doubled.
            let width = 2.0 * 1.96 * f64::sqrt(share * (1.0 - share) / 1e6);
            assert_known(&what(&format!("above {ms} ms")), &values, above(ms), (share, width));
        }
    }
}

/// Eight slices take 6.0 ms off the mean and 7.1 ms off the 99 % quantile.
#[test]
fn at_three_quarters_load() {
    let curve = |n, mean, p95, p99, above| assert_curve(125.0, n, mean, [p95, p99], above);
    curve(1, (13.333, 0.007), (17.621, 0.020), (19.861, 0.035), [0.929_97, 0.691_23, 0.363_59]);
    curve(2, (9.871, 0.006), (13.537, 0.018), (15.591, 0.031), [0.433_98, 0.144_14, 0.035_35]);
    curve(4, (8.158, 0.005), (11.624, 0.020), (13.656, 0.033), [0.157_31, 0.037_61, 0.007_50]);
    curve(8, (7.304, 0.005), (10.705, 0.021), (12.732, 0.031), [0.084_03, 0.018_21, 0.003_46]);
    curve(16, (6.878, 0.005), (10.257, 0.019), (12.285, 0.030), [0.060_58, 0.012_63, 0.002_37]);
}

/// Nearer to the edge slices take as much off, but the tail that the queue adds stays.
#[test]
fn at_nine_tenths_load() {
    let curve = |n, mean, p95, p99, above| assert_curve(150.0, n, mean, [p95, p99], above);
    curve(1, (14.902, 0.025), (21.33, 0.10), (25.87, 0.20), [0.964_06, 0.809_83, 0.549_09]);
    curve(4, (9.641, 0.024), (15.63, 0.10), (20.17, 0.21), [0.362_74, 0.182_14, 0.089_70]);
    curve(8, (8.779, 0.024), (14.74, 0.10), (19.26, 0.22), [0.267_83, 0.132_69, 0.065_11]);
}

/// With nothing before the encoder the lead that is tuned is the quantile of the latency.
#[test]
fn tuned_leads_are_the_quantiles() {
    for (n, late_share, lead_ms, width_ms) in
        [(1, 0.05, 17.621, 0.020), (1, 0.01, 19.861, 0.035), (8, 0.05, 10.705, 0.021), (8, 0.01, 12.732, 0.031)]
    {
        let mut scenario = loaded(125.0, n, 60_000);
        scenario.pacing = Pacing::Fixed { lead: Lead::Tuned { late_share }, every: 1 };
        let (_, run) = simulate(&scenario);
        let Pilot::Found(lead_ns) = run.pilot else { panic!("no lead found: {:?}", run.pilot) };
        let values = stream_ms(&run);
        // Refreshes, and so the frames' distances, are rounded to whole ns.
        assert_near("lead", lead_ns as f64 / MS, quantile(&values, 1.0 - late_share), 2e-6);
        assert_known("lead", &values, |values| quantile(values, 1.0 - late_share), (lead_ms, width_ms));
    }
}

/// Slices that move on together are a whole frame, also in a queue.
#[test]
fn slices_handed_on_together_are_a_whole_frame() {
    let whole = stream_ms(&simulate(&loaded(125.0, 1, 5000)).1);
    let mut scenario = loaded(125.0, 8, 5000);
    scenario.encode.hand_off = HandOff::Frame;
    scenario.link.hand_off = HandOff::Frame;
    let together = stream_ms(&simulate(&scenario).1);
    // Up to a ns a slice and stage, and more while frames queue behind each other.
    for (whole, together) in whole.iter().zip(&together) {
        assert_near("together", *together, *whole, 400e-6);
    }
    let own = stream_ms(&simulate(&loaded(125.0, 8, 5000)).1);
    assert!(batch_mean(&own).0 < 8.0);
}

/// A line of stages that serve whole frames in order, by the recurrence `C[k][s] = max(C[k][s-1], C[k-1][s]) + t[k][s]`
/// (Tembe and Wolff, Oper. Res. 22 (1974) 824-832): every frame to the nanosecond.
#[test]
fn whole_frames_follow_the_tandem_recurrence() {
    let mut scenario = loaded(150.0, 1, 20_000);
    scenario.link.delay.fixed_ms = 0.0;
    let (table, run) = simulate(&scenario);
    let mut free = [0_i64; 3];
    for (work, frame) in table.frames.iter().zip(&run.frames) {
        let link_ns = (((work.bits + 7) / 8) as f64 * 1.6).round() as i64;
        let mut now = at(frame.rendered);
        for (free, service_ns) in free.iter_mut().zip([work.encode_ns, link_ns, work.decode_ns]) {
            now = now.max(*free) + service_ns;
            *free = now;
        }
        assert_eq!(at(frame.ready), now);
    }
}

/// No slice count makes a frame that meets others faster than the same frame alone.
#[test]
fn queueing_only_adds() {
    for n in [1, 4, 16] {
        let scenario = loaded(150.0, n, 3000);
        let (table, run) = simulate(&scenario);
        let mut far_apart = scenario.clone();
        far_apart.pacing = Pacing::Fixed { lead: Lead::Ms(20.0), every: 8 };
        let alone = play(&far_apart, &table);
        let mut waited = 0;
        for (crowded, alone) in run.frames.iter().zip(&alone.frames) {
            assert!(stream_ns(crowded) >= stream_ns(alone));
            waited += u32::from(stream_ns(crowded) > stream_ns(alone));
        }
        assert!(waited > 1000, "hardly a frame met another");
    }
}

/// A link that takes no time leaves encoder and decoder.
#[test]
fn an_empty_link_leaves_two_stages() {
    let scenario = cut(line(125.0, [6.0, 0.0, 3.0], 10), 4);
    let run = play(&scenario, &draw_without_bits(&scenario));
    assert_near("two stages", stream_ns(&run.frames[5]) as f64 / MS, 6.75, 8e-6);
}
