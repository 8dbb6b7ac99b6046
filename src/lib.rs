//! Framelap: the frame pipeline of a split-rendering headset, simulated to the nanosecond.
//!
//! The map, from the ground up; a room may use the rooms above it in this list, never one below:
//!
//! - [`time`]: durations become whole nanoseconds
//! - [`version`]: which version this is
//! - [`stop`]: whether long work is to be given up
//! - [`files`]: files leave the program whole or not at all
//! - `quote`: what was found, as a message shows it
//! - [`scenario`]: what is simulated: the typed scenario, its parameters, RON in and out, presets, sizes and levels
//! - [`work`]: chance: a scenario and a seed become the work table; CSV in and out of it
//! - [`engine`]: causality: a work table becomes a run, what happened to every frame, slice and refresh
//! - [`measure`]: a run becomes a summary: quantiles, intervals, fates, loads, exposed time, left-over motion, budget lines
//! - [`study`]: many runs: the whole answer to one scenario, and over slice counts
//! - [`calibrate`]: measured stage times become a scenario, with its goodness
//! - [`report`]: figures as plain data; tables and figures leave the program
//! - [`talk`]: steps shown to a room: figure, what is looked at, caption; RON in and out
//! - [`app`]: the window
//! - [`cli`]: the command line

pub mod app;
pub mod calibrate;
pub mod cli;
pub mod engine;
pub mod files;
#[cfg(test)]
mod fuzz;
pub mod measure;
mod quote;
pub mod report;
pub mod scenario;
pub mod stop;
pub mod study;
pub mod talk;
pub mod time;
pub mod version;
pub mod work;
