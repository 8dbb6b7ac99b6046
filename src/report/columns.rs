//! Tables of text for a monospaced face, and the numbers in them: plain ASCII, so that other programs can read them too.

mod folded;

use std::fmt::{self, Display, Write as _};

use super::format::is_zero;
pub(super) use folded::Folded;

/// Characters of a line at the most: a terminal of 120 columns holds it.
pub(super) const PAGE: usize = 118;

/// Stands where there is nothing to show.
pub(super) const DASH: &str = "-";

/// A number with so many decimals.
pub(super) struct Number(pub(super) f64, pub(super) usize);

impl Display for Number {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(value, decimals) = *self;
        let text = format!("{value:.decimals$}");
        // What rounds to 0 from below would show as -0.
        to.pad(if is_zero(&text) { text.trim_start_matches('-') } else { &text })
    }
}

/// A number with so many decimals, or a dash.
pub(super) struct Maybe(pub(super) Option<f64>, pub(super) usize);

impl Display for Maybe {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self(Some(value), decimals) => Number(value, decimals).fmt(to),
            Self(None, _) => to.pad(DASH),
        }
    }
}

/// A table of text: the first column aligned to the left, and every column that holds words; numbers to the right.
pub(super) struct Table {
    rows: Vec<Vec<String>>,
    /// Whether the first column names the rows, whatever it holds.
    named: bool,
}

impl Table {
    pub(super) fn new<'a>(head: impl IntoIterator<Item = &'a str>) -> Self {
        Self { rows: vec![head.into_iter().map(str::to_owned).collect()], named: true }
    }

    /// The same of columns whose rows are named elsewhere.
    fn unnamed<'a>(head: impl IntoIterator<Item = &'a str>) -> Self {
        Self { named: false, ..Self::new(head) }
    }

    /// Adds a row, with as many cells as the head has.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// How many columns there are.
    fn columns(&self) -> usize {
        self.rows[0].len()
    }

    /// Whether the last column holds words.
    fn ends_in_words(&self) -> bool {
        self.columns().checked_sub(1).is_some_and(|last| self.wordy(last))
    }

    /// Whether a column holds words.
    fn wordy(&self, column: usize) -> bool {
        let number = |cell: &String| {
            cell.is_empty() || cell == DASH || cell.starts_with(|c: char| c.is_ascii_digit() || "-+[<>".contains(c))
        };
        !self.rows.iter().skip(1).filter_map(|row| row.get(column)).all(number)
    }
}

impl Display for Table {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let columns = self.columns();
        let width = |column: usize| {
            self.rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(width).collect();
        let wordy: Vec<bool> = (0..columns).map(|column| self.wordy(column)).collect();
        for row in &self.rows {
            let mut line = String::new();
            for (column, cell) in row.iter().take(columns).enumerate() {
                let width = widths[column];
                let gap = if column == 0 { "" } else { "  " };
                if (column == 0 && self.named) || wordy[column] {
                    write!(line, "{gap}{cell:<width$}")?;
                } else {
                    write!(line, "{gap}{cell:>width$}")?;
                }
            }
            writeln!(to, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_no_negative_nought_and_what_is_absent_is_a_dash() {
        assert_eq!(Number(-0.004, 2).to_string(), "0.00");
        assert_eq!(Number(-0.006, 2).to_string(), "-0.01");
        assert_eq!(Number(-0.5, 0).to_string(), "0", "a tie goes to the even digit");
        assert_eq!(format!("{:>6}", Maybe(Some(1.25), 1)), "   1.2");
        assert_eq!(format!("{:>6}|", Maybe(None, 1)), "     -|");
    }

    #[test]
    fn tables_align_words_left_and_numbers_right() {
        let mut table = Table::new(["server", "load", "met"]);
        table.row(["CPU".to_owned(), "9.5".to_owned(), "met".to_owned()]);
        table.row(["Encoder".to_owned(), "101.5".to_owned(), "NOT MET".to_owned()]);
        let expected = "\
server    load  met
CPU        9.5  met
Encoder  101.5  NOT MET
";
        assert_eq!(table.to_string(), expected);
    }
}
