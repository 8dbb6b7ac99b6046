//! The budget's lines as text.

use crate::measure::{BudgetLine, Sense};
use crate::report::format::{NOTHING, with_unit};

/// Whether a line holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Met {
    /// It does.
    Yes,
    /// It does not.
    No,
    /// Nothing to measure.
    Unknown,
}

impl Met {
    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "met",
            Self::No => "not met",
            Self::Unknown => "not measured",
        }
    }
}

/// One line of the budget, ready to be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its name in tables.
    pub name: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// Whether it holds.
    pub met: Met,
    /// The value with its unit.
    pub value: String,
    /// The limit with its unit: `at most 38.0 ms`.
    pub limit: String,
    /// How far the value is from the limit: `2.6 ms to spare`, `1.4 ms over`.
    pub room: String,
    /// The baseline's value.
    pub baseline: String,
    /// Whether it is a share of the time rather than a line of its own.
    pub piece: bool,
}

/// The lines of the candidate's budget, with the values of the baseline's.
pub fn lines(candidate: &[BudgetLine], baseline: &[BudgetLine]) -> Vec<Line> {
    let same = |name: &str| baseline.iter().find(|line| line.name == name);
    candidate.iter().map(|line| shown(line, same(line.name))).collect()
}

fn shown(line: &BudgetLine, baseline: Option<&BudgetLine>) -> Line {
    let met = match (line.value, line.met) {
        (None, false) if line.detail.is_none() => Met::Unknown,
        (_, true) => Met::Yes,
        (_, false) => Met::No,
    };
    let bound = match line.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    Line {
        name: line.name,
        label: line.label,
        met,
        value: value(line),
        limit: format!("{bound} {}", with_unit(Some(line.limit), decimals(line), line.unit)),
        room: room(line),
        baseline: baseline.map_or_else(|| NOTHING.to_owned(), value),
        piece: line.name.starts_with("exposed"),
    }
}

/// Levels and numbers without a unit need not be read to the tenth of a unit.
fn decimals(line: &BudgetLine) -> usize {
    match (line.name, line.unit) {
        ("level", _) => 1,
        ("load", _) => 0,
        (_, "") => 2,
        _ => 1,
    }
}

fn value(line: &BudgetLine) -> String {
    match (&line.detail, line.name) {
        (Some(level), "level") => level.clone(),
        _ => with_unit(line.value, decimals(line), line.unit),
    }
}

fn room(line: &BudgetLine) -> String {
    let Some(room) = line.room() else { return NOTHING.to_owned() };
    let side = match (line.met, line.sense) {
        (true, _) => "to spare",
        (false, Sense::AtMost) => "over",
        (false, Sense::AtLeast) => "short",
    };
    format!("{} {side}", with_unit(Some(room.abs()), decimals(line), line.unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(value: Option<f64>, met: bool) -> BudgetLine {
        let (name, label) = ("pose_to_photon", "Pose to photon");
        BudgetLine { name, label, value, limit: 38.0, unit: "ms", sense: Sense::AtMost, met, detail: None }
    }

    #[test]
    fn lines_say_by_how_much() {
        let [good, bad, none] = [line(Some(35.4), true), line(Some(39.63), false), line(None, false)];
        let shown = lines(&[good.clone(), bad, none], &[good]);
        let told: Vec<_> = shown.iter().map(|line| (line.met, line.room.as_str(), line.value.as_str())).collect();
        assert_eq!(
            told,
            [(Met::Yes, "2.6 ms to spare", "35.4 ms"), (Met::No, "1.6 ms over", "39.6 ms"), (Met::Unknown, "–", "–"),]
        );
        assert_eq!((shown[0].limit.as_str(), shown[1].baseline.as_str()), ("at most 38.0 ms", "35.4 ms"));
    }
}
