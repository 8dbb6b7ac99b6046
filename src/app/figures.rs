//! The figures as the window draws them: each takes plain data by reference, decides nothing and tells what was asked for.
//!
//! They are drawn with egui's painter and not with a chart library, because the two designs are told apart by form
//! (outline and engraving against solid), which a stock chart does not draw, and because lanes, handle and dimensions
//! share one axis with what lies below them.

mod answer;
mod budget;
mod chart;
mod curve;
mod distribution;
mod eye;
mod fronts;
mod gesture;
mod highlight;
mod ink;
mod lanes;
mod late_share;
mod ledger;
mod left_over;
mod loads;
mod measured;
mod outcomes;
mod run_strip;
mod studies;
mod title;
mod verdict;
mod walk;
mod warnings;

pub use answer::answer;
pub use budget::{budget, budget_on_a_line};
pub use curve::{Handle, slice_curve};
pub use distribution::{DistributionView, Form};
pub use eye::{EyeView, eye_slide};
pub use fronts::fronts;
pub(in crate::app) use highlight::highlighting;
pub use lanes::{Around, LanesEvent, LanesView};
pub use late_share::late_share;
pub use ledger::{ledger, ledger_slide};
pub use left_over::LeftOverView;
pub use loads::loads;
pub use outcomes::{outcomes, outcomes_slide};
pub use run_strip::RunStripView;
pub use studies::StudyViews;
pub use title::{Choice, Item, Picked, Take, heading, on_paper};
pub use verdict::verdict;
pub use walk::{WALK_KEYS, WALKING, WalkView};
pub use warnings::warnings;

pub(in crate::app) use measured::{course, overlay, quantiles};
pub(in crate::app) use studies::{
    Desk, Press, comparison, desk, map, nothing, search, sensitivity, split, sweep, what_if,
};

#[cfg(test)]
mod tests;
