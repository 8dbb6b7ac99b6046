//! A sweep as it is drawn: one measure against one parameter, whole or as far as it has come.

use super::with_unit;
use crate::measure::Measure;
use crate::report::figures::table::{Cell, DESIGNS, Table, cells};
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Parameter, Value};
use crate::study::luck::Mean;
use crate::study::sweep::{Column, Found, Question, Side, Sweep};

/// A sweep.
#[derive(Debug, Clone)]
pub struct Chart {
    /// The parameter.
    pub parameter: &'static Parameter,
    /// Its values.
    pub values: Vec<Value>,
    /// Whether they stand in equal ratios.
    pub logarithmic: bool,
    /// Measures kept.
    pub measures: Vec<Column>,
    /// Number of the one drawn.
    pub goal: usize,
    /// Scenarios: the candidate, and the baseline where there is one.
    pub designs: usize,
    /// By value and scenario; none until it is there.
    pub points: Vec<Vec<Option<At>>>,
    /// What the whole says of each scenario; empty until it is whole.
    pub sides: Vec<Side>,
    /// Seeds a value.
    pub seeds: u32,
    /// Frames a run.
    pub frames: u32,
    /// Paths of parameters that had to follow somewhere.
    pub followed: Vec<&'static str>,
}

/// One scenario at one value.
#[derive(Debug, Clone, Default)]
pub struct At {
    /// By measure.
    pub values: Vec<Mean>,
    /// Whether it was steady at every seed; none while that is not known.
    pub steady: Option<bool>,
    /// Whether no lead could be tuned at some seed; false while that is not known.
    pub untuned: bool,
    runs: Vec<Vec<Option<f64>>>,
}

impl Chart {
    /// A sweep of which nothing has come.
    pub fn new(candidate: &Scenario, designs: usize, question: &Question) -> Self {
        let measures: Vec<Column> = question.measures.iter().map(|measure| Column::of(measure)).collect();
        Self {
            parameter: question.vary.parameter,
            values: question.vary.values.clone(),
            logarithmic: question.vary.logarithmic,
            goal: place(&measures, &question.goal.name),
            measures,
            designs,
            points: vec![vec![None; designs]; question.vary.values.len()],
            sides: Vec::new(),
            seeds: question.seeds,
            frames: candidate.run.frames,
            followed: Vec::new(),
        }
    }

    /// The whole of it.
    pub fn whole(sweep: &Sweep) -> Option<Self> {
        let steady = |seeds: u32| Some(seeds == sweep.seeds);
        let points = sweep.points.iter().map(|point| {
            let at = point.sides.iter().map(|side| {
                Some(At {
                    values: side.values.clone(),
                    steady: steady(side.steady_seeds),
                    untuned: side.untuned_seeds > 0,
                    runs: Vec::new(),
                })
            });
            at.collect()
        });
        Some(Self {
            parameter: parameters::find(sweep.path)?,
            values: sweep.points.iter().map(|point| point.value.clone()).collect(),
            logarithmic: sweep.logarithmic,
            goal: place(&sweep.measures, sweep.goal),
            measures: sweep.measures.clone(),
            designs: sweep.sides.len(),
            points: points.collect(),
            sides: sweep.sides.clone(),
            seeds: sweep.seeds,
            frames: sweep.frames,
            followed: sweep.followed.clone(),
        })
    }

    /// Takes in one run.
    pub fn take(&mut self, found: Found) {
        let Some(place) = self.points.get_mut(found.point).and_then(|point| point.get_mut(found.side)) else { return };
        let at = place.get_or_insert_default();
        at.runs.push(found.values);
        at.values = (0..self.measures.len())
            .map(|measure| Mean::of(&at.runs.iter().map(|run| run[measure]).collect::<Vec<_>>()))
            .collect();
    }

    /// The measure that is drawn.
    pub fn drawn(&self) -> &Column {
        &self.measures[self.goal]
    }

    /// The drawn measure of a scenario at a value, as it is shown to people.
    pub fn mean(&self, value: usize, design: usize) -> Mean {
        let at = self.points.get(value).and_then(|point| point.get(design)?.as_ref());
        let mean = at.and_then(|at| at.values.get(self.goal)).copied().unwrap_or_default();
        mean.times(self.drawn().for_people().factor)
    }

    /// The drawn measure with the unit that it is shown in.
    pub fn drawn_with_unit(&self) -> String {
        with_unit(self.drawn().label, self.drawn().for_people().unit)
    }

    /// Where the values stand across: the numbers themselves, or their places in the list.
    pub fn across(&self) -> Vec<f64> {
        let numbers: Option<Vec<f64>> = self.values.iter().map(Value::as_f64).collect();
        numbers.unwrap_or_else(|| (0..self.values.len()).map(|place| place as f64).collect())
    }

    /// Whether the values are numbers.
    pub fn numeric(&self) -> bool {
        self.values.iter().all(|value| value.as_f64().is_some())
    }

    /// Number of the value that a scenario has now, if it is one of these.
    pub fn now(&self, scenario: &Scenario) -> Option<usize> {
        let now = self.parameter.get(scenario)?;
        self.values.iter().position(|value| *value == now)
    }

    /// At which values no lead could be tuned for one of the scenarios.
    pub fn untuned_in_words(&self) -> Option<String> {
        let untuned = |point: &&Vec<Option<At>>| point.iter().flatten().any(|at| at.untuned);
        let at: Vec<usize> = (0..self.points.len()).filter(|number| untuned(&&self.points[*number])).collect();
        let [first, last] = [at.first()?, at.last()?].map(|number| self.parameter.format(&self.values[*number]));
        Some(if at.len() == 1 {
            format!("at {first} no lead could be tuned, that of the trial stands for it")
        } else {
            format!(
                "at {} values from {first} to {last} no lead could be tuned, that of the trial stands for it",
                at.len()
            )
        })
    }

    /// Where baseline and candidate came out the same at every value: why, as the sweep turns both.
    pub fn alike_in_words(&self) -> Option<String> {
        let same = |point: &Vec<Option<At>>| match &point[..] {
            [Some(candidate), Some(baseline)] => {
                candidate.values == baseline.values && candidate.values.iter().any(|value| value.mean.is_some())
            }
            _ => false,
        };
        let alike = !self.points.is_empty() && self.points.iter().all(same);
        alike.then(|| {
            format!("baseline and candidate came out the same: the sweep sets {} in both", self.parameter.full_label())
        })
    }

    /// Best value and plateau of a scenario in words.
    pub fn best_in_words(&self, design: usize) -> Option<String> {
        let side = self.sides.get(design)?;
        let at = |number: usize| self.parameter.format(&self.values[number]);
        let best = side.best?;
        Some(match side.plateau {
            Some([first, last]) if first < last => {
                format!("best {}, as good from {} to {}", at(best), at(first), at(last))
            }
            _ => format!("best {}", at(best)),
        })
    }

    /// A row for every value, scenario and measure.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Sweep", &COLUMNS);
        for (number, (value, point)) in self.values.iter().zip(&self.points).enumerate() {
            for (design, at) in point.iter().enumerate() {
                let Some(at) = at else { continue };
                let best = self.sides.get(design).map(|side| Cell::yes(side.best == Some(number)));
                for (measure, mean) in self.measures.iter().zip(&at.values) {
                    table.row(cells![
                        self.parameter.path.as_str(),
                        value.as_f64().map_or_else(|| self.parameter.format(value).into(), Cell::Float),
                        // The candidate comes first in a sweep.
                        DESIGNS[1 - design.min(1)],
                        measure.name,
                        mean.mean,
                        mean.half_width,
                        measure.unit,
                        at.steady.map_or(Cell::None, Cell::yes),
                        best.clone().unwrap_or(Cell::None)
                    ]);
                }
            }
        }
        table
    }
}

const COLUMNS: [&str; 9] = ["parameter", "value", "design", "measure", "mean", "half_width", "unit", "steady", "best"];

fn place(measures: &[Column], name: &str) -> usize {
    measures.iter().position(|column| column.name == name).unwrap_or(0)
}

/// The question of a sweep that keeps the main measures, and the one to be drawn.
pub fn question(vary: crate::study::vary::Vary, goal: &'static Measure, seeds: u32) -> Question {
    let mut question = Question { goal, seeds, ..Question::new(vary) };
    if !question.measures.iter().any(|measure| measure.name == goal.name) {
        question.measures.push(goal);
    }
    question
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;
    use crate::study::vary::Vary;
    use crate::study::{Runner, Watch, sweep::sweep};
    use std::sync::Mutex;

    #[test]
    fn values_at_which_no_lead_could_be_tuned_are_named() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup) = (1000, 100);
        let words = |values: &str| {
            let question = question(Vary::parse(values).unwrap(), measures::usual(), 1);
            let one = std::slice::from_ref(&scenario);
            let whole = sweep(one, &question, &Runner::new(), &Watch::nobody(), |_| ()).unwrap();
            Chart::whole(&whole).unwrap().untuned_in_words()
        };
        assert_eq!(words("slices.count=1,8"), None);
        let told = words("slices.count=8,40,48").unwrap();
        assert!(told.starts_with("at 2 values from 40 to 48 no lead could be tuned"), "{told}");
        assert!(words("slices.count=8,48").unwrap().starts_with("at 48 no lead"));
    }

    #[test]
    fn runs_that_come_one_by_one_make_the_whole() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (300, 60, 0.0);
        let question =
            question(Vary::parse("slices.count=1,4,8").unwrap(), measures::find("stream_ms.p90").unwrap(), 2);
        assert_eq!(question.measures.last().unwrap().name, "stream_ms.p90");
        let both = [scenario.clone(), scenario.clone()];
        let coming = Mutex::new(Chart::new(&scenario, 2, &question));
        let whole =
            sweep(&both, &question, &Runner::new(), &Watch::nobody(), |found| coming.lock().unwrap().take(found));
        let (coming, whole) = (coming.into_inner().unwrap(), Chart::whole(&whole.unwrap()).unwrap());
        for value in 0..3 {
            for design in 0..2 {
                let [a, b] = [&coming, &whole].map(|chart| chart.mean(value, design).mean.unwrap());
                assert!((a - b).abs() < 1e-9);
            }
        }
        assert_eq!((whole.drawn().name, whole.now(&scenario)), ("stream_ms.p90", Some(2)));
        assert!(whole.best_in_words(0).unwrap().starts_with("best "));
        assert_eq!(whole.table().rows.len(), 3 * 2 * whole.measures.len());
        assert_eq!(whole.across(), [1.0, 4.0, 8.0]);
        assert!(whole.alike_in_words().is_some_and(|told| told.contains("the same")), "both sides are one scenario");
        let mut apart = whole.clone();
        apart.points[0][1] = None;
        assert_eq!(apart.alike_in_words(), None);
    }
}
