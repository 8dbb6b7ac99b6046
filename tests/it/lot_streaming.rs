//! Sliced against whole frame: one frame alone in a line of encoder, link and decoder is a flow shop with lot streaming.
//!
//! Sources: Potts and Baker, Flow shop scheduling with lot streaming, Oper. Res. Lett. 8 (1989) 297-303; Trietsch and
//! Baker, Basic techniques for lot streaming, Oper. Res. 41 (1993) 1065-1076; Glass, Gupta and Potts, Lot streaming in
//! three-stage production processes, EJOR 75 (1994) 378-394. The numbers were derived anew and computed by the
//! recurrence of flow shops, optimal ones by a linear program.

use framelap::engine::Fate;
use framelap::scenario::{HandOff, Lead, Pacing, Scenario, Shape, Spread};
use framelap::work::{FrameWork, draw};
use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};

use crate::world::{
    MS, assert_mean, assert_near, at, bare, codec_cost, cut, draw_without_bits, line, mean, play, quantile,
    same_stream_ns, set_link, simulate, stream_ms, stream_ns,
};

const FRAMES: u32 = 10;

/// Latency of one frame alone, the same for all \[ms\].
fn alone_ms(scenario: &Scenario) -> f64 {
    same_stream_ns(&simulate(scenario).1, 0) as f64 / MS
}

/// A nanosecond a slice and stage: whole nanoseconds of work, whole bytes, whole nanoseconds on the link.
fn rounding_ms(n: u32) -> f64 {
    f64::from(3 * n) / MS
}

#[track_caller]
fn assert_alone(scenario: &Scenario, expected_ms: f64) {
    let n = scenario.slices.count;
    assert_near(&format!("{n} slices"), alone_ms(scenario), expected_ms, rounding_ms(n) + 0.5e-6);
}

/// `M(n) = max p + (sum p - max p)/n`, whatever the order of the stages.
#[test]
fn equal_slices_leave_the_bottleneck_and_a_share_of_the_rest() {
    let longest_6 = [
        (1, 13.0),
        (2, 9.5),
        (3, 8.333_333),
        (4, 7.75),
        (6, 7.166_667),
        (8, 6.875),
        (12, 6.583_333),
        (16, 6.4375),
        (32, 6.21875),
        (64, 6.109_375),
    ];
    for stages in [[6.0, 4.0, 3.0], [6.0, 3.0, 4.0], [4.0, 6.0, 3.0], [4.0, 3.0, 6.0], [3.0, 6.0, 4.0], [3.0, 4.0, 6.0]]
    {
        for (n, expected_ms) in longest_6 {
            assert_alone(&cut(line(30.0, stages, FRAMES), n), expected_ms);
        }
    }
    for (n, longest_7_ms, all_5_ms) in
        [(1, 14.0, 15.0), (2, 10.5, 10.0), (4, 8.75, 7.5), (8, 7.875, 6.25), (16, 7.4375, 5.625)]
    {
        assert_alone(&cut(line(30.0, [3.0, 4.0, 7.0], FRAMES), n), longest_7_ms);
        assert_alone(&cut(line(30.0, [7.0, 3.0, 4.0], FRAMES), n), longest_7_ms);
        assert_alone(&cut(line(30.0, [5.0, 5.0, 5.0], FRAMES), n), all_5_ms);
    }
}

/// With hand-off of whole frames cutting gains nothing; with it at one border only, the stages on either side of that
/// border add up (derived here from the recurrence).
#[test]
fn whole_frame_hand_off_takes_the_gain_away() {
    for n in [1, 2, 4, 8, 16] {
        let shorter = f64::from(n).recip();
        for (encode, link, expected_ms) in [
            (HandOff::Frame, HandOff::Frame, 13.0),
            (HandOff::Frame, HandOff::Slice, 6.0 + 4.0 + 3.0 * shorter),
            (HandOff::Slice, HandOff::Frame, 6.0 + 4.0 * shorter + 3.0),
        ] {
            let mut scenario = cut(line(30.0, [6.0, 4.0, 3.0], FRAMES), n);
            scenario.encode.hand_off = encode;
            scenario.link.hand_off = link;
            assert_alone(&scenario, expected_ms);
        }
    }
}

/// Slices are whole block rows: 34 rows in 8 slices are 4 or 5 each. Computed by the same recurrence.
#[test]
fn whole_block_rows_bend_the_curve() {
    for (block_px, n, expected_ms) in
        [(64, 8, 7.029_412), (64, 16, 6.617_647), (16, 8, 6.875), (16, 16, 6.463_235), (1, 16, 6.4375)]
    {
        let mut scenario = line(30.0, [6.0, 4.0, 3.0], FRAMES);
        scenario.slices.count = n;
        scenario.slices.block_px = block_px;
        scenario.display.eye_px = (2048, 2176);
        assert_alone(&scenario, expected_ms);
    }
}

/// Two engines share the slices of a frame: `ceil(n/2) * p/n`.
#[test]
fn engines_share_slices() {
    for (n, expected_ms) in [(1, 8.0), (2, 4.0), (4, 4.0), (5, 4.8), (8, 4.0)] {
        let mut scenario = cut(bare(FRAMES), n);
        scenario.decode.work = codec_cost(8.0, Spread::Constant);
        scenario.decode.engines = 2;
        let run = play(&scenario, &draw_without_bits(&scenario));
        assert_near(&format!("{n} slices"), same_stream_ns(&run, 0) as f64 / MS, expected_ms, rounding_ms(n));
    }
}

/// Line(6, 4, 3) with 0.10, 0.05 and 0.20 ms a slice.
fn with_overheads(n: u32) -> Scenario {
    let mut scenario = cut(line(30.0, [6.0, 4.0, 3.0], FRAMES), n);
    scenario.encode.slice_overhead_ms = 0.1;
    scenario.link.unit_overhead_ms = 0.05;
    scenario.decode.slice_overhead_ms = 0.2;
    scenario
}

/// `sum(p/n + o) + (n - 1) max(p/n + o)`: least at n = 8, near `sqrt(7/0.1)`; from 32 on the decoder leads, not the encoder.
#[test]
fn overheads_make_a_best_slice_count() {
    let curve = [
        (1, 13.35),
        (2, 9.95),
        (4, 8.4),
        (6, 8.016_667),
        (7, 7.95),
        (8, 7.925),
        (9, 7.927_778),
        (10, 7.95),
        (16, 8.2875),
        (30, 9.483_333),
        (32, 9.8625),
        (64, 16.10625),
    ];
    for (n, expected_ms) in curve {
        assert_alone(&with_overheads(n), expected_ms);
    }
    let best = (1..=10).min_by(|&a, &b| alone_ms(&with_overheads(a)).total_cmp(&alone_ms(&with_overheads(b))));
    assert_eq!(best, Some(8));
}

/// The first slice of a frame costs more: 0.3 ms at the encoder, 0.4 at the decoder. Computed by the recurrence.
#[test]
fn frame_overheads_fall_on_the_first_slice() {
    let curve = [(1, 14.05), (2, 10.25), (4, 8.7), (6, 8.316_667), (8, 8.225), (10, 8.25), (16, 8.5875), (32, 10.5625)];
    for (n, expected_ms) in curve {
        let mut scenario = with_overheads(n);
        scenario.encode.frame_overhead_ms = 0.3;
        scenario.decode.frame_overhead_ms = 0.4;
        assert_alone(&scenario, expected_ms);
    }
}

/// The model's own row: `L(n) = p_b + (P - p_b)/n + O - o_b + n*o_b`; and a pipeline adds fully, however many slices.
#[test]
fn decoder_bound_row_and_pipelines() {
    let curve = [(1, 11.27), (2, 8.92), (4, 7.97), (6, 7.853_333), (8, 7.945), (16, 8.8325), (32, 11.076_25)];
    for (n, expected_ms) in curve {
        let mut scenario = cut(line(30.0, [4.0, 1.0, 6.0], FRAMES), n);
        scenario.encode.slice_overhead_ms = 0.10;
        scenario.link.unit_overhead_ms = 0.02;
        scenario.decode.slice_overhead_ms = 0.15;
        assert_alone(&scenario, expected_ms);
        scenario.encode.pipeline_ms = 2.5;
        scenario.decode.pipeline_ms = 1.25;
        assert_alone(&scenario, expected_ms + 3.75);
    }
}

/// Encoder and decoder alone, cut as `shape` says \[ms\].
fn two_stages_ms([first, second]: [f64; 2], n: u32, shape: Shape) -> f64 {
    let mut scenario = bare(FRAMES);
    scenario.encode.work = codec_cost(first, Spread::Constant);
    scenario.decode.work = codec_cost(second, Spread::Constant);
    scenario.slices.count = n;
    scenario.slices.shape = shape;
    same_stream_ns(&play(&scenario, &draw_without_bits(&scenario)), 0) as f64 / MS
}

/// The best two-stage makespan, Potts and Baker: `(p1^(n+1) - p2^(n+1)) / (p1^n - p2^n)`, both divided by `p1 - p2` so
/// that equal stages, `p (n+1)/n`, are no case of their own.
fn two_stages_best_ms([first, second]: [f64; 2], n: i32) -> f64 {
    let powers = |n: i32| (0..=n).map(|i| first.powi(n - i) * second.powi(i)).sum::<f64>();
    powers(n) / powers(n - 1)
}

#[test]
fn two_stages_like_slices_in_their_own_ratio() {
    for (stages, n, best_ms, equal_ms) in [
        ([6.0, 3.0], 2_u32, 7.0, 7.5),
        ([6.0, 3.0], 4, 6.2, 6.75),
        ([6.0, 3.0], 8, 511.0 / 85.0, 6.375),
        ([4.0, 6.0], 3, 130.0 / 19.0, 7.333_333_3),
        ([8.0, 6.0], 4, 1562.0 / 175.0, 9.5),
        ([5.0, 5.0], 4, 6.25, 6.25),
    ] {
        let rounding = 2.0 * f64::from(n) / MS;
        let best = two_stages_best_ms(stages, n.cast_signed());
        assert_near("formula", best, best_ms, 1e-9);
        let geometric = Shape::Geometric { ratio: stages[1] / stages[0] };
        assert_near("geometric", two_stages_ms(stages, n, geometric), best, rounding);
        assert_near("equal", two_stages_ms(stages, n, Shape::Equal), equal_ms, rounding);
    }
    let mut scenario = bare(FRAMES);
    scenario.slices.count = 4;
    scenario.slices.shape = Shape::Geometric { ratio: 0.5 };
    let table = draw(&scenario);
    for (share, expected) in table.row_shares.of(0).iter().zip([8.0, 4.0, 2.0, 1.0]) {
        assert_near("share", *share, expected / 15.0, 1e-15);
    }
}

#[test]
fn no_weights_beat_the_geometric_slices() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1989);
    let mut nearest_ms = f64::INFINITY;
    for _ in 0..1000 {
        let n = rng.random_range(2_i32..=6);
        let stages = [rng.random_range(1.0..9.0), rng.random_range(1.0..9.0)];
        let ratio: f64 = stages[1] / stages[0];
        // Weights around the best ones, so that some come near.
        let weights = (0..n).map(|i| ratio.powi(i) * (1.0 + rng.random_range(-0.2..0.2))).collect();
        let excess_ms =
            two_stages_ms(stages, n.cast_unsigned(), Shape::Weights(weights)) - two_stages_best_ms(stages, n);
        assert!(excess_ms >= -f64::from(2 * n) / MS, "weights beat the optimum by {excess_ms} ms for {stages:?}, {n}");
        nearest_ms = nearest_ms.min(excess_ms);
    }
    assert!(nearest_ms < 0.1, "none of the weights came near: the check says nothing");
}

/// If `p2^2 <= p1 p3` the middle stage never binds and slices in ratio `(p2 + p3)/(p1 + p2)` are best (Glass, Gupta and
/// Potts); otherwise the optimum is the linear program's.
#[test]
fn three_stages_have_known_optima() {
    let geometric = |ratio| Shape::Geometric { ratio };
    let best = Shape::Weights(vec![9.0, 18.0, 12.0, 8.0]);
    for (stages, n, shape, expected_ms) in [
        ([6.0, 4.0, 3.0], 2, geometric(0.7), 8.882_353),
        ([6.0, 4.0, 3.0], 4, geometric(0.7), 6.947_888),
        ([6.0, 4.0, 3.0], 8, geometric(0.7), 6.183_524),
        ([4.0, 2.0, 6.0], 4, geometric(4.0 / 3.0), 6.925_714),
        ([3.0, 6.0, 4.0], 4, best, 7.255_319),
        ([3.0, 6.0, 4.0], 4, geometric(10.0 / 9.0), 7.799_069),
        ([6.0, 4.0, 3.0], 4, geometric(1.0), 7.75),
        ([6.0, 4.0, 3.0], 4, geometric(0.9), 7.483_862),
        ([6.0, 4.0, 3.0], 4, geometric(0.8), 7.214_092),
        ([6.0, 4.0, 3.0], 4, geometric(0.6), 7.595_588),
        ([6.0, 4.0, 3.0], 4, geometric(0.5), 8.333_333),
    ] {
        let mut scenario = line(30.0, stages, FRAMES);
        scenario.slices.count = n;
        scenario.slices.shape = shape;
        assert_alone(&scenario, expected_ms);
    }
}

/// Line(6, 4, 3) with all three spread, frames far apart.
fn jittered(spread: &Spread, n: u32, frames: u32) -> Scenario {
    let mut scenario = cut(line(30.0, [6.0, 4.0, 3.0], frames), n);
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(20.0), every: 4 };
    scenario.encode.work.spread = spread.clone();
    scenario.decode.work.spread = spread.clone();
    set_link(&mut scenario, 4.0, spread.clone());
    scenario
}

/// Times of encoder, link and decoder for every frame of the table \[ms\]; a byte takes the link 1.6 ns.
fn stage_times_ms(scenario: &Scenario) -> Vec<[f64; 3]> {
    let table = draw(scenario);
    let bytes = |bits: i64| ((bits + 7) / 8) as f64;
    let times =
        |frame: &FrameWork| [frame.encode_ns as f64, bytes(frame.bits) * 1.6, frame.decode_ns as f64].map(|ns| ns / MS);
    table.frames.iter().map(times).collect()
}

fn longest(times: &[f64; 3]) -> f64 {
    times.iter().copied().fold(0.0, f64::max)
}

/// `L = sum(w)/n + (1 - 1/n) max(w)` holds frame by frame, whatever the stages drew; so does its mean.
#[test]
fn jittered_frames_follow_the_identity_one_by_one() {
    for spread in [Spread::Gamma { cv: 0.3 }, Spread::LogNormal { cv: 0.5 }, Spread::Exponential] {
        for n in [1, 2, 4, 8, 16] {
            let scenario = jittered(&spread, n, 1500);
            let share = f64::from(n).recip();
            let (_, run) = simulate(&scenario);
            for (times, frame) in stage_times_ms(&scenario).iter().zip(&run.frames) {
                let expected = times.iter().sum::<f64>() * share + (1.0 - share) * longest(times);
                assert_near(&format!("{n} slices"), stream_ns(frame) as f64 / MS, expected, rounding_ms(n) + 2e-6);
            }
        }
    }
}

/// `E L(n) = P/n + (1 - 1/n) E max`; `E max` and the tails of the longest stage by numerical integration.
#[test]
fn longest_of_three_jittered_stages_has_its_known_mean_and_tail() {
    for (spread, mean_ms, tails_ms) in [
        (Spread::Gamma { cv: 0.1 }, 6.000_433, Some([7.019_83, 7.483_35])),
        (Spread::Gamma { cv: 0.3 }, 6.205_080, Some([9.244_07, 10.961_1])),
        (Spread::Gamma { cv: 0.5 }, 6.713_582, Some([11.757_33, 15.107_85])),
        (Spread::LogNormal { cv: 0.3 }, 6.195_836, Some([9.345_31, 11.390_02])),
        (Spread::Exponential, 863.0 / 105.0, None),
    ] {
        let values: Vec<f64> = stage_times_ms(&jittered(&spread, 1, 100_000)).iter().map(longest).collect();
        assert_mean(&format!("{spread:?}"), &values, mean_ms, 0.02);
        for (tail_ms, above) in tails_ms.into_iter().flatten().zip([0.05, 0.01]) {
            let share = mean(&values.iter().map(|&ms| f64::from(u8::from(ms > tail_ms))).collect::<Vec<_>>());
            let error = (above * (1.0 - above) / values.len() as f64).sqrt();
            assert_near(&format!("{spread:?} above {tail_ms}"), share, above, 4.0 * error);
        }
    }
}

/// Gamma(0.3): the whole frame by convolution, eight slices by the mean above.
#[test]
fn jittered_latency_has_its_known_law() {
    let (_, run) = simulate(&jittered(&Spread::Gamma { cv: 0.3 }, 1, 40_000));
    let whole = stream_ms(&run);
    assert_mean("whole", &whole, 13.0, 0.01);
    for (ms, above) in [(10.0, 0.909_74), (12.0, 0.646_17), (14.0, 0.315_58), (16.0, 0.105_29), (19.111, 0.01)] {
        let share = whole.iter().filter(|&&value| value > ms).count() as f64 / whole.len() as f64;
        assert_near(&format!("above {ms}"), share, above, 4.0 * f64::sqrt(above * (1.0 - above) / whole.len() as f64));
    }
    assert_near("median", quantile(&whole, 0.5), 12.85, 0.06);
    let (_, run) = simulate(&jittered(&Spread::Gamma { cv: 0.3 }, 8, 20_000));
    assert_mean("eight slices", &stream_ms(&run), 7.054_44, 0.015);
}

/// Shares of two slices that vary: `u = logistic(s sqrt2 Z)`. With `A = E max(u, 1 - u)`, by numerical integration over
/// the normal, link and decoder of p ms take `p (1 + A)`, encoder (which goes by rows) and decoder `p (1.25 + A/2)`.
#[test]
fn varying_shares_cost_what_their_larger_half_costs() {
    for (cv, larger) in [(0.1, 0.528_047), (0.2, 0.555_158), (0.3, 0.580_582), (0.5, 0.624_756)] {
        let mut scenario = cut(line(30.0, [0.0, 5.0, 5.0], 20_000), 2);
        scenario.slices.spread_cv = cv;
        let (table, run) = simulate(&scenario);
        assert_mean("link and decoder", &stream_ms(&run), 5.0 * (1.0 + larger), 0.01);
        let shares: Vec<f64> = (0..table.frames.len()).map(|frame| table.bit_shares.of(frame)[0]).collect();
        assert_mean("share", &shares, 0.5, 0.02);

        let mut scenario = cut(line(30.0, [5.0, 0.0, 5.0], 20_000), 2);
        scenario.slices.spread_cv = cv;
        let run = play(&scenario, &draw_without_bits(&scenario));
        assert_mean("encoder and decoder", &stream_ms(&run), 5.0 * (1.25 + larger / 2.0), 0.01);
    }
}

/// Overheads eat capacity: at 90 Hz a decoder of 8 + 0.2 n ms keeps up with 15 slices and falls behind with 16, by
/// `b - T` a frame.
#[test]
fn slicing_too_finely_makes_the_decoder_fall_behind() {
    for (n, growth_ns) in [(15, 0.0), (16, 88_888.9), (20, 888_888.9)] {
        let mut scenario = cut(line(90.0, [0.0, 0.0, 8.0], 500), n);
        scenario.decode.slice_overhead_ms = 0.2;
        let (_, run) = simulate(&scenario);
        assert!(run.frames.iter().all(|frame| frame.fate != Fate::InFlight));
        let [early, late] = [100, 499].map(|frame| at(run.frames[frame].ready) - at(run.frames[frame].plan));
        assert_near(&format!("{n} slices"), (late - early) as f64 / 399.0, growth_ns, 0.1);
    }
}
