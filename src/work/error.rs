//! What can be wrong with the files of a work table.

use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};

use crate::files::{why, why_unread};

/// Why a work table cannot be read or written.
#[derive(Debug, thiserror::Error)]
pub enum WorkError {
    /// The system refuses to read a file or folder.
    #[error("{}: cannot be read: {}", path.display(), why_unread(cause))]
    Read {
        /// File or folder.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// The system refuses to write a file or to make a folder.
    #[error("{}: cannot be written: {}", path.display(), why(cause))]
    Write {
        /// File or folder.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// A file does not hold what it should.
    #[error("{}: found {found}, allowed: {allowed}", place(file, *line, column.as_deref()))]
    Content {
        /// File.
        file: PathBuf,
        /// Line, counted from 1, where there is one to blame.
        line: Option<u64>,
        /// Column by its name, where there is one to blame.
        column: Option<String>,
        /// What is there.
        found: String,
        /// What may be there.
        allowed: String,
    },
}

/// `file:line: column name`, as much of it as there is.
fn place(file: &Path, line: Option<u64>, column: Option<&str>) -> String {
    let mut place = file.display().to_string();
    // Writing to a string does not fail.
    if let Some(line) = line {
        let _ = write!(place, ":{line}");
    }
    if let Some(column) = column {
        let _ = write!(place, ": column {column}");
    }
    place
}
