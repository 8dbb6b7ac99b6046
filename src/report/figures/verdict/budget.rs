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
    /// Whether a line holds. A level that is not there is one too high for the standard; anything else that is not there was
    /// not measured.
    pub fn of(line: &BudgetLine) -> Self {
        if line.met {
            Self::Yes
        } else if line.value.is_none() && line.name != "level" {
            Self::Unknown
        } else {
            Self::No
        }
    }

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
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name in tables.
    pub name: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// The same in a word or two.
    pub short: &'static str,
    /// Whether it holds.
    pub met: Met,
    /// The value with its unit.
    pub value: String,
    /// The limit with its unit: `at most 38.0 ms`.
    pub limit: String,
    /// How far the value is from the limit: `2.6 ms to spare`, `1.4 ms over`.
    pub room: String,
    /// How far beyond its limit the value is, in the unit of the line; 0 where the line holds or cannot be judged.
    pub beyond: f64,
    /// The baseline's value.
    pub baseline: String,
    /// Whether it is a team's allowance rather than a line of its own.
    pub piece: bool,
    /// Whether it is met only because the number misleads; a warning says why.
    pub doubted: bool,
}

impl Line {
    /// Whether it holds, in words: a line of the budget is met or not, a team within its allowance or over it.
    pub const fn word(&self) -> &'static str {
        match (self.piece, self.met) {
            (true, Met::Yes) => "within",
            (true, Met::No) => "over",
            _ => self.met.word(),
        }
    }
}

/// The lines of the candidate's budget, with the values of the baseline's.
pub fn lines(candidate: &[BudgetLine], baseline: &[BudgetLine]) -> Vec<Line> {
    let same = |name: &str| baseline.iter().find(|line| line.name == name);
    candidate.iter().map(|line| shown(line, same(line.name))).collect()
}

fn shown(line: &BudgetLine, baseline: Option<&BudgetLine>) -> Line {
    let bound = match line.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    Line {
        name: line.name,
        label: line.label,
        short: short(line),
        met: Met::of(line),
        value: value(line),
        limit: format!("{bound} {}", with_unit(Some(line.limit), decimals(line), line.unit)),
        room: room(line),
        beyond: line.room().filter(|_| Met::of(line) == Met::No).map_or(0.0, f64::abs),
        baseline: baseline.map_or_else(|| NOTHING.to_owned(), value),
        piece: line.name.starts_with("exposed"),
        doubted: false,
    }
}

fn short(line: &BudgetLine) -> &'static str {
    match line.name {
        "missed" => "Missed",
        "load" => "Load",
        "level" => "Level",
        "bits_per_px" => "Bits per pixel",
        _ => line.label,
    }
}

/// Decimals that a line's value and limit are worth.
fn decimals(line: &BudgetLine) -> usize {
    match line.name {
        "load" => 0,
        "bits_per_px" => 2,
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
    // Levels are names; their distance means nothing.
    if line.name == "level" {
        return format!("{} allowed", with_unit(Some(line.limit), decimals(line), line.unit));
    }
    let Some(room) = line.room() else { return Met::Unknown.word().to_owned() };
    let side = match (line.met, line.sense) {
        (true, _) => "to spare",
        (false, Sense::AtMost) => "over",
        (false, Sense::AtLeast) => "short",
    };
    // Bits per pixel have a long unit, which stands beside it already.
    let unit = if line.name == "bits_per_px" { "" } else { line.unit };
    format!("{} {side}", with_unit(Some(room.abs()), decimals(line), unit))
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
            [
                (Met::Yes, "2.6 ms to spare", "35.4 ms"),
                (Met::No, "1.6 ms over", "39.6 ms"),
                (Met::Unknown, "not measured", "–"),
            ]
        );
        assert_eq!(shown.iter().map(|line| (10.0 * line.beyond).round() as i64).collect::<Vec<_>>(), [0, 16, 0]);
        assert_eq!((shown[0].limit.as_str(), shown[1].baseline.as_str()), ("at most 38.0 ms", "35.4 ms"));
    }
}
