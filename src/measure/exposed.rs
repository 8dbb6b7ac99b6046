//! Exposed time: the critical path of one frame, from its photons back to its pose.

use super::piece::Piece;

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
