//! `framelap presets`: the library of scenarios that ships with the program.

use std::path::Path;

use anyhow::bail;

use super::arguments::Presets;
use super::{Outcome, output, scenarios};
use crate::scenario::presets::{self, Preset};

/// Width of the notes in the list.
const NOTES_COLUMNS: usize = 92;

pub(super) fn run(what: Presets) -> anyhow::Result<Outcome> {
    match what {
        Presets::List => output::print(&list()),
        Presets::Show { name } => output::print(scenarios::preset(&name)?.text),
        Presets::Write { name, file } => write(scenarios::preset(&name)?.text, &file),
    }
}

/// A paragraph a preset: number, name for the command line, name in words, and what to see in it.
fn list() -> String {
    presets::all().iter().map(paragraph).collect()
}

fn paragraph(preset: &Preset) -> String {
    let head = format!("{:>2}  {}\n    {}\n", preset.number, preset.slug, preset.name());
    let notes = wrapped(preset.notes(), NOTES_COLUMNS).into_iter().map(|line| format!("    {line}\n"));
    std::iter::once(head).chain(notes).collect()
}

/// Text broken between words into lines of at most so many characters.
fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn write(text: &str, file: &Path) -> anyhow::Result<Outcome> {
    if file.is_file() {
        bail!("{}: there is such a file already, and it is not overwritten", file.display());
    }
    output::save(file, |to| to.write_all(text.as_bytes()))?;
    Ok(Outcome::Done)
}
