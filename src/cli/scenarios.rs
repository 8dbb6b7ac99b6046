//! A scenario by what was said on the command line: a file or a preset, and changes to it.

use std::ffi::OsStr;
use std::path::Path;

use anyhow::{Context as _, anyhow};

use super::arguments::Changes;
use crate::scenario::presets::Preset;
use crate::scenario::{self, Scenario, parameters, presets};

/// The scenario of a file or a preset; a file comes first where both have the name.
pub(super) fn find(given: &OsStr) -> anyhow::Result<Scenario> {
    let path = Path::new(given);
    let name = given.to_string_lossy();
    let looks_like_a_file = path.exists() || path.components().count() > 1 || path.extension().is_some();
    match presets::find(&name) {
        Some(preset) if !path.is_file() => Ok(preset.scenario()),
        _ if looks_like_a_file => Ok(scenario::load(path)?),
        _ => Err(no_such(&name, "neither a file nor a preset", "a scenario file, or a preset: ")),
    }
}

/// The preset of a name.
pub(super) fn preset(name: &str) -> anyhow::Result<&'static Preset> {
    presets::find(name).ok_or_else(|| no_such(name, "no preset", ""))
}

fn no_such(name: &str, found: &str, allowed: &str) -> anyhow::Error {
    let slugs: Vec<&str> = presets::all().iter().map(|preset| preset.slug).collect();
    anyhow!("{name:?}: found {found} of that name, allowed: {allowed}{}", slugs.join(", "))
}

/// Changes a scenario as told, and checks the whole.
pub(super) fn change(scenario: &mut Scenario, changes: &Changes) -> anyhow::Result<()> {
    let Changes { frames, warmup, seed, set } = changes;
    let run = [("run.frames", frames), ("run.warmup", warmup), ("run.seed", seed)];
    let run = run.into_iter().filter_map(|(path, value)| value.as_ref().map(|value| format!("{path}={value}")));
    for assignment in run.chain(set.iter().cloned()) {
        parameters::assign(scenario, &assignment)?;
    }
    scenario.check().context("after the changes of the command line")
}
