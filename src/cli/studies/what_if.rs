//! `framelap what-if`: the same design on other links.

use anyhow::anyhow;

use super::{Outcome, chosen, give, scenario, seeds, told};
use crate::cli::arguments::studies::WhatIf;
use crate::report::studies::what_if as report;
use crate::study::Runner;
use crate::study::what_if::{LINKS, LinkKind, Question, what_if};

pub(in crate::cli) fn run(options: &WhatIf) -> anyhow::Result<Outcome> {
    let mut question = Question { seeds: seeds(&options.seeds)?, ..Question::default() };
    if !options.links.is_empty() {
        let names = LINKS.iter().map(|link| link.name).collect::<Vec<_>>().join(", ");
        let find = |name: &String| {
            LinkKind::find(name.trim()).ok_or_else(|| anyhow!("--links: found {name:?}, allowed: {names}"))
        };
        question.links = options.links.iter().map(find).collect::<Result<_, _>>()?;
    }
    let factor = |text: &String| {
        let factor = text.trim().parse().ok().filter(|factor| (0.0..=1000.0).contains(factor));
        factor.ok_or_else(|| anyhow!("--jitter: found {text:?}, allowed: 0 to 1000 times"))
    };
    question.jitters = options.jitter.iter().map(factor).collect::<Result<_, _>>()?;
    if let Some((_, measures)) = chosen(&options.measure)? {
        question.measures = measures;
    }
    let scenario = scenario(&options.scenario, &options.changes)?;
    let answer = told(|watch| what_if(&scenario, &question, &Runner::new(), watch))?;
    give(&options.output, "what-if", &answer, |to| report::csv(&answer, to), || report::text(&answer))
}
