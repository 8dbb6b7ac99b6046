//! Why a study cannot be done.

use std::fmt;

use thiserror::Error;

use crate::scenario::ScenarioError;
use crate::stop::Stopped;

/// Why a study has no answer: one line that says what, where, found and allowed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StudyError {
    /// It was given up.
    #[error("the study was {0}")]
    Stopped(#[from] Stopped),
    /// A scenario cannot be simulated.
    #[error(transparent)]
    Scenario(#[from] ScenarioError),
    /// Nothing that was asked for can be simulated; the reason of the first.
    #[error("nothing of it can be simulated: {0}")]
    Refused(String),
    /// The question itself is wrong.
    #[error("{what}: found {found}, allowed: {allowed}")]
    Question {
        /// What was asked.
        what: String,
        /// What was found.
        found: String,
        /// What would be allowed.
        allowed: String,
    },
}

impl StudyError {
    /// A question that cannot be answered.
    pub(super) fn question(
        what: impl Into<String>,
        found: &(impl fmt::Display + ?Sized),
        allowed: impl Into<String>,
    ) -> Self {
        Self::Question { what: what.into(), found: found.to_string(), allowed: allowed.into() }
    }
}
