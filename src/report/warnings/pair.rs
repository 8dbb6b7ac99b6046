//! The warnings of two designs as lines for people.

use super::Warning;
use crate::report::figures::Side;

/// A warning of a head-to-head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The design it is about; none: both.
    pub side: Option<Side>,
    /// Its text: what happens, why it matters, what to try.
    pub text: String,
    /// What happens alone, for where there is one line.
    pub brief: String,
    /// Path of the parameter to look at first.
    pub path: &'static str,
}

impl Told {
    /// Whom it is about, in a word.
    pub const fn of(&self) -> &'static str {
        match self.side {
            None => "Both",
            Some(Side::Baseline) => "Baseline",
            Some(Side::Candidate) => "Candidate",
        }
    }
}

/// The warnings of baseline and candidate, the candidate's first; what both share word by word is told once.
pub fn tell([baseline, candidate]: [&[Warning]; 2]) -> Vec<Told> {
    let told = |warning: &Warning, side| {
        let path = warning.parameters().first().copied().unwrap_or_default();
        Told { side, text: warning.to_string(), brief: warning.brief(), path }
    };
    let of_candidate = candidate.iter().map(|warning| {
        let side = if baseline.contains(warning) { None } else { Some(Side::Candidate) };
        told(warning, side)
    });
    let of_baseline = baseline.iter().filter(|warning| !candidate.contains(warning));
    of_candidate.chain(of_baseline.map(|warning| told(warning, Some(Side::Baseline)))).collect()
}
