//! Judging: a run becomes a [`Summary`]: quantiles, intervals, fates, loads, exposed time, left-over motion, budget
//! lines. Knows nothing of how the run came about.

mod budget;
mod distribution;
mod exposed;
mod gather;
mod grounds;
mod left_over;
mod loads;
pub mod measures;
mod path;
mod picture;
mod piece;
mod samples;
mod server;
pub mod statistics;
mod steadiness;
mod summarize;
mod summary;
#[cfg(test)]
mod tests;

pub use budget::{BudgetLine, Sense};
pub use exposed::{Span, walk_back};
pub use gather::counted_refreshes;
pub use grounds::frames_for_p99_interval;
pub use left_over::{parallax_deg, rotation_deg, turned_deg};
pub use measures::{Better, Measure};
pub use piece::{Exposed, Piece, Team};
pub use samples::{Samples, Series};
pub use server::{Server, Servers};
pub use summarize::{summarize, summarize_into, summarize_unless};
pub use summary::{
    Angle, Angles, Distribution, Fates, LeftOver, MotionToPhoton, PacingError, Picture, RefreshKinds, Repairs, Summary,
};
