//! Search: the best scenario under constraints, over all of what may be turned first, then about the best.

mod evolve;
mod score;
mod space;
mod trials;

use serde::Serialize;

use super::StudyError;
use super::compare::compare;
use super::luck::{Difference, Mean, USUAL_SEEDS, check_seeds};
use super::runner::{Runner, Watch};
use super::sweep::Column;
use crate::measure::{Better, Measure};
use crate::scenario::Scenario;
use crate::scenario::parameters::Value;
use score::Score;
pub use score::{Held, Limit};
use space::turned;
pub use space::{Free, Range, Told};
use trials::Trials;

/// Runs of a search unless told otherwise.
pub const USUAL_RUNS: usize = 400;
/// Most runs.
pub const MOST_RUNS: usize = 100_000;
/// How far the seeds of the confirmation lie from those of the search.
const FRESH_SEEDS: u64 = 1_000_000;

/// What a search is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// What may be turned.
    pub free: Vec<Free>,
    /// The measure to make best.
    pub goal: &'static Measure,
    /// A second measure: then the front of both is sought.
    pub second: Option<&'static Measure>,
    /// Whether every line of the scenario's budget is a constraint.
    pub budget: bool,
    /// Further constraints.
    pub limits: Vec<Limit>,
    /// Most runs, those of the confirmation aside.
    pub runs: usize,
    /// Seeds of the confirmation; 0: none.
    pub confirm_seeds: u32,
}

impl Question {
    /// The best of a measure within the budget.
    pub fn new(free: Vec<Free>, goal: &'static Measure) -> Self {
        let (budget, limits) = (true, Vec::new());
        Self { free, goal, second: None, budget, limits, runs: USUAL_RUNS, confirm_seeds: USUAL_SEEDS }
    }

    fn check(&self) -> Result<(), StudyError> {
        if self.free.is_empty() {
            return Err(StudyError::question("what may be turned", "nothing", "one parameter or more"));
        }
        for (number, one) in self.free.iter().enumerate() {
            if self.free[..number].iter().any(|other| other.parameter.path == one.parameter.path) {
                return Err(StudyError::question(
                    "what may be turned",
                    &format!("{} twice", one.parameter.path),
                    "each once",
                ));
            }
        }
        if !(10..=MOST_RUNS).contains(&self.runs) {
            return Err(StudyError::question("runs", &self.runs, format!("whole numbers 10 to {MOST_RUNS}")));
        }
        if self.confirm_seeds > 0 {
            check_seeds(self.confirm_seeds)?;
        }
        for measure in std::iter::once(self.goal).chain(self.second) {
            if measure.better == Better::Neither {
                return Err(StudyError::question("goal", &measure.name, "a measure of which less or more is better"));
            }
        }
        Ok(())
    }
}

/// Where a trial comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// The scenario as it was given.
    Start,
    /// One of all combinations, where there are few.
    All,
    /// Over all of what may be turned.
    Global,
    /// About the best so far.
    Local,
}

impl Phase {
    /// In a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::All => "all",
            Self::Global => "global",
            Self::Local => "local",
        }
    }
}

/// One scenario tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trial {
    /// Where it comes from.
    pub phase: Phase,
    /// Values of what was turned.
    pub values: Vec<Value>,
    /// The goal.
    pub goal: Option<f64>,
    /// The second measure.
    pub second: Option<f64>,
    /// Whether all constraints are met.
    pub met: bool,
    /// By how much constraints are missed, a sum of shares of their limits; none where it was not run.
    pub violation: Option<f64>,
    /// Why it was not run.
    pub refused: Option<String>,
}

/// The best under fresh luck, against the scenario as it was given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Confirmed {
    /// Seeds, none of which the search had seen.
    pub seeds: u32,
    /// The goal of the scenario as it was given.
    pub start: Mean,
    /// The goal of the best.
    pub best: Mean,
    /// The best less the start, paired by seed.
    pub difference: Difference,
    /// Seeds at which the best met every line of its budget.
    pub within_budget_seeds: u32,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Search {
    /// Name of the scenario.
    pub name: String,
    /// The measure made best.
    pub goal: Column,
    /// The second measure.
    pub second: Option<Column>,
    /// What could be turned.
    pub free: Vec<Told>,
    /// Constraints beside the budget, in words.
    pub limits: Vec<String>,
    /// Whether the lines of the budget were constraints.
    pub budget: bool,
    /// Frames a run.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Whether every combination was tried.
    pub all_tried: bool,
    /// Whether any trial met all constraints.
    pub met: bool,
    /// Number of the best trial, or, where none met the constraints, of that which comes nearest.
    pub best: usize,
    /// How that trial holds each constraint.
    pub held: Vec<Held>,
    /// Every trial in the order in which they were made; the first is the scenario as it was given, brought within what may
    /// be turned.
    pub trail: Vec<Trial>,
    /// Numbers of the trials that meet the constraints and that none other beats in both measures, by the goal.
    pub front: Vec<usize>,
    /// The best under fresh luck.
    pub confirmed: Option<Confirmed>,
}

impl Search {
    /// The scenario of a trial.
    pub fn scenario(&self, scenario: &Scenario, question: &Question, trial: usize) -> Result<Scenario, StudyError> {
        Ok(turned(scenario, &question.free, &self.trail[trial].values)?)
    }
}

/// Seeks the best scenario that meets the constraints. All trials run under the scenario's own seed; the best is confirmed
/// under others. `found` hears of every trial, in order.
pub fn search(
    scenario: &Scenario,
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
    found: impl FnMut(&Trial),
) -> Result<Search, StudyError> {
    question.check()?;
    scenario.check()?;
    watch.expect(question.runs);
    let mut trials = Trials::new(scenario, question, runner, watch, found);
    let all_tried = trials.go()?;
    watch.spare(question.runs - trials.ran);
    let (trail, scores) = (trials.trail, trials.scores);
    let best = (0..scores.len()).min_by(|a, b| scores[*a].compare(&scores[*b])).unwrap_or_default();
    if trail[best].refused.is_some() {
        return Err(StudyError::Refused(trail[best].refused.clone().unwrap_or_default()));
    }
    let at_best = turned(scenario, &question.free, &trail[best].values)?;
    let summary = super::Workspace::new().summary_unless(&at_best, watch.stop())?;
    let met: Vec<usize> = (0..trail.len()).filter(|&number| trail[number].met).collect();
    let of_met: Vec<Score> = met.iter().map(|&number| scores[number]).collect();
    let mut front: Vec<usize> = if question.second.is_some() {
        evolve::front(&of_met).into_iter().map(|number| met[number]).collect()
    } else {
        Vec::new()
    };
    front.sort_by(|a, b| scores[*a].goals[0].total_cmp(&scores[*b].goals[0]));
    front.dedup_by_key(|number| scores[*number].goals.map(f64::to_bits));
    let confirmed =
        if question.confirm_seeds > 0 { Some(confirm(scenario, &at_best, question, runner, watch)?) } else { None };
    Ok(Search {
        name: scenario.name.clone(),
        goal: Column::of(question.goal),
        second: question.second.map(Column::of),
        free: question.free.iter().map(Free::told).collect(),
        limits: question.limits.iter().map(Limit::words).collect(),
        budget: question.budget,
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        all_tried,
        met: !met.is_empty(),
        best,
        held: score::held(&summary, question.budget, &question.limits),
        trail,
        front,
        confirmed,
    })
}

/// The best against the start under luck that the search has not seen.
fn confirm(
    start: &Scenario,
    best: &Scenario,
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
) -> Result<Confirmed, StudyError> {
    let mut both = [start.clone(), best.clone()];
    both[0].run.seed = start.run.seed.wrapping_add(FRESH_SEEDS);
    let comparison = compare(&both, question.confirm_seeds, runner, watch)?;
    let row =
        comparison.row(question.goal).ok_or_else(|| StudyError::question("goal", &question.goal.name, "a measure"))?;
    Ok(Confirmed {
        seeds: question.confirm_seeds,
        start: row.values[0],
        best: row.values[1],
        difference: row.differences[0],
        within_budget_seeds: comparison.scenarios[1].within_budget_seeds,
    })
}

impl Trial {
    const fn nothing() -> Self {
        Self {
            phase: Phase::Start,
            values: Vec::new(),
            goal: None,
            second: None,
            met: false,
            violation: None,
            refused: None,
        }
    }
}

#[cfg(test)]
mod tests;
