//! Mappings in files: the same in window and command line.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::mapping::Mapping;
use super::read::Sheet;
use crate::files;
use crate::quote::{cut_to, quoted};

/// Longest file of a mapping \[bytes\].
const LONGEST: u64 = 1 << 20;

/// Most characters of a list of columns, or of a cause, within a message.
const MOST_NAMED: usize = 400;

/// Why a mapping cannot be read or written.
#[derive(Debug, thiserror::Error)]
pub enum MappingError {
    /// The file cannot be read.
    #[error("{path}: cannot be read: {}", files::why_unread(.cause), path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// The file is too long to be one.
    #[error("{path}: found more than {LONGEST} bytes, allowed: a mapping, which is short", path = path.display())]
    Long {
        /// The file.
        path: PathBuf,
    },
    /// The file holds something else.
    #[error("{path}: no mapping: {}", cut_to(&cause.to_string(), MOST_NAMED), path = path.display())]
    Broken {
        /// The file.
        path: PathBuf,
        /// Where and why.
        cause: Box<ron::error::SpannedError>,
    },
    /// It is of another table.
    #[error("{path}: found column {}, allowed: {}", quoted(column), cut_to(allowed, MOST_NAMED), path = path.display())]
    Absent {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
        /// Those of the table.
        allowed: String,
    },
    /// The file cannot be written.
    #[error("{path}: cannot be written: {}", files::why(.cause), path = path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
}

impl Mapping {
    /// Reads the mapping of a table from a file.
    ///
    /// # Errors
    /// When the file cannot be read, is no mapping, or names a column that the table does not have.
    pub fn load(path: &Path, sheet: &Sheet) -> Result<Self, MappingError> {
        let file = || path.to_owned();
        if fs::metadata(path).is_ok_and(|found| found.len() > LONGEST) {
            return Err(MappingError::Long { path: file() });
        }
        let text = fs::read_to_string(path).map_err(|cause| MappingError::Read { path: file(), cause })?;
        let mapping: Self =
            ron::from_str(&text).map_err(|cause| MappingError::Broken { path: file(), cause: Box::new(cause) })?;
        match mapping.absent(sheet) {
            Some(column) => {
                let names: Vec<&str> = sheet.columns.iter().map(|column| column.name.as_str()).collect();
                Err(MappingError::Absent { path: file(), column: column.to_owned(), allowed: names.join(", ") })
            }
            None => Ok(mapping),
        }
    }

    /// Writes it into a file, whole or not at all.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn save(&self, path: &Path) -> Result<(), MappingError> {
        let failed = |cause| MappingError::Write { path: path.to_owned(), cause };
        let text = ron::ser::to_string_pretty(self, ron::ser::PrettyConfig::default())
            .map_err(|error| failed(io::Error::other(error)))?;
        files::save(path, |to| writeln!(to, "{text}")).map_err(failed)
    }

    /// A column that it names and the table does not have.
    pub fn absent(&self, sheet: &Sheet) -> Option<&str> {
        let absent = self.columns.iter().find(|mapped| sheet.column(&mapped.column).is_none());
        absent.map(|mapped| mapped.column.as_str())
    }
}
