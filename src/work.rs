//! Chance: a scenario and a seed become the work table; CSV in and out of it. Knows nothing of how stages wait for
//! each other.

mod draw;
mod frames;
mod law;
mod link;
mod luck;
mod shares;
mod table;
pub mod units;

pub use draw::draw;
pub use table::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
