//! `framelap calibrate`: measurements become a scenario, with what it is worth.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, anyhow, bail};

use super::arguments::calibrate::Calibrate;
use super::{Outcome, output, scenarios};
use crate::calibrate::{self, Fit, Judgement, Mapping, Measured, Role, Sheet, Unit};
use crate::report::calibration::Calibration;
use crate::scenario::{self, Scenario};
use crate::study::{self, Workspace};
use crate::{files, work};

/// Longest file of a mapping \[bytes\].
const LONGEST_MAPPING: u64 = 1 << 20;

pub(super) fn run(options: &Calibrate) -> anyhow::Result<Outcome> {
    let sheet = Sheet::read(&options.measurements)?;
    let mapping = mapping(options, &sheet)?;
    let measured = Measured::of(&sheet, &mapping);
    let (to_fit, to_judge) = if options.hold_out {
        let [first, second] = measured.halves();
        (first, second)
    } else {
        (measured.clone(), measured.clone())
    };
    let fit = Fit::of(&to_fit);
    if fit.stages.is_empty() && fit.sizes.is_none() {
        bail!(
            "{}: nothing to fit: found {} frames{}, allowed: at least {} with a stage time or a size; see --map",
            options.measurements.display(),
            measured.frames,
            bad_rows(&sheet, &measured),
            calibrate::FEWEST_FRAMES
        );
    }
    let base = options.scenario.as_deref().map_or_else(|| Ok(Scenario::default()), scenarios::find)?;
    let mut adopted = calibrate::adopt(&base, &fit, options.samples.into());
    adopted.scenario.name = options.measurements.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    scenarios::change(&mut adopted.scenario, &options.changes)?;
    let answer = study::answer(&adopted.scenario, &mut Workspace::new());
    let judgement = Judgement::of(&to_judge, &answer);
    save(options, &mapping, &measured, &adopted.scenario)?;
    let file = options.measurements.display().to_string();
    let whole = Calibration::new(&file, (&sheet, &mapping, &measured), (&fit, &adopted), &judgement, options.hold_out);
    if options.json {
        return output::print(&(serde_json::to_string_pretty(&whole)? + "\n"));
    }
    output::print(&whole.text())
}

fn bad_rows(sheet: &Sheet, measured: &Measured) -> String {
    match sheet.bad.count + measured.bad.count {
        0 => String::new(),
        bad => format!(" and {bad} rows that cannot be used"),
    }
}

fn save(options: &Calibrate, mapping: &Mapping, measured: &Measured, scenario: &Scenario) -> anyhow::Result<()> {
    if let Some(path) = &options.save_scenario {
        scenario::save(path, scenario)?;
    }
    if let Some(path) = &options.save_mapping {
        let text = ron::ser::to_string_pretty(mapping, ron::ser::PrettyConfig::default())?;
        output::save(path, |to| writeln!(to, "{text}"))?;
    }
    if let Some(folder) = &options.save_work {
        let slices = scenario.slices.count;
        let (scenario, table) = calibrate::replay(scenario, measured).ok_or_else(|| {
            anyhow!("--save-work: found fewer than 10 measured frames of {slices} slices, allowed: 10 or more")
        })?;
        work::write(folder, &scenario, &table)?;
    }
    Ok(())
}

/// The mapping of a file or the proposed one, with what was said on the command line.
fn mapping(options: &Calibrate, sheet: &Sheet) -> anyhow::Result<Mapping> {
    let mut mapping = match &options.mapping {
        Some(path) => read_mapping(path, sheet)?,
        None => Mapping::propose(sheet),
    };
    for assignment in &options.map {
        assign(&mut mapping, sheet, assignment)?;
    }
    if let Some(group) = &options.group {
        let groups = mapping.groups(sheet);
        if !groups.contains(group) {
            let allowed =
                if groups.is_empty() { "none, since no column tells groups".to_owned() } else { groups.join(", ") };
            bail!("--group: found {group:?}, allowed: {allowed}");
        }
        mapping.group = Some(group.clone());
    }
    if let Some(skip) = options.skip {
        mapping.skip = skip;
    }
    Ok(mapping)
}

fn read_mapping(path: &Path, sheet: &Sheet) -> anyhow::Result<Mapping> {
    let shown = path.display();
    let long = fs::metadata(path).is_ok_and(|found| found.len() > LONGEST_MAPPING);
    if long {
        bail!("{shown}: found more than {LONGEST_MAPPING} bytes, allowed: a mapping, which is short");
    }
    let text = fs::read_to_string(path).map_err(|error| anyhow!("{shown} cannot be read: {}", files::why(&error)))?;
    let mapping: Mapping = ron::from_str(&text).with_context(|| format!("{shown}: no mapping"))?;
    let absent = mapping.columns.iter().find(|mapped| sheet.column(&mapped.column).is_none());
    match absent {
        Some(mapped) => bail!("{shown}: found column {:?}, allowed: {}", mapped.column, names(sheet)),
        None => Ok(mapping),
    }
}

fn names(sheet: &Sheet) -> String {
    sheet.columns.iter().map(|column| column.name.as_str()).collect::<Vec<_>>().join(", ")
}

/// `COLUMN=ROLE` or `COLUMN=ROLE:UNIT`.
fn assign(mapping: &mut Mapping, sheet: &Sheet, assignment: &str) -> anyhow::Result<()> {
    let Some((column, what)) = assignment.rsplit_once('=') else {
        bail!("--map: found {assignment:?}, allowed: COLUMN=ROLE or COLUMN=ROLE:UNIT");
    };
    let (role, unit) = what.split_once(':').map_or((what, None), |(role, unit)| (role, Some(unit)));
    if sheet.column(column).is_none() {
        bail!("--map: found column {column:?}, allowed: {}", names(sheet));
    }
    let Some(role) = Role::find(role) else {
        bail!("--map {column}: found {role:?}, allowed: {}", Role::ALL.map(Role::name).join(", "));
    };
    mapping.assign(sheet, column, role);
    let Some(text) = unit else { return Ok(()) };
    let allowed = Unit::of(role.kind());
    let Some(unit) = Unit::find(text).filter(|unit| allowed.contains(unit)) else {
        let allowed: Vec<&str> = allowed.iter().map(|unit| unit.name()).filter(|name| !name.is_empty()).collect();
        let allowed = if allowed.is_empty() { "none".to_owned() } else { allowed.join(", ") };
        bail!("--map {column}: found unit {text:?}, allowed: {allowed}");
    };
    if let Some(mapped) = mapping.columns.iter_mut().find(|mapped| mapped.column == column) {
        (mapped.unit, mapped.guessed) = (unit, false);
    }
    Ok(())
}
