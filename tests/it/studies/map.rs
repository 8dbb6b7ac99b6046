//! Maps: borders against the arithmetic of lot streaming (sources: [`super::sweep`]).

use framelap::measure::measures;
use framelap::scenario::Scenario;
use framelap::study::map::{Border, Map, Question, map};
use framelap::study::vary::Vary;
use framelap::study::{Runner, Watch};

use super::on_one_and_two_threads;
use super::sweep::with_overheads;
use crate::world::assert_near;

fn question(x: &str, y: &str, measure: &str) -> Question {
    let measure = measures::find(measure).unwrap();
    Question { x: Vary::parse(x).unwrap(), y: Vary::parse(y).unwrap(), measure }
}

fn border<'a>(map: &'a Map, name: &str) -> &'a Border {
    map.borders.iter().find(|border| border.name == name).unwrap()
}

/// Where a border crosses the column of each value across.
fn crossings(map: &Map, name: &str) -> Vec<(f64, f64)> {
    let points = border(map, name).lines.iter().flatten();
    let on_columns = points.filter(|[x, _]| x.fract() == 0.0);
    on_columns.map(|[x, y]| (map.x.at(*x).unwrap(), map.y.at(*y).unwrap())).collect()
}

/// Line(4, 1, 6) with an overhead o a slice at the decoder: `L(n) = 6 + 5/n + 0.12 + n o`, so whole frames take
/// `11.12 + o` and are as good where `o = 5/n`; and the decoder is offered its period of 33.3 ms at `6 + n o`.
#[test]
fn break_even_and_the_decoders_border_are_where_arithmetic_puts_them() {
    let sliced = with_overheads([4.0, 1.0, 6.0], [0.10, 0.02, 0.15]);
    let mut whole = sliced.clone();
    whole.slices.count = 1;
    let question = question("slices.count=4,8,16,32", "decode.slice_overhead_ms=0.05..4:40", "stream_ms.p50");
    let map = map(&sliced, Some(&whole), &question, &Runner::new(), &Watch::nobody(), |_| ()).unwrap();
    assert_eq!((map.x.baseline_follows, map.y.baseline_follows), (false, true));
    let even = crossings(&map, "break_even");
    assert_eq!(even.len(), 4, "{even:?}");
    for (count, overhead_ms) in even {
        assert_near(&format!("break-even of {count} slices"), overhead_ms, 5.0 / count, 1e-3);
    }
    let full = crossings(&map, "load_decoder");
    assert_eq!(full.len(), 3, "{full:?}");
    for (count, overhead_ms) in full {
        assert_near(&format!("border of {count} slices"), overhead_ms, (1000.0 / 30.0 - 6.0) / count, 1e-3);
    }
    // Beyond it queues grow without end, and there is no latency.
    for (at, cell) in map.cells.iter().enumerate() {
        assert_eq!(cell.value.is_some(), cell.offered_load.decoder <= Some(1.0), "cell {at}");
    }
    assert!(border(&map, "load_encoder").lines.is_empty() && border(&map, "load_link").lines.is_empty());
}

#[test]
fn the_same_on_one_and_on_two_threads() {
    let mut scenario = Scenario::default();
    scenario.run.frames = 120;
    let mut whole = scenario.clone();
    whole.slices.count = 1;
    let question = question("slices.count=1..9:3", "link.rate_mbps=200..3000:4:log", "pose_to_photon_ms.p99");
    on_one_and_two_threads(|runner, watch| map(&scenario, Some(&whole), &question, runner, watch, |_| ()).unwrap());
}
