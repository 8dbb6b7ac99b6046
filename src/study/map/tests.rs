//! Small maps: what stands in their cells, and where their borders go.

use std::sync::Mutex;

use super::*;
use crate::measure::measures;
use crate::study::Workspace;

fn short(slices: u32) -> Scenario {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.slices.count) = (300, 60, slices);
    scenario
}

fn question(x: &str, y: &str) -> Question {
    Question { x: Vary::parse(x).unwrap(), y: Vary::parse(y).unwrap(), measure: measures::usual() }
}

fn p99(scenario: &Scenario) -> Option<f64> {
    Workspace::new().summary(scenario).pose_to_photon_ms.p99
}

#[test]
fn cells_come_coarse_to_fine_and_each_once() {
    for (width, height) in [(1, 1), (5, 3), (8, 8), (3, 9)] {
        let order = coarse_to_fine(width, height);
        let mut seen: Vec<(usize, usize)> = order.iter().map(|&(x, y, _)| (y, x)).collect();
        seen.sort_unstable();
        let all: Vec<(usize, usize)> = (0..height).flat_map(|y| (0..width).map(move |x| (y, x))).collect();
        assert_eq!(seen, all);
        assert!(order.windows(2).all(|pair| pair[0].2 >= pair[1].2));
    }
    // After a quarter of a 32 by 32 map every cell has one within two of it that stands for it.
    let first: Vec<_> = coarse_to_fine(32, 32).into_iter().take(256).collect();
    assert!(first.iter().all(|&(x, y, block)| block >= 2 && x % 2 == 0 && y % 2 == 0));
}

/// Slices and overhead against whole frames: the baseline keeps its own count and follows in the overhead.
#[test]
fn the_baseline_follows_where_both_are_the_same() {
    let question = question("slices.count=2,8", "encode.slice_overhead_ms=0.1,2.5");
    let (told, baseline) = (Mutex::new(0), short(1));
    let found = |_| *told.lock().unwrap() += 1;
    let map = map(&short(8), Some(&baseline), &question, &Runner::new(), &Watch::nobody(), found).unwrap();
    assert_eq!(told.into_inner().unwrap(), 4);
    assert_eq!((map.x.baseline_follows, map.y.baseline_follows), (false, true));
    for (y, overhead) in [0.1, 2.5].into_iter().enumerate() {
        let turned = |slices| {
            let mut scenario = short(slices);
            scenario.encode.slice_overhead_ms = overhead;
            scenario
        };
        for (x, slices) in [2, 8].into_iter().enumerate() {
            let cell = map.cell(x, y);
            assert_eq!((cell.value, cell.baseline), (p99(&turned(slices)), p99(&turned(1))), "{slices}, {overhead}");
            assert_eq!(question.scenario_at(&short(8), x, y).unwrap().slices.count, slices);
        }
    }
    // 8 slices of 2.5 ms overhead take longer than the period: the encoder's border lies between.
    let encoder = map.borders.iter().find(|border| border.name == "load_encoder").unwrap();
    assert_eq!(encoder.lines.len(), 1);
    let [x, y] = encoder.lines[0][0];
    let loads = [map.cell(1, 0), map.cell(1, 1)].map(|cell| cell.offered_load.encoder.unwrap());
    let expected = (1.0 - loads[0]) / (loads[1] - loads[0]);
    let on_right = encoder.lines[0].iter().any(|[x, y]| (x - 1.0).abs() < 1e-9 && (y - expected).abs() < 1e-9);
    assert!(on_right, "{x}, {y}: {encoder:?}");
    assert_eq!(map.best, Some([1, 0]));
    assert!((map.y.at(0.5).unwrap() - 1.3).abs() < 1e-12 && map.x.at(1.0) == Some(8.0));
}

#[test]
fn pairs_that_do_not_go_together_are_left_out_with_the_reason() {
    let pairs = question("slices.count=8,40", "display.eye_px.height=320,2176");
    let map = map(&short(8), None, &pairs, &Runner::new(), &Watch::nobody(), |_| ()).unwrap();
    let refused = map.cell(1, 0).refused.as_deref().unwrap();
    assert!(refused.starts_with("slices.count: found 40, allowed: whole numbers 1 to 20"), "{refused}");
    assert!([map.cell(0, 0), map.cell(0, 1), map.cell(1, 1)].iter().all(|cell| cell.refused.is_none()));
    assert!(!map.cell(1, 0).within_budget());
    let twice = question("slices.count=1..2", "slices.count=1..2");
    let error = super::map(&short(8), None, &twice, &Runner::new(), &Watch::nobody(), |_| ()).unwrap_err();
    assert_eq!(error.to_string(), "the two parameters: found slices.count, allowed: two different ones");
}
