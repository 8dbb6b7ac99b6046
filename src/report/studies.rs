//! The answers of studies as text for people at a terminal and as CSV tables; their JSON is their own fields.

pub mod compare;
pub mod sweep;

use std::io;

use super::columns::{DASH, Number};
use crate::scenario::parameters::Value;
use crate::study::luck::{Difference, Mean, Verdict};

/// A number with as many decimals as its size asks for.
fn plain(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 10_000.0 => 0,
        size if size >= 1000.0 => 1,
        _ => 3,
    };
    Number(value, decimals).to_string()
}

/// A number with its sign.
fn signed(value: f64) -> String {
    let text = plain(value);
    if value > 0.0 && text.bytes().any(|byte| matches!(byte, b'1'..=b'9')) { format!("+{text}") } else { text }
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

/// The verdict in words; where nothing can be told, what it would take.
fn verdict(difference: &Difference) -> String {
    let words = difference.verdict.words();
    match (difference.verdict, difference.seeds_to_tell, difference.frames_to_tell) {
        (Verdict::Unclear, Some(seeds), Some(frames)) => format!("{words} ({seeds} seeds or {frames} frames would)"),
        (Verdict::Unclear, ..) => format!("{words} (no number of frames worth running would)"),
        _ => words.to_owned(),
    }
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

fn named(name: &str) -> &str {
    if name.is_empty() { "Scenario without a name" } else { name }
}

/// Writes a table: the head, then rows.
fn table(to: impl io::Write, head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(to);
    writer.write_record(head)?;
    for row in rows {
        writer.write_record(&row)?;
    }
    writer.flush()
}
