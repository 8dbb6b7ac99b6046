//! `framelap presets`: the library of scenarios that ships with the program.

use std::path::Path;

use anyhow::bail;

use super::arguments::Presets;
use super::{Outcome, output, scenarios};
use crate::report::words::wrapped;
use crate::scenario::presets::own::{self, Own};
use crate::scenario::presets::{self, Preset};

/// Width of the notes in the list.
const NOTES_COLUMNS: usize = 92;

pub(super) fn run(what: Presets) -> anyhow::Result<Outcome> {
    match what {
        Presets::List => list(),
        Presets::Show { name } => output::print(&scenarios::preset_text(&name)?),
        Presets::Write { name, file } => write(&scenarios::preset_text(&name)?, &file),
    }
}

/// A paragraph a preset: number, name for the command line, name in words, and what to see in it; then the user's own.
/// A folder of theirs that cannot be read is told of and keeps nothing from being listed.
fn list() -> anyhow::Result<Outcome> {
    let shipped = |preset: &Preset| paragraph(&preset.number.to_string(), preset.slug, preset.name(), preset.notes());
    let mut list: String = presets::all().iter().map(shipped).collect();
    match own::folder().and_then(|folder| own::all(&folder)) {
        Ok(all) => list.extend(all.iter().map(own_paragraph)),
        Err(error) => output::warn(&error.to_string()),
    }
    output::print(&list)
}

/// The same for one of the user's own, marked as such; what keeps it from being used stands in place of the notes.
fn own_paragraph(preset: &Own) -> String {
    match &preset.scenario {
        Err(error) => paragraph("own", &preset.slug, "cannot be used", &error.to_string()),
        Ok(_) if preset.hidden() => paragraph(
            "own",
            &preset.slug,
            preset.name(),
            "A shipped preset has this name and comes first: rename the file.",
        ),
        Ok(_) => paragraph("own", &preset.slug, preset.name(), preset.notes()),
    }
}

fn paragraph(mark: &str, slug: &str, name: &str, notes: &str) -> String {
    let head = format!("{mark:>3}  {slug}\n     {name}\n");
    let notes = wrapped(notes, NOTES_COLUMNS, "").into_iter().map(|line| format!("     {line}\n"));
    std::iter::once(head).chain(notes).collect()
}

fn write(text: &str, file: &Path) -> anyhow::Result<Outcome> {
    if file.is_file() {
        bail!("{}: there is such a file already, and it is not overwritten", file.display());
    }
    output::save_ron(file, |to| to.write_all(text.as_bytes()))?;
    Ok(Outcome::Done)
}
