//! Map: two parameters at a time, a measure at every pair of values, and the borders that cross it.

mod contour;

use serde::Serialize;

use super::StudyError;
use super::cost::Cost;
use super::runner::{Runner, Watch};
use super::sweep::Column;
use super::vary::Vary;
use crate::measure::{BudgetLine, Measure, Server, Servers, Summary};
use crate::scenario::parameters::Value;
use crate::scenario::{Scenario, ScenarioError};
use contour::contour;

/// What a map is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// The parameter across, and its values.
    pub x: Vary,
    /// The parameter up, and its values.
    pub y: Vary,
    /// The measure.
    pub measure: &'static Measure,
}

impl Question {
    /// The scenario of a cell, checked. Refuses a pair of values that do not go together.
    pub fn scenario_at(&self, scenario: &Scenario, x: usize, y: usize) -> Result<Scenario, ScenarioError> {
        let across = self.x.turn(scenario, &self.x.values[x])?.scenario;
        let both = self.y.turn(&across, &self.y.values[y])?.scenario;
        if self.x.parameter.get(&both) == self.x.parameter.get(&across) {
            return Ok(both);
        }
        // The value across had to give way: in the other order the check says why.
        let up = self.y.turn(scenario, &self.y.values[y])?.scenario;
        Ok(self.x.turn(&up, &self.x.values[x])?.scenario)
    }
}

/// One pair of values.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Cell {
    /// The measure; none where there is nothing to measure, as for a pipeline that is not steady.
    pub value: Option<f64>,
    /// The measure of the baseline there; none without one.
    pub baseline: Option<f64>,
    /// Whether latency does not grow over the run.
    pub steady: bool,
    /// Offered loads, shares.
    pub offered_load: Servers<Option<f64>>,
    /// Room of each line of the budget on the good side of its limit, in the order of [`Map::budget_lines`].
    pub budget_rooms: Vec<Option<f64>>,
    /// Lines of the budget that are met.
    pub met: Vec<bool>,
    /// Why the two values do not go together; nothing was run then.
    pub refused: Option<String>,
}

impl Cell {
    /// How much more than the baseline it is.
    pub fn difference(&self) -> Option<f64> {
        Some(self.value? - self.baseline?)
    }

    /// Whether every line of the budget is met.
    pub fn within_budget(&self) -> bool {
        self.refused.is_none() && !self.met.is_empty() && self.met.iter().all(|&met| met)
    }

    fn of(summary: &Summary, measure: &Measure) -> Self {
        Self {
            value: measure.get(summary),
            baseline: None,
            steady: summary.steady,
            offered_load: summary.offered_load,
            budget_rooms: summary.budget.iter().map(BudgetLine::room).collect(),
            met: summary.budget.iter().map(|line| line.met).collect(),
            refused: None,
        }
    }
}

/// A cell of the candidate as soon as it is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Number of the value across.
    pub x: usize,
    /// Number of the value up.
    pub y: usize,
    /// So many cells across and up it stands for until finer ones come.
    pub block: usize,
    /// The cell; its baseline may still be to come.
    pub cell: Cell,
}

/// One of the two parameters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Axis {
    /// Path of the parameter.
    pub path: &'static str,
    /// Stage and label of the parameter.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// Whether its values stand in equal ratios.
    pub logarithmic: bool,
    /// Its values.
    pub values: Vec<Value>,
    /// Whether the baseline is turned with the candidate: where both hold the same value of the parameter.
    pub baseline_follows: bool,
}

impl Axis {
    fn new(vary: &Vary, scenario: &Scenario, baseline: Option<&Scenario>) -> Self {
        let follows = |baseline: &Scenario| vary.parameter.get(baseline) == vary.parameter.get(scenario);
        Self {
            path: &vary.parameter.path,
            label: vary.parameter.full_label(),
            unit: vary.parameter.unit(),
            logarithmic: vary.logarithmic,
            values: vary.values.clone(),
            baseline_follows: baseline.is_some_and(follows),
        }
    }

    /// Value of the parameter at a place between the numbers of its values; none where values are no numbers.
    pub fn at(&self, place: f64) -> Option<f64> {
        let below = (place.floor() as usize).min(self.values.len().saturating_sub(1));
        let above = (below + 1).min(self.values.len() - 1);
        let (a, b) = (self.values[below].as_f64()?, self.values[above].as_f64()?);
        let share = place - below as f64;
        Some(if self.logarithmic && a > 0.0 { a * (b / a).powf(share) } else { a + (b - a) * share })
    }
}

/// A line that crosses the map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Border {
    /// `budget`, `budget_pose_to_photon`, `break_even`, `load_encoder`, `load_link`, `load_decoder`, `level`.
    pub name: &'static str,
    /// What it is, for people.
    pub label: &'static str,
    /// Its pieces; each point as places across and up, the number of a value being its place.
    pub lines: Vec<Vec<[f64; 2]>>,
}

/// A measure over two parameters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Map {
    /// Name of the scenario.
    pub name: String,
    /// Name of the baseline.
    pub baseline: Option<String>,
    /// Across.
    pub x: Axis,
    /// Up.
    pub y: Axis,
    /// The measure.
    pub measure: Column,
    /// Frames a run.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Names of the lines of the budget.
    pub budget_lines: Vec<&'static str>,
    /// Cells, those of the first value up first.
    pub cells: Vec<Cell>,
    /// Borders; one without pieces does not cross the map.
    pub borders: Vec<Border>,
    /// Number of the best cell across and up.
    pub best: Option<[usize; 2]>,
}

impl Map {
    /// A cell.
    pub fn cell(&self, x: usize, y: usize) -> &Cell {
        &self.cells[y * self.x.values.len() + x]
    }
}

/// What one run of a map is.
enum Job {
    /// A cell of the candidate: where, and how many it stands for.
    Cell { x: usize, y: usize, block: usize },
    /// The baseline, turned as far as it follows: where it is first needed.
    Baseline { x: usize, y: usize },
}

/// Runs a checked scenario at every pair of values, and a baseline beside it, with the same luck, coarse to fine. `found`
/// hears of every cell as it is done, from any thread.
///
/// The baseline is turned with the candidate in a parameter in which both hold the same value, and keeps its own where
/// they differ: so a map of slice count and overhead against whole frames compares at every overhead.
pub fn map(
    scenario: &Scenario,
    baseline: Option<&Scenario>,
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
    found: impl Fn(Found) + Sync,
) -> Result<Map, StudyError> {
    if question.x.parameter.path == question.y.parameter.path {
        return Err(StudyError::question("the two parameters", &question.x.parameter.path, "two different ones"));
    }
    let baseline = baseline.map(|baseline| Scenario { run: scenario.run, ..baseline.clone() });
    let axes = [&question.x, &question.y].map(|vary| Axis::new(vary, scenario, baseline.as_ref()));
    let (width, height) = (question.x.values.len(), question.y.values.len());
    let place_of_baseline = |x: usize, y: usize| {
        (if axes[0].baseline_follows { x } else { 0 }, if axes[1].baseline_follows { y } else { 0 })
    };
    let jobs = jobs(width, height, baseline.is_some(), place_of_baseline);
    watch.expect(jobs.len());
    let turned = |job: &Job| match (job, &baseline) {
        (Job::Baseline { x, y }, Some(baseline)) => turn_baseline(baseline, question, &axes, *x, *y),
        (Job::Baseline { x, y } | Job::Cell { x, y, .. }, _) => question.scenario_at(scenario, *x, *y),
    };
    let bytes = jobs.iter().filter_map(|job| Some(Cost::of(&turned(job).ok()?).bytes)).fold(0.0, f64::max);
    let made = runner.run(jobs.len(), bytes, watch, |number, space| {
        let cell = match turned(&jobs[number]) {
            Ok(turned) => Cell::of(&space.summary_unless(&turned, watch.stop())?, question.measure),
            Err(error) => Cell { refused: Some(error.to_string()), ..Cell::default() },
        };
        if let Job::Cell { x, y, block } = jobs[number] {
            found(Found { x, y, block, cell: cell.clone() });
        }
        Ok(cell)
    })?;
    let mut cells = vec![Cell::default(); width * height];
    let mut baselines = vec![None; width * height];
    for (job, cell) in jobs.iter().zip(made) {
        match *job {
            Job::Cell { x, y, .. } => cells[y * width + x] = cell,
            Job::Baseline { x, y } => baselines[y * width + x] = cell.value,
        }
    }
    for (at, cell) in cells.iter_mut().enumerate() {
        let (x, y) = place_of_baseline(at % width, at / width);
        cell.baseline = baselines[y * width + x];
    }
    if let Some(refused) = cells.iter().all(|cell| cell.refused.is_some()).then(|| cells[0].refused.clone()).flatten() {
        return Err(StudyError::Refused(refused));
    }
    let best = best(&cells, question.measure).map(|at| [at % width, at / width]);
    let borders = borders(&cells, width);
    let [x, y] = axes;
    Ok(Map {
        name: scenario.name.clone(),
        baseline: baseline.map(|baseline| baseline.name),
        x,
        y,
        measure: Column::of(question.measure),
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        budget_lines: BudgetLine::NAMES.into(),
        cells,
        borders,
        best,
    })
}

/// All runs, coarse to fine; each run of the baseline before the first cell that is held against it.
fn jobs(
    width: usize,
    height: usize,
    baseline: bool,
    place_of_baseline: impl Fn(usize, usize) -> (usize, usize),
) -> Vec<Job> {
    let mut jobs = Vec::new();
    let mut known = vec![false; width * height];
    for (x, y, block) in coarse_to_fine(width, height) {
        let (of_x, of_y) = place_of_baseline(x, y);
        if baseline && !std::mem::replace(&mut known[of_y * width + of_x], true) {
            jobs.push(Job::Baseline { x: of_x, y: of_y });
        }
        jobs.push(Job::Cell { x, y, block });
    }
    jobs
}

/// Every cell once, those of a coarse grid first: across, up, and how many it stands for until finer ones come.
fn coarse_to_fine(width: usize, height: usize) -> Vec<(usize, usize, usize)> {
    let coarsest = width.max(height).next_power_of_two();
    let mut order = Vec::with_capacity(width * height);
    let mut block = coarsest;
    while block > 0 {
        let new =
            |x: usize, y: usize| block == coarsest || !(x.is_multiple_of(2 * block) && y.is_multiple_of(2 * block));
        for y in (0..height).step_by(block) {
            order.extend((0..width).step_by(block).filter(|&x| new(x, y)).map(|x| (x, y, block)));
        }
        block /= 2;
    }
    order
}

fn turn_baseline(
    baseline: &Scenario,
    question: &Question,
    axes: &[Axis; 2],
    x: usize,
    y: usize,
) -> Result<Scenario, ScenarioError> {
    let mut turned = baseline.clone();
    for (axis, vary, at) in [(&axes[0], &question.x, x), (&axes[1], &question.y, y)] {
        if axis.baseline_follows {
            turned = vary.turn(&turned, &vary.values[at])?.scenario;
        }
    }
    turned.check()?;
    Ok(turned)
}

fn best(cells: &[Cell], measure: &Measure) -> Option<usize> {
    let values: Vec<Option<f64>> = cells.iter().map(|cell| cell.value).collect();
    super::sweep::best(&values, measure)
}

/// A yes or no as a field that crosses 0 half way between.
fn sign(yes: bool) -> f64 {
    if yes { -1.0 } else { 1.0 }
}

/// The lines that cross the map; each field is above 0 on the bad side.
fn borders(cells: &[Cell], width: usize) -> Vec<Border> {
    let border = |name, label, field: &dyn Fn(&Cell) -> Option<f64>| {
        let field: Vec<Option<f64>> = cells.iter().map(|cell| field(cell).filter(|_| cell.refused.is_none())).collect();
        Border { name, label, lines: contour(&field, width) }
    };
    let line = |name: &str| BudgetLine::NAMES.iter().position(|line| *line == name);
    let over_load = |server: Server| move |cell: &Cell| cell.offered_load.of(server).map(|load| load - 1.0);
    let latency = line("pose_to_photon");
    let level = line("level");
    vec![
        border("budget", "Every line of the budget met", &|cell| Some(sign(cell.within_budget()))),
        border("budget_pose_to_photon", "Pose to photon at its budget", &|cell| {
            latency.and_then(|at| cell.budget_rooms.get(at).copied().flatten()).map(|room| -room)
        }),
        border("break_even", "Same as the baseline", &|cell| cell.difference()),
        border("load_encoder", "Encoder offered all it can do", &over_load(Server::Encoder)),
        border("load_link", "Link offered all it can do", &over_load(Server::Link)),
        border("load_decoder", "Decoder offered all it can do", &over_load(Server::Decoder)),
        border("level", "Highest codec level allowed", &|cell| {
            level.and_then(|at| cell.met.get(at)).map(|&met| sign(met))
        }),
    ]
}

#[cfg(test)]
mod tests;
