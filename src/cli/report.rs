//! `framelap report`: a head-to-head as one page.

use anyhow::bail;

use super::arguments::pages::Report;
use super::{Outcome, output, scenarios};
use crate::app;
use crate::report::provenance;

pub(super) fn run(options: &Report) -> anyhow::Result<Outcome> {
    let ending = options.out.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    if !app::REPORT_ENDINGS.contains(&ending.as_str()) {
        let found =
            if ending.is_empty() { "a name without an ending".to_owned() } else { format!("the ending .{ending}") };
        bail!("{}: found {found}, allowed: .html, .htm", options.out.display());
    }
    let [baseline, candidate] = scenarios::pair(&options.sides)?;
    let report = app::Report::new(baseline, candidate);
    let out = options.out.file_name().unwrap_or_default().to_string_lossy();
    output::save(&options.out, |to| report.write(options.theme.into(), &provenance::today(), &out, to))?;
    Ok(Outcome::Done)
}
