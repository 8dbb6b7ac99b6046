//! `framelap sensitivity`: which parameter moves a measure.

use super::{Outcome, give, measure, scenario, seeds, told};
use crate::cli::arguments::studies::Sensitivity;
use crate::report::studies::sensitivity as report;
use crate::study::Runner;
use crate::study::sensitivity::{Question, sensitivity};

pub(in crate::cli) fn run(options: &Sensitivity) -> anyhow::Result<Outcome> {
    let question = Question { seeds: seeds(&options.seeds)?, ..Question::new(measure("--measure", &options.measure)?) };
    let scenario = scenario(&options.scenario, &options.changes)?;
    let answer = told(|watch| sensitivity(&scenario, question, &Runner::new(), watch))?;
    give(&options.output, "sensitivity", &answer, |to| report::csv(&answer, to), || report::text(&answer))
}
