//! What a tenth of every parameter does to a measure.

use crate::report::figures::table::{Table, cells};
use crate::study::sensitivity::{Row, Sensitivity, Turn};

use super::{of_difference, of_mean, plain, with_unit};

const COLUMNS: [&str; 15] = [
    "parameter",
    "label",
    "unit",
    "value",
    "less",
    "change_at_less",
    "less_half_width",
    "less_verdict",
    "more",
    "change_at_more",
    "more_half_width",
    "more_verdict",
    "slope",
    "matters",
    "measure",
];

/// A row a parameter, those that matter most first.
pub fn table(found: &Sensitivity) -> Table {
    use crate::report::figures::table::Cell;
    let mut table = Table::new("Sensitivity", &COLUMNS);
    for row in &found.rows {
        let change = |turn: &Option<Turn>| turn.as_ref().and_then(|turn| turn.change.mean);
        let half = |turn: &Option<Turn>| turn.as_ref().and_then(|turn| turn.change.half_width);
        let verdict = |turn: &Option<Turn>| turn.as_ref().map(|turn| turn.change.verdict.words());
        table.row(cells![
            row.path,
            row.label.as_str(),
            row.unit,
            row.value,
            row.less.as_ref().map(|turn| turn.value),
            change(&row.less),
            half(&row.less),
            verdict(&row.less),
            row.more.as_ref().map(|turn| turn.value),
            change(&row.more),
            half(&row.more),
            verdict(&row.more),
            row.slope,
            Cell::yes(row.matters),
            found.measure.name
        ]);
    }
    table
}

/// What is worth most, in words.
pub fn told(found: &Sensitivity) -> String {
    let matter = found.rows.iter().filter(|row| row.matters).count();
    let measure = with_unit(found.measure.label, found.measure.unit);
    let basis = format!("{measure} {} as it is", of_mean(found.value));
    match found.rows.first().filter(|row| row.matters) {
        Some(first) => format!("{basis}; most: {}; {matter} of {} parameters matter", first.label, found.rows.len()),
        None => format!("{basis}; no parameter matters beyond luck"),
    }
}

/// What one parameter does, in words.
pub fn in_words(row: &Row, unit: &str) -> String {
    let turn = |name: &str, turn: &Option<Turn>| {
        turn.as_ref().map_or_else(String::new, |turn| {
            let (value, change) = (value(turn.value), of_difference(&turn.change));
            format!("; {name} {value}: {change} {unit} ({})", turn.change.verdict.words())
        })
    };
    format!(
        "{} {}{}{}",
        with_unit(&row.label, row.unit),
        value(row.value),
        turn("less", &row.less),
        turn("more", &row.more)
    )
}

/// A parameter's value: whole numbers without decimals.
pub fn value(value: f64) -> String {
    if value.fract() == 0.0 { crate::report::format::number(value, 0) } else { plain(value) }
}

/// Greatest change with its interval among the rows that matter: the end of the axis.
pub fn reach(found: &Sensitivity) -> f64 {
    let turns = found.rows.iter().filter(|row| row.matters).flat_map(|row| row.less.iter().chain(&row.more));
    let ends = turns.filter_map(|turn| Some(turn.change.mean?.abs() + turn.change.half_width.unwrap_or(0.0)));
    ends.fold(1e-6, f64::max)
}
