//! A sensitivity as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, named, paragraphs, plain, table, with_unit};
use crate::measure::measures::ForPeople;
use crate::report::columns::{DASH, Number, Table};
use crate::report::format;
use crate::scenario::parameters::Value;
use crate::study::sensitivity::{Row, Sensitivity, Turn};

/// The ranking aligned for a monospaced face, and below it what does not matter.
pub fn text(found: &Sensitivity) -> String {
    let digits = Digits::of(found);
    let mut text = format!("{}\n", named(&found.name));
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "{}: {}; {}, {}",
        with_unit(found.measure.label, digits.shown.unit),
        digits.with_interval(found.value.mean, found.value.half_width, Digits::number),
        super::seeds(found.seeds),
        super::each(found.frames, found.warmup)
    );
    let _ = writeln!(
        text,
        "Change of it when a parameter is turned a tenth, or a whole step, down and up, to the values beside it;\n\
         +- half the 95 % interval. {}\n`framelap parameters PATH` tells a parameter's name and meaning.\n",
        super::OVER_SEEDS
    );
    let [down, up] = ["Down: change", "Up: change"].map(|title| with_unit(title, digits.shown.unit));
    let mut columns = Table::new(["Parameter", "value", "unit", "down", &down, "up", &up, "per unit"]);
    for row in found.rows.iter().filter(|row| row.matters) {
        let [less, more] = [&row.less, &row.more].map(|turned| turn(turned.as_ref(), digits));
        columns.row([
            row.path.to_owned(),
            parameter(row.value),
            row.unit.to_owned(),
            less[0].clone(),
            less[1].clone(),
            more[0].clone(),
            more[1].clone(),
            row.slope.map_or_else(|| DASH.to_owned(), |slope| digits.number(slope)),
        ]);
    }
    let _ = writeln!(text, "{columns}");
    text + &paragraphs(&rest(found))
}

/// What does not matter.
fn rest(found: &Sensitivity) -> String {
    let mut text = String::new();
    let names = |which: &dyn Fn(&Row) -> bool| {
        let names: Vec<&str> = found.rows.iter().filter(|row| !row.matters && which(row)).map(|row| row.path).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    };
    let _ = writeln!(text, "Unclear, within luck: {}", names(&|row| row.effect > 0.0));
    let _ = writeln!(text, "No change seen at this step: {}", names(&|row| row.effect == 0.0));
    if !found.zero.is_empty() {
        let _ = writeln!(text, "0, so that a tenth of it is nothing: {}", found.zero.join(", "));
    }
    text
}

/// How the measure is shown, and its decimals: shares that are small need more than other numbers.
#[derive(Debug, Clone, Copy)]
struct Digits {
    shown: ForPeople,
    small_share: bool,
}

impl Digits {
    fn of(found: &Sensitivity) -> Self {
        let small = found.value.mean.is_some_and(|mean| mean.abs() < 0.1);
        Self { shown: found.measure.for_people(), small_share: small && found.measure.is_share }
    }

    fn number(self, value: f64) -> String {
        let value = value * self.shown.factor;
        if self.small_share { Number(value, 4).to_string() } else { plain(value) }
    }

    fn signed(self, value: f64) -> String {
        format::signed(value, self.number(value))
    }

    fn with_interval(self, mean: Option<f64>, half_width: Option<f64>, number: fn(Self, f64) -> String) -> String {
        match (mean, half_width) {
            (Some(mean), Some(half)) => format!("{} +- {}", number(self, mean), self.number(half)),
            (Some(mean), None) => number(self, mean),
            _ => DASH.to_owned(),
        }
    }
}

/// A parameter's value, to four digits.
fn parameter(value: f64) -> String {
    super::shown(&Value::Number(value))
}

fn turn(turn: Option<&Turn>, digits: Digits) -> [String; 2] {
    match turn {
        Some(turn) => {
            let Turn { value, change, .. } = turn;
            [parameter(*value), digits.with_interval(change.mean, change.half_width, Digits::signed)]
        }
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
