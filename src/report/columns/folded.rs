//! A table that is folded where it would be wider than a page: what names the rows stands in every part, and beside it as many
//! blocks of columns as fit.

use std::fmt::{self, Display};

use super::Table;

/// Space between two blocks.
const BETWEEN: &str = "   ";

/// A table in blocks of columns.
pub(in crate::report) struct Folded {
    /// Most characters of a line, where no single block is wider.
    page: usize,
    /// What names the rows, then the blocks: a title over the columns, and these.
    blocks: Vec<(String, Table)>,
}

impl Folded {
    /// A table of rows that these columns name.
    pub(in crate::report) fn new<'a>(page: usize, names: impl IntoIterator<Item = &'a str>) -> Self {
        Self { page, blocks: vec![(String::new(), Table::new(names))] }
    }

    /// Adds columns that stay together, below a title, which may be empty. Comes before all rows.
    pub(in crate::report) fn block<'a>(&mut self, title: &str, columns: impl IntoIterator<Item = &'a str>) {
        self.blocks.push((title.to_owned(), Table::unnamed(columns)));
    }

    /// Adds a row, with as many cells as there are columns in all.
    pub(in crate::report) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        let mut cells = cells.into_iter();
        for (_, block) in &mut self.blocks {
            let columns = block.columns();
            block.row(cells.by_ref().take(columns));
        }
    }

    /// Blocks as lines of one width each; numbers keep to the right below a title that is wider.
    fn lines(&self) -> Vec<Vec<String>> {
        let titled = self.blocks.iter().any(|(title, _)| !title.is_empty());
        let of = |(place, (title, table)): (usize, &(String, Table))| {
            let text = table.to_string();
            let lines: Vec<&str> = text.lines().collect();
            let long = lines.iter().map(|line| line.chars().count()).max().unwrap_or(0);
            let width = long.max(title.chars().count());
            let words = place == 0 || table.ends_in_words();
            let put = |line: &&str| {
                // The lines of a table lost their blanks at the end.
                let line = format!("{line:<long$}");
                if words { format!("{line:<width$}") } else { format!("{line:>width$}") }
            };
            titled.then(|| format!("{title:<width$}")).into_iter().chain(lines.iter().map(put)).collect()
        };
        self.blocks.iter().enumerate().map(of).collect()
    }
}

impl Display for Folded {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let blocks = self.lines();
        let wide = |block: &[String]| block.first().map_or(0, |line| line.chars().count());
        let Some((names, mut rest)) = blocks.split_first() else { return Ok(()) };
        let mut first = true;
        while !rest.is_empty() || first {
            let mut width = wide(names);
            let fitting = rest.iter().take_while(|block| {
                width += BETWEEN.len() + wide(block);
                width <= self.page
            });
            let (part, later) = rest.split_at(fitting.count().max(1).min(rest.len()));
            rest = later;
            if !first {
                writeln!(to)?;
            }
            first = false;
            for (number, name) in names.iter().enumerate() {
                let line = part.iter().fold(name.clone(), |line, block| line + BETWEEN + &block[number]);
                writeln!(to, "{}", line.trim_end())?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(cells: &[&str]) -> Vec<String> {
        cells.iter().map(|cell| (*cell).to_owned()).collect()
    }

    #[test]
    fn blocks_that_do_not_fit_beside_each_other_stand_below_each_other() {
        let mut table = Folded::new(34, ["Slices"]);
        table.block("Latency, p50 [ms]", ["A", "B"]);
        table.block("Load [%]", ["A", "B"]);
        table.block("Change", ["A", ""]);
        table.row(row(&["8", "35.1", "39.3", "53", "46", "-1", "better"]));
        table.row(row(&["16", "35.9", "39.3", "61", "46", "+0.5", "worse"]));
        let expected = "         Latency, p50 [ms]   Load [%]
Slices             A     B      A   B
8               35.1  39.3     53  46
16              35.9  39.3     61  46

         Change
Slices      A
8          -1  better
16       +0.5  worse
";
        assert_ne!(table.to_string(), expected, "one character too many");
        table.page = 40;
        assert_eq!(table.to_string(), expected);
        table.page = 120;
        assert_eq!(table.to_string().lines().count(), 4, "{table}");
        table.page = 5;
        assert_eq!(table.to_string().lines().count(), 3 * 4 + 2, "a block that does not fit stands alone: {table}");
    }

    #[test]
    fn without_titles_there_is_one_line_of_heads() {
        let mut table = Folded::new(20, ["Slices"]);
        table.block("", ["p50 [ms]"]);
        table.block("", ["p99 [ms]"]);
        table.row(row(&["8", "35.1", "35.6"]));
        let expected = "\
Slices   p50 [ms]
8            35.1

Slices   p99 [ms]
8            35.6
";
        assert_eq!(table.to_string(), expected);
    }
}
