//! A comparison as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, letter, named, of_difference, of_mean, paragraphs, table, with_unit, would_tell};
use crate::measure::Measure;
use crate::report::columns::{Folded, PAGE};
use crate::study::compare::{Comparison, Row};
use crate::study::luck::Verdict;

/// The rows of some measures, or of the main ones, aligned for a monospaced face.
pub fn text(comparison: &Comparison, measures: &[&Measure]) -> String {
    let mut text = head(comparison);
    let shown = |row: &&Row| {
        if measures.is_empty() { row.main } else { measures.iter().any(|measure| measure.name == row.measure) }
    };
    let others = comparison.scenarios.len() - 1;
    let rows: Vec<&Row> = comparison.rows.iter().filter(shown).collect();
    let mut columns = Folded::new(PAGE, ["Measure"]);
    columns.block("", ["A"]);
    for other in (1..=others).map(letter) {
        columns.block("", [other.as_str(), &format!("{other} less A"), ""]);
    }
    for row in &rows {
        let shown = row.for_people();
        let value = |number: usize| of_mean(&row.values[number].times(shown.factor));
        let mut cells = vec![with_unit(row.label, shown.unit), value(0)];
        for (number, one) in row.differences.iter().enumerate() {
            let change = of_difference(&one.times(shown.factor));
            cells.extend([value(number + 1), change, one.verdict.words().to_owned()]);
        }
        columns.row(cells);
    }
    // Writing to a string does not fail.
    let _ = write!(text, "\n{columns}");
    text + &unclear(&rows) + &paragraphs(&tail(comparison))
}

/// What it would take to tell what is unclear.
fn unclear(rows: &[&Row]) -> String {
    let mut told = String::new();
    for row in rows {
        for (number, needed) in row.differences.iter().enumerate().filter_map(|(at, one)| Some((at, would_tell(one)?)))
        {
            let other =
                if row.differences.len() > 1 { format!("{} less A: ", letter(number + 1)) } else { String::new() };
            let _ = write!(told, "\n  {}: {other}{needed}", row.label);
        }
    }
    if told.is_empty() { told } else { format!("\nUnclear; what would tell:{told}\n") }
}

fn head(comparison: &Comparison) -> String {
    let mut head = String::new();
    let seeds = comparison.seeds.len() as u32;
    for (number, one) in comparison.scenarios.iter().enumerate() {
        let _ = write!(head, "{}: {}", letter(number), named(&one.name));
        if one.steady_seeds < seeds {
            let _ = write!(head, "; NOT STEADY at {} of {}", seeds - one.steady_seeds, super::seeds(seeds));
        }
        if one.untuned_seeds > 0 {
            let _ = write!(head, "; no lead to tune at {} of {}", one.untuned_seeds, super::seeds(seeds));
        }
        let _ = writeln!(head, "; within budget at {} of {}", one.within_budget_seeds, super::seeds(seeds));
    }
    let first = comparison.seeds.first().copied().unwrap_or_default();
    let _ = writeln!(
        head,
        "{} from {first}, {}; the same luck for all\n\
         +- is half the 95 % interval over the seeds, of differences paired by seed\n{}",
        super::seeds(seeds),
        super::each(comparison.frames, comparison.warmup),
        super::OVER_SEEDS
    );
    paragraphs(&head)
}

/// How much of it luck alone would bring about.
fn tail(comparison: &Comparison) -> String {
    let judged = comparison.rows.iter().flat_map(|row| &row.differences);
    let judged = judged.filter(|one| one.verdict.sure() || one.verdict == Verdict::Unclear).count();
    if judged == 0 {
        return String::new();
    }
    let measures = comparison.rows.len();
    format!(
        "\n{measures} measures in all (--measure NAME, --csv, --json). Each interval leaves out the truth 1 time in 20: of \
         many measures that are the same, some look better or worse.\n"
    )
}

/// A row for every measure and scenario: `measure, label, unit, better, scenario, name, mean, half_width, difference,
/// difference_half_width, verdict, seeds_to_tell, frames_to_tell`; the difference is from scenario A.
pub fn csv(comparison: &Comparison, to: impl io::Write) -> io::Result<()> {
    let head = [
        "measure",
        "label",
        "unit",
        "better",
        "scenario",
        "name",
        "mean",
        "half_width",
        "difference",
        "difference_half_width",
        "verdict",
        "seeds_to_tell",
        "frames_to_tell",
    ];
    let rows = comparison.rows.iter().flat_map(|row| {
        comparison.scenarios.iter().enumerate().map(move |(number, scenario)| {
            let better = format!("{:?}", row.better).to_lowercase();
            let mut cells: Vec<String> =
                [row.measure, row.label, row.unit, &better, &letter(number), &scenario.name].map(str::to_owned).into();
            cells.extend([cell(row.values[number].mean), cell(row.values[number].half_width)]);
            match number.checked_sub(1).map(|other| &row.differences[other]) {
                Some(one) => cells.extend([
                    cell(one.mean),
                    cell(one.half_width),
                    one.verdict.words().to_owned(),
                    cell(one.seeds_to_tell),
                    cell(one.frames_to_tell),
                ]),
                None => cells.extend(std::iter::repeat_n(String::new(), 5)),
            }
            cells
        })
    });
    table(to, &head, rows)
}
