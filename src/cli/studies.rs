//! The studies: what their commands share.

pub(super) mod compare;
pub(super) mod map;
pub(super) mod search;
pub(super) mod sensitivity;
pub(super) mod split;
pub(super) mod sweep;
pub(super) mod what_if;

use std::ffi::OsString;
use std::io::{self, IsTerminal as _, Write};
use std::path::Path;
use std::sync::Mutex;
use std::time::Instant;

use anyhow::anyhow;
use serde::Serialize;

use super::arguments::Changes;
use super::arguments::studies::Output;
use super::{Outcome, output, scenarios};
use crate::measure::measures::{self, Measure};
use crate::report::json;
use crate::scenario::Scenario;
use crate::stop::Stop;
use crate::study::cost::{self, Cost};
use crate::study::luck::MOST_SEEDS;
use crate::study::{Progress, StudyError, Watch};

/// A scenario with the changes told.
fn scenario(given: &OsString, changes: &Changes) -> anyhow::Result<Scenario> {
    let mut scenario = scenarios::find(given)?;
    scenarios::change(&mut scenario, changes)?;
    // So many are in hand.
    output::tell_cost(&vec![&scenario; cost::at_once(Cost::of(&scenario).bytes)])?;
    Ok(scenario)
}

/// The measures of the names given.
fn measures(names: &[String]) -> anyhow::Result<Vec<&'static Measure>> {
    names.iter().map(|name| measure("--measure", name)).collect()
}

/// The measure of a name, which an option gave.
fn measure(option: &str, name: &str) -> anyhow::Result<&'static Measure> {
    measures::named(name).map_err(|alike| {
        anyhow!(
            "{option}: found no measure {name:?}, allowed: a path in the JSON of simulate, such as {}",
            alike.join(", ")
        )
    })
}

/// The measures of the names given, the first of them the goal; none where none is given.
fn chosen(names: &[String]) -> anyhow::Result<Option<(&'static Measure, Vec<&'static Measure>)>> {
    let measures = measures(names)?;
    Ok(measures.first().copied().map(|goal| (goal, measures)))
}

/// One scenario, or two, with the changes told.
fn pair(one: &OsString, other: Option<&OsString>, changes: &Changes) -> anyhow::Result<Vec<Scenario>> {
    std::iter::once(one).chain(other).map(|given| scenario(given, changes)).collect()
}

/// A number of seeds.
fn seeds(text: &str) -> anyhow::Result<u32> {
    whole("--seeds", text, 1, MOST_SEEDS)
}

/// A whole number within bounds.
fn whole(option: &str, text: &str, least: u32, most: u32) -> anyhow::Result<u32> {
    let number = text.trim().parse().ok().filter(|number| (least..=most).contains(number));
    number.ok_or_else(|| anyhow!("{option}: found {text:?}, allowed: whole numbers {least} to {most}"))
}

/// Does a study while telling how far it has come, where standard error is a terminal.
fn told<T>(study: impl FnOnce(&Watch<'_>) -> Result<T, StudyError>) -> anyhow::Result<T> {
    let terminal = io::stderr().is_terminal();
    let last = Mutex::new(Instant::now());
    let tell = |progress: Progress| {
        let Ok(mut last) = last.try_lock() else { return };
        if terminal && (last.elapsed() >= output::SILENCE || progress.done == progress.all) {
            *last = Instant::now();
            output::line(&format!("{} of {} runs{}", progress.done, progress.all, output::left(progress.left)));
        }
    };
    let answer = study(&Watch::new(Stop::NEVER, &tell));
    if terminal {
        output::line("");
    }
    Ok(answer?)
}

/// Writes and prints the answer of a study as its options ask.
fn give<T: Serialize>(
    options: &Output,
    name: &str,
    answer: &T,
    csv: impl Fn(&mut dyn Write) -> io::Result<()>,
    text: impl FnOnce() -> String,
) -> anyhow::Result<Outcome> {
    let to_output = options.csv.as_deref() == Some(Path::new("-"));
    if to_output && options.json {
        return Err(anyhow!("--csv -: found --json beside it, allowed: one of the two on standard output"));
    }
    if let Some(file) = options.csv.as_deref().filter(|_| !to_output) {
        output::save(file, &csv)?;
    }
    let mut document = Vec::new();
    if to_output {
        csv(&mut document)?;
    } else if options.json {
        json::study(name, answer, &mut document)?;
    } else {
        return output::print(&text());
    }
    output::print(&String::from_utf8(document)?)
}
