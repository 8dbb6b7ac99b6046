//! `framelap calibrate`: measurements become a scenario, with what it is worth.

use std::fs;
use std::sync::Arc;

use anyhow::{anyhow, bail};

use super::arguments::calibrate::Calibrate;
use super::{Outcome, output, scenarios};
use crate::app::figures::Form;
use crate::app::{Format, MeasuredExhibit, MeasuredFigure, Slide, ThemeChoice};
use crate::calibrate::{self, Calibrated, Fitted, Mapping, NotFitted, Question, Role, Sheet, Unit, Watch};
use crate::report::calibration::{self, Calibration};
use crate::report::figures::measured::Figures;
use crate::report::provenance;
use crate::scenario::{self, Scenario};
use crate::{files, work};

pub(super) fn run(options: &Calibrate) -> anyhow::Result<Outcome> {
    let shown = options.measurements.display();
    let sheet = Sheet::read(&options.measurements)?;
    let question = Question {
        mapping: mapping(options, &sheet)?,
        hold_out: options.hold_out,
        samples: options.samples.into(),
        base: options.scenario.as_deref().map_or_else(|| Ok(Scenario::default()), scenarios::find)?,
        name: options.measurements.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
    };
    let fitted = Fitted::of(&sheet, &question, &Watch::nobody());
    let mut fitted = fitted.map_err(|error| match error {
        NotFitted::TooFew { .. } => anyhow!("{shown}: {error}; see --map"),
        NotFitted::Stopped(_) => anyhow!("{shown}: {error}"),
    })?;
    scenarios::change(&mut fitted.adopted.scenario, &options.changes)?;
    let whole = fitted.judge();
    save(options, &question.mapping, &whole)?;
    let file = shown.to_string();
    figures(options, &file, &sheet, &question, &whole)?;
    let told = Calibration::new(&file, &sheet, &question.mapping, &whole);
    if options.json {
        return output::print(&(serde_json::to_string_pretty(&told)? + "\n"));
    }
    output::print(&told.text())
}

fn save(options: &Calibrate, mapping: &Mapping, whole: &Calibrated) -> anyhow::Result<()> {
    let scenario = &whole.adopted.scenario;
    for path in options.save_scenario.iter().chain(&options.save_mapping) {
        output::tell_comments(path);
    }
    if let Some(path) = &options.save_scenario {
        scenario::save(path, scenario)?;
    }
    if let Some(path) = &options.save_mapping {
        mapping.save(path)?;
    }
    if let Some(folder) = &options.save_work {
        let slices = scenario.slices.count;
        let (scenario, table) = calibrate::replay(scenario, &whole.measured).ok_or_else(|| {
            anyhow!("--save-work: found fewer than 10 measured frames of {slices} slices, allowed: 10 or more")
        })?;
        work::write(folder, &scenario, &table)?;
    }
    Ok(())
}

/// Writes every figure in every format.
fn figures(
    options: &Calibrate,
    file: &str,
    sheet: &Sheet,
    question: &Question,
    whole: &Calibrated,
) -> anyhow::Result<()> {
    let Some(folder) = &options.figures else { return Ok(()) };
    fs::create_dir_all(folder)
        .map_err(|error| anyhow!("{}: cannot be made: {}", folder.display(), files::why(&error)))?;
    let base = options.scenario.as_ref().map(|base| base.to_string_lossy());
    let all = Arc::new(Figures::of(whole));
    let name = options.measurements.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let command = calibration::command(file, sheet, question, base.as_deref());
    let slide = Slide { size: Slide::SIZE, scale: Slide::SCALE, theme: ThemeChoice::Light };
    for figure in MeasuredFigure::all(&all) {
        let exhibit = MeasuredExhibit {
            figure,
            figures: Arc::clone(&all),
            form: Form::default(),
            file: name.clone(),
            command: command.clone(),
        };
        for (format, ending) in [(Format::Png, "png"), (Format::Svg, "svg"), (Format::Csv, "csv")] {
            let path = folder.join(format!("{}.{ending}", figure.slug()));
            output::save(&path, |to| exhibit.write(format, &slide, &provenance::today(), to))?;
        }
    }
    Ok(())
}

/// The mapping of a file or the proposed one, with what was said on the command line.
fn mapping(options: &Calibrate, sheet: &Sheet) -> anyhow::Result<Mapping> {
    let mut mapping = match &options.mapping {
        Some(path) => Mapping::load(path, sheet)?,
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
