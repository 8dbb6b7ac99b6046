//! `framelap split`: what each piece may take.

use anyhow::anyhow;

use super::{Outcome, give, scenario, seeds, told};
use crate::cli::arguments::studies::Split;
use crate::report::studies::split as report;
use crate::study::Runner;
use crate::study::split::{Question, Rule, split};

pub(in crate::cli) fn run(options: &Split) -> anyhow::Result<Outcome> {
    let scenario = scenario(&options.scenario, &options.changes)?;
    let number = |option: &str, text: &Option<String>, usual: f64, allowed: &str| match text {
        Some(text) => text.trim().parse().map_err(|_| anyhow!("{option}: found {text:?}, allowed: {allowed}")),
        None => Ok(usual),
    };
    let rules = Rule::ALL.map(Rule::name).join(", ");
    let usual = Question::new(&scenario);
    let question = Question {
        target_ms: number("--target", &options.target, usual.target_ms, "above 0 to 1000 ms")?,
        quantile: number("--quantile", &options.quantile, usual.quantile, "above 0 to below 1")?,
        rule: Rule::find(&options.rule).ok_or_else(|| anyhow!("--rule: found {:?}, allowed: {rules}", options.rule))?,
        seeds: seeds(&options.seeds)?,
    };
    let answer = told(|watch| split(&scenario, &question, &Runner::new(), watch))?;
    give(&options.output, "split", &answer, |to| report::csv(&answer, to), || report::text(&answer))
}
