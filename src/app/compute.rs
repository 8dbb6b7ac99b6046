//! What the window's worker computes with: the same library calls as the command line's.

use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex};

use super::pair::Pair;
use super::worker::{Compute, SHORT_FRAMES, shortened};
use crate::report::figures::curve::{Curve, CurvePoint};
use crate::report::figures::distribution::{Histograms, Measure};
use crate::report::figures::eye::Eyes;
use crate::report::figures::lanes::{Lanes, LanesPair};
use crate::report::figures::late_share::LateShares;
use crate::report::figures::ledger::Ledger;
use crate::report::figures::left_over::LeftOvers;
use crate::report::figures::loads::Loads;
use crate::report::figures::names;
use crate::report::figures::outcomes::{Outcomes, Tally};
use crate::report::figures::run_strip::Strips;
use crate::report::figures::verdict::{Measured, Verdict};
use crate::report::warnings::{Told, tell, warnings};
use crate::scenario::Scenario;
use crate::stop::Stop;
use crate::study::{self, Answer, Gains, Runner, Watch, Workspace};

/// Most frames of a point of the curve: every core holds a run of up to 64 slices a frame at a time.
const CURVE_FRAMES: u32 = 20_000;

/// Slices of a run up to which the arrays of further seeds are kept: some 150 MB a core.
const MOST_KEPT: u64 = 1_000_000;

/// Answers, figures and curves by [`study`].
#[derive(Debug, Default)]
pub(super) struct Bench {
    /// Arrays of short runs and of whole ones, so that neither kind grows and shrinks the other's.
    short: Workspace,
    whole: Workspace,
    /// Those of the runs under further seeds.
    further: Runner,
}

impl Bench {
    /// Both whole answers to a pair, and the candidate's curve, at once.
    pub(super) fn whole(&mut self, pair: &Pair) -> (Arc<Answer>, Arc<Answer>, Drawn, Curve) {
        let curve = self.whole_curve(pair);
        let (baseline, candidate, drawn) = self.answers(pair);
        (baseline, candidate, drawn, curve)
    }

    /// The same, and how sure the gain is.
    pub(super) fn surely(&mut self, pair: &Pair) -> (Arc<Answer>, Arc<Answer>, Drawn, Curve) {
        let (baseline, candidate, mut drawn, curve) = self.whole(pair);
        self.make_sure(&baseline, &candidate, &mut drawn);
        (baseline, candidate, drawn, curve)
    }

    /// Adds to the figures of two whole answers how sure the gain is.
    pub(super) fn make_sure(&self, baseline: &Answer, candidate: &Answer, drawn: &mut Drawn) {
        // Nobody asks to stop.
        if let Some(gains) = self.gains(baseline, candidate, &AtomicBool::new(false)) {
            drawn.surer(baseline, candidate, &gains);
        }
    }

    /// Both whole answers to a pair, and their figures.
    pub(super) fn answers(&mut self, pair: &Pair) -> (Arc<Answer>, Arc<Answer>, Drawn) {
        let sides = [&pair.baseline.scenario, &pair.candidate.scenario];
        let [baseline, candidate] = sides.map(|side| Arc::new(self.answer(side)));
        let drawn = self.draw(&baseline, &candidate, false);
        (baseline, candidate, drawn)
    }

    /// The candidate's curve.
    pub(super) fn whole_curve(&self, pair: &Pair) -> Curve {
        let candidate = &pair.candidate.scenario;
        let counts = self.counts(candidate);
        let curve = Mutex::new(Curve::new(counts.len(), Some(candidate.budget.pose_to_photon_ms)));
        self.curve(candidate, &counts, &AtomicBool::new(false), &|_, point| {
            if let Ok(mut curve) = curve.lock() {
                curve.insert(point);
            }
        });
        curve.into_inner().unwrap_or_default()
    }

    fn workspace(&mut self, scenario: &Scenario) -> &mut Workspace {
        if scenario.run.frames <= SHORT_FRAMES { &mut self.short } else { &mut self.whole }
    }
}

impl Compute for Bench {
    type Answer = Answer;
    type Drawn = Drawn;
    type Point = CurvePoint;
    type Gains = Gains;

    fn answer(&mut self, scenario: &Scenario) -> Answer {
        study::answer(scenario, self.workspace(scenario))
    }

    fn reuse(&mut self, answer: Answer) {
        self.workspace(&answer.scenario).reuse(answer);
    }

    fn draw(&self, baseline: &Answer, candidate: &Answer, short: bool) -> Drawn {
        Drawn::new(baseline, candidate, short)
    }

    fn gains(&self, baseline: &Answer, candidate: &Answer, stop: &AtomicBool) -> Option<Gains> {
        let sides = [baseline, candidate];
        let watch = Watch::new(Stop::when(stop), &|_| ());
        let (scenarios, known) = (sides.map(|side| &side.scenario), sides.map(|side| &side.summary));
        // Arrays of a long run go when they have served.
        let of_long_runs = Runner::new();
        let slices = |scenario: &Scenario| u64::from(scenario.run.frames) * u64::from(scenario.slices.count);
        let kept = scenarios.into_iter().all(|scenario| slices(scenario) <= MOST_KEPT);
        study::gains(scenarios, known, if kept { &self.further } else { &of_long_runs }, &watch).ok()
    }

    fn counts(&self, scenario: &Scenario) -> Vec<u32> {
        study::curve_counts(scenario)
    }

    fn curve(&self, scenario: &Scenario, counts: &[u32], stop: &AtomicBool, found: &(dyn Fn(u32, CurvePoint) + Sync)) {
        study::slice_curve(&shortened(scenario, CURVE_FRAMES), counts, stop, |point| {
            found(point.slices, point);
        });
    }
}

/// All figures of two answers, made once for both.
#[derive(Clone)]
pub(super) struct Drawn {
    /// The answer in a sentence, and the budget.
    pub(super) verdict: Verdict,
    /// What to know before believing it.
    pub(super) warnings: Vec<Told>,
    /// Their lanes.
    pub(super) lanes: LanesPair,
    /// Their histograms, in the order of [`Measure::ALL`].
    pub(super) histograms: [Histograms; 3],
    /// Their outcomes.
    pub(super) outcomes: Outcomes,
    /// Their exposed time.
    pub(super) ledger: Ledger,
    /// What late correction leaves.
    pub(super) left_over: LeftOvers,
    /// Their eyes' fields.
    pub(super) eyes: Eyes,
    /// Frames and refreshes over the run.
    pub(super) strips: Strips,
    /// Their late shares against the lead.
    pub(super) late_shares: LateShares,
    /// Their loads and headroom.
    pub(super) loads: Loads,
}

impl Drawn {
    /// The figures of two answers; short ones say so where a number would be taken for the whole run's.
    fn new(baseline: &Answer, candidate: &Answer, short: bool) -> Self {
        let sides = [baseline, candidate];
        let runs = sides.map(|side| (&side.summary, &side.samples));
        let limit_ms = candidate.scenario.budget.pose_to_photon_ms;
        let [tally, other] = sides.map(|side| Tally::of(&side.summary, &side.run));
        let [before, after] = sides.map(measured);
        let verdict = if short { Verdict::so_far(before, after) } else { Verdict::new(before, after, None) };
        let warnings = sides.map(|side| {
            let mut found = warnings(side);
            found.retain(|warning| !short || !warning.of_length());
            found
        });
        Self {
            verdict,
            warnings: tell(warnings.each_ref().map(Vec::as_slice)),
            lanes: LanesPair::new(
                names(&baseline.scenario, &candidate.scenario),
                sides.map(|side| Lanes::new(&side.scenario, &side.table, &side.run)),
            ),
            histograms: Measure::ALL.map(|measure| Histograms::of(measure, runs, limit_ms)),
            outcomes: Outcomes::new([&tally, &other]),
            ledger: Ledger::new(sides),
            left_over: LeftOvers::new(sides),
            eyes: Eyes::new(sides),
            strips: Strips::new(sides),
            late_shares: LateShares::new(sides),
            loads: Loads::new(sides),
        }
    }
    /// Judges the same two whole answers again, with their gains over seeds.
    pub(super) fn surer(&mut self, baseline: &Answer, candidate: &Answer, gains: &Gains) {
        self.verdict = Verdict::new(measured(baseline), measured(candidate), Some(gains));
    }
}

fn measured(answer: &Answer) -> Measured<'_> {
    Measured { scenario: &answer.scenario, summary: &answer.summary, samples: &answer.samples }
}
