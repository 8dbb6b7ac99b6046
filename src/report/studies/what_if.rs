//! One design over links, as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, named, of_difference, of_mean, paragraphs, plain, table, with_unit};
use crate::report::columns::{DASH, Folded, PAGE};
use crate::report::figures::studies::what_if::verdict;
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
    let mut columns = Folded::new(PAGE, ["Link", "jitter [ms]"]);
    columns.block("", ["in budget"]);
    for &number in &shown {
        let column = &found.measures[number];
        columns.block("", [with_unit(column.label, column.for_people().unit).as_str(), "change", ""]);
    }
    for (place, row) in found.rows.iter().enumerate() {
        let steady = if row.steady_seeds < found.seeds { "; NOT STEADY" } else { "" };
        let mut cells = vec![row.label.to_owned(), plain(row.jitter_ms)];
        cells.push(format!("{} of {}{steady}", row.within_budget_seeds, found.seeds));
        for &number in &shown {
            let factor = found.measures[number].for_people().factor;
            let difference = row.differences[number].times(factor);
            // The first row is what the others are held against.
            let change = if place == 0 { DASH.to_owned() } else { of_difference(&difference) };
            cells.extend([of_mean(&row.values[number].times(factor)), change, verdict(place, &difference).to_owned()]);
        }
        columns.row(cells);
    }
    let _ = writeln!(text, "{columns}");
    text + &tail(found, shown.len())
}

/// What is assumed of each link, and what the table leaves out.
fn tail(found: &WhatIf, shown: usize) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "In budget: seeds at which every line of the budget is met.");
    let _ = writeln!(text, "The links are invented, plausible round numbers of no product:");
    let mut told: Vec<&str> = Vec::new();
    for row in &found.rows {
        if !told.contains(&row.link) {
            told.push(row.link);
            let _ = write!(
                text,
                "  {}",
                paragraphs(&format!("{} ({}): {}", row.label, row.link, row.note)).replace("\n  ", "\n    ")
            );
        }
    }
    if found.measures.len() > shown {
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
