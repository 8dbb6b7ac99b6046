//! A real head-to-head for the figures to show.

use crate::report::figures::curve::{Curve, CurvePoint};
use crate::report::figures::distribution::{Histograms, Measure};
use crate::report::figures::lanes::{Lanes, LanesPair};
use crate::report::figures::names;
use crate::report::figures::outcomes::{Outcomes, Tally};
use crate::report::figures::run_strip::Strips;
use crate::report::figures::verdict::{Measured, Verdict};
use crate::scenario::Scenario;
use crate::study::{self, Answer, Workspace};

/// All figures of whole frames against slices.
pub(crate) struct World {
    pub(crate) names: [String; 2],
    pub(crate) verdict: Verdict,
    pub(crate) lanes: LanesPair,
    pub(crate) distributions: [Histograms; 3],
    pub(crate) outcomes: Outcomes,
    pub(crate) curve: Curve,
    pub(crate) strips: Strips,
    both: [Answer; 2],
}

fn measured(answer: &Answer) -> Measured<'_> {
    Measured { scenario: &answer.scenario, summary: &answer.summary, samples: &answer.samples }
}

fn answer(scenario: &Scenario) -> Answer {
    study::answer(scenario, &mut Workspace::new())
}

fn sliced(scenario: &Scenario, count: u32) -> Scenario {
    let mut scenario = scenario.clone();
    scenario.slices.count = count;
    scenario
}

impl World {
    /// The default scenario, shortened.
    pub(crate) fn small() -> Self {
        let mut scenario = Scenario::default();
        scenario.run.frames = 1500;
        Self::new(&sliced(&scenario, 1), &sliced(&scenario, 8), &[1, 2, 4, 8, 16, 32])
    }

    /// Both answers.
    pub(crate) fn answers(&self) -> [&Answer; 2] {
        self.both.each_ref()
    }

    /// Two scenarios, and the candidate's curve over some counts.
    pub(crate) fn new(baseline: &Scenario, candidate: &Scenario, counts: &[u32]) -> Self {
        let both = [baseline, candidate].map(answer);
        let limit = candidate.budget.pose_to_photon_ms;
        let runs = [(&both[0].summary, &both[0].samples), (&both[1].summary, &both[1].samples)];
        let tallies = [0, 1].map(|side| Tally::of(&both[side].summary, &both[side].run));
        let names = names(baseline, candidate);
        let lanes = [0, 1].map(|side| Lanes::new(&both[side].scenario, &both[side].table, &both[side].run));
        let mut curve = Curve::new(counts.len(), Some(limit));
        for count in counts {
            curve.insert(CurvePoint::of(*count, &answer(&sliced(candidate, *count)).summary));
        }
        Self {
            verdict: Verdict::new(measured(&both[0]), measured(&both[1]), None),
            lanes: LanesPair::new(names.clone(), lanes),
            distributions: Measure::ALL.map(|measure| Histograms::of(measure, runs, limit)),
            outcomes: Outcomes::new([&tallies[0], &tallies[1]]),
            curve,
            strips: Strips::new(both.each_ref()),
            names,
            both,
        }
    }
}
