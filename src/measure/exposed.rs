//! Exposed time: the critical path of one shown frame, walked back from its photons to its pose.

use super::path::Path;
use super::piece::Piece;
use crate::engine::Run;
use crate::scenario::Scenario;
use crate::work::WorkTable;

/// A part of one frame's way from pose to photon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// What the time went on.
    pub piece: Piece,
    /// The slice that it went on, where it is one slice's.
    pub slice: Option<u32>,
    /// Beginning \[ns\].
    pub start_ns: i64,
    /// End \[ns\]; the next span begins here.
    pub end_ns: i64,
}

impl Span {
    /// Its length \[ns\].
    pub const fn length_ns(&self) -> i64 {
        self.end_ns - self.start_ns
    }
}

/// The critical path of a frame from its pose to its photons: consecutive spans, none empty, that add up to pose to photon
/// to the nanosecond. None for a frame that was not shown.
pub fn walk_back(scenario: &Scenario, table: &WorkTable, run: &Run, frame: usize) -> Option<Vec<Span>> {
    let mut spans: Vec<Span> = Vec::new();
    Path::new(scenario, table, run).walk_back(frame, |span| match spans.last_mut() {
        // The spans come latest first; two of a kind are one.
        Some(later) if later.piece == span.piece && later.slice == span.slice => later.start_ns = span.start_ns,
        _ => spans.push(span),
    })?;
    spans.reverse();
    Some(spans)
}
