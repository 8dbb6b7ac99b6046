//! A figure's data as one plain table, to be taken into a spreadsheet: numbers in full, none as an empty cell.

use std::io::{self, Write};

use crate::engine::Stamp;
use crate::report::rows::Rows;

/// What a figure shows, as rows and columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is a table of.
    pub title: &'static str,
    /// Names of the columns; those of quantities end in their unit: `p50_ms`, `missed_pct`.
    pub columns: &'static [&'static str],
    /// The rows; each has a cell for every column.
    pub rows: Vec<Vec<Cell>>,
}

/// One cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// A word, a name.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// Any number.
    Float(f64),
    /// Nothing to tell.
    None,
}

/// The two designs as they are called in tables, baseline first.
pub const DESIGNS: [&str; 2] = ["baseline", "candidate"];

impl Table {
    /// A table without rows.
    pub const fn new(title: &'static str, columns: &'static [&'static str]) -> Self {
        Self { title, columns, rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        debug_assert_eq!(cells.len(), self.columns.len(), "{}", self.title);
        self.rows.push(cells);
    }

    /// Writes it as CSV (RFC 4180): a row of column names, then the rows.
    ///
    /// # Errors
    /// Those of the system.
    pub fn csv(&self, to: impl Write) -> io::Result<()> {
        self.delimited(b',', to)
    }

    /// The same with tabs between the cells, as spreadsheets take it from the clipboard.
    pub fn tsv(&self) -> String {
        let mut text = Vec::new();
        // Writing to memory does not fail.
        let _ = self.delimited(b'\t', &mut text);
        String::from_utf8(text).unwrap_or_default()
    }

    fn delimited(&self, delimiter: u8, to: impl Write) -> io::Result<()> {
        let mut rows = Rows::delimited(delimiter, to, self.columns)?;
        for row in &self.rows {
            rows.row(row.iter().map(Cell::text))?;
        }
        rows.finish()
    }
}

impl Cell {
    /// What is written for it: the shortest number that reads back the same.
    pub fn text(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Whole(number) => number.to_string(),
            Self::Float(number) => number.to_string(),
            Self::None => String::new(),
        }
    }

    /// Yes or no.
    pub fn yes(is: bool) -> Self {
        Self::from(if is { "yes" } else { "no" })
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<f64> for Cell {
    /// What is no number is none.
    fn from(number: f64) -> Self {
        if number.is_finite() { Self::Float(number) } else { Self::None }
    }
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Self::Whole(number)
    }
}

impl From<u32> for Cell {
    fn from(number: u32) -> Self {
        Self::Whole(number.into())
    }
}

impl From<usize> for Cell {
    fn from(number: usize) -> Self {
        i64::try_from(number).map_or(Self::None, Self::Whole)
    }
}

impl From<u64> for Cell {
    fn from(number: u64) -> Self {
        i64::try_from(number).map_or(Self::None, Self::Whole)
    }
}

impl From<Stamp> for Cell {
    fn from(stamp: Stamp) -> Self {
        stamp.ns().into()
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::None, Into::into)
    }
}

/// A row of anything that is a cell: `cells!["p50", 3.2, None::<f64>]`.
macro_rules! cells {
    ($($cell:expr),* $(,)?) => {
        vec![$($crate::report::figures::table::Cell::from($cell)),*]
    };
}

pub(crate) use cells;

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new("Things", &["name", "value_ms", "count"]);
        table.row(cells!["a, \"b\"", 0.1 + 0.2, 3_u32]);
        table.row(cells!["two\nlines", f64::NAN, None::<u64>]);
        table
    }

    #[test]
    fn numbers_are_in_full_and_none_is_empty() {
        let mut csv = Vec::new();
        table().csv(&mut csv).unwrap();
        let text = String::from_utf8(csv).unwrap();
        assert_eq!(text, "name,value_ms,count\n\"a, \"\"b\"\"\",0.30000000000000004,3\n\"two\nlines\",,\n");
    }

    #[test]
    fn tabs_part_the_cells_of_what_is_copied() {
        let text = table().tsv();
        assert!(text.starts_with("name\tvalue_ms\tcount\n"), "{text}");
        assert!(text.ends_with("\"two\nlines\"\t\t\n"), "{text}");
    }
}
