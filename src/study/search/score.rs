//! How good a trial is: constraints first, then the goal.

use std::cmp::Ordering;

use crate::measure::measures::{self, ForPeople};
use crate::measure::{Better, BudgetLine, Measure, Sense, Summary};
use crate::study::StudyError;

/// A limit beside the budget's own: a measure on one side of a number.
#[derive(Debug, Clone, Copy)]
pub struct Limit {
    /// The measure.
    pub measure: &'static Measure,
    /// On which side of the number it must stay.
    pub sense: Sense,
    /// The number.
    pub limit: f64,
}

impl Limit {
    /// Reads `measure<=number` or `measure>=number`.
    pub fn parse(text: &str) -> Result<Self, StudyError> {
        let wrong = || StudyError::question("--limit", &format!("`{text}`"), "measure<=number or measure>=number");
        let (name, sense, number) = text
            .split_once("<=")
            .map(|(name, number)| (name, Sense::AtMost, number))
            .or_else(|| text.split_once(">=").map(|(name, number)| (name, Sense::AtLeast, number)))
            .ok_or_else(wrong)?;
        let limit: f64 = number.trim().parse().ok().filter(|number: &f64| number.is_finite()).ok_or_else(wrong)?;
        let measure = measures::named(name.trim()).map_err(|alike| {
            let allowed = format!("a path in the JSON of simulate, such as {}", alike.join(", "));
            StudyError::question("--limit", &format!("no measure `{}`", name.trim()), allowed)
        })?;
        Ok(Self { measure, sense, limit })
    }

    /// In words: `Photon age, p99 <= 40 ms`.
    pub fn words(&self) -> String {
        let sign = if self.sense == Sense::AtMost { "<=" } else { ">=" };
        let shown = self.measure.for_people();
        format!("{} {sign} {} {}", self.measure.label, shown.value(self.limit), shown.unit).trim_end().to_owned()
    }
}

/// A constraint and how it is held.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Held {
    /// Name of the line of the budget, or of the measure.
    pub name: String,
    /// The same for people.
    pub label: String,
    /// What was measured.
    pub value: Option<f64>,
    /// Its limit.
    pub limit: f64,
    /// Its unit.
    pub unit: &'static str,
    /// On which side of the limit it must stay.
    pub sense: Sense,
    /// Whether it does.
    pub met: bool,
}

impl Held {
    fn of_line(line: &BudgetLine) -> Self {
        let BudgetLine { name, label, value, limit, sense, met, .. } = line;
        Self {
            name: (*name).to_owned(),
            label: (*label).to_owned(),
            value: *value,
            limit: *limit,
            unit: line.unit,
            sense: *sense,
            met: *met,
        }
    }

    fn of_limit(limit: &Limit, summary: &Summary) -> Self {
        let value = limit.measure.get(summary);
        let met = value.is_some_and(|value| match limit.sense {
            Sense::AtMost => value <= limit.limit,
            Sense::AtLeast => value >= limit.limit,
        });
        Self {
            name: limit.measure.name.clone(),
            label: limit.measure.label.clone(),
            value,
            limit: limit.limit,
            unit: limit.measure.unit,
            sense: limit.sense,
            met,
        }
    }

    /// How its value and its limit are shown to people.
    pub fn for_people(&self) -> ForPeople {
        // Lines of the budget have their unit.
        let is_share = self.unit.is_empty() && measures::find(&self.name).is_some_and(|measure| measure.is_share);
        ForPeople::of(self.unit, is_share)
    }

    /// By how much it is missed, as a share of its limit, or of a thousandth where the limit is nearer to 0; 1 where there is
    /// nothing to measure.
    fn missed(&self) -> f64 {
        if self.met {
            return 0.0;
        }
        self.value.map_or(1.0, |value| (value - self.limit).abs() / self.limit.abs().max(1e-3))
    }
}

/// All constraints of a trial.
pub(super) fn held(summary: &Summary, budget: bool, limits: &[Limit]) -> Vec<Held> {
    let lines = summary.budget.iter().filter(|_| budget).map(Held::of_line);
    lines.chain(limits.iter().map(|limit| Held::of_limit(limit, summary))).collect()
}

/// What trials are ordered by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Score {
    /// Sum over the constraints of how far each is missed; 0: all are met.
    pub violation: f64,
    /// Goals, less being better; infinite where there is nothing to measure. One, or two.
    pub goals: [f64; 2],
}

impl Score {
    /// Worse than any that was run.
    pub(super) const REFUSED: Self = Self { violation: f64::INFINITY, goals: [f64::INFINITY; 2] };

    pub(super) fn of(summary: &Summary, held: &[Held], goals: [Option<&Measure>; 2]) -> Self {
        // A pipeline that falls behind has no latency: its load says how far it is from one that does not.
        let load = measures::find("load").and_then(|load| load.get(summary)).unwrap_or(1.0);
        let behind = if summary.steady { 0.0 } else { 1.0 + (load - 1.0).max(0.0) };
        let goal = |measure: &Measure| {
            let value = measure.get(summary)?;
            Some(if measure.better == Better::More { -value } else { value })
        };
        Self {
            violation: held.iter().map(Held::missed).sum::<f64>() + behind,
            goals: goals.map(|measure| measure.map_or(0.0, |measure| goal(measure).unwrap_or(f64::INFINITY))),
        }
    }

    pub(super) fn met(&self) -> bool {
        self.violation == 0.0 && self.goals[0].is_finite()
    }

    /// By the rules of Deb (Comput. Methods Appl. Mech. Eng. 186, 2000): what meets all constraints before what does not,
    /// among those the better goal, among the others the lesser violation.
    pub(super) fn compare(&self, other: &Self) -> Ordering {
        self.violation.total_cmp(&other.violation).then(self.goals[0].total_cmp(&other.goals[0]))
    }

    /// Whether it is at least as good in both goals and better in one; constraints first, as above. What fronts are held
    /// against.
    #[cfg(test)]
    pub(super) fn dominates(&self, other: &Self) -> bool {
        match self.violation.total_cmp(&other.violation) {
            Ordering::Less => true,
            Ordering::Greater => false,
            Ordering::Equal => {
                let pairs = || self.goals.iter().zip(&other.goals);
                pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_read() {
        let limit = Limit::parse("photon_age_ms.p99 <= 40").unwrap();
        assert_eq!((limit.sense, limit.words().as_str()), (Sense::AtMost, "Photon age, p99 <= 40 ms"));
        let shown = Limit::parse("delivered_share>=0.07").unwrap();
        assert_eq!((shown.sense, shown.words().as_str()), (Sense::AtLeast, "Share of frames shown >= 7 %"));
        for wrong in ["photon_age_ms.p99", "photon_age_ms.p99<=much", "age<=40"] {
            assert!(Limit::parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn constraints_come_first_then_the_goal() {
        let score = |violation, a, b| Score { violation, goals: [a, b] };
        assert_eq!(score(0.0, 9.0, 0.0).compare(&score(0.1, 1.0, 0.0)), Ordering::Less);
        assert_eq!(score(0.2, 1.0, 0.0).compare(&score(0.1, 9.0, 0.0)), Ordering::Greater);
        assert_eq!(score(0.0, 1.0, 0.0).compare(&score(0.0, 2.0, 0.0)), Ordering::Less);
        assert!(score(0.0, 1.0, 2.0).dominates(&score(0.0, 1.0, 3.0)));
        assert!(!score(0.0, 1.0, 3.0).dominates(&score(0.0, 2.0, 2.0)));
        assert!(score(0.0, 9.0, 9.0).dominates(&score(0.5, 1.0, 1.0)));
        assert!(!Score::REFUSED.met() && score(0.0, 1.0, 0.0).met());
    }
}
