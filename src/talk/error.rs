//! What can be wrong with a talk, said to the person who wrote it.

use thiserror::Error;

use crate::quote::cut_to;
use crate::scenario::Place;

/// Most characters of what is wrong: some messages list what is allowed.
const LONGEST: usize = 1200;

/// Why a talk cannot be read, used or written: one line that names place, step, what was found and what is allowed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}{}{}", of_step(*.step), cut_to(what, LONGEST))]
pub struct TalkError {
    /// The file, and the line in it.
    pub place: Place,
    /// The step, from 1, where it is about one.
    pub step: Option<usize>,
    /// What is wrong, and what is allowed.
    pub what: String,
}

fn of_step(step: Option<usize>) -> String {
    step.map_or_else(String::new, |step| format!("step {step}: "))
}

impl TalkError {
    /// A problem of the talk as a whole, in no file yet.
    pub(super) fn of(what: impl Into<String>) -> Self {
        Self { place: Place::default(), step: None, what: what.into() }
    }

    /// A problem of one step, by its place in the list.
    pub(super) fn in_step(step: usize, what: impl Into<String>) -> Self {
        Self { place: Place::default(), step: Some(step + 1), what: what.into() }
    }

    /// The same in a file, at a line of it where one is known.
    pub(super) fn within(mut self, source: &str, line: Option<usize>) -> Self {
        self.place = Place { source: Some(source.to_owned()), line };
        self
    }
}
