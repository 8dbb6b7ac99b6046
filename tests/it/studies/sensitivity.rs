//! Sensitivities against derivatives of the closed form of lot streaming (sources: [`super::sweep`]).

use framelap::measure::measures;
use framelap::scenario::Scenario;
use framelap::study::luck::Verdict;
use framelap::study::sensitivity::{Question, Row, Sensitivity, sensitivity};
use framelap::study::{Runner, Watch};

use super::on_one_and_two_threads;
use super::sweep::with_overheads;
use crate::world::assert_near;

fn of<'a>(found: &'a Sensitivity, path: &str) -> &'a Row {
    found.rows.iter().find(|row| row.path == path).unwrap_or_else(|| panic!("{path} was not turned"))
}

/// Line(6, 4, 3) with 0.10, 0.05 and 0.20 ms a slice in 8 slices: `L = 6 + 7/n + 0.25 + 0.1 n`, the encoder leading by far.
/// A tenth of each total and overhead moves it by that tenth times what stands before it.
#[test]
fn changes_are_those_of_the_closed_form() {
    let mut scenario = with_overheads([6.0, 4.0, 3.0], [0.10, 0.05, 0.20]);
    // Rows that 7, 8 and 9 slices divide.
    scenario.display.eye_px.1 = 2520;
    let median = measures::find("stream_ms.p50").unwrap();
    let question = Question { measure: median, seeds: 2 };
    let found = sensitivity(&scenario, question, &Runner::new(), &Watch::nobody()).unwrap();
    assert_near("as it is", found.value.mean.unwrap(), 7.925, 1e-4);
    for (path, less_ms, more_ms) in [
        ("encode.work.fixed_ms", -0.6, 0.6),
        ("decode.work.fixed_ms", -0.3 / 8.0, 0.3 / 8.0),
        // A link a tenth slower takes 4/0.9 ms, one a tenth faster 4/1.1 ms.
        ("link.rate_mbps", (4.0 / 0.9 - 4.0) / 8.0, (4.0 / 1.1 - 4.0) / 8.0),
        ("stream.bitrate_mbps", -0.4 / 8.0, 0.4 / 8.0),
        ("encode.slice_overhead_ms", -0.08, 0.08),
        ("link.unit_overhead_ms", -0.005, 0.005),
        ("decode.slice_overhead_ms", -0.02, 0.02),
        ("slices.count", 7.95 - 7.925, 7.927_778 - 7.925),
    ] {
        let row = of(&found, path);
        for (turn, expected_ms) in [(&row.less, less_ms), (&row.more, more_ms)] {
            let change = turn.as_ref().unwrap().change;
            assert_near(path, change.mean.unwrap(), expected_ms, 1e-4);
            let sign = if expected_ms < 0.0 { Verdict::Better } else { Verdict::Worse };
            assert_eq!(change.verdict, sign, "{path}");
        }
        assert!(row.matters, "{path}");
        let gain = f64::max(-less_ms, -more_ms).max(0.0);
        assert_near(path, row.gain, gain, 1e-4);
    }
    // More frames a second have fewer bits each; 30 Hz is the least that there is.
    let refresh = of(&found, "display.refresh_hz");
    let faster_ms = refresh.more.as_ref().unwrap().change.mean.unwrap();
    assert_near("display.refresh_hz", faster_ms, (4.0 / 1.1 - 4.0) / 8.0, 1e-4);
    assert!(refresh.less.is_none());
    let slope = of(&found, "encode.work.fixed_ms").slope.unwrap();
    assert_near("a millisecond of the bottleneck", slope, 1.0, 1e-3);
    assert_near("of another stage", of(&found, "decode.work.fixed_ms").slope.unwrap(), 0.125, 1e-3);
    for path in ["motion.head_deg_per_s", "motion.nearest_m", "host.frames_in_flight", "link.packet_payload_bytes"] {
        let row = of(&found, path);
        assert!(!row.matters && row.effect == 0.0, "{path}: {row:?}");
    }
    // The most effective first; a second refresh a frame doubles the bits, so that the link leads.
    assert!(found.rows.windows(2).all(|pair| !pair[1].matters || pair[0].effect >= pair[1].effect));
}

#[test]
fn the_same_on_one_and_on_two_threads() {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup) = (60, 10);
    let question = Question { seeds: 2, ..Question::new(measures::usual()) };
    on_one_and_two_threads(|runner, watch| sensitivity(&scenario, question, runner, watch).unwrap());
}
