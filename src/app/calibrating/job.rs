//! Long work for the calibration on a thread of its own, and how far it is.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use super::Look;
use crate::app::errand::Errand;
use crate::calibrate::{
    Calibrated, Fitted, Mapping, Measured, NotFitted, Part, Progress, Question, Role, Sheet, Watch,
};
use crate::report::figures::measured::Figures;

/// How long news may wait for the next picture.
pub(super) const PATIENCE: Duration = Duration::from_millis(30);

/// What is to be done.
pub(super) enum Work {
    /// Reads a file of measurements.
    Read(PathBuf),
    /// Finds out what a mapping makes of a table after changes.
    Look(Arc<Sheet>, Mapping, Vec<Change>),
    /// Fits and judges.
    Fit(Arc<Sheet>, Box<Question>),
}

/// A change of a mapping that takes time on a long table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Change {
    /// A column stands for something else.
    Assign(String, Role),
    /// What names and values propose.
    Propose,
}

impl Work {
    /// What is done, in words.
    const fn told(&self) -> &'static str {
        match self {
            Self::Read(_) => "Reading",
            Self::Look(..) => "Looking at the rows",
            Self::Fit(..) => "Fitting",
        }
    }
}

/// What came of it.
pub(super) enum Made {
    /// A table, and the mapping that is proposed.
    Read(PathBuf, Arc<Sheet>, Mapping),
    /// What a mapping makes of a table.
    Looked(Mapping, Look),
    /// A fit with its figures.
    Fitted(Box<Question>, Arc<Calibrated>, Arc<Figures>),
}

/// Work under way. Dropped, it is given up.
pub(super) struct Job {
    told: &'static str,
    errand: Errand<Option<Progress>, Made>,
}

impl Job {
    /// Starts work; `wake` is called when there is news that has not been looked at.
    pub(super) fn start(work: Work, wake: impl Fn() + Send + Sync + 'static) -> std::io::Result<Self> {
        let told = work.told();
        let errand = Errand::start("calibration", wake, move |teller| {
            let tell = |progress: Progress| teller.tell(|heard| *heard = Some(progress));
            work.run(&Watch::new(teller.stop(), &tell))
        })?;
        Ok(Self { told, errand })
    }

    /// How it ended, once it did.
    pub(super) fn end(&self) -> Option<Result<Made, String>> {
        self.errand.listen("The work broke off.", |_| ()).1
    }

    /// What is done now in words, and its share that is done.
    pub(super) fn progress(&self) -> (String, Option<f64>) {
        let Some(progress) = self.errand.peek(|progress| *progress) else { return (self.told.to_owned(), None) };
        let told = match progress.part {
            Part::Reading => "Reading the file".to_owned(),
            Part::Gathering => "Making frames of the rows".to_owned(),
            Part::Fitting(role) => format!("Fitting {}", role.name()),
        };
        (told, Some(progress.share))
    }
}

impl Work {
    /// Does it; an error in words.
    pub(super) fn run(self, watch: &Watch<'_>) -> Result<Made, String> {
        match self {
            Self::Read(path) => {
                let sheet = Sheet::read_unless(&path, watch).map_err(|error| format!("Not opened. {error}"))?;
                let mapping = Mapping::propose(&sheet);
                Ok(Made::Read(path, Arc::new(sheet), mapping))
            }
            Self::Look(sheet, mut mapping, changes) => {
                for change in changes {
                    match change {
                        Change::Assign(column, role) => mapping.assign(&sheet, &column, role),
                        Change::Propose => mapping = Mapping::propose(&sheet),
                    }
                }
                let measured = Measured::of_unless(&sheet, &mapping, watch).map_err(|error| error.to_string())?;
                let look = Look { measured: Arc::new(measured), groups: mapping.groups(&sheet) };
                Ok(Made::Looked(mapping, look))
            }
            Self::Fit(sheet, question) => {
                let fitted = Fitted::of(&sheet, &question, watch).map_err(|error| match error {
                    NotFitted::TooFew { .. } => format!("Not fitted. {error}."),
                    NotFitted::Stopped(_) => error.to_string(),
                })?;
                let whole = Arc::new(fitted.judge());
                let figures = Arc::new(Figures::of(&whole));
                Ok(Made::Fitted(question, whole, figures))
            }
        }
    }
}
