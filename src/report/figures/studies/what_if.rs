//! The same design over other links and more or less jitter.

use std::fmt::Write as _;

use crate::report::figures::table::{Table, cells};
use crate::report::format::of;
use crate::study::what_if::{Row, WhatIf};

use super::{of_difference, of_mean, with_unit};

const COLUMNS: [&str; 15] = [
    "link",
    "assumed",
    "jitter_times",
    "jitter_ms",
    "measure",
    "label",
    "unit",
    "mean",
    "half_width",
    "difference",
    "difference_half_width",
    "verdict",
    "steady_seeds",
    "within_budget_seeds",
    "seeds",
];

/// A row for every link, jitter and measure; differences are from the first link and jitter.
pub fn table(found: &WhatIf) -> Table {
    let mut table = Table::new("What if", &COLUMNS);
    for row in &found.rows {
        for ((measure, value), difference) in found.measures.iter().zip(&row.values).zip(&row.differences) {
            table.row(cells![
                row.link,
                row.note,
                row.jitter,
                row.jitter_ms,
                measure.name,
                measure.label,
                measure.unit,
                value.mean,
                value.half_width,
                difference.mean,
                difference.half_width,
                difference.verdict.words(),
                row.steady_seeds,
                row.within_budget_seeds,
                found.seeds
            ]);
        }
    }
    table
}

/// How many of the worlds are within budget, in words.
pub fn told(found: &WhatIf) -> String {
    let good = found.rows.iter().filter(|row| row.within_budget_seeds == found.seeds).count();
    format!(
        "within budget at every seed in {good} of {}; {}, the same luck",
        of(found.rows.len() as u64, "case"),
        of(u64::from(found.seeds), "seed")
    )
}

/// All of one row.
pub fn row_in_words(found: &WhatIf, row: &Row) -> String {
    let mut text = format!("{}, {}\n{}", row.label, jitter(row), row.note);
    for ((measure, value), difference) in found.measures.iter().zip(&row.values).zip(&row.differences) {
        let name = with_unit(measure.label, measure.unit);
        let (value, change, words) = (of_mean(*value), of_difference(difference), difference.verdict.words());
        let _ = write!(text, "\n{name}: {value}, difference {change} ({words})");
    }
    text
}

/// The jitter of a row in words.
pub fn jitter(row: &Row) -> String {
    format!("jitter {} ms", super::plain(row.jitter_ms))
}
