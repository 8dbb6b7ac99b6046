//! What can be wrong with a scenario, said to the person who wrote it.

use std::fmt;
use std::io;

use thiserror::Error;

use crate::{files, quote};

/// Where in which file a problem lies; empty for a scenario that comes from no file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// Name of the file, or of whatever else the text came from.
    pub source: Option<String>,
    /// Line, from 1.
    pub line: Option<usize>,
}

impl Place {
    /// A place in `source` as a whole.
    pub fn of(source: &str) -> Self {
        Self { source: Some(source.to_owned()), line: None }
    }

    /// A line of `source`.
    pub fn at(source: &str, line: usize) -> Self {
        Self { source: Some(source.to_owned()), line: Some(line) }
    }
}

impl fmt::Display for Place {
    /// `file:line: `, as much of it as is known.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(source) = &self.source {
            write!(f, "{source}:")?;
            if let Some(line) = self.line {
                write!(f, "{line}:")?;
            }
            f.write_str(" ")?;
        }
        Ok(())
    }
}

/// Why a scenario cannot be read, used or written: one line that names place, field, what was found and what is allowed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ScenarioError {
    /// The file cannot be read.
    #[error("{place}cannot be read: {cause}")]
    Unreadable {
        /// The file.
        place: Place,
        /// Why.
        cause: String,
    },
    /// The text is not a scenario: syntax, unknown field, wrong type.
    #[error("{place}{}{what}", field(.path))]
    Text {
        /// Where.
        place: Place,
        /// Path of the field, empty where none is open.
        path: String,
        /// What is wrong.
        what: String,
    },
    /// The file is in another version of the format.
    #[error("{place}format: found {found}, which is newer than this program; allowed: {allowed}")]
    Newer {
        /// Where.
        place: Place,
        /// Version found.
        found: String,
        /// Newest version that can be read.
        allowed: u32,
    },
    /// A value that is not allowed, alone or together with others.
    #[error("{place}{}: found {found}, allowed: {allowed}", quote::path(path))]
    Value {
        /// Where.
        place: Place,
        /// Path of the parameter.
        path: String,
        /// The value, with its unit.
        found: String,
        /// What would be allowed.
        allowed: String,
    },
    /// No parameter has this path.
    #[error("{}: there is no such parameter; the nearest is {nearest}", quote::path(path))]
    NoSuchParameter {
        /// The path asked for.
        path: String,
        /// The path most like it.
        nearest: &'static str,
    },
    /// The file cannot be written.
    #[error("{place}cannot be written: {cause}")]
    Unwritable {
        /// The file.
        place: Place,
        /// Why.
        cause: String,
    },
}

fn field(path: &str) -> String {
    if path.is_empty() { String::new() } else { format!("{}: ", quote::path(path)) }
}

impl ScenarioError {
    /// A value that is not allowed, in no file yet.
    pub(super) fn value(path: &str, found: impl Into<String>, allowed: impl Into<String>) -> Self {
        Self::Value { place: Place::default(), path: path.to_owned(), found: found.into(), allowed: allowed.into() }
    }

    /// Where the problem lies, as far as it is known.
    pub fn place(&self) -> Place {
        match self {
            Self::Unreadable { place, .. }
            | Self::Text { place, .. }
            | Self::Newer { place, .. }
            | Self::Value { place, .. }
            | Self::Unwritable { place, .. } => place.clone(),
            Self::NoSuchParameter { .. } => Place::default(),
        }
    }

    /// Path of the field that the problem is about, where there is one.
    pub fn path(&self) -> Option<&str> {
        match self {
            Self::Text { path, .. } | Self::Value { path, .. } | Self::NoSuchParameter { path, .. } => {
                Some(path).filter(|path| !path.is_empty()).map(String::as_str)
            }
            Self::Newer { .. } => Some("format"),
            Self::Unreadable { .. } | Self::Unwritable { .. } => None,
        }
    }
}

/// An input or output error in plain words.
pub(super) fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder, a scenario file is expected".to_owned(),
        _ => files::why_unread(error),
    }
}
