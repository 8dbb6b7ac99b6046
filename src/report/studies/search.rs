//! A search as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, maybe, named, of_difference, of_mean, paragraphs, shown, table, value_text, with_unit};
use crate::measure::measures::ForPeople;
use crate::measure::{Better, Sense};
use crate::report::columns::{DASH, Folded, PAGE, Table};
use crate::report::format::noun;
use crate::scenario::parameters::Value;
use crate::study::luck::Verdict;
use crate::study::search::{Search, Trial};
use crate::study::sweep::Column;

/// Points of a front that the text holds at the most.
const MOST_SHOWN: usize = 30;

/// What was found: the best or what comes nearest, its constraints, the front.
pub fn text(found: &Search) -> String {
    let mut text = format!("{}\n", named(&found.name));
    // Writing to a string does not fail.
    text += &paragraphs(&format!(
        "{} of {} {}, {}",
        goal(found),
        found.trail.len(),
        noun(found.trail.len() as u64, "trial"),
        super::each(found.frames, found.warmup)
    ));
    let _ = writeln!(text, "{}", if found.confirmed.is_some() { super::OVER_SEEDS } else { super::ONE_RUN });
    let _ = writeln!(text, "{}", paragraphs(&how(found)));
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
    let goal_of = |trial: &Trial| maybe(trial.goal.map(|goal| goal * found.goal.for_people().factor));
    let goal = with_unit(found.goal.label, found.goal.for_people().unit);
    columns.row([goal, goal_of(start), goal_of(best), String::new()]);
    let _ = writeln!(text, "{columns}");
    if !found.held.is_empty() {
        let _ = writeln!(text, "{}", limits(found));
    }
    if let Some(confirmed) = found.confirmed.as_ref().filter(|one| one.difference.verdict == Verdict::NotMeasured) {
        let told = format!(
            "NOT CONFIRMED: at some of {} that the search has not seen there is nothing to measure, as where a run is not \
             steady; longer runs may be; within budget at {} of them",
            super::seeds(confirmed.seeds),
            confirmed.within_budget_seeds
        );
        text += &paragraphs(&told);
    } else if let Some(confirmed) = &found.confirmed {
        let ForPeople { unit, factor } = found.goal.for_people();
        let told = format!(
            "Under {} that the search has not seen: {} {unit} against {} {unit} at the start, {} {unit} ({}); within budget \
             at {} of them",
            super::seeds(confirmed.seeds),
            of_mean(&confirmed.best.times(factor)),
            of_mean(&confirmed.start.times(factor)),
            of_difference(&confirmed.difference.times(factor)),
            confirmed.difference.verdict.words(),
            confirmed.within_budget_seeds
        );
        text += &paragraphs(&told);
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
        let people = held.for_people();
        let unit = if people.unit.is_empty() { String::new() } else { format!(" {}", people.unit) };
        columns.row([
            held.label.clone(),
            format!(
                "{}{unit}",
                held.value.map_or_else(|| DASH.to_owned(), |value| shown(&Value::Number(people.value(value))))
            ),
            format!("{sign} {}{unit}", people.value(held.limit)),
            if held.met { "met" } else { "NOT MET" }.to_owned(),
        ]);
    }
    columns.to_string()
}

fn front(found: &Search) -> String {
    let measures = [Some(found.goal), found.second];
    let mut columns = Folded::new(PAGE, ["Front"]);
    for measure in measures.iter().flatten() {
        columns.block("", [with_unit(measure.label, measure.for_people().unit).as_str()]);
    }
    for free in &found.free {
        columns.block("", [free.path]);
    }
    let step = found.front.len().div_ceil(MOST_SHOWN).max(1);
    for (place, &number) in found.front.iter().enumerate().step_by(step) {
        let trial = &found.trail[number];
        let of = |(measure, value): (&Option<Column>, Option<f64>)| {
            measure.map(|measure| maybe(value.map(|value| value * measure.for_people().factor)))
        };
        let values = measures.iter().zip([trial.goal, trial.second]).filter_map(of);
        columns.row(std::iter::once((place + 1).to_string()).chain(values).chain(trial.values.iter().map(shown)));
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
