//! CSV (RFC 4180) as it leaves the program: numbers in full, nothing as an empty cell. An error stays what the system said,
//! so that a full disk is told as one.

use std::io::{self, Write};

use csv::{Writer, WriterBuilder};

use crate::engine::Stamp;

/// A table that is written cell by cell or row by row.
pub(super) struct Rows<W: Write>(Writer<W>);

impl<W: Write> Rows<W> {
    /// Begins with the names of the columns.
    pub(super) fn new(to: W, columns: &[&str]) -> io::Result<Self> {
        Self::delimited(b',', to, columns)
    }

    /// The same with something else than commas between the cells.
    pub(super) fn delimited(delimiter: u8, to: W, columns: &[&str]) -> io::Result<Self> {
        let mut rows = Self(WriterBuilder::new().delimiter(delimiter).from_writer(to));
        rows.row(columns)?;
        Ok(rows)
    }

    /// A whole row.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = impl AsRef<[u8]>>) -> io::Result<()> {
        self.0.write_record(cells).map_err(of_system)
    }

    /// The next cell of a row.
    pub(super) fn word(&mut self, word: &str) -> io::Result<&mut Self> {
        self.0.write_field(word).map_err(of_system)?;
        Ok(self)
    }

    pub(super) fn number(&mut self, number: impl Copy + ToString) -> io::Result<&mut Self> {
        self.word(&number.to_string())
    }

    pub(super) fn maybe(&mut self, number: Option<impl Copy + ToString>) -> io::Result<&mut Self> {
        match number {
            Some(number) => self.number(number),
            None => self.word(""),
        }
    }

    pub(super) fn stamp(&mut self, stamp: Stamp) -> io::Result<&mut Self> {
        self.maybe(stamp.ns())
    }

    /// Ends a row that was written cell by cell.
    pub(super) fn end(&mut self) -> io::Result<()> {
        self.0.write_record(None::<&[u8]>).map_err(of_system)
    }

    pub(super) fn finish(mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// What the system said, of which an error of the CSV library would only keep the words.
fn of_system(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A disk that is full.
    struct Full;

    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_full_disk_is_told_as_one() {
        let long = "x".repeat(1 << 20);
        let mut rows = Rows::new(Full, &["a"]).unwrap();
        let failed = rows.row([&long]).and_then(|()| rows.finish()).unwrap_err();
        assert_eq!(failed.kind(), io::ErrorKind::StorageFull);
    }
}
