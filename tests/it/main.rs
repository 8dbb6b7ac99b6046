//! What crosses rooms or comes from outside: one module a behaviour.

mod flow;
mod full_buffers;
mod lot_streaming;
mod queues;
mod world;
