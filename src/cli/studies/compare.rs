//! `framelap compare`: several scenarios under the same luck.

use super::{Outcome, give, measures, scenario, seeds, told};
use crate::cli::arguments::studies::Compare;
use crate::report::studies::compare as report;
use crate::study::Runner;
use crate::study::compare::compare;

pub(in crate::cli) fn run(options: &Compare) -> anyhow::Result<Outcome> {
    let measures = measures(&options.measure)?;
    let seeds = seeds(&options.seeds)?;
    let scenarios: anyhow::Result<Vec<_>> =
        options.scenarios.iter().map(|given| scenario(given, &options.changes)).collect();
    let scenarios = scenarios?;
    let comparison = told(|watch| compare(&scenarios, seeds, &Runner::new(), watch))?;
    give(
        &options.output,
        "compare",
        &comparison,
        |to| report::csv(&comparison, to),
        || report::text(&comparison, &measures),
    )
}
