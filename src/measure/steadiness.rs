//! Whether a run settled.

use super::samples::Series;
use super::server::Servers;
use super::statistics::{BatchMeans, Trend, mean};
use crate::engine::Run;
use crate::scenario::Scenario;
use crate::time::ns_to_ms;

/// Growth over the run above this share of the mean matters.
const GROWTH_LIMIT: f64 = 0.1;

/// Whether a run settled, and how its turnaround grows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Steadiness {
    pub steady: bool,
    /// Growth of the turnaround where it did not settle \[ms per frame\].
    pub growth_ms_per_frame: Option<f64>,
}

impl Steadiness {
    /// Judges turnaround over plan time, and servers that are offered more than they can do with nothing to bound what
    /// waits before them.
    pub(super) fn of(
        scenario: &Scenario,
        run: &Run,
        turnaround: &Series,
        offered: &Servers<Option<f64>>,
        plans_ms: &mut Vec<f64>,
    ) -> Self {
        plans_ms.clear();
        plans_ms.extend(turnaround.numbers.iter().map(|&frame| {
            // A frame with a turnaround was planned.
            ns_to_ms(run.frames[frame as usize].plan.ns().unwrap_or_default())
        }));
        let trend = BatchMeans::of(plans_ms)
            .zip(BatchMeans::of(&turnaround.values_ms))
            .and_then(|(plans, turnarounds)| Trend::of(&plans, &turnarounds));
        let grows = trend.is_some_and(|trend| {
            let lasted_ms = plans_ms.last().zip(plans_ms.first()).map_or(0.0, |(last, first)| last - first);
            let mean_ms = mean(&turnaround.values_ms).unwrap_or_default();
            trend.sure() && trend.slope * lasted_ms > GROWTH_LIMIT * mean_ms
        });
        let steady = !grows && !swamped(scenario, offered);
        let per_frame = |trend: Trend| trend.slope * scenario.frame_period_ns() / 1e6;
        Self { steady, growth_ms_per_frame: if steady { None } else { trend.map(per_frame) } }
    }
}

/// Whether a server with an unbounded buffer before it is offered more than it can do.
fn swamped(scenario: &Scenario, offered: &Servers<Option<f64>>) -> bool {
    [
        (scenario.encode.buffer, offered.encoder),
        (scenario.link.buffer, offered.link),
        (scenario.decode.buffer, offered.decoder),
    ]
    .into_iter()
    .any(|(buffer, load)| buffer.frames.is_none() && load.is_some_and(|load| load > 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{FrameRecord, Stamp};

    /// Turnarounds that grow in a straight line, by so much of their mean from the first plan to the last.
    fn judged(growth: f64) -> Steadiness {
        const FRAMES: u32 = 2000;
        let mut run = Run::default();
        let mut turnaround = Series::default();
        for frame in 0..FRAMES {
            let plan = Stamp::at(i64::from(frame) * 11_111_111);
            run.frames.push(FrameRecord { plan, ..FrameRecord::default() });
            let place = f64::from(frame) / f64::from(FRAMES - 1) - 0.5;
            turnaround.push(frame, 20.0 * (1.0 + growth * place));
        }
        Steadiness::of(&Scenario::default(), &run, &turnaround, &Servers::default(), &mut Vec::new())
    }

    /// A trend that is sure matters from a tenth of the mean on, and no sooner.
    #[test]
    fn growth_over_a_tenth_of_the_mean_is_not_steady() {
        for growth in [-0.5, 0.0, 0.05, 0.099] {
            assert_eq!(judged(growth), Steadiness { steady: true, growth_ms_per_frame: None }, "{growth}");
        }
        for growth in [0.101, 0.2] {
            let Steadiness { steady, growth_ms_per_frame } = judged(growth);
            let expected = 20.0 * growth / 1999.0;
            assert!(!steady && (growth_ms_per_frame.unwrap() / expected - 1.0).abs() < 1e-3, "{growth}");
        }
    }
}
