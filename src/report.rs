//! What leaves the program: tables as CSV.

pub mod tables;
