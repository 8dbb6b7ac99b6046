//! A sensitivity as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, maybe, named, of_difference, of_mean, plain, table};
use crate::report::columns::Table;
use crate::study::sensitivity::{Row, Sensitivity, Turn};

/// The ranking aligned for a monospaced face, and below it what does not matter.
pub fn text(found: &Sensitivity) -> String {
    let unit = if found.measure.unit.is_empty() { String::new() } else { format!(" [{}]", found.measure.unit) };
    let mut text = format!("{}\n", named(&found.name));
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "{}{unit}: {}; {} seeds, {} frames each of which the first {} do not count",
        found.measure.label,
        of_mean(&found.value),
        found.seeds,
        found.frames,
        found.warmup
    );
    let _ = writeln!(
        text,
        "Change of it when a parameter is turned a tenth, or a step, down and up; +- half the 95 % interval\n"
    );
    let down = format!("Down: change{unit}");
    let up = format!("Up: change{unit}");
    let mut columns = Table::new(["Parameter", "value", "unit", "down", &down, "up", &up, "per unit"]);
    for row in found.rows.iter().filter(|row| row.matters) {
        let [less, more] = [&row.less, &row.more].map(|turned| turn(turned.as_ref()));
        columns.row([
            row.label.clone(),
            plain(row.value),
            row.unit.to_owned(),
            less[0].clone(),
            less[1].clone(),
            more[0].clone(),
            more[1].clone(),
            maybe(row.slope),
        ]);
    }
    let _ = writeln!(text, "{columns}");
    let names = |which: &dyn Fn(&Row) -> bool| {
        let names: Vec<&str> = found.rows.iter().filter(|row| !row.matters && which(row)).map(|row| row.path).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    };
    let _ = writeln!(text, "Within luck, not to be told apart: {}", names(&|row| row.effect > 0.0));
    let _ = writeln!(text, "Without any effect: {}", names(&|row| row.effect == 0.0));
    if !found.zero.is_empty() {
        let _ = writeln!(text, "0, so that a tenth of it is nothing: {}", found.zero.join(", "));
    }
    text
}

fn turn(turn: Option<&Turn>) -> [String; 2] {
    match turn {
        Some(turn) => [plain(turn.value), of_difference(&turn.change)],
        None => [String::new(), String::new()],
    }
}

/// A row for every parameter that was turned, ranked: `rank, path, label, unit, value, matters, gain, effect, slope`, and for
/// `less` and `more` the value, `change, half_width, verdict`.
pub fn csv(found: &Sensitivity, to: impl io::Write) -> io::Result<()> {
    let mut head = vec!["rank", "path", "label", "unit", "value", "matters", "gain", "effect", "slope"];
    head.extend(["less", "less_change", "less_half_width", "less_verdict"]);
    head.extend(["more", "more_change", "more_half_width", "more_verdict"]);
    let rows = found.rows.iter().enumerate().map(|(number, row)| {
        let mut cells = vec![(number + 1).to_string(), row.path.to_owned(), row.label.clone(), row.unit.to_owned()];
        cells.extend([row.value.to_string(), row.matters.to_string(), row.gain.to_string(), row.effect.to_string()]);
        cells.push(cell(row.slope));
        for turn in [&row.less, &row.more] {
            let change = turn.as_ref().map(|turn| turn.change);
            cells.extend([
                cell(turn.as_ref().map(|turn| turn.value)),
                cell(change.and_then(|change| change.mean)),
                cell(change.and_then(|change| change.half_width)),
                cell(change.map(|change| change.verdict.words())),
            ]);
        }
        cells
    });
    table(to, &head, rows)
}
