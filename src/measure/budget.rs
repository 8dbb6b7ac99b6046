//! The budget, line by line.

use serde::Serialize;

/// One line of the budget: a measure against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudgetLine {
    /// `pose_to_photon`, `missed`, `load`, `level`, `bits_per_px`, and `exposed_...` for each team.
    pub name: &'static str,
    /// The same for people.
    pub label: &'static str,
    /// What was measured; none: nothing to measure, or not steady.
    pub value: Option<f64>,
    /// Its limit.
    pub limit: f64,
    /// Unit of both; empty for plain numbers.
    pub unit: &'static str,
    /// On which side of the limit it must stay.
    pub sense: Sense,
    /// Whether it does; never without a value.
    pub met: bool,
    /// What the value stands for: the server of the load, the level with its tier, the quantile.
    pub detail: Option<String>,
}

impl BudgetLine {
    /// How far the value is on the good side of its limit, negative: on the bad one.
    pub fn room(&self) -> Option<f64> {
        self.value.map(|value| match self.sense {
            Sense::AtMost => self.limit - value,
            Sense::AtLeast => value - self.limit,
        })
    }
}

/// On which side of its limit a value must stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// The limit is the greatest value allowed.
    AtMost,
    /// The limit is the least value allowed.
    AtLeast,
}
