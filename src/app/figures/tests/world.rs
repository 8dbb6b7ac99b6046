//! A real head-to-head for the figures to show.

use crate::engine::{Engine, Run};
use crate::measure::{Samples, Summary, summarize_into};
use crate::report::figures::curve::{Curve, CurvePoint};
use crate::report::figures::distribution::{Histograms, Measure};
use crate::report::figures::lanes::{Lanes, LanesPair};
use crate::report::figures::names;
use crate::report::figures::outcomes::{Outcomes, Tally};
use crate::report::figures::verdict::{Measured, Verdict};
use crate::scenario::Scenario;
use crate::work::{WorkTable, draw};

/// All figures of whole frames against slices.
pub(crate) struct World {
    pub(crate) names: [String; 2],
    pub(crate) verdict: Verdict,
    pub(crate) lanes: LanesPair,
    pub(crate) distributions: [Histograms; 3],
    pub(crate) outcomes: Outcomes,
    pub(crate) curve: Curve,
}

struct Answer {
    scenario: Scenario,
    table: WorkTable,
    run: Run,
    summary: Summary,
    samples: Samples,
}

impl Answer {
    fn measured(&self) -> Measured<'_> {
        Measured { scenario: &self.scenario, summary: &self.summary, samples: &self.samples }
    }
}

fn answer(scenario: Scenario) -> Answer {
    let table = draw(&scenario);
    let run = Engine::new().simulate(&scenario, &table).clone();
    let mut samples = Samples::default();
    let summary = summarize_into(&scenario, &table, &run, &mut samples);
    Answer { scenario, table, run, summary, samples }
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

    /// Two scenarios, and the candidate's curve over some counts.
    pub(crate) fn new(baseline: &Scenario, candidate: &Scenario, counts: &[u32]) -> Self {
        let both = [answer(baseline.clone()), answer(candidate.clone())];
        let limit = candidate.budget.pose_to_photon_ms;
        let runs = [(&both[0].summary, &both[0].samples), (&both[1].summary, &both[1].samples)];
        let tallies = [0, 1].map(|side| Tally::of(&both[side].summary, &both[side].run));
        let names = names(baseline, candidate);
        let lanes = [0, 1].map(|side| Lanes::new(&both[side].scenario, &both[side].table, &both[side].run));
        let mut curve = Curve::new(counts.len(), Some(limit));
        for count in counts {
            curve.insert(CurvePoint::of(*count, &answer(sliced(candidate, *count)).summary));
        }
        Self {
            verdict: Verdict::new(both[0].measured(), both[1].measured()),
            lanes: LanesPair::new(names.clone(), lanes),
            distributions: Measure::ALL.map(|measure| Histograms::of(measure, runs, limit)),
            outcomes: Outcomes::new([&tallies[0], &tallies[1]]),
            curve,
            names,
        }
    }
}
