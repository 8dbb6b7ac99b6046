//! The window, opened on what was said on the command line.

use std::ffi::OsStr;
use std::path::PathBuf;

use anyhow::{anyhow, bail};
use clap::CommandFactory as _;

use super::arguments::Arguments;
use super::{Outcome, scenarios, talk};
use crate::app;

pub(super) fn open(candidate: Option<&OsStr>, baseline: Option<&OsStr>) -> anyhow::Result<Outcome> {
    if let Some(file) = candidate.filter(|file| talk::named(file)) {
        if let Some(baseline) = baseline {
            let (file, found) = (file.to_string_lossy(), baseline.to_string_lossy());
            bail!("{file}: it is a talk, which holds its scenarios; found {found:?} behind it, allowed: nothing");
        }
        let given = (talk::find(file)?, PathBuf::from(file));
        app::open(None, None, Some(given)).map_err(|error| anyhow!(error.to_string().replace('\n', ". ")))?;
        return Ok(Outcome::Done);
    }
    let candidate =
        candidate.map(|given| scenarios::given(given).map_err(|error| or_command(given, error))).transpose()?;
    let baseline = baseline.map(scenarios::given).transpose()?;
    // Its sentences stand on a line each; at the terminal a message is one line.
    app::open(baseline, candidate, None).map_err(|error| anyhow!(error.to_string().replace('\n', ". ")))?;
    Ok(Outcome::Done)
}

/// What is no scenario may be a command, not written to its end or past it.
fn or_command(given: &OsStr, error: anyhow::Error) -> anyhow::Error {
    let given = given.to_string_lossy();
    let arguments = Arguments::command();
    let mut commands = arguments.get_subcommands().map(clap::Command::get_name);
    let meant = commands.find(|name| given.len() >= 3 && (name.starts_with(&*given) || given.starts_with(*name)));
    match meant {
        Some(meant) => anyhow!("{error}; or a command, such as {meant}"),
        None => error,
    }
}
