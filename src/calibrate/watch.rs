//! Who watches a calibration: may stop it, and is told how far it has come.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::mapping::Role;
use crate::stop::{Stop, Stopped};

/// What a calibration is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Reading the file.
    Reading,
    /// Making frames of its rows.
    Gathering,
    /// Fitting a stage, or the sizes.
    Fitting(Role),
}

/// How far a part has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// The part.
    pub part: Part,
    /// Its share that is done, 0 to 1; it never goes back.
    pub share: f64,
}

/// Who watches.
pub struct Watch<'a> {
    stop: Stop<'a>,
    tell: &'a (dyn Fn(Progress) + Sync),
}

impl<'a> Watch<'a> {
    /// A watch that gives up as `stop` says, and hears now and then how far each part is, from any thread.
    pub fn new(stop: Stop<'a>, tell: &'a (dyn Fn(Progress) + Sync)) -> Self {
        Self { stop, tell }
    }

    /// Nobody watches.
    pub fn nobody() -> Watch<'static> {
        Watch::new(Stop::NEVER, &|_| ())
    }

    /// Whether to give up.
    pub fn stop(&self) -> Stop<'a> {
        self.stop
    }

    /// Tells how far a part is; an error where it is to be given up.
    pub(super) fn at(&self, part: Part, share: f64) -> Result<(), Stopped> {
        if self.stop.asked() {
            return Err(Stopped);
        }
        (self.tell)(Progress { part, share: share.clamp(0.0, 1.0) });
        Ok(())
    }
}

/// Most times that a stage's data are drawn again, each of them as many rounds.
const DRAWINGS: usize = 5;

/// One part of a fit on its way: rounds done, over the most that there can be.
pub(super) struct Steps<'a> {
    watch: &'a Watch<'a>,
    part: Part,
    rounds: usize,
    done: AtomicUsize,
}

impl<'a> Steps<'a> {
    /// The steps of the fit of `role`, each of whose drawings has so many rounds.
    pub(super) fn of(watch: &'a Watch<'a>, role: Role, rounds: usize) -> Self {
        Self { watch, part: Part::Fitting(role), rounds: DRAWINGS * rounds, done: AtomicUsize::new(0) }
    }

    /// Whether to give up.
    pub(super) fn stop(&self) -> Stop<'a> {
        self.watch.stop
    }

    /// An error where the fit is to be given up: what was found until now may be nothing because of that.
    pub(super) fn check(&self) -> Result<(), Stopped> {
        if self.watch.stop.asked() { Err(Stopped) } else { Ok(()) }
    }

    /// One round more; an error where the fit is to be given up.
    pub(super) fn one(&self) -> Result<(), Stopped> {
        let done = 1 + self.done.fetch_add(1, Ordering::Relaxed);
        self.watch.at(self.part, done as f64 / self.rounds as f64)
    }
}
