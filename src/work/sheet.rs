//! One CSV file, read row by row: columns by name, numbers within ranges, errors that say where.

use std::collections::BTreeSet;
use std::fs;
use std::io::Cursor;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use csv::{Reader, ReaderBuilder, StringRecord, Trim};

use super::error::WorkError;
use crate::quote::quoted;

/// A column that a sheet has.
#[derive(Debug, Clone)]
pub(super) struct ColumnOf {
    index: usize,
    name: String,
}

/// A CSV file and the row that is being read.
pub(super) struct Sheet {
    file: PathBuf,
    reader: Reader<Cursor<String>>,
    header: StringRecord,
    row: StringRecord,
    /// Rows read.
    rows: usize,
}

impl Sheet {
    /// Opens a file and reads its header.
    pub(super) fn open(file: &Path) -> Result<Self, WorkError> {
        let text = text_of(file)?;
        let content = |line, found: String, allowed: &str| WorkError::Content {
            file: file.to_owned(),
            line,
            column: None,
            found,
            allowed: allowed.to_owned(),
        };
        if text.trim().is_empty() {
            return Err(content(None, "an empty file".to_owned(), "a line of column names and a row of numbers each"));
        }
        let mut reader = ReaderBuilder::new().flexible(true).trim(Trim::All).from_reader(Cursor::new(text));
        let header = match reader.headers() {
            Ok(header) => header.clone(),
            Err(error) => return Err(content(Some(1), error.to_string(), "column names")),
        };
        let mut names = BTreeSet::new();
        if let Some(name) = header.iter().find(|name| !names.insert(*name)) {
            return Err(content(Some(1), format!("column {} twice", quoted(name)), "each column once"));
        }
        Ok(Self { file: file.to_owned(), reader, header, row: StringRecord::new(), rows: 0 })
    }

    /// A column that may be absent.
    pub(super) fn find(&self, name: &str) -> Option<ColumnOf> {
        let index = self.header.iter().position(|found| found == name)?;
        Some(ColumnOf { index, name: name.to_owned() })
    }

    /// A column that has to be there.
    pub(super) fn column(&self, name: &str) -> Result<ColumnOf, WorkError> {
        self.find(name).ok_or_else(|| WorkError::Content {
            file: self.file.clone(),
            line: Some(1),
            column: Some(name.to_owned()),
            found: "no such column".to_owned(),
            allowed: "columns in any order, this one among them".to_owned(),
        })
    }

    /// Reads the next row; false at the end of the file.
    pub(super) fn next_row(&mut self) -> Result<bool, WorkError> {
        match self.reader.read_record(&mut self.row) {
            Ok(false) => return Ok(false),
            Ok(true) => self.rows += 1,
            Err(error) => return Err(self.wrong_row(error.to_string(), "a row of numbers".to_owned())),
        }
        let (fields, columns) = (self.row.len(), self.header.len());
        if fields == columns {
            Ok(true)
        } else {
            let found = format!("a row of {}", counted(fields, "value"));
            Err(self.wrong_row(found, format!("{}, one for each column name", counted(columns, "value"))))
        }
    }

    /// Rows read so far.
    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    /// Line of the row being read.
    pub(super) fn line(&self) -> u64 {
        self.row.position().map_or(1, csv::Position::line)
    }

    /// A number of this row, within a range that the message gives with its unit.
    pub(super) fn number(&self, column: &ColumnOf, range: &RangeInclusive<f64>, unit: &str) -> Result<f64, WorkError> {
        let text = &self.row[column.index];
        match text.parse::<f64>() {
            Ok(value) if range.contains(&value) => Ok(value),
            _ => {
                let space = if unit.is_empty() { "" } else { " " };
                let allowed = format!("a number from {} to {}{space}{unit}", range.start(), range.end());
                Err(self.wrong(column, quoted(text), allowed))
            }
        }
    }

    /// A whole number of this row, within a range.
    pub(super) fn whole(&self, column: &ColumnOf, range: &RangeInclusive<u64>) -> Result<u64, WorkError> {
        let text = &self.row[column.index];
        match text.parse::<u64>() {
            Ok(value) if range.contains(&value) => Ok(value),
            _ => {
                let allowed = format!("a whole number from {} to {}", range.start(), range.end());
                Err(self.wrong(column, quoted(text), allowed))
            }
        }
    }

    /// Checks that rows are numbered from 0, in order and without gaps.
    pub(super) fn numbered(&self, column: &ColumnOf) -> Result<(), WorkError> {
        let (text, expected) = (&self.row[column.index], self.rows - 1);
        match text.parse::<usize>() {
            Ok(number) if number == expected => Ok(()),
            _ => Err(self.wrong(column, quoted(text), format!("{expected} (rows count from 0, in order, each once)"))),
        }
    }

    /// An error of one value in this row.
    pub(super) fn wrong(&self, column: &ColumnOf, found: String, allowed: String) -> WorkError {
        WorkError::Content {
            file: self.file.clone(),
            line: Some(self.line()),
            column: Some(column.name.clone()),
            found,
            allowed,
        }
    }

    /// An error of this row.
    fn wrong_row(&self, found: String, allowed: String) -> WorkError {
        self.wrong_line(self.line(), found, allowed)
    }

    /// An error of a row read before.
    pub(super) fn wrong_line(&self, line: u64, found: String, allowed: String) -> WorkError {
        WorkError::Content { file: self.file.clone(), line: Some(line), column: None, found, allowed }
    }

    /// An error of the whole file.
    pub(super) fn wrong_file(&self, found: String, allowed: String) -> WorkError {
        WorkError::Content { file: self.file.clone(), line: None, column: None, found, allowed }
    }
}

/// The text of a file.
fn text_of(file: &Path) -> Result<String, WorkError> {
    let read = |cause| WorkError::Read { path: file.to_owned(), cause };
    let content = |line, found: &str, allowed: &str| WorkError::Content {
        file: file.to_owned(),
        line,
        column: None,
        found: found.to_owned(),
        allowed: allowed.to_owned(),
    };
    if fs::metadata(file).map_err(read)?.is_dir() {
        return Err(content(None, "a folder", "a CSV file"));
    }
    let bytes = fs::read(file).map_err(read)?;
    String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = good.split(|&byte| byte == b'\n').count() as u64;
        content(Some(line), "bytes that are not UTF-8", "UTF-8 text")
    })
}

/// `1 row`, `2 rows`.
pub(super) fn counted(count: usize, name: &str) -> String {
    format!("{count} {name}{}", if count == 1 { "" } else { "s" })
}
