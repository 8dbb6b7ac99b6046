//! What a tenth of every parameter does to a measure.

use crate::measure::measures::ForPeople;
use crate::report::figures::table::{Cell, Table, cells};
use crate::report::format::number;
use crate::scenario::parameters;
use crate::study::sensitivity::{Row, Sensitivity, Turn};

use super::{in_unit, of_difference, of_mean, plain, with_unit};

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
    let shown = found.measure.for_people();
    let measure = with_unit(found.measure.label, shown.unit);
    let basis = format!("{measure} {} as it is", of_mean(found.value.times(shown.factor)));
    match found.rows.first().filter(|row| row.matters) {
        Some(first) => format!("{basis}; most: {}; {matter} of {} matter", first.label, found.rows.len()),
        None => format!("{basis}; no parameter matters beyond luck"),
    }
}

/// What one parameter does, in words.
pub fn in_words(row: &Row, shown: ForPeople) -> String {
    let turn = |name: &str, turn: &Option<Turn>| {
        turn.as_ref().map_or_else(String::new, |turn| {
            let change = in_unit(of_difference(&turn.change.times(shown.factor)), shown.unit);
            let value = value(turn.value);
            format!("; {name} {value}: {change} ({})", turn.change.verdict.words())
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

/// A parameter's value: whole numbers without decimals, small ones to three digits, so that a tenth is seen.
pub fn value(value: f64) -> String {
    match value.abs() {
        _ if value.fract() == 0.0 => number(value, 0),
        size if size < 0.1 => number(value, (2.0 - size.log10().floor()).clamp(3.0, 9.0) as usize),
        _ => plain(value),
    }
}

/// From and to where a parameter was turned by whole steps, `(to 1, 3)`; empty where it was turned by a tenth.
pub fn steps(row: &Row) -> String {
    let numeric = parameters::find(row.path).and_then(|parameter| parameter.numeric());
    if !numeric.is_some_and(|numeric| numeric.whole || !numeric.only.is_empty()) {
        return String::new();
    }
    let ends: Vec<String> = row.less.iter().chain(&row.more).map(|turn| value(turn.value)).collect();
    format!("(to {})", ends.join(", "))
}

/// Greatest change with its interval among the rows that matter: the end of the axis.
pub fn reach(found: &Sensitivity) -> f64 {
    let turns = found.rows.iter().filter(|row| row.matters).flat_map(|row| row.less.iter().chain(&row.more));
    let ends = turns.filter_map(|turn| Some(turn.change.mean?.abs() + turn.change.half_width.unwrap_or(0.0)));
    ends.fold(1e-6, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::luck::{Difference, Verdict};

    fn turn(value: f64) -> Turn {
        let change = Difference {
            mean: Some(1.0),
            half_width: None,
            verdict: Verdict::Unclear,
            seeds_to_tell: None,
            frames_to_tell: None,
        };
        Turn { value, change, followed: Vec::new() }
    }

    #[test]
    fn a_tenth_of_a_small_value_is_seen_and_a_whole_step_said() {
        assert_eq!([0.005, 0.0045, 0.25, 8.0].map(value), ["0.00500", "0.00450", "0.250", "8"]);
        let row = |path, at: f64, ends: [f64; 2]| Row {
            path,
            label: String::new(),
            unit: "",
            value: at,
            less: Some(turn(ends[0])),
            more: Some(turn(ends[1])),
            matters: true,
            gain: 1.0,
            effect: 1.0,
            slope: None,
        };
        assert_eq!(steps(&row("slices.count", 8.0, [7.0, 9.0])), "(to 7, 9)");
        assert_eq!(steps(&row("link.rate_mbps", 10.0, [9.0, 11.0])), "");
    }
}
