//! A search as it is drawn: its trail, whole or as far as it has come, and what it found.

use std::fmt::Write as _;

use crate::measure::{Better, Sense};
use crate::report::figures::table::{Cell, Table, cells};
use crate::report::format::count;
use crate::scenario::parameters::{self, Value};
use crate::study::search::{Held, Question, Search, Trial};
use crate::study::sweep::Column;

use super::{in_unit, of_difference, plain, with_unit};

/// A search.
#[derive(Debug, Clone)]
pub struct Trail {
    /// Paths of what was turned.
    pub paths: Vec<&'static str>,
    /// The measure made best.
    pub goal: Column,
    /// The second measure.
    pub second: Option<Column>,
    /// Every trial so far.
    pub trials: Vec<Trial>,
    /// What the whole says; none until it is whole.
    pub whole: Option<Search>,
}

impl Trail {
    /// A search of which nothing has come.
    pub fn new(question: &Question) -> Self {
        Self {
            paths: question.free.iter().map(|free| free.parameter.path.as_str()).collect(),
            goal: Column::of(question.goal),
            second: question.second.map(Column::of),
            trials: Vec::new(),
            whole: None,
        }
    }

    /// The whole of it.
    #[must_use]
    pub fn whole(mut self, found: Search) -> Self {
        self.trials.clone_from(&found.trail);
        self.whole = Some(found);
        self
    }

    /// Number of the best trial: of the whole, or so far.
    pub fn best(&self) -> Option<usize> {
        if let Some(whole) = &self.whole {
            return Some(whole.best);
        }
        let better = |a: f64, b: f64| match self.goal.better {
            Better::More => a > b,
            _ => a < b,
        };
        let met = self.trials.iter().enumerate().filter(|(_, trial)| trial.met);
        let values = met.filter_map(|(number, trial)| Some((number, trial.goal?)));
        values.reduce(|best, next| if better(next.1, best.1) { next } else { best }).map(|(number, _)| number)
    }

    /// What a trial turned, to be taken.
    pub fn values(&self, trial: usize) -> Vec<(&'static str, Value)> {
        self.trials
            .get(trial)
            .map_or_else(Vec::new, |trial| self.paths.iter().copied().zip(trial.values.iter().cloned()).collect())
    }

    /// The values of a trial in words, a line each.
    pub fn values_in_words(&self, trial: usize) -> Vec<(String, String)> {
        let word = |(path, value): (&'static str, Value)| {
            let parameter = parameters::find(path)?;
            Some((parameter.full_label(), short(parameter, &value)))
        };
        self.values(trial).into_iter().filter_map(word).collect()
    }

    /// What was found, in words.
    pub fn told(&self) -> String {
        let Some(found) = &self.whole else {
            return self.best().map_or_else(
                || "nothing meets the limits so far".to_owned(),
                |best| format!("best so far {}", self.goal_of(best)),
            );
        };
        let runs = count(found.trail.len() as u64);
        if found.met {
            format!("best {} of {runs} trials", self.goal_of(found.best))
        } else {
            format!("nothing meets every limit in {runs} trials; the nearest misses {}", missed(&found.held))
        }
    }

    /// The goal at a trial with its unit.
    pub fn goal_of(&self, trial: usize) -> String {
        let value = self.trials.get(trial).and_then(|trial| trial.goal);
        let shown = self.goal.for_people();
        value.map_or_else(|| "not measured".to_owned(), |value| in_unit(plain(value * shown.factor), shown.unit))
    }

    /// How the best fared under luck that the search had not seen.
    pub fn confirmed_in_words(&self) -> Option<String> {
        let one = self.whole.as_ref()?.confirmed.as_ref()?;
        let shown = self.goal.for_people();
        let change = in_unit(of_difference(&one.difference.times(shown.factor)), shown.unit);
        let (words, seeds, good) = (one.difference.verdict.words(), one.seeds, one.within_budget_seeds);
        Some(format!("Under {seeds} other seeds {change} against the start: {words}; within budget at {good} of them."))
    }

    /// The goal of a trial, as it is shown to people.
    pub fn goal_at(&self, trial: usize) -> Option<f64> {
        Some(self.trials.get(trial)?.goal? * self.goal.for_people().factor)
    }

    /// The second measure of a trial, as it is shown to people.
    pub fn second_at(&self, trial: usize) -> Option<f64> {
        Some(self.trials.get(trial)?.second? * self.second.as_ref()?.for_people().factor)
    }

    /// A trial in words.
    pub fn trial_in_words(&self, number: usize) -> String {
        let Some(trial) = self.trials.get(number) else { return String::new() };
        let mut text = format!("Trial {} ({})", number + 1, trial.phase.word());
        if let Some(why) = &trial.refused {
            return format!("{text}\nCannot be: {why}");
        }
        let _ = write!(text, "\n{}: {}", self.goal.label, self.goal_of(number));
        if let (Some(second), Some(value)) = (&self.second, trial.second) {
            let shown = second.for_people();
            let _ = write!(text, "\n{}: {}", with_unit(second.label, shown.unit), plain(value * shown.factor));
        }
        text.push_str(if trial.met { "\nevery limit met" } else { "\nnot every limit met" });
        for (name, value) in self.values_in_words(number) {
            let _ = write!(text, "\n{name}: {value}");
        }
        text
    }

    /// A row for every trial and value turned.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Search", &COLUMNS);
        let best = self.best();
        for (number, trial) in self.trials.iter().enumerate() {
            for (path, value) in self.values(number) {
                let parameter = parameters::find(path);
                let text = || parameter.map_or_else(String::new, |parameter| parameter.format(&value));
                table.row(cells![
                    number + 1,
                    trial.phase.word(),
                    path,
                    value.as_f64().map_or_else(|| text().into(), Cell::Float),
                    self.goal.name,
                    trial.goal,
                    self.second.map(|second| second.name),
                    trial.second,
                    Cell::yes(trial.met),
                    trial.violation,
                    Cell::yes(best == Some(number)),
                    trial.refused.clone()
                ]);
            }
        }
        table
    }
}

const COLUMNS: [&str; 12] = [
    "trial",
    "phase",
    "parameter",
    "value",
    "goal",
    "goal_value",
    "second",
    "second_value",
    "limits_met",
    "violation",
    "best",
    "refused",
];

/// A value with no more digits than tell anything.
fn short(parameter: &parameters::Parameter, value: &Value) -> String {
    match value {
        Value::Number(number) if number.abs() > 0.0 => {
            let decimals = (3 - number.abs().log10().floor() as i32).clamp(0, 12);
            let factor = 10f64.powi(decimals);
            parameter.format(&Value::Number((number * factor).round() / factor))
        }
        value => parameter.format(value),
    }
}

/// A limit and how it is held: `Pose to photon 39.2 ms, at most 38 ms`.
pub fn held_in_words(held: &Held) -> String {
    let sense = if held.sense == Sense::AtMost { "at most" } else { "at least" };
    // What has no unit, as a codec level, is told as its limit is.
    let shown = held.for_people();
    let told = |value: f64| match shown.unit {
        "" => value.to_string(),
        unit => in_unit(plain(shown.value(value)), unit),
    };
    let value = held.value.map_or_else(|| "not measured".to_owned(), told);
    format!("{} {value}, {sense} {}", held.label, in_unit(shown.value(held.limit).to_string(), shown.unit))
}

fn missed(held: &[Held]) -> String {
    let missed: Vec<String> = held.iter().filter(|one| !one.met).map(held_in_words).collect();
    if missed.is_empty() { "a steady pipeline".to_owned() } else { missed.join("; ") }
}
