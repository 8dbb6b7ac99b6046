//! Search: the best scenario under constraints, over all of what may be turned first, then about the best.

mod evolve;
mod score;
mod space;

use std::collections::BTreeMap;

use serde::Serialize;

use super::StudyError;
use super::compare::compare;
use super::luck::{Difference, Mean, USUAL_SEEDS};
use super::runner::{Runner, Watch};
use super::sweep::Column;
use crate::measure::{Better, Measure};
use crate::scenario::Scenario;
use crate::scenario::parameters::Value;
use evolve::Member;
use score::Score;
pub use score::{Held, Limit};
use space::turned;
pub use space::{Free, Range, Told};

/// Runs of a search unless told otherwise.
pub const USUAL_RUNS: usize = 400;
/// Most runs.
pub const MOST_RUNS: usize = 100_000;
/// Share of the runs that go over all of the box before the steps about the best.
const GLOBAL_SHARE: f64 = 0.6;
/// First step about the best, a share of the box's side, and the last.
const FIRST_STEP: f64 = 0.1;
const LAST_STEP: f64 = 1e-5;
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
    let confirming = 2 * question.confirm_seeds as usize;
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
    let confirmed = if confirming > 0 { Some(confirm(scenario, &at_best, question, runner, watch)?) } else { None };
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

/// Trials under way.
struct Trials<'a, F> {
    scenario: &'a Scenario,
    question: &'a Question,
    runner: &'a Runner,
    watch: &'a Watch<'a>,
    found: F,
    /// Numbers of the trials by their values.
    known: BTreeMap<String, usize>,
    trail: Vec<Trial>,
    scores: Vec<Score>,
    ran: usize,
}

impl<'a, F: FnMut(&Trial)> Trials<'a, F> {
    fn new(scenario: &'a Scenario, question: &'a Question, runner: &'a Runner, watch: &'a Watch<'a>, found: F) -> Self {
        let (known, trail, scores) = (BTreeMap::new(), Vec::new(), Vec::new());
        Self { scenario, question, runner, watch, found, known, trail, scores, ran: 0 }
    }

    /// Does all trials; says whether these were all that there are.
    fn go(&mut self) -> Result<bool, StudyError> {
        let free = &self.question.free;
        let start: Vec<f64> =
            free.iter().map(|one| one.parameter.get(self.scenario).map_or(0.5, |value| one.place(&value))).collect();
        self.try_all(Phase::Start, std::slice::from_ref(&start))?;
        let combinations = free.iter().try_fold(1_usize, |product, one| product.checked_mul(one.count()?));
        if let Some(count) = combinations.filter(|&count| count <= self.question.runs) {
            let places: Vec<Vec<f64>> = (0..count).map(|number| self.combination(number)).collect();
            self.try_all(Phase::All, &places)?;
            return Ok(true);
        }
        let place = self.globally(start)?;
        if self.question.second.is_none() {
            self.locally(place)?;
        }
        Ok(false)
    }

    /// The place of one of all combinations.
    fn combination(&self, mut number: usize) -> Vec<f64> {
        let mut place = Vec::with_capacity(self.question.free.len());
        for one in &self.question.free {
            let count = one.count().unwrap_or(1);
            let at = number % count;
            number /= count;
            place.push(match &one.range {
                Range::Among(_) => (at as f64 + 0.5) / count as f64,
                Range::Between { low, numeric, .. } => one.place(&super::vary::value_of(numeric, low + at as f64)),
            });
        }
        place
    }

    fn left(&self) -> usize {
        self.question.runs - self.ran
    }

    /// Over all of the box; returns the best place.
    fn globally(&mut self, start: Vec<f64>) -> Result<Vec<f64>, StudyError> {
        let mut rng = evolve::chance();
        let runs = self.question.runs;
        let size = evolve::population(start.len(), runs);
        let mut places = vec![start.clone()];
        places.extend(evolve::spread(size - 1, start.len(), &mut rng));
        let mut members = self.members(places)?;
        let two = self.question.second.is_some();
        let last = if two { runs } else { (runs as f64 * GLOBAL_SHARE) as usize };
        // Children that are known already cost nothing: a bound keeps them from going on for ever.
        for _ in 0..runs {
            if self.ran >= last || members.len() < 4 || evolve::settled(&members) {
                break;
            }
            let scores: Vec<Score> = members.iter().map(|member| member.score).collect();
            let good = if two { evolve::front(&scores) } else { vec![evolve::best(&members)] };
            let children = self.members(evolve::children(&members, &good, &mut rng))?;
            if two {
                members.extend(children);
                members = evolve::select(members, size);
            } else {
                for (member, child) in members.iter_mut().zip(children) {
                    if child.score.compare(&member.score).is_le() {
                        *member = child;
                    }
                }
            }
        }
        Ok(members.get(evolve::best(&members)).map_or(start, |member| member.place.clone()))
    }

    /// Tries places and makes members of them, as far as runs are left.
    fn members(&mut self, places: Vec<Vec<f64>>) -> Result<Vec<Member>, StudyError> {
        let numbers = self.try_all(Phase::Global, &places)?;
        let members = places.into_iter().zip(numbers);
        Ok(members.filter_map(|(place, number)| Some(Member { place, score: self.scores[number?] })).collect())
    }

    /// Steps along the sides about a place, ever smaller (pattern search: Hooke and Jeeves, J. ACM 8, 1961).
    fn locally(&mut self, mut place: Vec<f64>) -> Result<(), StudyError> {
        let mut step = FIRST_STEP;
        let Some(mut here) = self.try_all(Phase::Local, std::slice::from_ref(&place))?[0] else { return Ok(()) };
        while step >= LAST_STEP && self.left() > 0 {
            let beside: Vec<Vec<f64>> = (0..place.len())
                .flat_map(|side| self.question.free[side].beside(place[side], step).map(|at| (side, at)))
                .map(|(side, at)| {
                    let mut next = place.clone();
                    next[side] = at;
                    next
                })
                .collect();
            let numbers = self.try_all(Phase::Local, &beside)?;
            let tried = beside.into_iter().zip(numbers).filter_map(|(place, number)| Some((place, number?)));
            let best = tried.min_by(|a, b| self.scores[a.1].compare(&self.scores[b.1]));
            match best {
                Some((next, number)) if self.scores[number].compare(&self.scores[here]).is_lt() => {
                    // Twice as far in the same direction, as long as that goes well.
                    let further: Vec<f64> =
                        next.iter().zip(&place).map(|(to, from)| (2.0 * to - from).clamp(0.0, 1.0)).collect();
                    (place, here) = (next, number);
                    if let Some(number) = self.try_all(Phase::Local, std::slice::from_ref(&further))?[0]
                        && self.scores[number].compare(&self.scores[here]).is_lt()
                    {
                        (place, here) = (further, number);
                    }
                }
                Some(_) => step /= 2.0,
                None => break,
            }
        }
        Ok(())
    }

    /// Tries places at once and tells the number of each trial; none where no runs are left. What is known is not run again.
    fn try_all(&mut self, phase: Phase, places: &[Vec<f64>]) -> Result<Vec<Option<usize>>, StudyError> {
        let free = &self.question.free;
        let values = |place: &Vec<f64>| free.iter().zip(place).map(|(one, &at)| one.value(at)).collect::<Vec<Value>>();
        let mut numbers = Vec::with_capacity(places.len());
        let mut fresh: Vec<Vec<Value>> = Vec::new();
        for place in places {
            let values = values(place);
            let key = free.iter().zip(&values).map(|(one, value)| one.parameter.format(value)).collect::<Vec<_>>();
            let next = self.trail.len() + fresh.len();
            let number = match self.known.get(&key.join("\n")) {
                Some(&number) => Some(number),
                None if self.ran + fresh.len() < self.question.runs => {
                    self.known.insert(key.join("\n"), next);
                    fresh.push(values);
                    Some(next)
                }
                None => None,
            };
            numbers.push(number);
        }
        self.ran += fresh.len();
        let (scenario, question, watch) = (self.scenario, self.question, self.watch);
        let made = self.runner.run(fresh.len(), watch, |number, space| {
            let values = &fresh[number];
            let trial = Trial { phase, values: values.clone(), ..Trial::nothing() };
            let turned = match turned(scenario, &question.free, values) {
                Ok(turned) => turned,
                Err(error) => return Ok((Trial { refused: Some(error.to_string()), ..trial }, Score::REFUSED)),
            };
            let summary = space.summary_unless(&turned, watch.stop())?;
            let held = score::held(&summary, question.budget, &question.limits);
            let score = Score::of(&summary, &held, [Some(question.goal), question.second]);
            let second = question.second.and_then(|measure| measure.get(&summary));
            let goal = question.goal.get(&summary);
            Ok((Trial { goal, second, met: score.met(), violation: Some(score.violation), ..trial }, score))
        })?;
        for (trial, score) in made {
            (self.found)(&trial);
            self.trail.push(trial);
            self.scores.push(score);
        }
        Ok(numbers)
    }
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
