//! One figure on its own, to be taken out of the program.

use std::sync::Arc;

use super::Views;
use super::compute::{Bench, Drawn};
use super::gallery::{self, Data, Entry, Figure};
use super::given::Given;
use super::pair::Pair;
use crate::report::figures::curve::Curve;
use crate::report::figures::table::Table;
use crate::study::Answer;

/// One figure of a head-to-head with all that it shows.
pub struct Exhibit {
    figure: Figure,
    answers: [Arc<Answer>; 2],
    drawn: Arc<Drawn>,
    curve: Curve,
    views: Views,
}

/// A figure that can leave the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind(pub(super) Figure);

impl Kind {
    /// All, in the order of the gallery.
    pub fn all() -> impl Iterator<Item = Self> {
        gallery::ALL.iter().map(|entry| Self(entry.figure()))
    }

    /// The one of that name in commands.
    pub fn named(slug: &str) -> Option<Self> {
        Self::all().find(|kind| kind.slug() == slug)
    }

    /// Its name in commands.
    pub fn slug(self) -> &'static str {
        self.entry().slug
    }

    /// What it tells, in a sentence.
    pub fn meaning(self) -> &'static str {
        self.entry().meaning
    }

    /// Whether it shows one frame, which can be chosen.
    pub fn of_one_frame(self) -> bool {
        matches!(self.0, Figure::Lanes | Figure::Fronts)
    }

    fn entry(self) -> &'static Entry {
        self.0.entry()
    }
}

impl Exhibit {
    /// A figure of two checked scenarios, which are answered at once, on this thread.
    pub fn new(kind: Kind, baseline: Given, candidate: Given) -> Self {
        let [baseline, candidate] = [baseline, candidate].map(Given::into_document);
        let pair = Pair { baseline, candidate };
        let mut bench = Bench::default();
        let (baseline, candidate, drawn) = bench.answers(&pair);
        let curve = if kind.0 == Figure::SliceCurve { bench.whole_curve(&pair) } else { Curve::default() };
        let answers = [baseline, candidate];
        Self { figure: kind.0, answers, drawn: Arc::new(drawn), curve, views: Views::default() }
    }

    /// Shows a frame instead of the typical one.
    ///
    /// # Errors
    /// The last frame that both runs have, where there is no such frame.
    pub fn look_at(&mut self, frame: u32) -> Result<(), usize> {
        let last = self.drawn.lanes.frames().saturating_sub(1);
        if frame as usize > last {
            return Err(last);
        }
        self.views.lanes.go_to(frame as usize);
        Ok(())
    }

    /// Its data.
    pub fn table(&self) -> Table {
        let frame = self.views.lanes.frame(&self.drawn.lanes);
        let answers = self.answers.each_ref().map(AsRef::as_ref);
        (self.figure.entry().table)(&Data { drawn: &self.drawn, answers, curve: &self.curve, frame })
    }
}
