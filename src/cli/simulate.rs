//! `framelap simulate`: one scenario, its answer printed, its tables saved.

use std::io::{self, Write};
use std::path::Path;

use super::arguments::Simulate;
use super::{Outcome, output, scenarios};
use crate::engine::Run;
use crate::measure::Summary;
use crate::report::warnings::{Warning, warnings};
use crate::report::{json, tables, text};
use crate::scenario::Scenario;
use crate::study::{Answer, Workspace};
use crate::{study, work};

pub(super) fn run(options: &Simulate) -> anyhow::Result<Outcome> {
    let mut scenario = scenarios::find(&options.scenario)?;
    scenarios::change(&mut scenario, &options.changes)?;
    output::tell_cost(&[&scenario])?;
    let answer = answer(&scenario, options.work.as_deref())?;
    save(options, &answer)?;
    let warnings = warnings(&answer);
    if options.json {
        warn(&warnings);
    }
    print(options, &answer, &warnings)?;
    Ok(check(options, &answer.summary))
}

/// The whole answer, on the work table given or on one that is drawn.
fn answer(scenario: &Scenario, table: Option<&Path>) -> anyhow::Result<Answer> {
    let mut workspace = Workspace::new();
    let Some(path) = table else { return Ok(study::answer(scenario, &mut workspace)) };
    let loaded = work::read(path, scenario)?;
    if !loaded.absent.is_empty() {
        output::warn(&format!("{}: drawn, because absent: {}", path.display(), loaded.absent.join(", ")));
    }
    Ok(study::replay(scenario, loaded.table, &mut workspace))
}

/// Says what the reader of numbers must know before believing them, without its capital letter; the text holds it already.
fn warn(warnings: &[Warning]) {
    for warning in warnings.iter().filter(|warning| warning.grave()) {
        let text = warning.to_string();
        let mut letters = text.chars();
        let first = letters.next().map(|first| first.to_ascii_lowercase());
        output::warn(&first.into_iter().chain(letters).collect::<String>());
    }
}

fn save(options: &Simulate, answer: &Answer) -> anyhow::Result<()> {
    if let Some(folder) = &options.save_work {
        work::write(folder, &answer.scenario, &answer.table)?;
    }
    let run = &answer.run;
    let written = |file: Option<&Path>, write: fn(&Run, &mut dyn Write) -> io::Result<()>| match file {
        Some(file) => output::save(file, |to| write(run, to)),
        None => Ok(()),
    };
    written(options.save_frames.as_deref(), |run, to| tables::frames(run, to))?;
    written(options.save_slices.as_deref(), |run, to| tables::slices(run, to))?;
    written(options.save_refreshes.as_deref(), |run, to| tables::refreshes(run, to))
}

fn print(options: &Simulate, answer: &Answer, warnings: &[Warning]) -> anyhow::Result<Outcome> {
    if !options.json {
        return output::print(&text::summary(&answer.scenario, &answer.summary, warnings));
    }
    let mut document = Vec::new();
    json::summary(&answer.summary, warnings, &mut document)?;
    output::print(&String::from_utf8(document)?)
}

/// With `--check`, names the lines of the budget that are not met.
fn check(options: &Simulate, summary: &Summary) -> Outcome {
    let failed: Vec<&str> = summary.budget.iter().filter(|line| !line.met).map(|line| line.label).collect();
    if !options.check || failed.is_empty() {
        return Outcome::Done;
    }
    output::warn(&format!("over budget: {}", failed.join(", ")));
    Outcome::BudgetNotMet
}
