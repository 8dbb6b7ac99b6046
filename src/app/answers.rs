//! What is on screen: the newest answers, and whether they are still true.

use std::sync::Arc;

use super::compute::{Bench, Drawn};
use super::gallery::Figure;
use super::pair::Pair;
use super::worker::{PairReply, Reply, Worker};
use crate::report::differences::lead;
use crate::report::figures::Side;
use crate::report::figures::curve::{Curve, CurvePoint};
use crate::report::format;
use crate::scenario::Scenario;
use crate::study::{Answer, Gains, cost};

/// The newest answers to the pair of scenarios, and the question that is open.
#[derive(Default)]
pub(super) struct Answers {
    /// Both answers, none only before the first.
    pub(super) shown: Option<Shown>,
    /// The candidate's slice-count curve: the last complete one, or before that as much as there is.
    pub(super) curve: Curve,
    /// The scenario that it is the curve of, its slice count aside.
    curve_of: Option<Scenario>,
    /// The one that is coming, and the scenario it is of.
    coming: Option<Curve>,
    coming_of: Option<Scenario>,
    /// Why the pair cannot be simulated.
    pub(super) problem: Option<Problem>,
    asked: Option<(u64, Pair)>,
}

/// Number of a question that no worker was asked.
const NOT_ASKED: u64 = u64::MAX;
/// Number of a question that was answered elsewhere.
const ELSEWHERE: u64 = 0;

/// Most slices of a run that the window takes: some 0.9 GB a side at 115 bytes a slice, and as much a core while further seeds
/// are run.
const MOST_SLICES: u64 = 8_000_000;
/// Most refreshes of the display within a run that the window takes: some 0.9 GB a side.
const MOST_REFRESHES: f64 = 16e6;

/// Both answers on screen.
pub(super) struct Shown {
    /// The baseline's answer.
    pub(super) baseline: Arc<Answer>,
    /// The candidate's answer.
    pub(super) candidate: Arc<Answer>,
    /// The figures of both.
    pub(super) drawn: Arc<Drawn>,
    question: u64,
    short: bool,
}

/// Why a side cannot be simulated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Problem {
    /// The side.
    pub(super) side: Side,
    /// Path of the parameter at fault.
    pub(super) path: String,
    /// What is wrong, in words.
    pub(super) text: String,
}

/// How true the picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Freshness {
    /// It belongs to the scenarios as they are.
    Current,
    /// It belongs to them, but to a part of the run only; the whole is being computed.
    Short,
    /// It belongs to earlier scenarios; the new ones are being computed.
    Stale,
    /// It belongs to earlier scenarios; the new ones cannot be simulated.
    Refused,
}

impl Freshness {
    /// What is said beside a picture that is not the answer to the scenarios as they are.
    pub(super) const fn doubt(self) -> Option<&'static str> {
        match self {
            Self::Current => None,
            Self::Short => Some("preview"),
            Self::Stale => Some("computing"),
            Self::Refused => Some("not computed"),
        }
    }
}

impl Answers {
    /// Takes in what the worker has sent. Returns the answers that are no longer shown.
    pub(super) fn take(&mut self, reply: Reply<Bench>) -> Option<Shown> {
        match reply {
            Reply::Pair(PairReply { question, baseline, candidate, drawn, short }) => {
                let drawn = Arc::new(drawn);
                return self.shown.replace(Shown { baseline, candidate, drawn, question, short });
            }
            Reply::Gains(question, gains) => self.take_gains(question, &gains),
            Reply::CurveBegins(points) => {
                self.coming = Some(Curve::new(points, self.budget_ms()));
                // The whole answer to the same question came before it.
                self.coming_of = self.shown.as_ref().map(|shown| whatever_count(&shown.candidate.scenario));
                self.judge_curve();
            }
            Reply::Point(point) => self.take_point(point),
            Reply::Done => {}
        }
        None
    }

    fn take_gains(&mut self, question: u64, gains: &Gains) {
        let Some(shown) = self.shown.as_mut().filter(|shown| shown.question == question && !shown.short) else {
            return;
        };
        // A copy is made only while the figures are being written to a file.
        Arc::make_mut(&mut shown.drawn).surer(&shown.baseline, &shown.candidate, gains);
    }

    /// The curve on screen stays until the next one is complete, so that it never blanks.
    fn take_point(&mut self, point: CurvePoint) {
        let Some(coming) = &mut self.coming else { return };
        coming.insert(point);
        if coming.complete() {
            self.curve = self.coming.take().unwrap_or_default();
            self.curve_of = self.coming_of.take();
        } else if !self.curve.complete() || self.curve.points().is_empty() {
            self.curve = coming.clone();
            self.curve_of.clone_from(&self.coming_of);
        }
        self.judge_curve();
    }

    /// Whether the curve on screen belongs to the candidate as it is; the slice count is what it is drawn over.
    fn judge_curve(&mut self) {
        let asked = self.asked.as_ref().map(|(_, pair)| whatever_count(&pair.candidate.scenario));
        let outdated = self.curve_of.is_some() && self.curve_of != asked;
        self.curve.next = outdated.then(|| match &self.coming {
            Some(coming) if self.coming_of == asked => (coming.points().len(), coming.expected),
            _ => (0, 0),
        });
    }

    /// The leads of both runs as text, baseline and candidate, where those on screen are of the scenarios as they are.
    pub(super) fn leads(&self) -> [Option<String>; 2] {
        let Some(shown) = self.shown.as_ref().filter(|_| self.freshness() == Freshness::Current) else {
            return [None, None];
        };
        [&shown.baseline, &shown.candidate].map(|answer| lead(&answer.summary))
    }

    /// How many points of how many have come of a curve that is coming.
    pub(super) fn curve_progress(&self) -> Option<(usize, usize)> {
        self.coming.as_ref().map(|coming| (coming.points().len(), coming.expected))
    }

    /// Whether all that a figure shows has come and is still true.
    pub(super) fn all_of(&self, figure: Figure) -> bool {
        let curve = figure != Figure::SliceCurve
            || (self.coming.is_none() && self.curve.next.is_none() && self.curve.complete());
        let sure = !matches!(figure, Figure::Verdict | Figure::SliceCurve) || self.sure();
        self.freshness() == Freshness::Current && curve && sure
    }

    /// Whether it is known how sure the gain is.
    fn sure(&self) -> bool {
        self.shown.as_ref().is_some_and(|shown| shown.drawn.verdict.gains.is_some())
    }

    fn budget_ms(&self) -> Option<f64> {
        self.asked.as_ref().map(|(_, pair)| pair.candidate.scenario.budget.pose_to_photon_ms)
    }

    /// Asks about the pair if it is another one than asked last. One that cannot be simulated is not asked about.
    pub(super) fn ask(&mut self, pair: &Pair, worker: Option<&mut Worker<Bench>>) {
        if self.asked.as_ref().is_some_and(|(_, asked)| asked.same_scenarios(pair)) {
            return;
        }
        self.problem = problem(pair);
        let question = match (&self.problem, worker) {
            (None, Some(worker)) => worker.ask(&pair.baseline.scenario, &pair.candidate.scenario),
            _ => NOT_ASKED,
        };
        self.asked = Some((question, pair.clone()));
        self.judge_curve();
    }

    /// Shows answers that were computed elsewhere as those to `pair`.
    pub(super) fn set(
        &mut self,
        pair: &Pair,
        baseline: Arc<Answer>,
        candidate: Arc<Answer>,
        drawn: impl Into<Arc<Drawn>>,
        curve: Curve,
    ) {
        let drawn = drawn.into();
        self.shown = Some(Shown { baseline, candidate, drawn, question: ELSEWHERE, short: false });
        self.curve = curve;
        self.curve_of = Some(whatever_count(&pair.candidate.scenario));
        self.coming = None;
        self.coming_of = None;
        self.problem = None;
        self.asked = Some((ELSEWHERE, pair.clone()));
    }

    /// Whether something is still to come.
    pub(super) fn open(&self) -> bool {
        matches!(self.freshness(), Freshness::Short | Freshness::Stale) || self.coming.is_some()
    }

    /// How true the picture is.
    pub(super) fn freshness(&self) -> Freshness {
        let asked = self.asked.as_ref().map(|(question, _)| *question);
        match &self.shown {
            _ if self.problem.is_some() => Freshness::Refused,
            Some(shown) if Some(shown.question) != asked => Freshness::Stale,
            Some(shown) if shown.short => Freshness::Short,
            Some(_) => Freshness::Current,
            None => Freshness::Stale,
        }
    }
}

/// A scenario as any slice count has it.
fn whatever_count(scenario: &Scenario) -> Scenario {
    let mut scenario = scenario.clone();
    scenario.slices.count = 1;
    scenario
}

fn problem(pair: &Pair) -> Option<Problem> {
    Side::BOTH.into_iter().find_map(|side| {
        let scenario = &pair.of(side).scenario;
        let refused =
            scenario.check().err().map(|error| (error.path().unwrap_or_default().to_owned(), error.to_string()));
        let (path, text) = refused.or_else(|| too_long(scenario))?;
        Some(Problem { side, path, text })
    })
}

/// A run that would take more memory than a window should.
pub(super) fn too_long(scenario: &Scenario) -> Option<(String, String)> {
    let (frames, slices) = (u64::from(scenario.run.frames), u64::from(scenario.slices.count));
    let refreshes = cost::refreshes_a_frame(scenario);
    let [of_slices, of_refreshes] = [MOST_SLICES / slices.max(1), (MOST_REFRESHES / refreshes) as u64];
    let most = of_slices.min(of_refreshes);
    (frames > most).then(|| {
        let [frames, most] = [frames, most].map(format::count);
        let of = if of_slices <= of_refreshes {
            format::of(slices, "slice")
        } else {
            format::of(refreshes.round() as u64, "refresh")
        };
        let text = format!("run.frames: {frames} frames of {of} are too much to show, {most} at most.");
        ("run.frames".to_owned(), format!("{text} `framelap simulate` takes more."))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curve_of_an_earlier_scenario_is_marked_until_the_next_is_there() {
        let mut pair = Pair::default();
        for side in Side::BOTH {
            pair.of_mut(side).scenario.run.frames = 300;
        }
        let (baseline, candidate, drawn, curve) = Bench::default().whole(&pair);
        let points = curve.points().to_vec();
        let mut answers = Answers::default();
        answers.set(&pair, Arc::clone(&baseline), Arc::clone(&candidate), drawn, curve);
        assert_eq!(answers.curve.next, None);
        // The handle moves along the curve and changes nothing of it; nor does the baseline.
        pair.candidate.scenario.slices.count = 5;
        pair.baseline.scenario.link.rate_mbps = 900.0;
        answers.ask(&pair, None);
        assert_eq!(answers.curve.next, None);
        pair.candidate.scenario.link.rate_mbps = 900.0;
        answers.ask(&pair, None);
        assert_eq!(answers.curve.next, Some((0, 0)));
        // The answer to the changed scenario comes, and then its curve, point by point.
        let (baseline, candidate, drawn, _) = Bench::default().whole(&pair);
        answers.take(Reply::Pair(PairReply { question: 1, baseline, candidate, drawn, short: false }));
        answers.take(Reply::CurveBegins(points.len()));
        answers.take(Reply::Point(points[0]));
        assert_eq!(answers.curve.next, Some((1, points.len())));
        for point in &points[1..] {
            answers.take(Reply::Point(*point));
        }
        assert_eq!((answers.curve.next, answers.curve_progress()), (None, None));
    }

    #[test]
    fn gains_over_seeds_join_the_answer_that_they_belong_to() {
        let mut pair = Pair::default();
        for side in Side::BOTH {
            pair.of_mut(side).scenario.run.frames = 300;
        }
        let mut bench = Bench::default();
        let (baseline, candidate, drawn) = bench.answers(&pair);
        let mut answers = Answers::default();
        answers.ask(&pair, None);
        answers.asked = Some((7, pair.clone()));
        answers.take(Reply::Pair(PairReply { question: 7, baseline, candidate, drawn, short: false }));
        let told = |answers: &Answers| answers.shown.as_ref().unwrap().drawn.verdict.uncertainty.clone();
        assert!(told(&answers).contains("being worked out"), "{}", told(&answers));
        assert!(answers.all_of(Figure::Lanes) && !answers.all_of(Figure::Verdict));
        let gains = Gains::of(&[Some([4.0, 5.0]), Some([4.2, 5.2])]);
        answers.take(Reply::Gains(6, gains));
        assert!(!answers.all_of(Figure::Verdict), "those of an earlier question");
        answers.take(Reply::Gains(7, gains));
        assert!(told(&answers).starts_with("Over 2 seeds 4.1 ± "), "{}", told(&answers));
        assert!(answers.all_of(Figure::Verdict));
    }

    #[test]
    fn run_that_needs_too_much_memory_is_refused_in_words() {
        let mut pair = Pair::default();
        pair.candidate.scenario.run.frames = 1_000_000;
        assert_eq!(problem(&pair), None);
        pair.candidate.scenario.slices.count = 64;
        let problem = problem(&pair).unwrap();
        assert_eq!((problem.side, problem.path.as_str()), (Side::Candidate, "run.frames"));
        assert!(problem.text.contains("125\u{2009}000 at most"), "{}", problem.text);
    }
}
