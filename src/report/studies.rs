//! The answers of studies as text for people at a terminal and as CSV tables; their JSON is their own fields.

pub mod compare;
pub mod map;
pub mod search;
pub mod sensitivity;
pub mod split;
pub mod sweep;
pub mod what_if;

use std::io;

use super::columns::{DASH, Number, PAGE};
use super::format::{self, count, noun, uncounted};
use super::rows::Rows;
use super::words::wrapped;
use crate::scenario::parameters::Value;
use crate::study::luck::{Difference, Mean, Verdict};

/// What intervals over seeds are of.
const OVER_SEEDS: &str = "Intervals over seeds describe runs of that length, not an endless run.";

/// Where every value is of one run.
const ONE_RUN: &str = "Values are of one run of that length and one seed each, not of an endless run.";

/// Seeds in their number: `1 seed`, `8 seeds`.
fn seeds(count: u32) -> String {
    format!("{count} {}", noun(u64::from(count), "seed"))
}

/// How long every run was: `6000 frames each of which the first 500 do not count`.
fn each(frames: u32, warmup: u32) -> String {
    format!("{frames} {} each {}", noun(u64::from(frames), "frame"), uncounted(warmup))
}

/// A number with as many decimals as its size asks for.
fn plain(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 10_000.0 => 0,
        size if size >= 1000.0 => 1,
        _ => 3,
    };
    Number(value, decimals).to_string()
}

fn maybe(value: Option<f64>) -> String {
    value.map_or_else(|| DASH.to_owned(), plain)
}

/// A number with its sign.
fn signed(value: f64) -> String {
    format::signed(value, plain(value))
}

/// `12.345 +- 0.012`, as much of it as there is.
fn with_interval(mean: Option<f64>, half_width: Option<f64>, number: fn(f64) -> String) -> String {
    match (mean, half_width) {
        (Some(mean), Some(half)) => format!("{} +- {}", number(mean), plain(half)),
        (Some(mean), None) => number(mean),
        _ => DASH.to_owned(),
    }
}

fn of_mean(mean: &Mean) -> String {
    with_interval(mean.mean, mean.half_width, plain)
}

fn of_difference(difference: &Difference) -> String {
    with_interval(difference.mean, difference.half_width, signed)
}

/// What it would take to tell a difference that is unclear: `1509 seeds, or 2 416 692 frames a run`.
fn would_tell(difference: &Difference) -> Option<String> {
    if difference.verdict != Verdict::Unclear {
        return None;
    }
    let needed = difference.seeds_to_tell.zip(difference.frames_to_tell);
    Some(needed.map_or_else(
        || "no number of frames worth running".to_owned(),
        |(seeds, frames)| format!("{} seeds, or {} frames a run", count(seeds), count(frames)),
    ))
}

/// Running text in lines that a terminal holds, each line of it on its own.
fn paragraphs(text: &str) -> String {
    text.lines().map(|line| wrapped(line, PAGE, "  ").join("\n") + "\n").collect()
}

/// A cell of a CSV table: the shortest text that reads back the same, empty for nothing.
fn cell(value: Option<impl ToString>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// A letter for each scenario: A, B, and after Z numbers.
fn letter(number: usize) -> String {
    u8::try_from(number)
        .ok()
        .filter(|number| *number < 26)
        .map_or_else(|| (number + 1).to_string(), |number| char::from(b'A' + number).to_string())
}

/// A value as it may be typed, without its unit.
fn value_text(value: &Value) -> String {
    match value {
        Value::Number(number) => number.to_string(),
        Value::Whole(number) => number.to_string(),
        Value::None => "none".to_owned(),
        Value::Choice(name) => (*name).to_owned(),
        Value::Switch(on) => if *on { "on" } else { "off" }.to_owned(),
        Value::Text(text) => text.clone(),
        Value::List(list) => list.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
    }
}

/// A value to be looked at: four digits of a number.
fn shown(value: &Value) -> String {
    let Value::Number(number) = value else { return value_text(value) };
    if number.fract() == 0.0 {
        return number.to_string();
    }
    let decimals = (3.0 - number.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{number:.decimals$}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn named(name: &str) -> &str {
    if name.is_empty() { "Scenario without a name" } else { name }
}

/// What a column or a line holds, with its unit.
fn with_unit(label: &str, unit: &str) -> String {
    if unit.is_empty() { label.to_owned() } else { format!("{label} [{unit}]") }
}

/// Writes a table: the head, then rows.
fn table(to: impl io::Write, head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> io::Result<()> {
    let mut table = Rows::new(to, head)?;
    for row in rows {
        table.row(&row)?;
    }
    table.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_to_be_looked_at_have_four_digits() {
        let shown = |number| shown(&Value::Number(number));
        assert_eq!(
            [0.022_737_4, 0.000_212_345, 1234.56, 8.0, 0.5].map(shown),
            ["0.02274", "0.0002123", "1235", "8", "0.5"]
        );
        assert_eq!(super::shown(&Value::Whole(64)), "64");
    }

    #[test]
    fn numbers_have_signs_and_scenarios_letters() {
        assert_eq!([1.5, -1.5, 0.0, 0.0001].map(signed), ["+1.500", "-1.500", "0.000", "0.000"]);
        assert_eq!([0, 1, 25, 26].map(letter), ["A", "B", "Z", "27"]);
    }
}
