//! What leaves the program: tables as CSV, a summary as JSON and as text.

pub mod json;
pub mod tables;
pub mod text;
