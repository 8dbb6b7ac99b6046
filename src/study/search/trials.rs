//! The trials of a search: which are made, one after the other, and what came of them.

use std::collections::BTreeMap;

use super::evolve::{self, Member};
use super::score::{self, Score};
use super::space::turned;
use super::{Phase, Question, Range, Trial};
use crate::scenario::Scenario;
use crate::scenario::parameters::Value;
use crate::study::cost::Cost;
use crate::study::vary::value_of;
use crate::study::{Runner, StudyError, Watch};

/// Share of the runs that go over all of the box before the steps about the best.
const GLOBAL_SHARE: f64 = 0.6;
/// First step about the best, a share of the box's side, and the last.
const FIRST_STEP: f64 = 0.1;
const LAST_STEP: f64 = 1e-5;

/// Trials under way.
pub(super) struct Trials<'a, F> {
    scenario: &'a Scenario,
    question: &'a Question,
    runner: &'a Runner,
    watch: &'a Watch<'a>,
    found: F,
    /// Numbers of the trials by their values.
    known: BTreeMap<String, usize>,
    /// What was tried, in order.
    pub(super) trail: Vec<Trial>,
    /// The score of each.
    pub(super) scores: Vec<Score>,
    /// Runs so far.
    pub(super) ran: usize,
}

impl<'a, F: FnMut(&Trial)> Trials<'a, F> {
    pub(super) fn new(
        scenario: &'a Scenario,
        question: &'a Question,
        runner: &'a Runner,
        watch: &'a Watch<'a>,
        found: F,
    ) -> Self {
        let (known, trail, scores) = (BTreeMap::new(), Vec::new(), Vec::new());
        Self { scenario, question, runner, watch, found, known, trail, scores, ran: 0 }
    }

    /// Does all trials; says whether these were all that there are.
    pub(super) fn go(&mut self) -> Result<bool, StudyError> {
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
                Range::Between { low, numeric, .. } => one.place(&value_of(numeric, low + at as f64)),
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
        let turn = |values: &[Value]| turned(scenario, &question.free, values);
        let bytes = fresh.iter().filter_map(|values| Some(Cost::of(&turn(values).ok()?).bytes)).fold(0.0, f64::max);
        let made = self.runner.run(fresh.len(), bytes, watch, |number, space| {
            let values = &fresh[number];
            let trial = Trial { phase, values: values.clone(), ..Trial::nothing() };
            let turned = match turn(values) {
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
