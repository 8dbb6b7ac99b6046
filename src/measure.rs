//! Judging: a run becomes a [`Summary`]: quantiles, intervals, fates, loads, exposed time, left-over motion, budget
//! lines. Knows nothing of how the run came about.

mod budget;
mod exposed;
mod piece;
mod samples;
mod server;
mod summary;

pub use budget::{BudgetLine, Sense};
pub use exposed::Span;
pub use piece::{Exposed, Piece, Team};
pub use samples::{Samples, Series};
pub use server::{Server, Servers};
pub use summary::{
    Angle, Angles, Distribution, Fates, LeftOver, MotionToPhoton, PacingError, Picture, RefreshKinds, Summary,
};
