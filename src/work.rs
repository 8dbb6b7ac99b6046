//! Chance: a scenario and a seed become the work table; CSV in and out of it. Knows nothing of how stages wait for
//! each other.

pub mod control;
mod draw;
mod error;
mod frames;
mod law;
mod link;
mod luck;
mod read;
mod shares;
mod sheet;
mod table;
#[cfg(test)]
mod tests;
pub mod units;
mod write;

pub use draw::draw;
pub use error::WorkError;
pub use read::{Loaded, read};
pub use shares::row_shares;
pub use table::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
pub use write::write;
