//! The gain of one design over another, with an interval: both runs again under the luck of further seeds.

use super::cost::most_bytes;
use super::luck::{Mean, USUAL_SEEDS, under_luck};
use super::runner::{Runner, Watch};
use crate::measure::Summary;
use crate::scenario::Scenario;
use crate::stop::Stopped;

/// By how much sooner the candidate's photons come than the baseline's, over seeds.
///
/// Independent runs, each pair of them under the same luck, and Student's t over their differences: Law and Kelton,
/// *Simulation Modeling and Analysis*, chapters 9 and 10. The interval is that of the mean gain of runs of this length; what
/// is so rare that no seed met it is not in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gains {
    /// Seeds, that of the scenarios among them.
    pub seeds: u32,
    /// Seeds at which both were steady and showed frames.
    pub measured: u32,
    /// At the median and at p99 \[ms\]; no mean unless all seeds were measured.
    pub at: [Mean; 2],
}

impl Gains {
    /// Of gains at every seed, none where there was nothing to measure \[ms\].
    pub fn of(by_seed: &[Option<[f64; 2]>]) -> Self {
        let at = |place: usize| {
            let gains: Vec<Option<f64>> = by_seed.iter().map(|gains| gains.map(|gains| gains[place])).collect();
            Mean::of(&gains)
        };
        Self { seeds: by_seed.len() as u32, measured: by_seed.iter().flatten().count() as u32, at: [at(0), at(1)] }
    }
}

/// The gains of a checked candidate over a checked baseline under [`USUAL_SEEDS`] seeds; `known` are their summaries at their
/// own seeds, so that only the further ones are run.
pub fn gains(both: [&Scenario; 2], known: [&Summary; 2], runner: &Runner, watch: &Watch<'_>) -> Result<Gains, Stopped> {
    let runs = (USUAL_SEEDS as usize - 1) * 2;
    watch.expect(runs);
    let found = runner.run(runs, most_bytes(both), watch, |number, space| {
        let scenario = both[number % 2];
        let scenario = under_luck(scenario, 1 + number as u32 / 2, scenario.run.seed);
        space.summary_unless(&scenario, watch.stop()).map(|summary| quantiles(&summary))
    })?;
    let first = known.map(quantiles);
    let pairs = std::iter::once([first[0], first[1]]).chain(found.chunks_exact(2).map(|pair| [pair[0], pair[1]]));
    Ok(Gains::of(&pairs.map(gain).collect::<Vec<_>>()))
}

/// Median and p99 of pose to photon \[ms\]; none unless steady.
fn quantiles(summary: &Summary) -> Option<[f64; 2]> {
    let found = &summary.pose_to_photon_ms;
    Some([found.p50?, found.p99?])
}

fn gain([baseline, candidate]: [Option<[f64; 2]>; 2]) -> Option<[f64; 2]> {
    let (baseline, candidate) = (baseline?, candidate?);
    Some([baseline[0] - candidate[0], baseline[1] - candidate[1]])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;
    use crate::study::Workspace;
    use crate::study::compare::compare;

    /// Gains 1, 2, 3: mean 2, t(2) = 4.302653 (Student's t, any table), half width 2.484138.
    #[test]
    fn the_interval_is_students() {
        let gains = Gains::of(&[Some([1.0, 5.0]), Some([2.0, 5.0]), Some([3.0, 5.0])]);
        assert_eq!((gains.seeds, gains.measured, gains.at[0].mean), (3, 3, Some(2.0)));
        assert!((gains.at[0].half_width.unwrap() - 2.484_138).abs() < 1e-5);
        assert_eq!(gains.at[1], Mean { mean: Some(5.0), half_width: Some(0.0) });
        let some = Gains::of(&[Some([1.0, 5.0]), None]);
        assert_eq!((some.seeds, some.measured, some.at), (2, 1, [Mean::default(); 2]));
    }

    /// The study of all measures finds the same.
    #[test]
    fn they_are_those_of_a_comparison() {
        let mut baseline = Scenario::default();
        baseline.run.frames = 600;
        let mut candidate = baseline.clone();
        baseline.slices.count = 1;
        candidate.slices.count = 8;
        let known = [&baseline, &candidate].map(|scenario| Workspace::new().summary(scenario));
        let runner = Runner::new();
        let found = gains([&baseline, &candidate], known.each_ref(), &runner, &Watch::nobody()).unwrap();
        let compared = compare(&[baseline, candidate], USUAL_SEEDS, &runner, &Watch::nobody()).unwrap();
        for (at, name) in found.at.iter().zip(["pose_to_photon_ms.p50", "pose_to_photon_ms.p99"]) {
            let other = compared.row(measures::find(name).unwrap()).unwrap().differences[0];
            assert!((at.mean.unwrap() + other.mean.unwrap()).abs() < 1e-9, "{name}");
            assert!((at.half_width.unwrap() - other.half_width.unwrap()).abs() < 1e-9, "{name}");
        }
        assert_eq!((found.seeds, found.measured), (8, 8));
    }
}
