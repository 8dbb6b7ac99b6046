//! Reads measurements: a CSV file of any columns, separator and order, a row at a time, whatever its size. Rows that cannot
//! be used are counted and listed with line and cause.

mod writing;

use std::fs::File;
use std::io::{self, BufRead as _, BufReader, Read, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use csv::{ByteRecord, ReaderBuilder, Trim};

use super::watch::{Part, Watch};
use super::words::Words;
use crate::files;
use crate::quote::quoted;
use crate::stop::Stopped;
use writing::Writing;

/// Bytes that separator and comments are guessed from.
const LOOKED_AT: usize = 1 << 16;
/// Rows that a column's kind is guessed from.
const ROWS_LOOKED_AT: usize = 1000;
/// Rows read between two looks at whether to give up.
const ROWS_BETWEEN: usize = 1000;
/// Most columns of a file.
const MOST_COLUMNS: usize = 512;
/// Most cells of a file: half a gigabyte of numbers.
const MOST_CELLS: usize = 64_000_000;
/// Bad rows that are listed; all are counted.
const MOST_LISTED: usize = 100;
/// Measurements as they stand in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its columns, each as long as there are rows.
    pub columns: Vec<Column>,
    /// Good rows.
    pub rows: usize,
    /// Line of each good row in the file, from 1.
    pub lines: Vec<u32>,
    /// What separates cells.
    pub separator: char,
    /// Whether the first row names the columns.
    pub header: bool,
    /// Rows that could not be used.
    pub bad: BadRows,
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its name, or its number where the file has no names.
    pub name: String,
    /// What stands in it.
    pub cells: Cells,
}

/// What stands in a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Cells {
    /// Numbers; what was not measured is not a number.
    Numbers(Vec<f64>),
    /// Words, few different ones.
    Words(Words),
    /// Text with too many different values to group by; it is passed over.
    Text,
}

/// Rows that could not be used.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct BadRows {
    /// How many there are.
    pub count: u64,
    /// The first of them.
    pub listed: Vec<BadRow>,
}

/// A row that could not be used.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct BadRow {
    /// Its line in the file, from 1.
    pub line: u64,
    /// What is wrong: what, found, allowed.
    pub cause: String,
}

impl BadRows {
    pub(super) fn note(&mut self, line: u64, cause: impl FnOnce() -> String) {
        self.note_lines(line, 1, cause);
    }

    /// Notes one cause for so many lines.
    fn note_lines(&mut self, line: u64, lines: u64, cause: impl FnOnce() -> String) {
        self.count += lines;
        if self.listed.len() < MOST_LISTED {
            self.listed.push(BadRow { line, cause: cause() });
        }
    }
}

/// Why a file of measurements cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The file cannot be opened or read.
    #[error("{path}: cannot be read: {}", files::why_unread(.cause), path = path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// Not one row can be used.
    #[error("{path} holds no row of measurements: {found}; allowed: a table of numbers in UTF-8, a row a line, cells set apart by comma, semicolon, tab or |", path = path.display())]
    Empty {
        /// The file.
        path: PathBuf,
        /// What there is instead.
        found: String,
    },
    /// More than memory should hold.
    #[error("{path}, line {line}: found more than {MOST_CELLS} cells, allowed: fewer; leave out columns or cut the file", path = path.display())]
    TooLong {
        /// The file.
        path: PathBuf,
        /// The line.
        line: u64,
    },
    /// Too many columns.
    #[error("{path}, line {line}: found {found} columns, allowed: {MOST_COLUMNS} at most", path = path.display())]
    TooWide {
        /// The file.
        path: PathBuf,
        /// The line.
        line: u64,
        /// Its cells.
        found: usize,
    },
    /// Given up before it was read.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl Sheet {
    /// Reads a file.
    pub fn read(path: &Path) -> Result<Self, ReadError> {
        Self::read_unless(path, &Watch::nobody())
    }

    /// The same, watched.
    pub fn read_unless(path: &Path, watch: &Watch<'_>) -> Result<Self, ReadError> {
        let failed = |cause| ReadError::File { path: path.to_owned(), cause };
        let file = File::open(path).map_err(failed)?;
        let length = file.metadata().map_or(0, |found| found.len());
        let mut file = BufReader::with_capacity(1 << 18, file);
        let mut start = Vec::with_capacity(LOOKED_AT);
        file.by_ref().take(LOOKED_AT as u64).read_to_end(&mut start).map_err(failed)?;
        let mark = if start.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        file.seek(SeekFrom::Start(mark)).map_err(failed)?;
        file.fill_buf().map_err(failed)?;
        Reading::new(path, Writing::of(&start[mark as usize..])).read(file, &At { watch, length })
    }

    /// The column of a name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// The first rows as text, for a preview.
    pub fn preview(&self, rows: usize) -> Vec<Vec<String>> {
        (0..self.rows.min(rows)).map(|row| self.columns.iter().map(|column| column.cell(row)).collect()).collect()
    }
}

impl Column {
    /// The numbers, where there are any.
    pub fn numbers(&self) -> Option<&[f64]> {
        match &self.cells {
            Cells::Numbers(numbers) => Some(numbers),
            Cells::Words(_) | Cells::Text => None,
        }
    }

    fn cell(&self, row: usize) -> String {
        match &self.cells {
            Cells::Numbers(numbers) => {
                numbers.get(row).filter(|x| !x.is_nan()).map_or_else(String::new, f64::to_string)
            }
            Cells::Words(words) => words.at(row).unwrap_or_default().to_owned(),
            Cells::Text => "...".to_owned(),
        }
    }
}

/// How far a file was read.
struct At<'a> {
    watch: &'a Watch<'a>,
    /// Bytes of the file.
    length: u64,
}

impl At<'_> {
    fn byte(&self, record: &ByteRecord) -> Result<(), ReadError> {
        let byte = record.position().map_or(0, csv::Position::byte);
        Ok(self.watch.at(Part::Reading, byte as f64 / self.length.max(1) as f64)?)
    }
}

/// A file on its way in.
struct Reading<'a> {
    path: &'a Path,
    writing: Writing,
    bad: BadRows,
    columns: Vec<Column>,
    lines: Vec<u32>,
    header: bool,
}

impl<'a> Reading<'a> {
    fn new(path: &'a Path, writing: Writing) -> Self {
        Self { path, writing, bad: BadRows::default(), columns: Vec::new(), lines: Vec::new(), header: false }
    }

    fn read(mut self, file: impl Read, at: &At<'_>) -> Result<Sheet, ReadError> {
        let mut reader = ReaderBuilder::new()
            .delimiter(self.writing.separator)
            .comment(Some(b'#'))
            .flexible(true)
            .has_headers(false)
            .trim(Trim::All)
            .from_reader(file);
        let mut first = Vec::new();
        let mut record = ByteRecord::new();
        while first.len() < ROWS_LOOKED_AT && self.next(&mut reader, &mut record)? {
            first.push((line_of(&record), record.clone()));
        }
        self.begin(&mut first)?;
        for (line, record) in &first {
            self.take(*line, record);
        }
        let mut rows = 0_usize;
        while self.next(&mut reader, &mut record)? {
            self.take(line_of(&record), &record);
            rows += 1;
            if self.lines.len() * self.columns.len() > MOST_CELLS {
                return Err(ReadError::TooLong { path: self.path.to_owned(), line: line_of(&record) });
            }
            if rows.is_multiple_of(ROWS_BETWEEN) {
                at.byte(&record)?;
            }
        }
        self.end()
    }

    fn next(&self, reader: &mut csv::Reader<impl Read>, record: &mut ByteRecord) -> Result<bool, ReadError> {
        reader
            .read_byte_record(record)
            .map_err(|error| ReadError::File { path: self.path.to_owned(), cause: error.into() })
    }

    /// Finds out the columns; takes the row of names away from the first rows.
    fn begin(&mut self, first: &mut Vec<(u64, ByteRecord)>) -> Result<(), ReadError> {
        let Some((line, record)) = first.first() else {
            return Err(ReadError::Empty {
                path: self.path.to_owned(),
                found: "found no line but comments".to_owned(),
            });
        };
        if record.len() > MOST_COLUMNS {
            return Err(ReadError::TooWide { path: self.path.to_owned(), line: *line, found: record.len() });
        }
        let cells = text(record).unwrap_or_default();
        self.header =
            cells.iter().any(|cell| !cell.is_empty()) && !cells.iter().any(|cell| self.writing.is_number(cell));
        let names: Vec<String> = if self.header {
            cells
                .iter()
                .enumerate()
                .map(|(at, cell)| if cell.is_empty() { numbered(at) } else { (*cell).to_owned() })
                .collect()
        } else {
            (0..record.len()).map(numbered).collect()
        };
        if self.header {
            first.remove(0);
        }
        for (at, name) in names.into_iter().enumerate() {
            let cells = || first.iter().filter_map(|(_, record)| std::str::from_utf8(record.get(at)?).ok());
            let full = cells().filter(|cell| !self.writing.number(cell).is_some_and(f64::is_nan)).count();
            let numbers = cells().filter(|cell| self.writing.is_number(cell)).count();
            let cells = if 2 * numbers >= full { Cells::Numbers(Vec::new()) } else { Cells::Words(Words::default()) };
            // Columns of one name are told apart by their number.
            let taken = self.columns.iter().any(|column| column.name == name);
            let name = if taken { format!("{name} ({})", at + 1) } else { name };
            self.columns.push(Column { name, cells });
        }
        Ok(())
    }

    /// Takes one row in, or notes why not.
    fn take(&mut self, line: u64, record: &ByteRecord) {
        let Some(cells) = text(record) else {
            self.bad.note(line, || "found bytes that are no UTF-8, allowed: text in UTF-8".to_owned());
            return;
        };
        let (found, expected) = (cells.len(), self.columns.len());
        // A separator at the end of a line is no cell more.
        let trailing = found == expected + 1 && cells.last().is_some_and(|cell| cell.is_empty());
        if found != expected && !trailing {
            let lines = 1 + cells.iter().map(|cell| cell.matches('\n').count() as u64).sum::<u64>();
            self.bad.note_lines(line, lines, || match lines {
                1 => format!("found {found} cells, allowed: {expected}, as in the first row"),
                _ => format!("found a quote that is not closed for {lines} lines, allowed: one that is, within a line"),
            });
            return;
        }
        if cells.iter().all(|cell| cell.is_empty()) {
            self.bad.note(line, || "found nothing but separators, allowed: a value at least".to_owned());
            return;
        }
        let unreadable =
            self.columns.iter().zip(&cells).find(|(column, cell)| {
                matches!(column.cells, Cells::Numbers(_)) && self.writing.number(cell).is_none()
            });
        if let Some((column, cell)) = unreadable {
            self.bad.note(line, || format!("{}: found {}, allowed: a number, or nothing", column.name, quoted(cell)));
            return;
        }
        for (column, cell) in self.columns.iter_mut().zip(&cells) {
            match &mut column.cells {
                Cells::Numbers(numbers) => numbers.push(self.writing.number(cell).unwrap_or(f64::NAN)),
                Cells::Words(words) => {
                    if !words.push(cell) {
                        column.cells = Cells::Text;
                    }
                }
                Cells::Text => {}
            }
        }
        self.lines.push(u32::try_from(line).unwrap_or(u32::MAX));
    }

    fn end(self) -> Result<Sheet, ReadError> {
        let Self { path, writing, bad, columns, lines, header } = self;
        let rows = lines.len();
        if rows == 0 {
            let found = match bad.listed.first() {
                Some(BadRow { line, cause }) => format!("line {line}: {cause}"),
                None => "found a row of names alone".to_owned(),
            };
            return Err(ReadError::Empty { path: path.to_owned(), found });
        }
        Ok(Sheet { columns, rows, lines, separator: char::from(writing.separator), header, bad })
    }
}

fn numbered(at: usize) -> String {
    format!("column {}", at + 1)
}

fn line_of(record: &ByteRecord) -> u64 {
    record.position().map_or(0, csv::Position::line)
}

/// The cells as text; none where one is no UTF-8.
fn text(record: &ByteRecord) -> Option<Vec<&str>> {
    record.iter().map(|cell| std::str::from_utf8(cell).ok()).collect()
}

#[cfg(test)]
mod tests;
