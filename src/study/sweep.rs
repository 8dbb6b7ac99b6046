//! Sweep: one parameter over its values, for one or two scenarios under the same luck.

use serde::Serialize;

use super::closed_form::{BestCount, Line};
use super::cost::most_bytes;
use super::luck::{Difference, Mean, check_seeds, under_luck};
use super::runner::{Runner, Watch};
use super::vary::{Vary, coarse_to_fine};
use super::{PLATEAU_MS, StudyError};
use crate::measure::measures::{self, ForPeople};
use crate::measure::{Better, Measure};
use crate::scenario::parameters::Value;
use crate::scenario::{RunLength, Scenario};

/// What a sweep is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// The parameter and its values.
    pub vary: Vary,
    /// Measures to keep.
    pub measures: Vec<&'static Measure>,
    /// The measure that best value and plateau go by.
    pub goal: &'static Measure,
    /// Seeds a value; intervals need two or more.
    pub seeds: u32,
}

impl Question {
    /// A sweep of the main measures by pose to photon at p99, a seed a value.
    pub fn new(vary: Vary) -> Self {
        let measures = measures::all().iter().filter(|measure| measure.main).collect();
        Self { vary, measures, goal: measures::usual(), seeds: 1 }
    }
}

/// What one run of a sweep came to, told as soon as it is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Number of the value.
    pub point: usize,
    /// 0 the candidate, 1 the baseline.
    pub side: usize,
    /// Number of the seed.
    pub seed: u32,
    /// Values of the measures asked for.
    pub values: Vec<Option<f64>>,
}

/// One parameter against what it does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sweep {
    /// Path of the parameter.
    pub path: &'static str,
    /// Stage and label of the parameter.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// Whether its values stand in equal ratios.
    pub logarithmic: bool,
    /// Seeds a value.
    pub seeds: u32,
    /// Frames a run, as the candidate has them.
    pub frames: u32,
    /// First frames that do not count, as the candidate has them.
    pub warmup: u32,
    /// The measures kept, in the order of the values of a point.
    pub measures: Vec<Column>,
    /// The measure that best value and plateau go by.
    pub goal: &'static str,
    /// Candidate, and baseline where there is one.
    pub sides: Vec<Side>,
    /// A point for every value, in the order of the values.
    pub points: Vec<Point>,
    /// Paths of other parameters that had to follow somewhere.
    pub followed: Vec<&'static str>,
}

/// A measure that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Its name in the list.
    pub name: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Whether it is a share.
    #[serde(skip)]
    pub is_share: bool,
}

impl Column {
    /// Of a measure.
    pub fn of(measure: &'static Measure) -> Self {
        let Measure { name, label, unit, better, is_share, .. } = measure;
        Self { name, label, unit, better: *better, is_share: *is_share }
    }

    /// How it is shown to people.
    pub const fn for_people(&self) -> ForPeople {
        ForPeople::of(self.unit, self.is_share)
    }
}

/// What a sweep says of one scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Side {
    /// Its name.
    pub name: String,
    /// Number of the best point by the goal; none where it was measured nowhere.
    pub best: Option<usize>,
    /// First and last point about the best that are as good, to 0.2 ms; only for a goal in ms.
    pub plateau: Option<[usize; 2]>,
    /// Where a server's offered load passes 1.
    pub cliff: Option<Cliff>,
    /// The best slice count by the closed form, in a sweep over it.
    pub closed_form: Option<BestCount>,
    /// Why the closed form does not hold, in a sweep over the slice count.
    pub no_closed_form: Option<&'static str>,
    /// Latency of one frame alone at each point by arithmetic, in a sweep over the slice count \[ms\].
    pub alone_ms: Option<Vec<f64>>,
}

/// Where the greatest offered load passes 1: beyond, frames are dropped or queue without end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Cliff {
    /// Number of the last point before it.
    pub before: usize,
    /// Value of the parameter at which the load is 1, in a straight line between the two points.
    pub value: f64,
    /// Whether the load passes 1 upward as the parameter grows.
    pub upward: bool,
}

/// One value of the parameter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    /// The value.
    pub value: Value,
    /// What the candidate, and the baseline, came to there.
    pub sides: Vec<SidePoint>,
    /// Candidate less baseline, by measure; empty without a baseline.
    pub differences: Vec<Difference>,
}

/// One scenario at one value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SidePoint {
    /// Seeds at which it was steady.
    pub steady_seeds: u32,
    /// Seeds at which no lead could be tuned, so that frames were planned with that of the trial.
    pub untuned_seeds: u32,
    /// By measure.
    pub values: Vec<Mean>,
    /// Greatest offered load, mean over the seeds.
    pub load: Option<f64>,
}

/// What is kept of one run.
struct One {
    values: Vec<Option<f64>>,
    goal: Option<f64>,
    load: Option<f64>,
    steady: bool,
    untuned: bool,
}

/// Runs one or two checked scenarios, the candidate first, at every value, under the same luck and at the candidate's
/// length. `found` hears of every run as it is done, from any thread; the ends of the range and its middle come first.
pub fn sweep(
    scenarios: &[Scenario],
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
    found: impl Fn(Found) + Sync,
) -> Result<Sweep, StudyError> {
    let Some(first) = scenarios.first().filter(|_| scenarios.len() <= 2) else {
        return Err(StudyError::question("scenarios", &scenarios.len(), "one, or two"));
    };
    check_seeds(question.seeds)?;
    let (run, vary, sides) = (first.run, &question.vary, scenarios.len());
    let mut turned: Vec<Vec<Scenario>> = Vec::with_capacity(vary.values.len());
    let mut followed = Vec::new();
    for value in &vary.values {
        let at_value = scenarios.iter().map(|scenario| {
            let one = vary.turn(&Scenario { run, ..scenario.clone() }, value)?;
            followed.extend(one.followed);
            Ok(one.scenario)
        });
        turned.push(at_value.collect::<Result<_, StudyError>>()?);
    }
    followed.sort_unstable();
    followed.dedup();
    let order = coarse_to_fine(turned.len());
    let jobs = (0..question.seeds)
        .flat_map(|seed| order.iter().flat_map(move |&(point, _)| (0..sides).map(move |side| (point, side, seed))));
    let jobs: Vec<(usize, usize, u32)> = jobs.collect();
    watch.expect(jobs.len());
    let ones = runner.run(jobs.len(), most_bytes(turned.iter().flatten()), watch, |number, space| {
        let (point, side, seed) = jobs[number];
        let scenario = under_luck(&turned[point][side], seed, turned[point][side].run.seed);
        let summary = space.summary_unless(&scenario, watch.stop())?;
        let load = measures::find("load").and_then(|load| load.get(&summary));
        let values: Vec<_> = question.measures.iter().map(|measure| measure.get(&summary)).collect();
        found(Found { point, side, seed, values: values.clone() });
        Ok(One {
            values,
            goal: question.goal.get(&summary),
            load,
            steady: summary.steady,
            untuned: summary.lead_infinite,
        })
    })?;
    let mut by_point: Vec<Vec<Vec<One>>> = turned.iter().map(|_| (0..sides).map(|_| Vec::new()).collect()).collect();
    for ((point, side, _), one) in jobs.into_iter().zip(ones) {
        by_point[point][side].push(one);
    }
    // The length itself may be what is turned.
    let points = vary.values.iter().zip(&by_point).zip(&turned);
    let points = points.map(|((value, sides), turned)| point(value, sides, question, turned[0].run)).collect();
    Ok(Sweep {
        path: &vary.parameter.path,
        label: vary.parameter.full_label(),
        unit: vary.parameter.unit(),
        logarithmic: vary.logarithmic,
        seeds: question.seeds,
        frames: run.frames,
        warmup: run.warmup,
        measures: question.measures.iter().map(|measure| Column::of(measure)).collect(),
        goal: &question.goal.name,
        sides: scenarios
            .iter()
            .enumerate()
            .map(|(side, scenario)| self::side(scenario, side, question, &by_point))
            .collect(),
        points,
        followed,
    })
}

fn by_measure(ones: &[One], number: usize) -> Vec<Option<f64>> {
    ones.iter().map(|one| one.values[number]).collect()
}

fn point(value: &Value, sides: &[Vec<One>], question: &Question, run: RunLength) -> Point {
    let of_side = |ones: &Vec<One>| SidePoint {
        steady_seeds: ones.iter().filter(|one| one.steady).count() as u32,
        untuned_seeds: ones.iter().filter(|one| one.untuned).count() as u32,
        values: (0..question.measures.len()).map(|number| Mean::of(&by_measure(ones, number))).collect(),
        load: load(ones),
    };
    let differences = if let [candidate, baseline] = sides {
        let difference = |(number, measure): (usize, &&'static Measure)| {
            Difference::of(&by_measure(baseline, number), &by_measure(candidate, number), measure, run)
        };
        question.measures.iter().enumerate().map(difference).collect()
    } else {
        Vec::new()
    };
    Point { value: value.clone(), differences, sides: sides.iter().map(of_side).collect() }
}

fn load(ones: &[One]) -> Option<f64> {
    Mean::of(&ones.iter().map(|one| one.load).collect::<Vec<_>>()).mean
}

fn side(scenario: &Scenario, side: usize, question: &Question, by_point: &[Vec<Vec<One>>]) -> Side {
    let goals: Vec<Option<f64>> = by_point
        .iter()
        .map(|sides| Mean::of(&sides[side].iter().map(|one| one.goal).collect::<Vec<_>>()).mean)
        .collect();
    let loads: Vec<Option<f64>> = by_point.iter().map(|sides| load(&sides[side])).collect();
    let best = best(&goals, question.goal);
    let plateau = best.filter(|_| question.goal.unit == "ms").and_then(|best| plateau(&goals, best));
    let counts = counts(question);
    let line = counts.as_ref().map(|_| Line::of(scenario));
    let closed = line.map(|line| line.and_then(|line| line.best_count()));
    let alone = |(line, counts): (Line, &Vec<u32>)| counts.iter().map(|&count| line.alone_ms(count)).collect();
    Side {
        name: scenario.name.clone(),
        best,
        plateau,
        cliff: question.vary.numbers().and_then(|numbers| cliff(&numbers, &loads)),
        closed_form: closed.and_then(Result::ok),
        no_closed_form: closed.and_then(Result::err),
        alone_ms: line.and_then(Result::ok).zip(counts.as_ref()).map(alone),
    }
}

/// The slice counts of a sweep over them.
fn counts(question: &Question) -> Option<Vec<u32>> {
    let numbers = question.vary.numbers().filter(|_| question.vary.parameter.path == "slices.count")?;
    Some(numbers.into_iter().map(|number| number as u32).collect())
}

/// Number of the best value; of equals the first.
pub(super) fn best(goals: &[Option<f64>], goal: &Measure) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (number, value) in goals.iter().enumerate() {
        let Some(value) = *value else { continue };
        if best.is_none_or(|(_, least)| goal.prefers(value, least)) {
            best = Some((number, value));
        }
    }
    best.map(|(number, _)| number)
}

/// How far values as good as the best reach about it without a gap.
fn plateau(goals: &[Option<f64>], best: usize) -> Option<[usize; 2]> {
    let least = goals[best]?;
    let good = |number: &usize| goals[*number].is_some_and(|value| (value - least).abs() <= PLATEAU_MS);
    let first = (0..best).rev().take_while(good).last().unwrap_or(best);
    let last = (best..goals.len()).take_while(good).last().unwrap_or(best);
    Some([first, last])
}

/// The first two neighbours between which the load passes 1.
fn cliff(numbers: &[f64], loads: &[Option<f64>]) -> Option<Cliff> {
    let pairs = numbers.windows(2).zip(loads.windows(2)).enumerate();
    pairs.into_iter().find_map(|(before, (numbers, loads))| {
        let (a, b) = (loads[0]?, loads[1]?);
        let passes = (a <= 1.0) != (b <= 1.0);
        let value = numbers[0] + (numbers[1] - numbers[0]) * (1.0 - a) / (b - a);
        passes.then_some(Cliff { before, value, upward: (b > a) == (numbers[1] > numbers[0]) })
    })
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;
    use crate::study::Workspace;

    fn short() -> Scenario {
        let mut scenario = Scenario::default();
        // Content that drifts makes some short runs look as if they grew.
        (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (500, 100, 0.0);
        scenario
    }

    #[test]
    fn points_are_summaries_with_the_baseline_beside() {
        let mut baseline = short();
        baseline.decode.work.per_mpx_ms = 0.5;
        let question = Question { seeds: 2, ..Question::new(Vary::parse("slices.count=1,8,40").unwrap()) };
        let told = Mutex::new(Vec::new());
        let both = [short(), baseline.clone()];
        let found = |found: Found| told.lock().unwrap().push((found.point, found.side, found.seed));
        let sweep = sweep(&both, &question, &Runner::new(), &Watch::nobody(), found).unwrap();
        assert_eq!(told.into_inner().unwrap().len(), 12);
        let p99 = sweep.measures.iter().position(|column| column.name == sweep.goal).unwrap();
        let of = |seed, scenario: &Scenario| {
            let mut scenario = scenario.clone();
            (scenario.slices.count, scenario.run.seed) = (8, seed);
            Workspace::new().summary(&scenario).pose_to_photon_ms.p99.unwrap()
        };
        let mean = |scenario: &Scenario| f64::midpoint(of(1, scenario), of(2, scenario));
        let point = &sweep.points[1];
        assert!((point.sides[0].values[p99].mean.unwrap() - mean(&short())).abs() < 1e-9);
        assert!((point.sides[1].values[p99].mean.unwrap() - mean(&baseline)).abs() < 1e-9);
        let gap = mean(&short()) - mean(&baseline);
        assert!((point.differences[p99].mean.unwrap() - gap).abs() < 1e-9 && gap > 0.0);
        let side = &sweep.sides[0];
        assert_eq!((side.best, side.plateau), (Some(1), Some([1, 1])));
        let cliff = side.cliff.unwrap();
        assert!(cliff.before == 1 && cliff.upward && cliff.value > 20.0 && cliff.value < 32.0, "{cliff:?}");
        assert!(side.closed_form.is_some() && side.alone_ms.as_ref().unwrap().len() == 3);
    }

    #[test]
    fn best_plateau_and_cliff_follow_from_the_curve() {
        let curve = [Some(40.0), Some(31.15), Some(31.0), None, Some(31.1)];
        assert_eq!(best(&curve, measures::usual()), Some(2));
        assert_eq!(plateau(&curve, 2), Some([1, 2]));
        assert_eq!(best(&[None, None], measures::usual()), None);
        let more = measures::find("headroom_ms").unwrap();
        assert_eq!(best(&curve, more), Some(0));
        let found = cliff(&[10.0, 20.0, 30.0], &[Some(0.5), Some(0.9), Some(1.1)]).unwrap();
        assert_eq!((found.before, found.upward), (1, true));
        assert!((found.value - 25.0).abs() < 1e-9);
        assert!(!cliff(&[10.0, 20.0], &[Some(1.5), Some(0.9)]).unwrap().upward);
        assert_eq!(cliff(&[10.0, 20.0], &[Some(0.5), Some(0.9)]), None);
    }
}
