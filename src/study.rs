//! Many runs: the whole answer to one scenario, and what a parameter does to it. Knows nothing of drawing.

mod answer;
mod slice_curve;

pub use answer::{Answer, Workspace, answer, replay};
pub use slice_curve::{CurvePoint, best_count, curve_counts, slice_curve};
