//! A scenario by what was said on the command line: a file or a preset, and changes to it.

use std::ffi::OsStr;
use std::path::Path;

use anyhow::anyhow;

use super::arguments::{Changes, Sides};
use super::output;
use crate::app::Given;
use crate::report::figures::Side;
use crate::scenario::presets::own::{self, Own};
use crate::scenario::{self, Scenario, ScenarioError, parameters, presets};

/// The scenario of a file or a preset; a file comes first where both have the name, then a shipped preset, then one of the
/// user's own.
pub(super) fn find(given: &OsStr) -> anyhow::Result<Scenario> {
    Ok(self::given(given)?.into_scenario())
}

/// The same with the place it came from.
pub(super) fn given(given: &OsStr) -> anyhow::Result<Given> {
    let path = Path::new(given);
    let name = given.to_string_lossy();
    match presets::find(&name) {
        Some(preset) if !path.is_file() => return Ok(Given::preset(preset)),
        _ if path.exists() || path.components().count() > 1 => {
            return Ok(Given::file(path, scenario::load(path)?));
        }
        _ => {}
    }
    if let Some(own) = own(&name)? {
        return Ok(Given::own(&own)?);
    }
    if path.extension().is_some() {
        return Ok(Given::file(path, scenario::load(path)?));
    }
    Err(no_such(&name, "neither a file nor a preset", "a scenario file, or "))
}

/// The text of a preset, shipped or of the user's own.
pub(super) fn preset_text(name: &str) -> anyhow::Result<String> {
    if let Some(preset) = presets::find(name) {
        return Ok(preset.text.to_owned());
    }
    let own = own(name)?.ok_or_else(|| no_such(name, "no preset", ""))?;
    own.scenario.map_err(|error| anyhow!(error.to_string()))?;
    Ok(std::fs::read_to_string(&own.path)?)
}

/// The preset of the user's own that is called so. Where the system names no folder for them there are none.
fn own(name: &str) -> anyhow::Result<Option<Own>> {
    let Ok(folder) = own::folder() else { return Ok(None) };
    Ok(own::find(&folder, name)?)
}

fn no_such(name: &str, found: &str, allowed: &str) -> anyhow::Error {
    let numbers = presets::all().len();
    let shipped = presets::all().iter().map(|preset| preset.slug.to_owned());
    let own = own::folder().and_then(|folder| own::all(&folder)).unwrap_or_default();
    let slugs: Vec<String> = shipped.chain(own.into_iter().map(|own| own.slug)).collect();
    anyhow!(
        "{name:?}: found {found} of that name, allowed: {allowed}a preset by its number, 1 to {numbers}, or name: {}",
        slugs.join(", ")
    )
}

/// Changes a scenario as told, and checks the whole. What is refused names the option that asked for it.
pub(super) fn change(scenario: &mut Scenario, changes: &Changes) -> anyhow::Result<()> {
    change_side(scenario, changes, "", &[])
}

/// The same with changes to one of two scenarios, by an option of its own, after those to both.
pub(super) fn change_side(
    scenario: &mut Scenario,
    changes: &Changes,
    option: &str,
    more: &[String],
) -> anyhow::Result<()> {
    let Changes { frames, warmup, seed, set } = changes;
    let one = |path, option, value: &Option<String>| value.as_ref().map(|value| Change::of(path, option, value));
    let frames = one("run.frames", "--frames", frames);
    let shortened = frames.is_some() && warmup.is_none();
    let rest = [one("run.warmup", "--warmup", warmup), one("run.seed", "--seed", seed)];
    let set = set.iter().map(|assignment| Change::set("--set", assignment));
    let more = more.iter().map(|assignment| Change::set(option, assignment));
    let changes: Vec<Change> = frames.into_iter().chain(rest.into_iter().flatten()).chain(set).chain(more).collect();
    // Since which of them the scenario cannot be simulated: a later one may mend it.
    let mut wrong_since = None;
    for change in &changes {
        parameters::assign(scenario, &change.assignment).map_err(|error| change.refused(&error))?;
        if shortened && change.option == "--frames" {
            scenario.run.keep_half();
        }
        wrong_since = if scenario.check().is_ok() { None } else { wrong_since.or(Some(change)) };
    }
    scenario.check().map_err(|error| {
        let named = changes.iter().rev().find(|change| error.path() == Some(change.path.as_str()));
        named.or(wrong_since).map_or_else(|| anyhow!("{error}"), |change| change.refused(&error))
    })
}

/// Baseline and candidate with the changes to them; what the program starts with where none is given.
pub(super) fn pair(sides: &Sides) -> anyhow::Result<[Given; 2]> {
    let side = |given: Option<&OsStr>, side: Side, option: &str, more: &[String]| -> anyhow::Result<Given> {
        let mut scenario = given.map_or_else(|| Ok(Given::start(side)), self::given)?;
        change_side(scenario.scenario_mut(), &sides.changes, option, more)?;
        Ok(scenario)
    };
    let baseline = side(sides.baseline.as_deref(), Side::Baseline, "--set-baseline", &sides.set_baseline)?;
    let candidate = side(sides.candidate.as_deref(), Side::Candidate, "--set-candidate", &sides.set_candidate)?;
    output::tell_cost(&[baseline.scenario(), candidate.scenario()])?;
    Ok([baseline, candidate])
}

/// One parameter that an option sets.
struct Change {
    /// The option, as a message names it: `--frames`, `--set slices.count`.
    option: String,
    /// Path of the parameter.
    path: String,
    /// Path and value, as in `--set`.
    assignment: String,
}

/// How to get a parameter that exists only while another has some value: `allowed: only while pacing.lead is Ms`.
fn choose_first(message: &str) -> Option<String> {
    let (_, condition) = message.rsplit_once("allowed: only while ")?;
    let (path, values) = condition.split_once(" is ")?;
    let value = values.split([',', ' ']).next()?;
    Some(format!("; before it, --set {path}={value}"))
}

impl Change {
    fn of(path: &str, option: &str, value: &str) -> Self {
        Self { option: option.to_owned(), path: path.to_owned(), assignment: format!("{path}={value}") }
    }

    fn set(option: &str, assignment: &str) -> Self {
        let path = assignment.split('=').next().unwrap_or_default().trim();
        Self { option: format!("{option} {path}"), path: path.to_owned(), assignment: assignment.to_owned() }
    }

    /// The message, which begins with the option in place of the path that the option stands for.
    fn refused(&self, error: &ScenarioError) -> anyhow::Error {
        let message = error.to_string();
        let rest = message.strip_prefix(&format!("{}: ", self.path)).unwrap_or(&message);
        anyhow!("{}: {rest}{}", self.option, choose_first(rest).unwrap_or_default())
    }
}
