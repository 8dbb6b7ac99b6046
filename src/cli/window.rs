//! The window, opened on what was said on the command line.

use std::ffi::OsStr;

use super::{Outcome, scenarios};
use crate::app;

pub(super) fn open(candidate: Option<&OsStr>, baseline: Option<&OsStr>) -> anyhow::Result<Outcome> {
    let candidate = candidate.map(scenarios::find).transpose()?;
    let baseline = baseline.map(scenarios::find).transpose()?;
    app::open(baseline, candidate)?;
    Ok(Outcome::Done)
}
