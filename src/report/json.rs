//! A summary as JSON, for programs.

use std::io::{self, Write};

use serde::Serialize;

use crate::measure::Summary;

/// What the JSON output holds: who made it, and the measures under their own names.
#[derive(Serialize)]
struct Document<'a> {
    version: &'static str,
    #[serde(flatten)]
    summary: &'a Summary,
}

/// Writes a summary as one indented JSON object and a line end. Fields are those of [`Summary`], and `version`, that of
/// the program; what cannot be measured is null.
pub fn summary(summary: &Summary, mut to: impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut to, &Document { version: env!("CARGO_PKG_VERSION"), summary })?;
    writeln!(to)
}
