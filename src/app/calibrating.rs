//! Calibrating in the window: measurements are opened, their columns told, a scenario fitted, held against them and taken
//! over.
//!
//! Reading, gathering and fitting run on a thread of their own; the newest wish replaces the one before. What was found
//! stays until it is found again, and says so where it is of before a change.

mod act;
mod columns;
mod exhibit;
mod fitted;
mod job;
mod judged;
mod page;
mod taken;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use eframe::egui::Context;
use serde::{Deserialize, Serialize};

pub(super) use act::{Ask, BenchPurpose, wants};
pub use exhibit::{MeasuredExhibit, MeasuredFigure};

use super::figures::Form;
use super::state::put_on_top;
use crate::calibrate::{Calibrated, Mapping, Measured, Question, Role, Samples, Sheet};
use crate::report::figures::Side;
use crate::report::figures::measured::Figures;
use crate::scenario::Scenario;
use job::{Change, Job, Made, Work};

/// Rows of the preview.
const PREVIEW: usize = 6;

/// What lasts of it from one start to the next.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Kept {
    /// Files of measurements, the newest first.
    pub(super) recent: Vec<PathBuf>,
    /// What the columns of the newest stand for.
    pub(super) mapping: Option<Mapping>,
}

impl Kept {
    fn note(&mut self, path: &Path) {
        if self.recent.first().is_none_or(|first| first != path) {
            self.mapping = None;
        }
        put_on_top(&mut self.recent, path);
    }
}

/// Parts of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Tab {
    /// What the columns stand for.
    #[default]
    Columns,
    /// What was fitted.
    Fit,
    /// Measured against simulated.
    Compare,
    /// What the scenario takes, and where it goes.
    Scenario,
}

impl Tab {
    const ALL: [Self; 4] = [Self::Columns, Self::Fit, Self::Compare, Self::Scenario];

    const fn name(self) -> &'static str {
        match self {
            Self::Columns => "1 Columns",
            Self::Fit => "2 Stages",
            Self::Compare => "3 Measured against simulated",
            Self::Scenario => "4 Scenario",
        }
    }

    const fn meaning(self) -> &'static str {
        match self {
            Self::Columns => "What the columns of the file stand for, and which rows cannot be used",
            Self::Fit => "What each stage costs, how it is spread and how well laws fit",
            Self::Compare => "How far the simulated scenario lies from what was measured",
            Self::Scenario => "What the scenario takes from the fit; take it over or save it",
        }
    }
}

/// Where what was not measured comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Base {
    /// A side of the pair as it is.
    Of(Side),
    /// The default scenario, as `framelap calibrate` has it.
    Default,
}

impl Base {
    const ALL: [Self; 3] = [Self::Of(Side::Candidate), Self::Of(Side::Baseline), Self::Default];

    const fn name(self) -> &'static str {
        match self {
            Self::Of(Side::Candidate) => "the candidate",
            Self::Of(Side::Baseline) => "the baseline",
            Self::Default => "the default scenario",
        }
    }
}

/// A table that was read.
struct Opened {
    path: PathBuf,
    sheet: Arc<Sheet>,
    mapping: Mapping,
    /// The mapping as it was proposed, read or saved last.
    kept: Mapping,
    /// The first rows as text.
    preview: Vec<Vec<String>>,
    /// What the mapping makes of the rows; none while it is being found out.
    look: Option<Look>,
}

/// What a mapping makes of a table.
#[derive(Debug, Clone)]
struct Look {
    measured: Arc<Measured>,
    groups: Vec<String>,
}

/// What was fitted, and of what.
struct Found {
    question: Question,
    whole: Arc<Calibrated>,
    figures: Arc<Figures>,
}

/// The calibration of a window.
#[derive(Default)]
pub(super) struct Calibrating {
    shown: bool,
    tab: Tab,
    opened: Option<Opened>,
    hold_out: bool,
    samples: Samples,
    base: Option<Base>,
    found: Option<Found>,
    /// The role that is looked at.
    role: Option<Role>,
    form: Form,
    job: Option<Job>,
    /// Changes of the mapping that are on their way; a newer wish takes them along.
    changes: Vec<Change>,
    /// Why the last wish came to nothing.
    problem: Option<String>,
    /// What was saved last.
    saved: Option<String>,
    /// A file that waits for the word whether a mapping that is not saved may go.
    waiting: Option<PathBuf>,
}

impl Calibrating {
    /// Whether its page is shown.
    pub(super) fn shown(&self) -> bool {
        self.shown
    }

    /// Goes back to the figures; whether its page was shown.
    pub(super) fn leave(&mut self) -> bool {
        std::mem::take(&mut self.shown)
    }

    /// Whether a thread works for it.
    pub(super) fn running(&self) -> bool {
        self.job.is_some()
    }

    /// The figures of what was found.
    #[cfg(test)]
    pub(super) fn figures(&self) -> Option<&Figures> {
        self.found.as_ref().map(|found| &*found.figures)
    }

    /// Whether a question is open over the page.
    pub(super) fn asking(&self) -> bool {
        self.waiting.is_some()
    }

    /// Whether the mapping was changed and is in no file.
    fn unsaved(&self) -> bool {
        self.opened.as_ref().is_some_and(|opened| opened.mapping != opened.kept)
    }

    /// The question as it is now.
    fn question(&self, pair: [&Scenario; 2]) -> Option<Question> {
        let opened = self.opened.as_ref()?;
        let base = match self.base.unwrap_or(Base::Of(Side::Candidate)) {
            Base::Of(side) => pair[side.index()].clone(),
            Base::Default => Scenario::default(),
        };
        Some(Question {
            mapping: opened.mapping.clone(),
            hold_out: self.hold_out,
            samples: self.samples,
            base,
            name: opened.path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
        })
    }

    /// Whether what was found is of the question as it is.
    fn current(&self, pair: [&Scenario; 2]) -> bool {
        let Some(found) = &self.found else { return false };
        // A candidate that was taken over from this fit is no other base: its measured part is what would be put there.
        let taken = |question: &Question| Question { base: found.question.base.clone(), ..question.clone() };
        self.question(pair).is_some_and(|now| {
            now == found.question || (now.base == found.whole.adopted.scenario && taken(&now) == found.question)
        })
    }

    fn start(&mut self, work: Work, ctx: &Context) {
        self.problem = None;
        self.job = None;
        let wake = ctx.clone();
        match Job::start(work, move || wake.request_repaint_after(job::PATIENCE)) {
            Ok(job) => self.job = Some(job),
            Err(error) => self.problem = Some(format!("The system gives no thread ({error}).")),
        }
    }

    /// Takes in what has been found since the last look.
    pub(super) fn listen(&mut self, kept: &mut Kept, ctx: &Context) {
        let Some(end) = self.job.as_ref().and_then(Job::end) else { return };
        self.job = None;
        match end {
            Ok(made) => self.take(made, kept, ctx),
            Err(why) => self.problem = Some(why),
        }
        ctx.request_repaint();
    }

    fn take(&mut self, made: Made, kept: &mut Kept, ctx: &Context) {
        match made {
            Made::Read(path, sheet, mapping) => {
                let known = kept.recent.first() == Some(&path);
                let again = kept.mapping.clone().filter(|mapping| known && mapping.absent(&sheet).is_none());
                kept.note(&path);
                let preview = sheet.preview(PREVIEW);
                self.opened = Some(Opened {
                    path,
                    sheet,
                    mapping: again.unwrap_or_else(|| mapping.clone()),
                    kept: mapping,
                    preview,
                    look: None,
                });
                (self.found, self.role, self.tab, self.shown) = (None, None, Tab::Columns, true);
                self.changes.clear();
                self.look(None, ctx);
            }
            Made::Looked(mapping, look) => {
                let Some(opened) = &mut self.opened else { return };
                self.changes.clear();
                kept.mapping = (mapping != opened.kept).then(|| mapping.clone());
                (opened.mapping, opened.look) = (mapping, Some(look));
            }
            Made::Fitted(question, whole, figures) => {
                let role = self.role.filter(|role| figures.roles().contains(role));
                self.role = role.or_else(|| figures.roles().first().copied());
                self.found = Some(Found { question: *question, whole, figures });
                if self.tab == Tab::Columns {
                    self.tab = Tab::Fit;
                }
            }
        }
    }

    /// Finds out what the mapping makes of the table after a change, and after those that are on their way.
    fn look(&mut self, change: Option<Change>, ctx: &Context) {
        let Some(opened) = &mut self.opened else { return };
        opened.look = None;
        self.changes.extend(change);
        let work = Work::Look(Arc::clone(&opened.sheet), opened.mapping.clone(), self.changes.clone());
        self.start(work, ctx);
    }
}
