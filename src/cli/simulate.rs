//! `framelap simulate`: one scenario, its answer printed, its tables saved.

use std::io::{self, Write};
use std::path::Path;

use super::arguments::Simulate;
use super::{Outcome, output, scenarios};
use crate::engine::{Pilot, Run};
use crate::measure::Summary;
use crate::report::{json, tables, text};
use crate::scenario::Scenario;
use crate::study::{Answer, Workspace};
use crate::{study, work};

pub(super) fn run(options: &Simulate) -> anyhow::Result<Outcome> {
    let mut scenario = scenarios::find(&options.scenario)?;
    scenarios::change(&mut scenario, &options.changes)?;
    let answer = answer(&scenario, options.work.as_deref())?;
    save(options, &answer)?;
    warn(&answer);
    print(options, &answer)?;
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

/// Says what the reader of any output must know before believing it.
fn warn(answer: &Answer) {
    if answer.run.pilot == Pilot::Infinite {
        output::warn(
            "no lead meets the late share asked for, since too many frames never get ready: the lead is 60 ms",
        );
    }
    if !answer.summary.steady {
        output::warn(
            "the run is not steady: latency grows, or work is offered faster than done; there are no quantiles",
        );
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

fn print(options: &Simulate, answer: &Answer) -> anyhow::Result<Outcome> {
    if !options.json {
        return output::print(&text::summary(&answer.scenario, &answer.summary));
    }
    let mut document = Vec::new();
    json::summary(&answer.summary, &mut document)?;
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
