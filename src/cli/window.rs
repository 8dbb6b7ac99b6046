//! The window, opened on what was said on the command line.

use std::ffi::OsStr;

use anyhow::anyhow;

use super::{Outcome, scenarios};
use crate::app;

pub(super) fn open(candidate: Option<&OsStr>, baseline: Option<&OsStr>) -> anyhow::Result<Outcome> {
    let candidate = candidate.map(scenarios::given).transpose()?;
    let baseline = baseline.map(scenarios::given).transpose()?;
    // Its sentences stand on a line each; at the terminal a message is one line.
    app::open(baseline, candidate).map_err(|error| anyhow!(error.to_string().replace('\n', ". ")))?;
    Ok(Outcome::Done)
}
