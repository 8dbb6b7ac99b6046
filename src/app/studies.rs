//! The studies of the page: what each is asked, the one that is on its way, and what the last of each kind has found.
//!
//! One study runs at a time, and the newest replaces the one before. It runs beside the answers' worker, on threads of its
//! own, and gives way while the page's own question is open: while a slider is dragged, the cores belong to the answers.
//! What it finds is drawn as it comes in; what it found stays until it is run again, and says so where it is of before a
//! change.

mod job;
mod setup;
mod show;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use eframe::egui::Context;

pub(super) use setup::{Asked, Kind, Range, Setup, Spacing, can_turn};

use super::pair::Pair;
use crate::report::figures::studies::map::Grid;
use crate::report::figures::studies::search::Trail;
use crate::report::figures::studies::{comparison, sensitivity, split, sweep, what_if};
use crate::report::figures::table::Table;
use crate::study::compare::Comparison;
use crate::study::sensitivity::Sensitivity;
use crate::study::split::Split;
use crate::study::what_if::WhatIf;
use crate::study::{Progress, StudyError};
use job::{Engine, Job, News};

/// How long news may wait for the next picture.
const PATIENCE: Duration = Duration::from_millis(30);

/// What a study found, as it is drawn.
#[derive(Debug, Clone)]
pub(super) enum Picture {
    /// A comparison.
    Comparison(Comparison),
    /// A sweep.
    Sweep(sweep::Chart),
    /// A map.
    Map(Grid),
    /// A sensitivity.
    Sensitivity(Sensitivity),
    /// A search.
    Search(Trail),
    /// A split.
    Split(Split),
    /// A row of other links.
    WhatIf(WhatIf),
}

impl Picture {
    /// What was found, in a few words.
    pub(super) fn told(&self) -> String {
        match self {
            Self::Comparison(found) => comparison::basis(found),
            Self::Sweep(chart) => {
                let best = chart.best_in_words(0).map(|best| format!("candidate: {best}"));
                best.into_iter()
                    .chain(chart.untuned_in_words())
                    .chain(chart.alike_in_words())
                    .collect::<Vec<_>>()
                    .join("; ")
            }
            Self::Map(grid) => grid.best_in_words().unwrap_or_default(),
            Self::Sensitivity(found) => sensitivity::told(found),
            Self::Search(trail) => trail.told(),
            Self::Split(found) => split::told(found),
            Self::WhatIf(found) => what_if::told(found),
        }
    }

    /// Its data.
    pub(super) fn table(&self) -> Table {
        match self {
            Self::Comparison(comparison) => comparison::table(comparison),
            Self::Sweep(chart) => chart.table(),
            Self::Map(grid) => grid.table(),
            Self::Sensitivity(found) => sensitivity::table(found),
            Self::Search(trail) => trail.table(),
            Self::Split(found) => split::table(found),
            Self::WhatIf(found) => what_if::table(found),
        }
    }
}

/// Something that a study has found on its way.
#[derive(Debug)]
pub(super) enum Part {
    /// A picture of which nothing has come yet.
    Begins(Box<Picture>),
    /// A run of a sweep.
    Point(crate::study::sweep::Found),
    /// A cell of a map.
    Cell(crate::study::map::Found),
    /// A trial of a search.
    Trial(crate::study::search::Trial),
}

/// What was found, and what was asked.
#[derive(Debug, Clone)]
struct Kept {
    asked: Arc<Asked>,
    picture: Picture,
}

#[derive(Debug, Clone, Default)]
struct Shelf {
    kept: Option<Kept>,
    problem: Option<String>,
}

/// How a study stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Standing {
    /// It was not run.
    NotRun,
    /// It is on its way.
    Running(Option<Progress>),
    /// It belongs to the scenarios and the settings as they are.
    Current,
    /// It belongs to what was before a change.
    Before,
    /// It could not be done.
    Refused(String),
}

/// The studies of a page.
#[derive(Default)]
pub(super) struct Studies {
    setups: Option<[Setup; Kind::COUNT]>,
    shelves: [Shelf; Kind::COUNT],
    running: Option<Running>,
    engine: Option<Arc<Engine>>,
    hold: Arc<AtomicBool>,
}

struct Running {
    job: Job,
    progress: Option<Progress>,
    /// As much as has come.
    coming: Option<Picture>,
}

impl Studies {
    /// What a study is asked.
    pub(super) fn setup(&self, kind: Kind) -> Setup {
        self.setups.as_ref().map_or_else(|| Setup::usual(kind), |setups| setups[kind as usize].clone())
    }

    /// Asks something else from now on.
    pub(super) fn set_up(&mut self, kind: Kind, setup: Setup) {
        self.setups.get_or_insert_with(|| Kind::ALL.map(Setup::usual))[kind as usize] = setup;
    }

    /// Starts a study on a pair; one that is on its way is given up.
    pub(super) fn start(&mut self, kind: Kind, pair: &Pair, ctx: &Context) {
        self.running = None;
        self.shelves[kind as usize].problem = None;
        let wake = ctx.clone();
        let wake = move || wake.request_repaint_after(PATIENCE);
        let begun = self.engine().and_then(|engine| {
            Job::start(engine, self.question(kind, pair), Arc::clone(&self.hold), wake)
                .map_err(|error| format!("the system gives no thread ({error})"))
        });
        match begun {
            Ok(job) => self.running = Some(Running { job, progress: None, coming: None }),
            Err(why) => self.shelves[kind as usize].problem = Some(why),
        }
    }

    fn engine(&mut self) -> Result<Arc<Engine>, String> {
        if let Some(engine) = &self.engine {
            return Ok(Arc::clone(engine));
        }
        let engine = Arc::new(Engine::new()?);
        self.engine = Some(Arc::clone(&engine));
        Ok(engine)
    }

    fn question(&self, kind: Kind, pair: &Pair) -> Asked {
        let scenarios = [&pair.baseline, &pair.candidate].map(|document| document.scenario.clone());
        Asked { kind, setup: self.setup(kind), scenarios }
    }

    /// Does a study at once, on this thread: for pictures, files and tests.
    ///
    /// # Errors
    /// As the study's own.
    pub(super) fn run_now(&mut self, kind: Kind, pair: &Pair) -> Result<(), StudyError> {
        let asked = self.question(kind, pair);
        let picture = job::run_here(&asked)?;
        self.shelves[kind as usize] = Shelf { kept: Some(Kept { asked: Arc::new(asked), picture }), problem: None };
        Ok(())
    }

    /// Gives up the study on its way.
    pub(super) fn cancel(&mut self) {
        self.running = None;
    }

    /// Whether a study is on its way.
    pub(super) fn running(&self) -> bool {
        self.running.is_some()
    }

    /// Lets the study on its way wait, or go on.
    pub(super) fn hold(&self, hold: bool) {
        self.hold.store(hold, Ordering::Relaxed);
    }

    /// Takes in what has been found since the last look.
    pub(super) fn listen(&mut self) {
        let Some(running) = &mut self.running else { return };
        let News { progress, parts, end } = running.job.news();
        running.progress = progress;
        for part in parts {
            match (part, &mut running.coming) {
                (Part::Begins(picture), coming) => *coming = Some(*picture),
                (Part::Point(found), Some(Picture::Sweep(chart))) => chart.take(found),
                (Part::Cell(found), Some(Picture::Map(grid))) => grid.take(found),
                (Part::Trial(trial), Some(Picture::Search(trail))) => trail.trials.push(trial),
                _ => {}
            }
        }
        let Some(end) = end else { return };
        let asked = Arc::clone(&running.job.asked);
        self.running = None;
        let shelf = &mut self.shelves[asked.kind as usize];
        match end {
            Ok(picture) => *shelf = Shelf { kept: Some(Kept { asked, picture }), problem: None },
            Err(why) => shelf.problem = Some(why),
        }
    }

    /// What is there to be drawn: of the study on its way, if it has found anything, else of the last one.
    pub(super) fn picture(&self, kind: Kind) -> Option<&Picture> {
        let coming = self.running_of(kind).and_then(|running| running.coming.as_ref());
        coming.or_else(|| self.shelves[kind as usize].kept.as_ref().map(|kept| &kept.picture))
    }

    fn running_of(&self, kind: Kind) -> Option<&Running> {
        self.running.as_ref().filter(|running| running.job.asked.kind == kind)
    }

    /// What the last run of a study was asked.
    pub(super) fn asked(&self, kind: Kind) -> Option<&Asked> {
        Some(&*self.shelves[kind as usize].kept.as_ref()?.asked)
    }

    /// What was found, apart from what is on its way.
    pub(super) fn found(&self) -> Self {
        Self { setups: self.setups.clone(), shelves: self.shelves.clone(), ..Self::default() }
    }

    /// Whether what a study found can leave the program: it is whole, of exactly these scenarios, and both what was asked and
    /// what is set up to be asked is the usual question, which `framelap figure` asks too; so the command below a picture
    /// makes it again. No study stands in the way of a figure that is none.
    pub(super) fn can_leave(&self, kind: Option<Kind>, pair: &Pair) -> bool {
        let Some(kind) = kind else { return true };
        let kept = self.shelves[kind as usize].kept.as_ref().filter(|_| self.running_of(kind).is_none());
        kept.is_some_and(|kept| {
            let [baseline, candidate] = &kept.asked.scenarios;
            let same = *baseline == pair.baseline.scenario && *candidate == pair.candidate.scenario;
            same && kept.asked.setup == Setup::usual(kind) && self.setup(kind) == kept.asked.setup
        })
    }

    /// How a study stands against a pair.
    pub(super) fn standing(&self, kind: Kind, pair: &Pair) -> Standing {
        if let Some(running) = self.running_of(kind) {
            return Standing::Running(running.progress);
        }
        let shelf = &self.shelves[kind as usize];
        match (&shelf.problem, &shelf.kept) {
            (Some(why), _) => Standing::Refused(why.clone()),
            (None, None) => Standing::NotRun,
            (None, Some(kept)) => {
                let now = [&pair.baseline.scenario, &pair.candidate.scenario];
                let holds = kept.asked.holds_for(&self.setup(kind), now);
                if holds { Standing::Current } else { Standing::Before }
            }
        }
    }
}
