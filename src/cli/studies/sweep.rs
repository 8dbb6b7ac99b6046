//! `framelap sweep`: one parameter over its values.

use super::{Outcome, chosen, give, pair, seeds, told};
use crate::cli::arguments::studies::Sweep;
use crate::report::studies::sweep as report;
use crate::study::Runner;
use crate::study::sweep::{Question, sweep};
use crate::study::vary::Vary;

pub(in crate::cli) fn run(options: &Sweep) -> anyhow::Result<Outcome> {
    let mut question = Question::new(Vary::parse(&options.vary)?);
    question.seeds = seeds(&options.seeds)?;
    if let Some((goal, measures)) = chosen(&options.measure)? {
        (question.goal, question.measures) = (goal, measures);
    }
    let scenarios = pair(&options.scenario, options.baseline.as_ref(), &options.changes)?;
    let answer = told(|watch| sweep(&scenarios, &question, &Runner::new(), watch, |_| ()))?;
    give(&options.output, "sweep", &answer, |to| report::csv(&answer, to), || report::text(&answer))
}
