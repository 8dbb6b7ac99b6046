//! One design over links, as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, named, of_difference, of_mean, plain, table, with_unit};
use crate::report::columns::Table;
use crate::study::what_if::WhatIf;

/// Measures that the text holds at the most.
const MOST_SHOWN: usize = 3;

/// The table aligned for a monospaced face, and what is assumed of each link.
pub fn text(found: &WhatIf) -> String {
    let mut text = format!("{}\n", named(&found.name));
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "{}, {}; the same luck for all\n+- half the 95 % interval over the seeds; changes are from the first row, paired by \
         seed\n{}\n",
        super::seeds(found.seeds),
        super::each(found.frames, found.warmup),
        super::OVER_SEEDS
    );
    let shown: Vec<usize> = (0..found.measures.len().min(MOST_SHOWN)).collect();
    let mut titles: Vec<String> = ["Link", "jitter [ms]"].map(str::to_owned).into();
    for &number in &shown {
        let column = &found.measures[number];
        titles.extend([with_unit(column.label, column.unit), "change".to_owned(), String::new()]);
    }
    titles.push("within budget".to_owned());
    let mut columns = Table::new(titles.iter().map(String::as_str));
    for row in &found.rows {
        let steady = if row.steady_seeds < found.seeds { "; NOT STEADY" } else { "" };
        let mut cells = vec![row.label.to_owned(), plain(row.jitter_ms)];
        for &number in &shown {
            let difference = &row.differences[number];
            cells.extend([
                of_mean(&row.values[number]),
                of_difference(difference),
                difference.verdict.words().to_owned(),
            ]);
        }
        cells.push(format!("at {} of {}{steady}", row.within_budget_seeds, super::seeds(found.seeds)));
        columns.row(cells);
    }
    let _ = writeln!(text, "{columns}");
    let _ = writeln!(text, "The links are invented, plausible round numbers of no product:");
    let mut told: Vec<&str> = Vec::new();
    for row in &found.rows {
        if !told.contains(&row.link) {
            told.push(row.link);
            let _ = writeln!(text, "  {} ({}): {}", row.label, row.link, row.note);
        }
    }
    if found.measures.len() > shown.len() {
        let _ = writeln!(text, "More measures: --csv, --json; others: --measure NAME.");
    }
    text
}

/// A row for every link, jitter and measure: `link, label, jitter, jitter_ms, steady_seeds, within_budget_seeds, measure,
/// unit, mean, half_width, difference, difference_half_width, verdict`.
pub fn csv(found: &WhatIf, to: impl io::Write) -> io::Result<()> {
    let mut head =
        vec!["link", "label", "jitter", "jitter_ms", "steady_seeds", "within_budget_seeds", "measure", "unit"];
    head.extend(["mean", "half_width", "difference", "difference_half_width", "verdict"]);
    let rows = found.rows.iter().flat_map(|row| {
        found.measures.iter().enumerate().map(move |(number, column)| {
            let (value, difference) = (&row.values[number], &row.differences[number]);
            vec![
                row.link.to_owned(),
                row.label.to_owned(),
                row.jitter.to_string(),
                row.jitter_ms.to_string(),
                row.steady_seeds.to_string(),
                row.within_budget_seeds.to_string(),
                column.name.to_owned(),
                column.unit.to_owned(),
                cell(value.mean),
                cell(value.half_width),
                cell(difference.mean),
                cell(difference.half_width),
                difference.verdict.words().to_owned(),
            ]
        })
    });
    table(to, &head, rows)
}
