//! The command line: opens the window, or does what the window does without one.
//!
//! Exit status: 0; 1 when `--check` finds a budget line that is not met; 2 for anything that keeps a command from being done,
//! with one message on standard error.

mod arguments;
mod calibrate;
mod differences;
mod extras;
mod figure;
mod output;
mod parameters;
mod picture;
mod presets;
mod report;
mod scenarios;
mod simulate;
mod studies;
mod talk;
mod walk;
mod window;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{CommandFactory as _, FromArgMatches as _};

use arguments::{Arguments, Command};

use crate::quote::cut_to;

/// Most characters of a message about the arguments: some list what is allowed.
const LONGEST: usize = 800;

/// How a command that could be done went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// Done.
    Done,
    /// Done, and the budget that was to be checked is not met.
    BudgetNotMet,
}

/// Runs the program on its arguments, the program's own name first.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    // A failure is told in one message of our own; what libraries log is for those who ask.
    env_logger::Builder::from_env(env_logger::Env::default().default_filter_or("off")).init();
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let result = match parse(arguments.clone()) {
        Ok(arguments) => dispatch(arguments),
        Err(error) if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            output::print(&error.render().to_string())
        }
        Err(error) => Err(anyhow::anyhow!(too_many(&arguments).unwrap_or_else(|| one_line(&error)))),
    };
    match result {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::BudgetNotMet) => ExitCode::from(1),
        Err(error) => {
            output::warn(&told(&error));
            ExitCode::from(2)
        }
    }
}

fn parse(arguments: impl IntoIterator<Item = OsString>) -> Result<Arguments, clap::Error> {
    Arguments::command().try_get_matches_from(arguments).and_then(|matches| Arguments::from_arg_matches(&matches))
}

fn dispatch(arguments: Arguments) -> anyhow::Result<Outcome> {
    match arguments.command {
        None => window::open(arguments.candidate.as_deref(), arguments.baseline.as_deref()),
        Some(Command::Simulate(options)) => simulate::run(&options),
        Some(Command::Presets { what }) => presets::run(what.unwrap_or_default()),
        Some(Command::Parameters(options)) => parameters::run(&options),
        Some(Command::Differences(options)) => differences::run(&options),
        Some(Command::Figure(options)) => figure::run(&options),
        Some(Command::Report(options)) => report::run(&options),
        Some(Command::Walk(options)) => walk::run(&options),
        Some(Command::Compare(options)) => studies::compare::run(&options),
        Some(Command::Sweep(options)) => studies::sweep::run(&options),
        Some(Command::Map(options)) => studies::map::run(&options),
        Some(Command::Sensitivity(options)) => studies::sensitivity::run(&options),
        Some(Command::Search(options)) => studies::search::run(&options),
        Some(Command::Split(options)) => studies::split::run(&options),
        Some(Command::WhatIf(options)) => studies::what_if::run(&options),
        Some(Command::Calibrate(options)) => calibrate::run(&options),
        Some(Command::Picture(options)) => picture::run(&options),
        Some(Command::Talk(options)) => talk::run(&options),
        Some(Command::Completions { shell }) => extras::completions(shell),
        Some(Command::Manpage) => extras::manpage(),
    }
}

/// An error and its causes in one line; a cause that the message before it tells already is not told again.
fn told(error: &anyhow::Error) -> String {
    error
        .chain()
        .map(ToString::to_string)
        .reduce(|told, cause| if told.ends_with(&cause) { told } else { format!("{told}: {cause}") })
        .unwrap_or_default()
}

/// What is wrong where more scenarios are given than the window shows.
fn too_many(arguments: &[OsString]) -> Option<String> {
    let given = arguments.get(1..)?;
    let program = Arguments::command();
    let command = |argument: &OsString| program.get_subcommands().any(|command| argument == command.get_name());
    let scenario = |argument: &OsString| !argument.to_string_lossy().starts_with('-') && !command(argument);
    let too_many = given.len() > 2 && given.iter().all(scenario);
    too_many.then(|| {
        format!(
            "found {} scenarios, allowed: 2 at most, a candidate and a baseline; see `framelap --help`",
            given.len()
        )
    })
}

/// What is wrong with the arguments, in one line: clap's first paragraph and its tips, without usage and
/// general advice.
fn one_line(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let paragraphs = text.split("\n\n").map(|paragraph| paragraph.split_whitespace().collect::<Vec<_>>().join(" "));
    let beside = ["Usage:", "For more information", "tip: to pass"];
    let told = paragraphs.filter(|told| !beside.iter().any(|start| told.starts_with(start)));
    let told = told.collect::<Vec<_>>().join("; ");
    format!("{}; see `framelap --help`", cut_to(told.trim_start_matches("error: "), LONGEST))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fuzz::{fuzz, texts};

    #[test]
    fn damaged_arguments_are_refused_in_one_line() {
        // An argument a line, as the help's examples have them.
        let examples = [arguments::EXAMPLES, arguments::SIMULATE_EXAMPLES, arguments::pictures::FIGURE_EXAMPLES];
        let split = |line: &str| {
            let command = line.split("  ").next().unwrap_or_default();
            let command = command.split([';', '|', '>']).next().unwrap_or_default();
            command.split_whitespace().collect::<Vec<_>>().join("\n")
        };
        let good = texts(examples.iter().flat_map(|examples| examples.lines()).map(split));
        fuzz("arguments", &good, |bytes| {
            let text = String::from_utf8_lossy(bytes);
            match parse(text.split('\n').map(OsString::from)) {
                Ok(_) => Ok(()),
                Err(error) if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => Ok(()),
                Err(error) => Err(one_line(&error)),
            }
        });
    }
}
