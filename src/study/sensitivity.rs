//! Sensitivity: which parameter moves a measure, turned a tenth down and a tenth up, one at a time, under the same luck.

use serde::Serialize;

use super::StudyError;
use super::cost::most_bytes;
use super::luck::{Difference, Mean, USUAL_SEEDS, check_seeds, under_luck};
use super::runner::{Runner, Watch};
use super::sweep::Column;
use super::vary::{Vary, value_of};
use crate::measure::Measure;
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Kind, Numeric, Parameter, Stage};

/// Share by which a number is turned.
pub const SHARE: f64 = 0.1;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    /// The measure.
    pub measure: &'static Measure,
    /// Seeds a value.
    pub seeds: u32,
}

impl Question {
    /// How a measure hangs on every parameter, over 8 seeds.
    pub fn new(measure: &'static Measure) -> Self {
        Self { measure, seeds: USUAL_SEEDS }
    }
}

/// What every parameter does to a measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sensitivity {
    /// Name of the scenario.
    pub name: String,
    /// The measure.
    pub measure: Column,
    /// The measure of the scenario as it is.
    pub value: Mean,
    /// Seeds a value.
    pub seeds: u32,
    /// Frames a run.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Every parameter that could be turned: those whose effect is beyond luck first, the largest first; then those whose
    /// effect is not; then those without any.
    pub rows: Vec<Row>,
    /// Parameters that are 0, of which a tenth is nothing.
    pub zero: Vec<&'static str>,
}

/// One parameter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its path.
    pub path: &'static str,
    /// Its stage and label.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// Its value.
    pub value: f64,
    /// A tenth less, or a whole step; none where the range ends.
    pub less: Option<Turn>,
    /// A tenth more, or a whole step.
    pub more: Option<Turn>,
    /// Whether either changes the measure beyond luck.
    pub matters: bool,
    /// The greatest change of the measure for the better that either brings; 0 where neither does.
    pub gain: f64,
    /// The greatest change of the measure that either brings.
    pub effect: f64,
    /// Change of the measure over change of the parameter, between the two ends.
    pub slope: Option<f64>,
}

/// A parameter at another value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turn {
    /// The value.
    pub value: f64,
    /// The measure there less the measure as it is.
    pub change: Difference,
    /// Paths of other parameters that had to follow.
    pub followed: Vec<&'static str>,
}

/// A parameter that is to be turned.
struct Candidate {
    parameter: &'static Parameter,
    value: f64,
    /// Down and up.
    turns: [Option<(f64, Scenario, Vec<&'static str>)>; 2],
}

/// Without a value under every seed there is nothing to hold changes against: not one change could be told, whatever matters.
fn measurable(as_it_is: &[Option<f64>], measure: &Measure) -> Result<(), StudyError> {
    let none = as_it_is.iter().filter(|value| value.is_none()).count();
    if none == 0 {
        return Ok(());
    }
    let found = format!(
        "no value under {none} of {} seeds, where the run is not steady or has nothing to measure",
        as_it_is.len()
    );
    Err(StudyError::question(
        measure.label.as_str(),
        &found,
        "a value under every seed; a longer run (run.frames) may give it",
    ))
}

/// Turns every number of a checked scenario that is not of its budget or run, a tenth or a whole step down and up, and tells
/// what that does to the measure: paired by seed, with intervals, ranked.
pub fn sensitivity(
    scenario: &Scenario,
    question: Question,
    runner: &Runner,
    watch: &Watch<'_>,
) -> Result<Sensitivity, StudyError> {
    let Question { measure, seeds } = question;
    check_seeds(seeds)?;
    scenario.check()?;
    let (candidates, zero) = candidates(scenario);
    let mut scenarios = vec![scenario];
    scenarios.extend(candidates.iter().flat_map(|one| one.turns.iter().flatten().map(|(_, turned, _)| turned)));
    watch.expect(scenarios.len() * seeds as usize);
    let each = |scenarios: &[&Scenario]| {
        let bytes = most_bytes(scenarios.iter().copied());
        runner.run(scenarios.len() * seeds as usize, bytes, watch, |number, space| {
            let (at, seed) = (number / seeds as usize, number % seeds as usize);
            let turned = under_luck(scenarios[at], seed as u32, scenario.run.seed);
            Ok(measure.get(&space.summary_unless(&turned, watch.stop())?))
        })
    };
    let as_it_is = each(&scenarios[..1])?;
    measurable(&as_it_is, measure)?;
    let values = each(&scenarios[1..])?;
    let mut by_scenario = values.chunks(seeds as usize);
    let mut rows: Vec<Row> = candidates
        .into_iter()
        .map(|one| {
            let mut turn = |turn: Option<(f64, Scenario, Vec<&'static str>)>| {
                let (value, _, followed) = turn?;
                let change = Difference::of(&as_it_is, by_scenario.next()?, measure, scenario.run);
                Some(Turn { value, change, followed })
            };
            let [less, more] = one.turns.map(&mut turn);
            row(one.parameter, one.value, [less, more], measure)
        })
        .collect();
    // Rows that matter first, then by size; equal ones stay in pipeline order.
    rows.sort_by(|a, b| b.matters.cmp(&a.matters).then(b.effect.total_cmp(&a.effect)));
    Ok(Sensitivity {
        name: scenario.name.clone(),
        measure: Column::of(measure),
        value: Mean::of(&as_it_is),
        seeds,
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        rows,
        zero,
    })
}

fn row(parameter: &'static Parameter, value: f64, [less, more]: [Option<Turn>; 2], measure: &Measure) -> Row {
    let turns = || less.iter().chain(&more);
    let changes = || turns().filter_map(|turn| turn.change.mean);
    let ends: Vec<(f64, f64)> = turns().filter_map(|turn| Some((turn.value, turn.change.mean?))).collect();
    let slope = match ends[..] {
        [(low, below), (high, above)] => Some((above - below) / (high - low)),
        [(other, change)] => Some(change / (other - value)),
        _ => None,
    };
    let better = |change: f64| if measure.prefers(change, 0.0) { change.abs() } else { 0.0 };
    Row {
        path: &parameter.path,
        label: parameter.full_label(),
        unit: parameter.unit(),
        value,
        matters: turns().any(|turn| turn.change.verdict.sure()),
        gain: changes().map(better).fold(0.0, f64::max),
        effect: changes().map(f64::abs).fold(0.0, f64::max),
        slope,
        less,
        more,
    }
}

/// Every number that applies, with its turns; and those that are 0.
fn candidates(scenario: &Scenario) -> (Vec<Candidate>, Vec<&'static str>) {
    let (mut candidates, mut zero) = (Vec::new(), Vec::new());
    for parameter in parameters::all() {
        let (Kind::Number(numeric) | Kind::NumberOrNone { numeric, .. }) = parameter.kind else { continue };
        if matches!(parameter.stage, Stage::About | Stage::Budget | Stage::Run) {
            continue;
        }
        let Some(value) = parameter.get_f64(scenario) else { continue };
        if value == 0.0 && !numeric.whole {
            zero.push(parameter.path.as_str());
            continue;
        }
        let turns = ends(&numeric, value, scenario).map(|end| {
            let end = end?;
            let vary = Vary { parameter, values: vec![value_of(&numeric, end)], logarithmic: false };
            let turned = vary.turn(scenario, &vary.values[0]).ok()?;
            Some((end, turned.scenario, turned.followed))
        });
        if turns.iter().any(Option::is_some) {
            candidates.push(Candidate { parameter, value, turns });
        }
    }
    (candidates, zero)
}

/// The value a tenth, or a whole step, down and up, as far as the range goes.
fn ends(numeric: &Numeric, value: f64, scenario: &Scenario) -> [Option<f64>; 2] {
    if !numeric.only.is_empty() {
        let at = numeric.only.iter().position(|allowed| allowed.total_cmp(&value).is_eq());
        let neighbour = |step: isize| at.and_then(|at| numeric.only.get(at.checked_add_signed(step)?)).copied();
        return [neighbour(-1), neighbour(1)];
    }
    let step = if numeric.whole { 1.0 } else { SHARE * value.abs() };
    [value - step, value + step].map(|end| {
        let end = end.clamp(numeric.low, numeric.high_in(scenario).max(numeric.low));
        (end.total_cmp(&value).is_ne() && numeric.allows_in(end, scenario)).then_some(end)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;

    #[test]
    fn turns_stay_in_their_range() {
        let scenario = Scenario::default();
        let of = |path: &str, scenario: &Scenario| {
            let parameter = parameters::find(path).unwrap();
            ends(parameter.numeric().unwrap(), parameter.get_f64(scenario).unwrap(), scenario)
        };
        assert_eq!(of("slices.count", &scenario), [Some(7.0), Some(9.0)]);
        assert_eq!(of("slices.block_px", &scenario), [Some(1.0), Some(32.0)]);
        let [less, more] = of("encode.slice_overhead_ms", &scenario).map(Option::unwrap);
        assert!((less - 0.108).abs() < 1e-12 && (more - 0.132).abs() < 1e-12);
        // Scan-out of 11 ms may grow to the refresh period only; a single slice has no fewer.
        let mut tight = scenario.clone();
        (tight.display.scanout_ms, tight.slices.count) = (11.0, 1);
        let [less, more] = of("display.scanout_ms", &tight).map(Option::unwrap);
        assert!((less - 9.9).abs() < 1e-9 && (more - 1000.0 / 90.0).abs() < 1e-9, "{less}, {more}");
        assert_eq!(of("slices.count", &tight), [None, Some(2.0)]);
    }

    #[test]
    fn without_a_value_nothing_is_said_to_matter_or_not() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup) = (60, 50);
        scenario.stream.intra.factor = 1.0;
        scenario.link.loss = 0.5;
        let question = Question { measure: measures::usual(), seeds: 2 };
        let refused = sensitivity(&scenario, question, &Runner::new(), &Watch::nobody()).unwrap_err().to_string();
        assert!(refused.contains("found no value under 2 of 2 seeds"), "{refused}");
    }

    #[test]
    fn rows_are_ranked_and_neither_budget_nor_run_is_among_them() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup) = (200, 50);
        let question = Question { measure: measures::usual(), seeds: 3 };
        let found = sensitivity(&scenario, question, &Runner::new(), &Watch::nobody()).unwrap();
        assert!(found.rows.iter().all(|row| !row.path.starts_with("run.") && !row.path.starts_with("budget.")));
        assert!(found.zero.contains(&"encode.pipeline_ms"));
        let matter = found.rows.iter().filter(|row| row.matters).count();
        assert!(matter > 5 && matter < found.rows.len());
        assert!(found.rows[..matter].windows(2).all(|pair| pair[0].effect >= pair[1].effect));
        let row = |path: &str| found.rows.iter().find(|row| row.path == path).unwrap();
        // Scan-out adds its whole length to the light of a global display; the head's speed moves no latency.
        let scanout = row("display.scanout_ms");
        assert!(scanout.matters && (scanout.slope.unwrap() - 1.0).abs() < 0.2, "{scanout:?}");
        assert!((scanout.gain - 0.9).abs() < 0.2, "{scanout:?}");
        assert_eq!((row("motion.nearest_m").matters, row("motion.nearest_m").effect), (false, 0.0));
    }
}
