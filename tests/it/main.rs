//! What crosses rooms or comes from outside: one module a behaviour.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod cases;
mod flow;
mod full_buffers;
mod lot_streaming;
mod queues;
mod world;
