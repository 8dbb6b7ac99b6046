//! A search as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, maybe, named, of_difference, of_mean, shown, table, value_text, with_unit};
use crate::measure::{Better, Sense};
use crate::report::columns::{DASH, Table};
use crate::report::format::noun;
use crate::scenario::parameters::Value;
use crate::study::luck::Verdict;
use crate::study::search::{Search, Trial};

/// Points of a front that the text holds at the most.
const MOST_SHOWN: usize = 30;

/// What was found: the best or what comes nearest, its constraints, the front.
pub fn text(found: &Search) -> String {
    let mut text = format!("{}\n", named(&found.name));
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "{} of {} {}, {}",
        goal(found),
        found.trail.len(),
        noun(found.trail.len() as u64, "trial"),
        super::each(found.frames, found.warmup)
    );
    let _ = writeln!(text, "{}", if found.confirmed.is_some() { super::OVER_SEEDS } else { super::ONE_RUN });
    let _ = writeln!(text, "{}\n", how(found));
    let best = &found.trail[found.best];
    if found.met {
        let _ = writeln!(text, "The best meets every limit:");
    } else {
        let _ = writeln!(text, "NOTHING MEETS THE LIMITS. What comes nearest:");
    }
    let mut columns = Table::new(["", "start", if found.met { "best" } else { "nearest" }, "may be"]);
    let start = &found.trail[0];
    for (number, free) in found.free.iter().enumerate() {
        columns.row([
            with_unit(free.path, free.unit),
            shown(&start.values[number]),
            shown(&best.values[number]),
            free.range.clone(),
        ]);
    }
    columns.row([with_unit(found.goal.label, found.goal.unit), maybe(start.goal), maybe(best.goal), String::new()]);
    let _ = writeln!(text, "{columns}");
    if !found.held.is_empty() {
        let _ = writeln!(text, "{}", limits(found));
    }
    if let Some(confirmed) = found.confirmed.as_ref().filter(|one| one.difference.verdict == Verdict::NotMeasured) {
        let _ = writeln!(
            text,
            "NOT CONFIRMED: at some of {} that the search has not seen there is nothing to measure, as where a run is not \
             steady; longer runs may be; within budget at {} of them",
            super::seeds(confirmed.seeds),
            confirmed.within_budget_seeds
        );
    } else if let Some(confirmed) = &found.confirmed {
        let _ = writeln!(
            text,
            "Under {} that the search has not seen: {} against {} at the start, {} ({}); within budget at {} of them",
            super::seeds(confirmed.seeds),
            of_mean(&confirmed.best),
            of_mean(&confirmed.start),
            of_difference(&confirmed.difference),
            confirmed.difference.verdict.words(),
            confirmed.within_budget_seeds
        );
    }
    if found.second.is_some() {
        let _ = writeln!(text, "\n{}", front(found));
    }
    let set: Vec<String> = found
        .free
        .iter()
        .zip(&best.values)
        .map(|(free, value)| format!("--set {}={}", free.path, value_text(value)))
        .collect();
    let _ = writeln!(text, "As options: {}", set.join(" "));
    text
}

fn goal(found: &Search) -> String {
    let way = if found.goal.better == Better::More { "Most" } else { "Least" };
    let second = found.second.map_or_else(String::new, |second| format!(" against {}", second.label));
    format!("{way} {}{second}", found.goal.label)
}

fn how(found: &Search) -> String {
    let mut limits = found.limits.clone();
    if found.budget {
        limits.insert(0, "every line of the budget".to_owned());
    }
    let limits = if limits.is_empty() { "no limits".to_owned() } else { format!("limits: {}", limits.join("; ")) };
    let tried = if found.all_tried {
        "every combination was tried"
    } else {
        "all of the range gone over, then steps about the best"
    };
    format!("{tried}; {limits}")
}

fn limits(found: &Search) -> String {
    let mut columns = Table::new(["Limit", "value", "limit", ""]);
    for held in &found.held {
        let sign = if held.sense == Sense::AtMost { "<=" } else { ">=" };
        let unit = if held.unit.is_empty() { String::new() } else { format!(" {}", held.unit) };
        columns.row([
            held.label.clone(),
            format!("{}{unit}", held.value.map_or_else(|| DASH.to_owned(), |value| shown(&Value::Number(value)))),
            format!("{sign} {}{unit}", held.limit),
            if held.met { "met" } else { "NOT MET" }.to_owned(),
        ]);
    }
    columns.to_string()
}

fn front(found: &Search) -> String {
    let title = |label: &str, unit: &str| if unit.is_empty() { label.to_owned() } else { format!("{label} [{unit}]") };
    let second = found.second.map_or_else(String::new, |second| title(second.label, second.unit));
    let goal = title(found.goal.label, found.goal.unit);
    let mut titles = vec!["Front", goal.as_str(), second.as_str()];
    titles.extend(found.free.iter().map(|free| free.path));
    let mut columns = Table::new(titles);
    let step = found.front.len().div_ceil(MOST_SHOWN).max(1);
    for (place, &number) in found.front.iter().enumerate().step_by(step) {
        let trial = &found.trail[number];
        let cells = [(place + 1).to_string(), maybe(trial.goal), maybe(trial.second)];
        columns.row(cells.into_iter().chain(trial.values.iter().map(shown)));
    }
    let rest = if step > 1 {
        format!("One in {step} of {} is shown; all are in --csv and --json.\n", found.front.len())
    } else {
        String::new()
    };
    format!("{columns}{rest}")
}

/// A row for every trial, in order: `trial, phase`, every free parameter under its path, the goal and the second measure
/// under `goal` and `second`, `met, violation, best, front, refused`.
pub fn csv(found: &Search, to: impl io::Write) -> io::Result<()> {
    let mut head = vec!["trial", "phase"];
    head.extend(found.free.iter().map(|free| free.path));
    head.extend(["goal", "second", "met", "violation", "best", "front", "refused"]);
    let row = |(number, trial): (usize, &Trial)| {
        let mut cells = vec![number.to_string(), trial.phase.word().to_owned()];
        cells.extend(trial.values.iter().map(value_text));
        cells.extend([cell(trial.goal), cell(trial.second), trial.met.to_string(), cell(trial.violation)]);
        cells.extend([(number == found.best).to_string(), found.front.contains(&number).to_string()]);
        cells.push(trial.refused.clone().unwrap_or_default());
        cells
    };
    table(to, &head, found.trail.iter().enumerate().map(row))
}
