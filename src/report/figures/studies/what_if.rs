//! The same design over other links and more or less jitter.

use std::fmt::Write as _;

use crate::report::figures::table::{Table, cells};
use crate::report::format::of;
use crate::study::luck::Difference;
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
    let first = found.rows.first().is_some_and(|first| std::ptr::eq(first, row));
    for ((measure, value), difference) in found.measures.iter().zip(&row.values).zip(&row.differences) {
        let shown = measure.for_people();
        let name = with_unit(measure.label, shown.unit);
        let _ = write!(text, "\n{name}: {}", of_mean(value.times(shown.factor)));
        if !first {
            let (change, words) = (of_difference(&difference.times(shown.factor)), difference.verdict.words());
            let _ = write!(text, ", difference {change} ({words})");
        }
    }
    text
}

/// What is said of a difference from the first row, which stands at place 0 and is what the others are held against.
pub const fn verdict(place: usize, difference: &Difference) -> &'static str {
    if place == 0 { "as given" } else { difference.verdict.words() }
}

/// The jitter of a row in words.
pub fn jitter(row: &Row) -> String {
    format!("jitter {} ms", super::plain(row.jitter_ms))
}
