//! A sweep as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, letter, named, of_difference, of_mean, paragraphs, plain, table, value_text, with_unit};
use crate::report::columns::{Folded, PAGE};
use crate::report::format::noun;
use crate::study::PLATEAU_MS;
use crate::study::luck::Verdict;
use crate::study::sweep::{Point, Side, Sweep};

/// Measures that the text holds at the most: more would fill the screen with tables.
const MOST_SHOWN: usize = 8;

/// The points aligned for a monospaced face, and what the curve says.
pub fn text(sweep: &Sweep) -> String {
    let mut text = head(sweep);
    let shown: Vec<usize> = (0..sweep.measures.len().min(MOST_SHOWN)).collect();
    let two = sweep.sides.len() == 2;
    let mut columns = Folded::new(PAGE, [with_unit(&sweep.label, sweep.unit).as_str()]);
    for &number in &shown {
        let column = &sweep.measures[number];
        let title = with_unit(column.label, column.for_people().unit);
        if two {
            columns.block(&title, ["A", "B", "A less B"]);
        } else {
            columns.block("", [title.as_str()]);
        }
    }
    for point in &sweep.points {
        let mut cells = vec![super::shown(&point.value)];
        for &number in &shown {
            let factor = sweep.measures[number].for_people().factor;
            cells.extend(point.sides.iter().map(|side| of_mean(&side.values[number].times(factor))));
            cells.extend(point.differences.get(number).map(|one| of_difference(&one.times(factor))));
        }
        columns.row(cells);
    }
    // Writing to a string does not fail.
    let _ = writeln!(text, "\n{columns}");
    text + &paragraphs(&tail(sweep, shown.len()))
}

/// What the curve says, and what the table leaves out.
fn tail(sweep: &Sweep, shown: usize) -> String {
    let mut text = String::new();
    for (number, side) in sweep.sides.iter().enumerate() {
        let name = if sweep.sides.len() == 2 { format!("{}: ", letter(number)) } else { String::new() };
        for line in findings(sweep, number, side) {
            let _ = writeln!(text, "{name}{line}");
        }
    }
    if alike(sweep) {
        let _ = writeln!(
            text,
            "A and B came out the same at every value: the sweep sets {} in both, and nothing else in \
             which they may differ shows here. To leave one of them as it is, hold single values against it by `compare`.",
            sweep.path
        );
    }
    if sweep.measures.len() > shown {
        let _ = writeln!(text, "More measures: --csv, --json; others: --measure NAME.");
    }
    text
}

/// Whether candidate and baseline came out the same throughout, as where they differ in the swept parameter alone.
fn alike(sweep: &Sweep) -> bool {
    let told = || sweep.points.iter().flat_map(|point| &point.differences);
    let compared = told().any(|one| one.mean.is_some());
    compared && told().all(|one| matches!(one.verdict, Verdict::Same | Verdict::NotMeasured))
}

fn head(sweep: &Sweep) -> String {
    let mut head = String::new();
    for (number, side) in sweep.sides.iter().enumerate() {
        let letter = if sweep.sides.len() == 2 { format!("{}: ", letter(number)) } else { String::new() };
        let _ = writeln!(head, "{letter}{}", named(&side.name));
    }
    let Sweep { seeds, frames, warmup, .. } = sweep;
    let each = if *seeds == 1 { "one seed".to_owned() } else { format!("{seeds} seeds, +- half the 95 % interval") };
    let _ = writeln!(
        head,
        "{} over {} {}; {each}, {}",
        sweep.path,
        sweep.points.len(),
        noun(sweep.points.len() as u64, "value"),
        super::each(*frames, *warmup)
    );
    let _ = writeln!(head, "{}", if *seeds > 1 { super::OVER_SEEDS } else { super::ONE_RUN });
    if !sweep.followed.is_empty() {
        let _ = writeln!(head, "Had to follow somewhere: {}", sweep.followed.join(", "));
    }
    paragraphs(&head)
}

/// Best value, plateau, cliff and closed form.
fn findings(sweep: &Sweep, number: usize, side: &Side) -> Vec<String> {
    let goal = sweep.measures.iter().find(|column| column.name == sweep.goal).map_or(sweep.goal, |column| column.label);
    let at = |number: usize| super::shown(&sweep.points[number].value);
    let mut lines = Vec::new();
    match side.best {
        Some(best) => lines.push(format!("best {goal} at {}", at(best))),
        None => lines.push(format!("{goal}: nothing was measured")),
    }
    if let Some([first, last]) = side.plateau.filter(|[first, last]| first < last) {
        lines.push(format!("as good to {PLATEAU_MS} ms from {} to {}", at(first), at(last)));
    }
    if let Some(cliff) = side.cliff {
        let where_to = if cliff.upward { "above" } else { "below" };
        lines.push(format!("more work is offered than can be done {where_to} {}", plain(cliff.value)));
    }
    lines.extend(untuned(sweep, number));
    if let Some(closed) = side.closed_form {
        lines.push(format!(
            "one frame alone, by arithmetic: best at n* = {} ({} ms; bottleneck: {})",
            plain(closed.slices),
            plain(closed.alone_ms),
            closed.bottleneck
        ));
    }
    if let Some(why) = side.no_closed_form {
        lines.push(format!("no closed form for the best count: {why}"));
    }
    lines
}

/// Where a lead that is to be tuned could not be.
fn untuned(sweep: &Sweep, number: usize) -> Option<String> {
    let at: Vec<&Point> = sweep.points.iter().filter(|point| point.sides[number].untuned_seeds > 0).collect();
    let (first, last) = (at.first()?, at.last()?);
    let run = if at.len() == 1 {
        super::shown(&first.value)
    } else {
        let [first, last] = [first, last].map(|point| super::shown(&point.value));
        format!("{} values from {first} to {last}", at.len())
    };
    Some(format!("NOT TUNED at {run}: no lead makes so few frames late, and that of the trial, 60 ms, was used"))
}

/// A row for every value and scenario: `value, scenario, name, steady_seeds, untuned_seeds`, in a sweep over slice counts `alone_ms`, and
/// for every measure its value, `..._half_width` and, with a baseline, `..._difference`, `..._difference_half_width` and
/// `..._verdict` on the candidate's row.
pub fn csv(sweep: &Sweep, to: impl io::Write) -> io::Result<()> {
    let two = sweep.sides.len() == 2;
    let mut head: Vec<String> =
        ["value", "scenario", "name", "steady_seeds", "untuned_seeds", "alone_ms"].map(str::to_owned).into();
    for column in &sweep.measures {
        head.extend([column.name.to_owned(), format!("{}_half_width", column.name)]);
        if two {
            head.extend(
                ["difference", "difference_half_width", "verdict"].map(|what| format!("{}_{what}", column.name)),
            );
        }
    }
    let rows = sweep.points.iter().enumerate().flat_map(|(at, point)| {
        point.sides.iter().enumerate().map(move |(number, side)| {
            let alone_ms = sweep.sides[number].alone_ms.as_ref().map(|alone| alone[at]);
            let mut cells = vec![
                value_text(&point.value),
                letter(number),
                sweep.sides[number].name.clone(),
                side.steady_seeds.to_string(),
                side.untuned_seeds.to_string(),
                cell(alone_ms),
            ];
            for (measure, value) in side.values.iter().enumerate() {
                cells.extend([cell(value.mean), cell(value.half_width)]);
                if two {
                    let difference = point.differences.get(measure).filter(|_| number == 0);
                    cells.extend([
                        cell(difference.and_then(|one| one.mean)),
                        cell(difference.and_then(|one| one.half_width)),
                        cell(difference.map(|one| one.verdict.words())),
                    ]);
                }
            }
            cells
        })
    });
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    table(to, &head, rows)
}
