//! One study on its way: it asks the library, and its news are drawn as they come.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use super::setup::{Asked, Kind, Range, Setup};
use super::{Part, Picture};
use crate::app::errand::{Errand, Teller};
use crate::measure::measures;
use crate::report::figures::Side;
use crate::report::figures::studies::map::Grid;
use crate::report::figures::studies::search::Trail;
use crate::report::figures::studies::sweep;
use crate::scenario::Scenario;
use crate::study::compare::compare;
use crate::study::sweep::sweep;
use crate::study::vary::Vary;
use crate::study::{Progress, Runner, StudyError, Watch, map, search, sensitivity, split, what_if};

/// How long a thread that gives way sleeps between two looks.
const GIVE_WAY: Duration = Duration::from_millis(4);

/// What studies run on: threads of their own, so that one that gives way holds up no answer, and their workspaces.
pub(super) struct Engine {
    pool: rayon::ThreadPool,
    runner: Runner,
}

impl Engine {
    /// As many threads as there are cores.
    pub(super) fn new() -> Result<Self, String> {
        let pool = rayon::ThreadPoolBuilder::new().thread_name(|number| format!("study {number}")).build();
        let pool = pool.map_err(|error| format!("the system gives no threads ({error})"))?;
        Ok(Self { pool, runner: Runner::new() })
    }
}

/// What was heard since the last look.
#[derive(Default)]
struct Heard {
    progress: Option<Progress>,
    parts: Vec<Part>,
}

/// News of a study.
pub(super) struct News {
    pub(super) progress: Option<Progress>,
    pub(super) parts: Vec<Part>,
    pub(super) end: Option<Result<Picture, String>>,
}

/// A study under way. Dropped, it is given up.
pub(super) struct Job {
    /// What was asked.
    pub(super) asked: Arc<Asked>,
    errand: Errand<Heard, Picture>,
}

impl Job {
    /// Starts a study. `wake` is called when there is news that has not been looked at; while `hold` is set, the study gives
    /// way.
    pub(super) fn start(
        engine: Arc<Engine>,
        asked: Asked,
        hold: Arc<AtomicBool>,
        wake: impl Fn() + Send + Sync + 'static,
    ) -> std::io::Result<Self> {
        let asked = Arc::new(asked);
        let question = Arc::clone(&asked);
        let errand = Errand::start("study", wake, move |teller: &Teller<Heard, Picture>| {
            let tell = |progress: Progress| {
                teller.tell(|heard| {
                    // Threads tell in any order.
                    if heard.progress.is_none_or(|last| last.done < progress.done) {
                        heard.progress = Some(progress);
                    }
                });
                while hold.load(Ordering::Relaxed) && !teller.stop().asked() {
                    thread::sleep(GIVE_WAY);
                }
            };
            let watch = Watch::new(teller.stop(), &tell);
            let part = |part: Part| teller.tell(|heard| heard.parts.push(part));
            let made = engine.pool.install(|| run(&question, &engine.runner, &watch, &part));
            made.map_err(|error| error.to_string())
        })?;
        Ok(Self { asked, errand })
    }

    /// What is new.
    pub(super) fn news(&self) -> News {
        let take = |heard: &mut Heard| (heard.progress, std::mem::take(&mut heard.parts));
        let ((progress, parts), end) = self.errand.listen("the study broke off", take);
        News { progress, parts, end }
    }
}

/// Does a study at once, on this thread and the pool that it belongs to.
pub(super) fn run_here(asked: &Asked) -> Result<Picture, StudyError> {
    run(asked, &Runner::new(), &Watch::nobody(), &|_| ())
}

fn run(asked: &Asked, runner: &Runner, watch: &Watch<'_>, part: &(dyn Fn(Part) + Sync)) -> Result<Picture, StudyError> {
    let [baseline, candidate] = Side::BOTH.map(|side| asked.of(side));
    let Setup { seeds, both, .. } = asked.setup;
    let measure = asked.setup.measure();
    let baseline_too = both.then_some(&baseline);
    match asked.kind {
        Kind::Comparison => Ok(Picture::Comparison(compare(&[baseline, candidate], seeds, runner, watch)?)),
        Kind::Sweep => {
            let question = sweep::question(asked.vary(0)?, measure, seeds);
            let scenarios: Vec<_> = std::iter::once(&candidate).chain(baseline_too).cloned().collect();
            let chart = sweep::Chart::new(&candidate, scenarios.len(), &question);
            part(Part::Begins(Box::new(Picture::Sweep(chart.clone()))));
            let whole = sweep(&scenarios, &question, runner, watch, |found| part(Part::Point(found)))?;
            Ok(Picture::Sweep(sweep::Chart::whole(&whole).unwrap_or(chart)))
        }
        Kind::Map => {
            let question = map::Question { x: asked.vary(0)?, y: asked.vary(1)?, measure };
            let grid = Grid::new(&question);
            part(Part::Begins(Box::new(Picture::Map(grid.clone()))));
            let whole = map::map(&candidate, baseline_too, &question, runner, watch, |found| part(Part::Cell(found)))?;
            Ok(Picture::Map(grid.whole(whole)))
        }
        Kind::Sensitivity => {
            let question = sensitivity::Question { measure, seeds };
            Ok(Picture::Sensitivity(sensitivity::sensitivity(&candidate, question, runner, watch)?))
        }
        Kind::Search => {
            let question = asked.search()?;
            let trail = Trail::new(&question);
            part(Part::Begins(Box::new(Picture::Search(trail.clone()))));
            let told = |trial: &search::Trial| part(Part::Trial(trial.clone()));
            Ok(Picture::Search(trail.whole(search::search(&candidate, &question, runner, watch, told)?)))
        }
        Kind::Split => Ok(Picture::Split(split::split(&candidate, &asked.split(&candidate), runner, watch)?)),
        Kind::WhatIf => {
            let mut question = what_if::Question { seeds, ..what_if::Question::default() };
            if !question.measures.iter().any(|one| one.name == measure.name) {
                question.measures.push(measure);
            }
            Ok(Picture::WhatIf(what_if::what_if(&candidate, &question, runner, watch)?))
        }
    }
}

impl Asked {
    /// The values of a parameter that is turned.
    fn vary(&self, number: usize) -> Result<Vary, StudyError> {
        let nothing = || StudyError::Refused("no parameter is chosen".to_owned());
        self.setup.ranges.get(number).ok_or_else(nothing)?.vary()
    }

    fn search(&self) -> Result<search::Question, StudyError> {
        let Setup { ranges, second, budget, runs, .. } = &self.setup;
        let free = ranges.iter().map(Range::free).collect::<Result<_, _>>()?;
        let second = second.and_then(measures::find);
        Ok(search::Question {
            second,
            budget: *budget,
            runs: *runs,
            ..search::Question::new(free, self.setup.measure())
        })
    }

    fn split(&self, candidate: &Scenario) -> split::Question {
        let Setup { target_ms, quantile, rule, seeds, .. } = self.setup;
        let usual = split::Question::new(candidate);
        split::Question {
            target_ms: target_ms.unwrap_or(usual.target_ms),
            quantile: quantile.unwrap_or(usual.quantile),
            rule,
            seeds,
        }
    }
}
