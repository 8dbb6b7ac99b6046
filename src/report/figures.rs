//! Figures as plain data, made once per answer. The window draws them, files will, and tests read them: the same numbers.

pub mod axis;
pub mod curve;
pub mod distribution;
pub mod eye;
pub mod fronts;
pub mod lanes;
pub mod late_share;
pub mod ledger;
pub mod left_over;
pub mod loads;
pub mod measured;
pub mod outcomes;
pub mod run_strip;
pub mod studies;
pub mod table;
pub mod verdict;
pub mod walk;

use crate::scenario::Scenario;

/// The two designs of a head-to-head. As an index: 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// What is; drawn open.
    Baseline,
    /// What is proposed; drawn solid.
    Candidate,
}

impl Side {
    /// Both, baseline first.
    pub const BOTH: [Self; 2] = [Self::Baseline, Self::Candidate];

    /// Its place in arrays of two.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// What the line of a limit is called where both designs are drawn: each has a budget of its own, and the candidate's counts.
pub const BUDGET: &str = "candidate's budget";

/// What to call two designs, baseline first: by their cut where that tells them apart, else by their part.
pub fn names(baseline: &Scenario, candidate: &Scenario) -> [String; 2] {
    let counts = [baseline, candidate].map(|scenario| scenario.slices.count);
    if counts[0] == counts[1] {
        return ["Baseline".to_owned(), "Candidate".to_owned()];
    }
    counts.map(cut)
}

/// The cut of a frame in words.
fn cut(count: u32) -> String {
    match count {
        1 => "Whole frame".to_owned(),
        count => format!("{count} slices"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn designs_are_named_by_what_tells_them_apart() {
        let mut baseline = Scenario::default();
        let candidate = Scenario::default();
        assert_eq!(names(&baseline, &candidate), ["Baseline", "Candidate"]);
        baseline.slices.count = 1;
        assert_eq!(names(&baseline, &candidate), ["Whole frame", "8 slices"]);
    }
}
