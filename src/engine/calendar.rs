//! Order at one instant: an event's key is its time with its kind below it, so that the least key is the next event.
//!
//! There is at most one pending event of a kind worth comparing (the frames and slices of a kind are kept in order by
//! their server), so no heap is needed.

/// No event.
pub(super) const NEVER: i64 = i64::MAX;

const KIND_BITS: u32 = 4;

/// Kinds of events in the order in which they happen at one instant.
pub(super) mod kind {
    pub(in crate::engine) const DECODE_OUT: i64 = 0;
    pub(in crate::engine) const DECODE_END: i64 = 1;
    pub(in crate::engine) const ARRIVAL: i64 = 2;
    pub(in crate::engine) const LINK_END: i64 = 3;
    pub(in crate::engine) const ENCODE_OUT: i64 = 4;
    pub(in crate::engine) const ENCODE_END: i64 = 5;
    pub(in crate::engine) const RENDER_END: i64 = 6;
    pub(in crate::engine) const SIMULATE_END: i64 = 7;
    pub(in crate::engine) const RESEND_ASKED: i64 = 8;
    pub(in crate::engine) const LATENESS_TOLD: i64 = 9;
    pub(in crate::engine) const MISSING_TOLD: i64 = 10;
    pub(in crate::engine) const LATCH: i64 = 11;
    pub(in crate::engine) const PLAN: i64 = 12;
}

/// Key of an event at `ns`.
#[inline]
pub(super) const fn key(ns: i64, kind: i64) -> i64 {
    ns << KIND_BITS | kind
}

/// Time of a key \[ns\].
#[inline]
pub(super) const fn time_of(key: i64) -> i64 {
    key >> KIND_BITS
}

/// Kind of a key.
#[inline]
pub(super) const fn kind_of(key: i64) -> i64 {
    key & ((1 << KIND_BITS) - 1)
}
