//! Summaries and studies as JSON, for programs.

use std::io::{self, Write};

use serde::Serialize;

use super::warnings::{Entry, Warning};
use crate::measure::Summary;

/// What the JSON output holds: who made it, and the measures under their own names.
#[derive(Serialize)]
struct Document<'a> {
    version: &'static str,
    #[serde(flatten)]
    summary: &'a Summary,
    warnings: Vec<Entry>,
}

/// What the JSON output of a study holds: who made it, which study it is, and its answer's fields.
#[derive(Serialize)]
struct Study<'a, T: Serialize> {
    version: &'static str,
    #[serde(rename = "study")]
    name: &'a str,
    #[serde(flatten)]
    answer: &'a T,
}

/// Writes the answer of a study as one indented JSON object and a line end. Fields are those of the answer, `version`, that
/// of the program, and `study`, the study's name; what cannot be measured is null.
pub fn study(name: &str, answer: &impl Serialize, mut to: impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut to, &Study { version: crate::version::version(), name, answer })?;
    writeln!(to)
}

/// Writes a summary and what to know before believing it as one indented JSON object and a line end. Fields are those of
/// [`Summary`], `version`, that of the program, and `warnings`; what cannot be measured is null.
pub fn summary(summary: &Summary, warnings: &[Warning], mut to: impl Write) -> io::Result<()> {
    let warnings = warnings.iter().map(Entry::from).collect();
    serde_json::to_writer_pretty(&mut to, &Document { version: crate::version::version(), summary, warnings })?;
    writeln!(to)
}
