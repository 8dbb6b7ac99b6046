//! Many runs: the whole answer to one scenario, and the studies that decide between designs, with intervals. Knows nothing
//! of drawing.
//!
//! A study is a plain function of scenarios and a question. It runs on all cores of the rayon pool, through a [`Runner`],
//! may be stopped at any time and tells a [`Watch`] how far it has come; its answer is plain data that can be serialized.
//! All runs of a study meet the same luck, and the same seeds give the same answer on any number of threads.

mod answer;
pub mod closed_form;
pub mod compare;
pub mod cost;
mod error;
mod gains;
pub mod luck;
pub mod map;
mod one;
mod runner;
pub mod search;
pub mod sensitivity;
mod slice_curve;
pub mod split;
pub mod sweep;
pub mod vary;
pub mod what_if;

pub use answer::{Answer, Workspace, answer, replay};
pub use cost::Cost;
pub use error::StudyError;
pub use gains::{Gains, gains};
pub use runner::{Progress, Runner, Watch};
pub use slice_curve::{CurvePoint, best_count, curve_counts, slice_curve};

/// Latencies within this of the best are as good \[ms\]: less than what one run can tell apart.
pub const PLATEAU_MS: f64 = 0.2;
