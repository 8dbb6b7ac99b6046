//! What a study of whole designs keeps of one run.

use super::Workspace;
use super::runner::Watch;
use crate::measure::Measure;
use crate::scenario::Scenario;
use crate::stop::Stopped;

/// One run.
pub(super) struct One {
    /// The measures asked for, in their order.
    pub(super) values: Vec<Option<f64>>,
    /// Whether latency does not grow.
    pub(super) steady: bool,
    /// Whether no lead could be tuned.
    pub(super) untuned: bool,
    /// Whether every line of the budget is met.
    pub(super) within_budget: bool,
}

impl One {
    /// Runs a scenario.
    pub(super) fn of(
        scenario: &Scenario,
        measures: impl IntoIterator<Item = &'static Measure>,
        space: &mut Workspace,
        watch: &Watch<'_>,
    ) -> Result<Self, Stopped> {
        let summary = space.summary_unless(scenario, watch.stop())?;
        Ok(Self {
            values: measures.into_iter().map(|measure| measure.get(&summary)).collect(),
            steady: summary.steady,
            untuned: summary.lead_infinite,
            within_budget: summary.budget_met(),
        })
    }
}
