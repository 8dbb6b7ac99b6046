//! Chance: a scenario and a seed become the work table; CSV in and out of it. Knows nothing of how stages wait for
//! each other.

mod table;

pub use table::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
