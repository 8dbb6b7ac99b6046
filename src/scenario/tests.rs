//! What crosses the room's files.

mod bad_files;
mod bad_text;
mod random;
