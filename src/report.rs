//! What leaves the program: figures as plain data, tables as CSV, a summary as JSON and as text, a page that
//! holds all of it; what to know before believing it. Knows nothing of the window.

pub mod calibration;
mod columns;
pub mod differences;
pub mod figures;
pub mod format;
pub mod html;
pub mod json;
pub mod parameters;
pub mod provenance;
mod rows;
pub mod studies;
pub mod tables;
pub mod text;
pub mod warnings;
pub mod words;
