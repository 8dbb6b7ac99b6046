//! Compare: any number of scenarios under the same luck, every measure with its interval and a verdict.

use serde::Serialize;

use super::StudyError;
use super::cost::most_bytes;
use super::luck::{Difference, Mean, check_seeds, under_luck};
use super::one::One;
use super::runner::{Runner, Watch};
use crate::measure::measures::{self, Better, ForPeople, Measure};
use crate::scenario::{RunLength, Scenario};

/// What several scenarios come to against the first of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The scenarios in the order given; the first is what the others are held against.
    pub scenarios: Vec<Compared>,
    /// Seeds; every scenario meets the luck of each.
    pub seeds: Vec<u64>,
    /// Frames a run, those of the first scenario.
    pub frames: u32,
    /// First frames that do not count, those of the first scenario.
    pub warmup: u32,
    /// A row for every measure, in the order of [`measures::all`].
    pub rows: Vec<Row>,
}

/// One of the scenarios.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Its name.
    pub name: String,
    /// Seeds at which it was steady.
    pub steady_seeds: u32,
    /// Seeds at which a lead was to be tuned and none met its share.
    pub untuned_seeds: u32,
    /// Seeds at which it met every line of its own budget.
    pub within_budget_seeds: u32,
}

/// One measure of all scenarios.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its name in the list of measures.
    pub measure: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Whether it is one of the main measures.
    pub main: bool,
    /// Whether it is a share.
    #[serde(skip)]
    pub is_share: bool,
    /// Mean and interval for each scenario.
    pub values: Vec<Mean>,
    /// Difference of each further scenario from the first.
    pub differences: Vec<Difference>,
}

impl Row {
    /// How its measure is shown to people.
    pub const fn for_people(&self) -> ForPeople {
        ForPeople::of(self.unit, self.is_share)
    }
}

impl Comparison {
    /// The row of a measure.
    pub fn row(&self, measure: &Measure) -> Option<&Row> {
        self.rows.iter().find(|row| row.measure == measure.name)
    }
}

/// Compares checked scenarios over `seeds` seeds, from the first scenario's on, at its length of the run: the same luck and
/// the same frames for all.
pub fn compare(
    scenarios: &[Scenario],
    seeds: u32,
    runner: &Runner,
    watch: &Watch<'_>,
) -> Result<Comparison, StudyError> {
    let Some(first) = scenarios.first() else {
        return Err(StudyError::question("scenarios", "none", "one or more"));
    };
    check_seeds(seeds)?;
    let run = first.run;
    let all: Vec<Scenario> = scenarios.iter().map(|scenario| Scenario { run, ..scenario.clone() }).collect();
    for scenario in &all {
        scenario.check()?;
    }
    let runs = all.len() * seeds as usize;
    watch.expect(runs);
    // Seed by seed, so that all scenarios have something early.
    let ones = runner.run(runs, most_bytes(&all), watch, |number, space| {
        let (seed, scenario) = (number / all.len(), &all[number % all.len()]);
        One::of(&under_luck(scenario, seed as u32, run.seed), measures::all(), space, watch)
    })?;
    let of_scenario = |at: usize| ones.iter().skip(at).step_by(all.len());
    let count = |at: usize, what: fn(&One) -> bool| of_scenario(at).filter(|one| what(one)).count() as u32;
    let scenarios = all.iter().enumerate().map(|(at, scenario)| Compared {
        name: scenario.name.clone(),
        steady_seeds: count(at, |one| one.steady),
        untuned_seeds: count(at, |one| one.untuned),
        within_budget_seeds: count(at, |one| one.within_budget),
    });
    let rows = measures::all().iter().enumerate().map(|(number, measure)| {
        let by_scenario: Vec<Vec<Option<f64>>> =
            (0..all.len()).map(|at| of_scenario(at).map(|one| one.values[number]).collect()).collect();
        row(measure, &by_scenario, run)
    });
    Ok(Comparison {
        scenarios: scenarios.collect(),
        seeds: (0..seeds).map(|number| run.seed.wrapping_add(u64::from(number))).collect(),
        frames: run.frames,
        warmup: run.warmup,
        rows: rows.collect(),
    })
}

fn row(measure: &'static Measure, by_scenario: &[Vec<Option<f64>>], run: RunLength) -> Row {
    let differences = by_scenario[1..].iter().map(|other| Difference::of(&by_scenario[0], other, measure, run));
    Row {
        measure: &measure.name,
        label: &measure.label,
        unit: measure.unit,
        better: measure.better,
        main: measure.main,
        is_share: measure.is_share,
        values: by_scenario.iter().map(|values| Mean::of(values)).collect(),
        differences: differences.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Workspace;
    use super::super::luck::Verdict;
    use super::*;

    fn short(frames: u32, slices: u32) -> Scenario {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup, scenario.slices.count) = (frames, 100, slices);
        scenario.content.cv = 0.0;
        scenario
    }

    #[test]
    fn rows_hold_the_summaries_and_the_first_is_what_others_are_held_against() {
        let all = [short(600, 1), short(500, 8), short(600, 1)];
        let comparison = compare(&all, 3, &Runner::new(), &Watch::nobody()).unwrap();
        assert_eq!((comparison.seeds.as_slice(), comparison.frames), (&[1, 2, 3][..], 600));
        let row = comparison.row(measures::usual()).unwrap();
        let p99 = |slices| {
            let of_seed = |seed| {
                let mut scenario = short(600, slices);
                scenario.run.seed = seed;
                Workspace::new().summary(&scenario).pose_to_photon_ms.p99.unwrap()
            };
            [1, 2, 3].map(of_seed)
        };
        let (whole, sliced) = (p99(1), p99(8));
        let mean = |values: [f64; 3]| values.iter().sum::<f64>() / 3.0;
        assert!((row.values[0].mean.unwrap() - mean(whole)).abs() < 1e-9);
        assert!((row.values[1].mean.unwrap() - mean(sliced)).abs() < 1e-9, "at the length of the first");
        assert!((row.differences[0].mean.unwrap() - mean(sliced) + mean(whole)).abs() < 1e-9);
        assert_eq!(row.differences[0].verdict, Verdict::Better);
        assert!(
            comparison
                .rows
                .iter()
                .all(|row| matches!(row.differences[1].verdict, Verdict::Same | Verdict::NotMeasured))
        );
        assert_eq!(comparison.scenarios[0].steady_seeds, 3);
    }

    #[test]
    fn bad_questions_say_what_is_allowed() {
        let ask = |all: &[Scenario], seeds| compare(all, seeds, &Runner::new(), &Watch::nobody()).unwrap_err();
        assert_eq!(ask(&[], 8).to_string(), "scenarios: found none, allowed: one or more");
        let seeds = ask(&[Scenario::default()], 0).to_string();
        assert_eq!(seeds, "seeds: found 0, allowed: whole numbers 1 to 1000");
        let mut wrong = short(600, 8);
        wrong.link.rate_mbps = -1.0;
        assert!(matches!(ask(&[short(600, 1), wrong], 1), StudyError::Scenario(_)));
    }
}
