//! The columns of a frame, by hand where nothing varies, by statistics where it does.

use super::{assert_share, column, correlation, deviation, mean, steady};
use crate::scenario::{Delay, Layout, Pacing, Shape, Spread, Stall};
use crate::time::ms_to_ns;
use crate::work::draw;

#[test]
fn costs_without_chance_are_fixed_pixels_and_bits() {
    let mut scenario = steady(10);
    // 1000 x 1000 px, 1 Mbit a frame.
    scenario.display.eye_px = (1000, 1000);
    scenario.display.eyes = 1;
    scenario.display.refresh_hz = 100.0;
    scenario.stream.bitrate_mbps = 100.0;
    scenario.host.simulate.fixed_ms = 1.0;
    scenario.host.simulate.per_mpx_ms = 0.25;
    scenario.pose.uplink.fixed_ms = 0.3;
    let table = draw(&scenario);
    assert_eq!(table.frames.len(), 10);
    let frame = table.frames[9];
    assert_eq!(frame.bits, 1_000_000);
    assert_eq!(frame.simulate_ns, 1_250_000);
    assert_eq!(frame.render_ns, 1_100_000, "0.5 + 0.6");
    assert_eq!(frame.encode_ns, 600_000, "0.5 + 0.1");
    assert_eq!(frame.decode_ns, 1_000_000, "0.6 + 0.4");
    assert_eq!((frame.uplink_ns, frame.link_delay_ns, frame.interval_ns), (300_000, 100_000, 0));
    assert_eq!(frame.clock_error_ns, 0);
    assert!(table.compose_ns.iter().all(|&ns| ns == 2_000_000));
    assert!(table.closures.is_empty() && table.losses.rows().is_empty());
}

#[test]
fn layouts_render_code_and_resample_their_own_pixels() {
    let mut scenario = steady(10);
    scenario.display.eye_px = (1000, 1000);
    scenario.display.eyes = 1;
    scenario.pixels.resample_per_mpx_ms = 2.0;
    scenario.pixels.layout = Layout::Uniform { scale: 0.5 };
    let half = draw(&scenario).frames[0];
    // 0.25 Mpx rendered and coded: 0.5 + 0.6 * 0.25 + 2 * 0.25.
    assert_eq!(half.render_ns, ms_to_ns(1.15));
    scenario.pixels.layout = Layout::Foveated { center: 0.2, edge_density: 0.5 };
    // Each axis keeps 0.2 + 0.8 * 0.75 = 0.8: 0.64 Mpx coded, 1 Mpx rendered.
    assert_eq!(draw(&scenario).frames[0].render_ns, ms_to_ns(0.5 + 0.6 + 2.0 * 0.64));
}

#[test]
fn bits_follow_intra_penalty_and_rate_control() {
    let mut scenario = steady(10);
    scenario.stream.bitrate_mbps = 90.0;
    scenario.stream.intra.every = Some(4);
    scenario.stream.intra.factor = 2.5;
    let bits = |scenario: &_| column(&draw(scenario), |frame| frame.bits);
    assert_eq!(bits(&scenario)[..6], [2_500_000, 1_000_000, 1_000_000, 1_000_000, 2_500_000, 1_000_000]);
    assert_eq!(column(&draw(&scenario), |frame| u8::from(frame.intra)), [1, 0, 0, 0, 1, 0, 0, 0, 1, 0]);
    // Seven more slices of 1 % each.
    scenario.slices.bits_penalty_pct = 1.0;
    assert_eq!(bits(&scenario)[..2], [2_675_000, 1_070_000]);
    // The first frame may have 1.5 Mbit; 0.5 stay in the buffer and leave room for 1 each.
    scenario.stream.vbv_frames = 1.5;
    assert_eq!(bits(&scenario)[..6], [1_500_000, 1_000_000, 1_000_000, 1_000_000, 1_000_000, 1_000_000]);
    scenario.stream.vbv_frames = 2.0;
    // 2.675 clamped to 2; 1 stays and leaves room for 1 each.
    assert_eq!(bits(&scenario)[..3], [2_000_000, 1_000_000, 1_000_000]);
    // Never less than a tenth of the target.
    scenario.stream.size = Spread::Samples(vec![0.001]);
    assert_eq!(bits(&scenario)[1], 100_000);
}

#[test]
fn rate_control_drains_what_a_small_frame_leaves() {
    let mut scenario = steady(10);
    scenario.stream.bitrate_mbps = 90.0;
    scenario.stream.intra.factor = 2.5;
    scenario.stream.vbv_frames = 1.5;
    scenario.stream.size = Spread::Samples(vec![0.8]);
    // 2 clamped to 1.5 leaves 0.5; then 0.8 each leave 0.3, 0.1.
    assert_eq!(column(&draw(&scenario), |frame| frame.bits)[..3], [1_500_000, 800_000, 800_000]);
    scenario.stream.intra.every = Some(3);
    // Frame 3 draws 2 and finds 0.1 in the buffer.
    assert_eq!(column(&draw(&scenario), |frame| frame.bits)[3], 1_400_000);
}

#[test]
fn clock_drifts_between_synchronisations() {
    let mut scenario = steady(250);
    scenario.display.refresh_hz = 100.0;
    scenario.clock.drift_ppm = 20.0;
    let drift = column(&draw(&scenario), |frame| frame.clock_error_ns);
    assert_eq!([drift[0], drift[50], drift[99], drift[150]], [0, 10_000, 19_800, 10_000]);
    scenario.clock.resync_s = 0.0;
    assert!(column(&draw(&scenario), |frame| frame.clock_error_ns).iter().all(|&ns| ns == 0), "no drift term");
    scenario.clock.error_us = 50.0;
    let errors = column(&draw(&scenario), |frame| frame.clock_error_ns);
    assert!(errors[0] != 0 && errors.iter().all(|&ns| ns == errors[0]), "one error for the run");
}

#[test]
fn clock_errors_are_drawn_once_an_epoch() {
    let mut scenario = steady(20_000);
    scenario.display.refresh_hz = 100.0;
    scenario.clock.error_us = 50.0;
    scenario.clock.resync_s = 0.1;
    let errors = column(&draw(&scenario), |frame| frame.clock_error_ns);
    let epochs: Vec<f64> = errors.chunks(10).map(|epoch| epoch[5] as f64).collect();
    assert!(errors.chunks(10).all(|epoch| epoch[1..9].iter().all(|error| *error == epoch[5])));
    // 2000 errors: standard error of a deviation sd / sqrt(2n).
    assert!((deviation(&epochs) - 50_000.0).abs() < 4.0 * 50_000.0 / 4000_f64.sqrt());
    assert!(mean(&epochs).abs() < 4.0 * 50_000.0 / 2000_f64.sqrt());
}

/// AR(1) of a log-normal: acf(h) = (exp(phi^h s^2) - 1) / (exp(s^2) - 1), s^2 = ln(1 + cv^2); innovation sd of the log
/// s sqrt(1 - phi^2) (Granger and Newbold, Forecasting transformed series, JRSS B 38 (1976)).
#[test]
fn content_is_a_log_normal_ar_1() {
    for (cv, memory, lags) in
        [(0.3, 0.9, [(1, 0.896_078), (10, 0.338_937)]), (0.1, 0.99, [(1, 0.989_951), (100, 0.364_878)])]
    {
        let mut scenario = steady(400_000);
        scenario.host.simulate.fixed_ms = 50.0;
        scenario.host.simulate.content = 1.0;
        scenario.content.cv = cv;
        scenario.content.memory = memory;
        let content = column(&draw(&scenario), |frame| frame.simulate_ns as f64 / 50e6);
        let sigma = (1.0_f64 + cv * cv).ln().sqrt();
        let logs: Vec<f64> = content.iter().map(|value| value.ln() + sigma * sigma / 2.0).collect();
        let news: Vec<f64> = logs.array_windows().map(|[before, after]| after - memory * before).collect();
        let (count, expected) = (news.len() as f64, sigma * (1.0_f64 - memory * memory).sqrt());
        assert!((deviation(&news) / expected - 1.0).abs() < 4.0 / (2.0 * count).sqrt(), "innovations");
        assert!(correlation(&news[1..], &news[..news.len() - 1]).abs() < 4.0 / count.sqrt(), "independent");
        assert!(correlation(&news, &logs[..logs.len() - 1]).abs() < 4.0 / count.sqrt(), "of the past");
        for (lag, acf) in lags {
            let found = correlation(&content[lag..], &content[..content.len() - lag]);
            assert!((found - acf).abs() < 0.02, "acf({lag}) = {found}, expected {acf}");
        }
        // Means of AR(1) vary (1 + phi) / (1 - phi) times as much.
        let inflated = ((1.0 + memory) / (1.0 - memory)).sqrt();
        assert!((mean(&content) - 1.0).abs() < 4.0 * cv * inflated / count.sqrt());
    }
}

#[test]
fn content_starts_in_its_stationary_law() {
    let mut scenario = steady(10);
    scenario.host.simulate.fixed_ms = 50.0;
    scenario.host.simulate.content = 1.0;
    scenario.content.cv = 0.3;
    let first: Vec<f64> = (0..2000)
        .map(|seed| {
            scenario.run.seed = seed;
            (draw(&scenario).frames[0].simulate_ns as f64 / 50e6).ln()
        })
        .collect();
    // s = sqrt(ln(1 + 0.3^2)) = 0.293 560 38; standard errors s / sqrt(n) and s / sqrt(2n).
    let sigma = 0.293_560_38;
    assert!((deviation(&first) - sigma).abs() < 4.0 * sigma / 4000_f64.sqrt());
    assert!((mean(&first) + sigma * sigma / 2.0).abs() < 4.0 * sigma / 2000_f64.sqrt());
}

#[test]
fn content_scales_each_cost_as_strongly_as_it_says() {
    let mut scenario = steady(50);
    scenario.content.cv = 0.5;
    scenario.host.simulate.fixed_ms = 10.0;
    scenario.host.simulate.content = 1.0;
    scenario.host.render.fixed_ms = 10.0;
    scenario.host.render.per_mpx_ms = 0.0;
    scenario.host.render.content = 0.25;
    for frame in draw(&scenario).frames {
        let complexity = frame.simulate_ns as f64 / 10e6;
        let expected = 10e6 * (1.0 + 0.25 * (complexity - 1.0));
        assert!((frame.render_ns as f64 - expected).abs() <= 1.0);
    }
}

#[test]
fn stalls_come_with_their_chance_and_mean() {
    let mut scenario = steady(100_000);
    scenario.host.simulate.stall = Stall { chance: 0.02, mean_ms: 3.0 };
    let stalls: Vec<f64> = column(&draw(&scenario), |frame| frame.simulate_ns as f64 / 1e6 - 2.0);
    let stalled: Vec<f64> = stalls.iter().copied().filter(|ms| *ms > 0.0).collect();
    assert_share(stalled.len(), stalls.len(), 0.02);
    assert!((mean(&stalled) - 3.0).abs() < 4.0 * 3.0 / (stalled.len() as f64).sqrt());
    assert!((deviation(&stalled) / 3.0 - 1.0).abs() < 0.15, "exponential: deviation as large as the mean");
}

#[test]
fn delays_vary_above_their_fixed_part() {
    let mut scenario = steady(50_000);
    scenario.link.delay = Delay { fixed_ms: 0.4, jitter_ms: 0.2, spread: Spread::Exponential };
    let jitter = column(&draw(&scenario), |frame| frame.link_delay_ns as f64 / 1e6 - 0.4);
    assert!(jitter.iter().all(|ms| *ms >= -1e-9));
    assert!((mean(&jitter) - 0.2).abs() < 4.0 * 0.2 / 50_000_f64.sqrt());
}

#[test]
fn intervals_have_their_mean_and_reach() {
    let mut scenario = steady(20_000);
    scenario.pacing = Pacing::Intervals { mean_ms: 10.0, spread: Spread::Exponential };
    let table = draw(&scenario);
    let intervals = column(&table, |frame| frame.interval_ns as f64 / 1e6);
    assert!((mean(&intervals) - 10.0).abs() < 4.0 * 10.0 / 20_000_f64.sqrt());
    let end_ns = intervals.iter().sum::<f64>() * 1e6 + 1e9;
    assert!(table.compose_ns.len() as f64 * scenario.refresh_period_ns() > end_ns, "a second after the last plan");
}

#[test]
fn rows_are_shared_by_shape() {
    let mut scenario = steady(10);
    scenario.slices.count = 3;
    scenario.slices.block_px = 64;
    // 2176 rows of pixels are 34 block rows: borders at 0, 11, 22, 34.
    assert_eq!(draw(&scenario).row_shares.of(0), [11.0 / 34.0, 11.0 / 34.0, 12.0 / 34.0]);
    scenario.slices.shape = Shape::Geometric { ratio: 0.5 };
    assert_eq!(draw(&scenario).row_shares.of(5), [1.0 / 1.75, 0.5 / 1.75, 0.25 / 1.75]);
    scenario.slices.shape = Shape::Weights(vec![1.0, 0.0, 3.0]);
    let table = draw(&scenario);
    assert_eq!(table.row_shares.of(9), [0.25, 0.0, 0.75]);
    assert_eq!(table.bit_shares, table.row_shares, "bits lie like rows where nothing spreads them");
}

/// Logistic-normal shares of two slices: u = 1/(1 + exp(-s sqrt2 Z)), s^2 = ln(1 + cv^2); E max(u, 1 - u) by quadrature.
#[test]
fn spread_bits_share_like_a_logistic_normal() {
    for (cv, expected) in [(0.1, 0.528_047), (0.2, 0.555_158), (0.3, 0.580_582), (0.5, 0.624_756)] {
        let mut scenario = steady(50_000);
        scenario.slices.count = 2;
        scenario.slices.spread_cv = cv;
        let table = draw(&scenario);
        let larger: Vec<f64> = (0..50_000).map(|frame| table.bit_shares.of(frame)).map(|s| s[0].max(s[1])).collect();
        let first: Vec<f64> = (0..50_000).map(|frame| table.bit_shares.of(frame)[0]).collect();
        let error = |values: &[f64]| 4.0 * deviation(values) / (values.len() as f64).sqrt();
        assert!((mean(&larger) - expected).abs() < error(&larger), "cv {cv}: {}", mean(&larger));
        assert!((mean(&first) - 0.5).abs() < error(&first));
        assert!((0..50_000).all(|frame| (table.bit_shares.of(frame).iter().sum::<f64>() - 1.0).abs() < 1e-12));
    }
}
