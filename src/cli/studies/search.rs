//! `framelap search`: the best scenario under constraints.

use super::{Outcome, give, measure, output, scenario, told, whole};
use crate::cli::arguments::studies::Search;
use crate::report::studies::search as report;
use crate::scenario::to_ron;
use crate::study::search::{Free, Limit, MOST_RUNS, Question, search};
use crate::study::{Runner, StudyError};

pub(in crate::cli) fn run(options: &Search) -> anyhow::Result<Outcome> {
    let free: Result<Vec<Free>, StudyError> = options.free.iter().map(|text| Free::parse(text)).collect();
    let limits: Result<Vec<Limit>, StudyError> = options.limit.iter().map(|text| Limit::parse(text)).collect();
    let question = Question {
        second: options.front.as_ref().map(|name| measure("--front", name)).transpose()?,
        budget: !options.no_budget,
        limits: limits?,
        runs: whole("--runs", &options.runs, 10, MOST_RUNS as u32)? as usize,
        ..Question::new(free?, measure("--goal", &options.goal)?)
    };
    let scenario = scenario(&options.scenario, &options.changes)?;
    let answer = told(|watch| search(&scenario, &question, &Runner::new(), watch, |_| ()))?;
    if let Some(file) = &options.write {
        let best = answer.scenario(&scenario, &question, answer.best)?;
        let text = to_ron(&best);
        output::tell_comments(file);
        output::save_ron(file, |to| to.write_all(text.as_bytes()))?;
    }
    let done = give(&options.output, "search", &answer, |to| report::csv(&answer, to), || report::text(&answer))?;
    if !answer.met {
        output::warn("nothing meets the limits");
    }
    Ok(if options.check && !answer.met { Outcome::BudgetNotMet } else { done })
}
