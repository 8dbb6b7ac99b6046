//! A map as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, named, paragraphs, plain, shown, table, value_text, with_unit};
use crate::measure::Server;
use crate::measure::measures::ForPeople;
use crate::report::columns::Table;
use crate::study::map::{Axis, Border, Cell, Map};

/// Columns of the text's grid at the most; of more values only some are shown.
const MOST_COLUMNS: usize = 12;

/// The grid aligned for a monospaced face, the values of the second parameter growing upward, and what crosses it.
pub fn text(map: &Map) -> String {
    let mut text = format!("{}\n", named(&map.name));
    // Writing to a string does not fail.
    if let Some(baseline) = &map.baseline {
        let _ = writeln!(text, "Baseline: {}{}", named(baseline), follows(map));
    }
    let factor = map.measure.for_people().factor;
    let measure = with_unit(map.measure.label, map.measure.for_people().unit);
    let _ = writeln!(text, "{measure}, {}\n{}", super::each(map.frames, map.warmup), super::ONE_RUN);
    let _ = writeln!(text, "Across: {}; up: {}\n", axis(&map.x), axis(&map.y));
    let width = map.x.values.len();
    let step = width.div_ceil(MOST_COLUMNS);
    let shown: Vec<usize> = (0..width).step_by(step).collect();
    let mut titles = vec![String::new()];
    titles.extend(shown.iter().map(|&x| short(&map.x, x)));
    let mut columns = Table::new(titles.iter().map(String::as_str));
    for y in (0..map.y.values.len()).rev() {
        let cells = shown.iter().map(|&x| in_grid(map.cell(x, y), factor));
        columns.row(std::iter::once(short(&map.y, y)).chain(cells));
    }
    let _ = writeln!(text, "{columns}");
    text + &paragraphs(&tail(map, step))
}

/// What the signs mean, the best cell, and what crosses the map.
fn tail(map: &Map, step: usize) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "* within budget; ! more offered than can be done; - nothing to measure; x values that do not go together"
    );
    if step > 1 {
        let _ = writeln!(text, "Every column in {step} is shown; all are in --csv and --json.");
    }
    if let Some([x, y]) = map.best {
        let ForPeople { unit, factor } = map.measure.for_people();
        let space = if unit.is_empty() { "" } else { " " };
        let value =
            map.cell(x, y).value.map_or_else(String::new, |value| format!("{}{space}{unit}", plain(value * factor)));
        let _ = writeln!(
            text,
            "Best: {value} at {} = {}, {} = {}",
            map.x.path,
            short(&map.x, x),
            map.y.path,
            short(&map.y, y)
        );
    }
    for border in map.borders.iter().filter(|border| !border.lines.is_empty()) {
        let _ = writeln!(text, "{}", crossing(map, border));
    }
    text
}

fn follows(map: &Map) -> String {
    let following: Vec<&str> =
        [&map.x, &map.y].iter().filter(|axis| axis.baseline_follows).map(|axis| axis.path).collect();
    if following.is_empty() { ", as it is".to_owned() } else { format!(", turned too in {}", following.join(" and ")) }
}

fn axis(axis: &Axis) -> String {
    with_unit(&axis.label, axis.unit)
}

/// A value that fits a column.
fn short(axis: &Axis, at: usize) -> String {
    shown(&axis.values[at])
}

fn in_grid(cell: &Cell, factor: f64) -> String {
    if cell.refused.is_some() {
        return "x".to_owned();
    }
    let over = Server::ALL.into_iter().any(|server| cell.offered_load.of(server).is_some_and(|load| load > 1.0));
    let sign = if over {
        "!"
    } else if cell.within_budget() {
        "*"
    } else {
        " "
    };
    cell.value.map_or_else(|| format!("-{sign}"), |value| format!("{:.1}{sign}", value * factor))
}

/// Where a border runs: from end to end of each of its pieces.
fn crossing(map: &Map, border: &Border) -> String {
    let place = |[x, y]: [f64; 2]| {
        let value = |axis: &Axis, at| axis.at(at).map_or_else(|| "?".to_owned(), plain);
        format!("({}, {})", value(&map.x, x), value(&map.y, y))
    };
    let piece = |line: &Vec<[f64; 2]>| Some(format!("from {} to {}", place(*line.first()?), place(*line.last()?)));
    let pieces: Vec<String> = border.lines.iter().filter_map(piece).collect();
    format!("{}: {}", border.label, pieces.join("; "))
}

/// A row for every cell: the two values under their paths, the measure under its name, `baseline, difference, steady,
/// within_budget`, offered loads, and why the two values do not go together where they do not.
pub fn csv(map: &Map, to: impl io::Write) -> io::Result<()> {
    let mut head = vec![map.x.path, map.y.path, map.measure.name, "baseline", "difference", "steady", "within_budget"];
    let loads = Server::ALL.map(|server| format!("offered_load.{}", server.name()));
    head.extend(loads.iter().map(String::as_str));
    head.push("refused");
    let width = map.x.values.len();
    let rows = map.cells.iter().enumerate().map(|(at, one)| {
        let ran = one.refused.is_none();
        let mut cells = vec![value_text(&map.x.values[at % width]), value_text(&map.y.values[at / width])];
        cells.extend([cell(one.value), cell(one.baseline), cell(one.difference())]);
        cells.extend([cell(ran.then_some(one.steady)), cell(ran.then_some(one.within_budget()))]);
        cells.extend(Server::ALL.map(|server| cell(one.offered_load.of(server))));
        cells.push(one.refused.clone().unwrap_or_default());
        cells
    });
    table(to, &head, rows)
}
