//! One whole answer: draw, run (with the pilot of a tuned lead), measure.

use crate::engine::{Engine, Run};
use crate::measure::{self, Samples, Summary};
use crate::scenario::Scenario;
use crate::stop::{Stop, Stopped};
use crate::work::WorkTable;

/// Everything known of one scenario.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The scenario.
    pub scenario: Scenario,
    /// Its work table.
    pub table: WorkTable,
    /// What happened.
    pub run: Run,
    /// What it amounts to.
    pub summary: Summary,
    /// The single values behind the summary.
    pub samples: Samples,
}

/// Arrays that answers are made in. Fresh ones cost more than the run, so hand them back.
#[derive(Debug, Default)]
pub struct Workspace {
    engine: Engine,
    table: WorkTable,
    samples: Samples,
}

impl Workspace {
    /// A workspace without arrays.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes back the arrays of an answer that is no longer needed.
    pub fn reuse(&mut self, answer: Answer) {
        self.table = answer.table;
        self.samples = answer.samples;
        self.engine.reuse(answer.run);
    }

    /// The summary of a checked scenario; table, run and samples stay here.
    pub fn summary(&mut self, scenario: &Scenario) -> Summary {
        // Nobody asks to stop.
        self.summary_unless(scenario, Stop::NEVER).unwrap_or_default()
    }

    /// The same, unless stopped before it is done: also within a long run.
    pub fn summary_unless(&mut self, scenario: &Scenario, stop: Stop<'_>) -> Result<Summary, Stopped> {
        self.table.draw_unless(scenario, stop)?;
        let run = self.engine.simulate_unless(scenario, &self.table, stop)?;
        measure::summarize_unless(scenario, &self.table, run, &mut self.samples, stop)
    }

    /// The table of the last summary.
    pub fn table(&self) -> &WorkTable {
        &self.table
    }

    /// The single values behind the last summary.
    pub fn samples(&self) -> &Samples {
        &self.samples
    }

    /// The run of the last summary.
    pub fn run(&self) -> &Run {
        self.engine.run()
    }
}

/// The whole answer to a checked scenario.
pub fn answer(scenario: &Scenario, workspace: &mut Workspace) -> Answer {
    let summary = workspace.summary(scenario);
    Answer {
        scenario: scenario.clone(),
        table: std::mem::take(&mut workspace.table),
        run: workspace.engine.take_run(),
        summary,
        samples: std::mem::take(&mut workspace.samples),
    }
}

/// The whole answer to a checked scenario on a given work table, which is for its slice count and length.
pub fn replay(scenario: &Scenario, table: WorkTable, workspace: &mut Workspace) -> Answer {
    workspace.engine.simulate(scenario, &table);
    let run = workspace.engine.take_run();
    let mut samples = std::mem::take(&mut workspace.samples);
    let summary = measure::summarize_into(scenario, &table, &run, &mut samples);
    Answer { scenario: scenario.clone(), table, run, summary, samples }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrays_handed_back_leave_no_trace() {
        let mut long = Scenario::default();
        long.run.frames = 600;
        let mut short = Scenario::default();
        short.run.frames = 300;
        short.slices.count = 3;
        let mut workspace = Workspace::new();
        let first = answer(&long, &mut workspace);
        workspace.reuse(first);
        let again = answer(&short, &mut workspace);
        let fresh = answer(&short, &mut Workspace::new());
        assert_eq!(again.table, fresh.table);
        assert_eq!(again.run.slices, fresh.run.slices);
        assert_eq!(again.run.frames, fresh.run.frames);
        assert_eq!(replay(&short, fresh.table, &mut workspace).run.frames, again.run.frames);
    }
}
