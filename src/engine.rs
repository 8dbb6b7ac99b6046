//! Causality: next event, servers, buffers, link, display and pacing turn a work table into a [`Run`], what happened to
//! every frame, slice and refresh. Knows no random numbers and no statistics.

mod calendar;
mod codec;
mod fifo;
mod grid;
mod host;
mod link;
mod pilot;
mod plans;
mod queue;
mod run;
mod setup;
mod slices;
#[cfg(test)]
mod tests;
mod world;

pub use crate::time::{ms_to_ns, ns_to_ms, us_to_ns};
pub use grid::Grid;
pub use run::{Fate, FrameRecord, Pilot, RefreshKind, RefreshRecord, ResendRecord, Run, SliceRecord, Stamp};
pub use slices::{Slice, Slices, SlicesOf};

use crate::scenario::{Lead, Pacing, Scenario};
use crate::stop::{Stop, Stopped, in_chunks};
use crate::work::WorkTable;
use setup::{PILOT_LEAD_NS, Setup};
use world::{Backstage, World};

/// The engine. It keeps the arrays of its last run and uses them again.
#[derive(Debug, Default)]
pub struct Engine {
    run: Run,
    backstage: Vec<Backstage>,
    slice_by_slice: bool,
}

impl Engine {
    /// An engine with nothing run.
    pub fn new() -> Self {
        Self::default()
    }

    /// An engine that takes every slice for itself, also where frames could go through each stage at one stride. The
    /// runs are the same; this one takes longer and is here for checks.
    pub fn slice_by_slice() -> Self {
        Self { slice_by_slice: true, ..Self::default() }
    }

    /// Plays a checked scenario on a work table: a pure function of the two. A tuned lead is found by a pilot run first.
    ///
    /// # Panics
    /// When the table is for another slice count or has fewer frames than the run.
    pub fn simulate(&mut self, scenario: &Scenario, table: &WorkTable) -> &Run {
        // Nobody asks to stop.
        let _ = self.simulate_unless(scenario, table, Stop::NEVER);
        &self.run
    }

    /// The same, unless stopped before it is done; then the run holds nothing of use.
    ///
    /// # Panics
    /// When the table is for another slice count or has fewer frames than the run.
    pub fn simulate_unless(&mut self, scenario: &Scenario, table: &WorkTable, stop: Stop<'_>) -> Result<&Run, Stopped> {
        let setup = Setup::new(scenario, table, !self.slice_by_slice);
        assert!(table.frames.len() >= setup.frames, "the work table has too few frames");
        for shares in [&table.row_shares, &table.bit_shares] {
            assert_eq!(shares.slices(), setup.slices, "the work table is for another slice count");
        }
        let mut lead_ns = None;
        let mut found = Pilot::None;
        if let Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } = scenario.pacing {
            self.play(scenario, &setup, table, None, stop)?;
            let tuned_ns = pilot::tuned_lead_ns(&self.run, setup.warmup, late_share);
            found = tuned_ns.map_or(Pilot::Infinite, Pilot::Found);
            lead_ns = Some(tuned_ns.unwrap_or(PILOT_LEAD_NS));
        }
        self.play(scenario, &setup, table, lead_ns, stop)?;
        self.run.pilot = found;
        Ok(&self.run)
    }

    /// The last run.
    pub fn run(&self) -> &Run {
        &self.run
    }

    /// The last run, its arrays given away.
    pub fn take_run(&mut self) -> Run {
        std::mem::take(&mut self.run)
    }

    /// Takes the arrays of a run that is no longer needed.
    pub fn reuse(&mut self, run: Run) {
        self.run = run;
    }

    fn play(
        &mut self,
        scenario: &Scenario,
        setup: &Setup,
        table: &WorkTable,
        lead_ns: Option<i64>,
        stop: Stop<'_>,
    ) -> Result<(), Stopped> {
        self.run.reset(Grid::new(scenario), setup.frames, setup.slices, stop)?;
        self.backstage.clear();
        self.backstage.reserve(setup.frames);
        in_chunks(setup.frames, stop, |chunk| self.backstage.resize(chunk.end, Backstage::default()))?;
        World::new(setup, table, lead_ns, &mut self.run, &mut self.backstage).play(stop)
    }
}
