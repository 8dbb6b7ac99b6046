//! Sweeps over the slice count against the arithmetic of lot streaming of one frame alone.
//!
//! Potts and Baker, Oper. Res. Lett. 8 (1989) 297-303; Trietsch and Baker, Oper. Res. 41 (1993) 1065-1076. The numbers
//! were derived anew and computed by the recurrence of flow shops.

use framelap::measure::measures;
use framelap::scenario::Scenario;
use framelap::study::sweep::{Question, Sweep, sweep};
use framelap::study::vary::Vary;
use framelap::study::{Runner, Watch};

use super::on_one_and_two_threads;
use crate::world::{MS, assert_near, cut, line};

/// Line(e, l, d) with overheads a slice, alone in its period.
pub(super) fn with_overheads(stages: [f64; 3], overheads: [f64; 3]) -> Scenario {
    let mut scenario = cut(line(30.0, stages, 12), 8);
    scenario.encode.slice_overhead_ms = overheads[0];
    scenario.link.unit_overhead_ms = overheads[1];
    scenario.decode.slice_overhead_ms = overheads[2];
    scenario
}

fn over_counts(scenario: &Scenario, counts: &str) -> Sweep {
    let median = measures::find("stream_ms.p50").unwrap();
    let vary = Vary::parse(&format!("slices.count={counts}")).unwrap();
    let question = Question { measures: vec![median], goal: median, ..Question::new(vary) };
    sweep(std::slice::from_ref(scenario), &question, &Runner::new(), &Watch::nobody(), |_| ()).unwrap()
}

/// The rows of both tables, simulated and by arithmetic, and their best counts.
#[test]
fn curve_and_best_count_are_the_published_ones() {
    let decoder = (
        with_overheads([4.0, 1.0, 6.0], [0.10, 0.02, 0.15]),
        "1,2,4,6,8,16,32",
        vec![11.27, 8.92, 7.97, 7.853_333, 7.945, 8.8325, 11.076_25],
        (5.0_f64 / 0.15).sqrt(),
        "decoder",
        6,
    );
    let encoder = (
        with_overheads([6.0, 4.0, 3.0], [0.10, 0.05, 0.20]),
        "1,2,4,6,8,10,16,30,32,64",
        vec![13.35, 9.95, 8.4, 8.016_667, 7.925, 7.95, 8.2875, 9.483_333, 9.8625, 16.106_25],
        70.0_f64.sqrt(),
        "encoder",
        8,
    );
    for (scenario, counts, expected, best, bottleneck, best_whole) in [decoder, encoder] {
        let curve = over_counts(&scenario, counts);
        let side = &curve.sides[0];
        for ((point, alone_ms), expected_ms) in curve.points.iter().zip(side.alone_ms.as_ref().unwrap()).zip(&expected)
        {
            let count = point.value.as_f64().unwrap();
            let found = point.sides[0].values[0].mean.unwrap();
            assert_near(&format!("{count} slices"), found, *expected_ms, 3.0 * count / MS + 1e-6);
            assert_near(&format!("{count} slices by arithmetic"), *alone_ms, *expected_ms, 1e-6);
        }
        let closed = side.closed_form.unwrap();
        assert_near("n*", closed.slices, best, 1e-9);
        assert_eq!(closed.bottleneck, bottleneck);
        assert_eq!(curve.points[side.best.unwrap()].value.as_f64(), Some(f64::from(best_whole)));
        // L at the best count, from the table.
        let at_best = expected[side.best.unwrap()];
        assert_near("latency there", closed.alone_ms, at_best, 1e-6);
    }
}

/// Overheads eat capacity: at 90 Hz a decoder of 8 + 0.2 n ms passes the period of 11.11 ms at n = 15.56.
#[test]
fn the_cliff_is_where_the_decoder_is_offered_its_period() {
    let mut scenario = cut(line(90.0, [0.0, 0.0, 8.0], 400), 8);
    scenario.decode.slice_overhead_ms = 0.2;
    let curve = over_counts(&scenario, "1,2,4,8,10,12,15,16,20,30");
    let cliff = curve.sides[0].cliff.unwrap();
    assert_eq!(curve.points[cliff.before].value.as_f64(), Some(15.0));
    assert_near("cliff", cliff.value, (1000.0 / 90.0 - 8.0) / 0.2, 0.01);
    // Queues without end from there on.
    let steady: Vec<u32> = curve.points.iter().map(|point| point.sides[0].steady_seeds).collect();
    assert_eq!(steady, [1, 1, 1, 1, 1, 1, 1, 0, 0, 0]);
    assert_eq!(curve.sides[0].best, Some(0), "a decoder alone gains nothing by slices");
}

/// The plateau of Line(6, 4, 3) with 0.1 ms a slice: L(n) within 0.2 ms of 7.925 from n = 6 to 12, by the formula.
#[test]
fn the_plateau_is_what_the_formula_leaves_within_a_fifth_of_a_millisecond() {
    let counts = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 24];
    let formula = |n: f64| 6.0 + 7.0 / n + 0.25 + 0.1 * n;
    let list = counts.map(|count: u32| count.to_string()).join(",");
    let curve = over_counts(&with_overheads([6.0, 4.0, 3.0], [0.10, 0.05, 0.20]), &list);
    let [first, last] = curve.sides[0].plateau.unwrap();
    let least = formula(8.0);
    let good: Vec<u32> = counts.into_iter().filter(|&count| formula(f64::from(count)) <= least + 0.2).collect();
    assert_eq!([counts[first], counts[last]], [good[0], good[good.len() - 1]]);
    assert!(good.len() > 3 && good.len() < counts.len());
}

#[test]
fn the_same_on_one_and_on_two_threads() {
    let mut both = [Scenario::default(), Scenario::default()];
    both[0].run.frames = 300;
    both[1].encode.slice_overhead_ms = 0.5;
    let question = Question { seeds: 3, ..Question::new(Vary::parse("slices.count=1..24:9").unwrap()) };
    on_one_and_two_threads(|runner, watch| sweep(&both, &question, runner, watch, |_| ()).unwrap());
}
