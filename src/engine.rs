//! Causality: next event, servers, buffers, link, display and pacing turn a work table into a [`Run`], what happened to
//! every frame, slice and refresh. Knows no random numbers and no statistics.

mod grid;
mod run;

pub use crate::time::{ms_to_ns, ns_to_ms, us_to_ns};
pub use grid::Grid;
pub use run::{Fate, FrameRecord, Pilot, RefreshKind, RefreshRecord, ResendRecord, Run, SliceRecord, Stamp};
