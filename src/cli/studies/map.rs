//! `framelap map`: two parameters at a time.

use super::{Outcome, give, measure, scenario, told};
use crate::cli::arguments::studies::Map;
use crate::report::studies::map as report;
use crate::study::Runner;
use crate::study::map::{Question, map};
use crate::study::vary::Vary;

pub(in crate::cli) fn run(options: &Map) -> anyhow::Result<Outcome> {
    let question = Question {
        x: Vary::parse(&options.x)?,
        y: Vary::parse(&options.y)?,
        measure: measure("--measure", &options.measure)?,
    };
    let candidate = scenario(&options.scenario, &options.changes)?;
    let baseline = options.baseline.as_ref().map(|given| scenario(given, &options.changes)).transpose()?;
    let answer = told(|watch| map(&candidate, baseline.as_ref(), &question, &Runner::new(), watch, |_| ()))?;
    give(&options.output, "map", &answer, |to| report::csv(&answer, to), || report::text(&answer))
}
