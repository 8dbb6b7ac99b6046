//! What the tables of figures are made of.

use crate::app::compute::Drawn;
use crate::app::studies::{Kind, Picture, Studies};
use crate::report::figures::curve::Curve;
use crate::report::figures::lanes::CriticalPath;
use crate::report::figures::table::Table;
use crate::report::figures::verdict::{self, Measured};
use crate::study::Answer;

/// All that the data of a figure is taken from.
pub(in crate::app) struct Data<'a> {
    /// The figures of both answers.
    pub(in crate::app) drawn: &'a Drawn,
    /// The answers, baseline first.
    pub(in crate::app) answers: [&'a Answer; 2],
    /// The candidate's curve.
    pub(in crate::app) curve: &'a Curve,
    /// The frame that the lanes look at.
    pub(in crate::app) frame: usize,
    /// What the studies found.
    pub(in crate::app) studies: &'a Studies,
}

impl Data<'_> {
    /// What a study found; without rows before it is run.
    pub(super) fn study(&self, kind: Kind) -> Table {
        self.studies.picture(kind).map_or_else(|| Table::new(kind.name(), &[]), Picture::table)
    }

    pub(super) fn verdict(&self) -> Table {
        let measured = self.answers.map(|answer| Measured {
            scenario: &answer.scenario,
            summary: &answer.summary,
            samples: &answer.samples,
        });
        verdict::table(measured, self.drawn.verdict.gains.as_ref())
    }

    pub(super) fn lanes(&self) -> Table {
        let Self { drawn: Drawn { lanes, .. }, answers, frame, .. } = self;
        let paths = [0, 1].map(|side| CriticalPath::of(answers[side], &lanes.sides[side], *frame));
        lanes.table(*frame, paths.each_ref().map(Option::as_ref))
    }
}
