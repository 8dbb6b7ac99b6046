//! What crosses rooms or comes from outside: one module a behaviour.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod back_to_back;
mod bad_input;
mod calibrate;
mod cases;
mod command_line;
mod coverage;
mod display;
mod extremes;
mod faults;
mod figures;
mod flow;
mod full_buffers;
mod hostile;
mod invariance;
mod known;
mod losses;
mod lot_streaming;
mod properties;
mod queues;
mod random_worlds;
mod report;
mod second;
mod second_engine;
mod sliced_load;
mod steady;
mod strides;
mod studies;
mod talk;
mod walk;
mod world;
