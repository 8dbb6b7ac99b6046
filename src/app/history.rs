//! Undo and redo of everything that changes a scenario; a drag is one step.

use super::pair::{Origin, Pair};
use crate::report::figures::Side;

/// Changes of the same thing that follow each other within so many seconds are one step.
const TOGETHER_S: f64 = 0.6;
/// Steps kept.
const MOST_STEPS: usize = 500;

/// What was there before each step, and what was undone.
#[derive(Debug, Default)]
pub(super) struct History {
    past: Vec<Pair>,
    future: Vec<Pair>,
    last: Option<Step>,
}

/// The newest step, as long as more may be added to it.
#[derive(Debug)]
struct Step {
    what: String,
    at_s: f64,
    held: bool,
}

impl History {
    /// Notes that `before` is about to change. `what` names the thing changed, `held` tells whether the pointer that
    /// changes it is down: until it is up, or within a moment, further changes of the same thing are the same step.
    pub(super) fn record(&mut self, before: &Pair, what: &str, at_s: f64, held: bool) {
        self.future.clear();
        if !self.continues(what, at_s, held) {
            self.past.push(before.clone());
            if self.past.len() > MOST_STEPS {
                self.past.remove(0);
            }
        }
        self.last = Some(Step { what: what.to_owned(), at_s, held });
    }

    /// What was there before the step that a change of `what` would be added to; none where it would be a new one.
    pub(super) fn step_base(&self, what: &str, at_s: f64, held: bool) -> Option<&Pair> {
        self.past.last().filter(|_| self.continues(what, at_s, held))
    }

    fn continues(&self, what: &str, at_s: f64, held: bool) -> bool {
        self.last.as_ref().is_some_and(|last| {
            last.what == what && ((last.held && held) || (!last.held && !held && at_s - last.at_s < TOGETHER_S))
        })
    }

    /// Ends the step that a pointer held open.
    pub(super) fn released(&mut self) {
        if self.last.as_ref().is_some_and(|last| last.held) {
            self.last = None;
        }
    }

    /// Goes one step back from `now`.
    pub(super) fn undo(&mut self, now: &Pair) -> Option<Pair> {
        self.last = None;
        let before = self.past.pop()?;
        self.future.push(now.clone());
        Some(before)
    }

    /// Goes one step forward from `now`.
    pub(super) fn redo(&mut self, now: &Pair) -> Option<Pair> {
        self.last = None;
        let after = self.future.pop()?;
        self.past.push(now.clone());
        Some(after)
    }

    /// A side that came from `old` is now kept in another place: undo shall not bring the old one back.
    pub(super) fn moved(&mut self, side: Side, old: &Origin, new: &Origin) {
        for pair in self.past.iter_mut().chain(&mut self.future) {
            let document = pair.of_mut(side);
            if document.origin == *old {
                document.origin = new.clone();
            }
        }
    }

    /// Whether there is a step to undo.
    pub(super) fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is a step to redo.
    pub(super) fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_count(count: u32) -> Pair {
        let mut pair = Pair::default();
        pair.candidate.scenario.slices.count = count;
        pair
    }

    fn count(pair: &Pair) -> u32 {
        pair.candidate.scenario.slices.count
    }

    #[test]
    fn drag_is_one_step() {
        let mut history = History::default();
        for (from, at_s) in [(8, 0.0), (9, 5.0), (10, 9.0)] {
            history.record(&with_count(from), "slices.count", at_s, true);
        }
        history.released();
        history.record(&with_count(11), "slices.count", 9.1, true);
        assert_eq!(history.undo(&with_count(12)).as_ref().map(count), Some(11), "the second drag");
        assert_eq!(history.undo(&with_count(11)).as_ref().map(count), Some(8), "the first drag");
        assert!(history.undo(&with_count(8)).is_none());
        assert_eq!(history.redo(&with_count(8)).as_ref().map(count), Some(11));
        assert_eq!(history.redo(&with_count(11)).as_ref().map(count), Some(12));
        assert!(!history.can_redo());
    }

    #[test]
    fn keys_in_a_row_are_one_step_and_others_are_their_own() {
        let mut history = History::default();
        history.record(&with_count(1), "slices.count", 0.0, false);
        history.record(&with_count(2), "slices.count", 0.3, false);
        history.record(&with_count(3), "link.rate_mbps", 0.4, false);
        history.record(&with_count(4), "link.rate_mbps", 2.0, false);
        let back: Vec<u32> = std::iter::from_fn(|| history.undo(&with_count(5)).map(|pair| count(&pair))).collect();
        assert_eq!(back, [4, 3, 1]);
    }

    #[test]
    fn change_after_undo_forgets_the_future() {
        let mut history = History::default();
        history.record(&with_count(1), "a", 0.0, false);
        let back = history.undo(&with_count(2)).unwrap();
        history.record(&back, "b", 1.0, false);
        assert!(!history.can_redo());
    }
}
