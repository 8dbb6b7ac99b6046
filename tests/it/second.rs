//! A second engine, written from the model's rules alone and sharing nothing with the first but the types of scenario, table
//! and records. It is slow and literal on purpose: one heap of events, plain lists, each rule where its sentence says. What
//! the two make of one table must be the same to the nanosecond.
//!
//! In quotation marks stand the rules as they were first set down. The model's page (`assets/docs/model.md`) tells the same
//! ones at more length: "Cutting" under "Chance", and all of "Causality: the run"; each file says which of its paragraphs.

mod codec;
mod cut;
mod display;
mod host;
mod link;
mod room;
mod world;

pub(crate) use cut::{latch_ns, photon_ns, vsync_ns};
use framelap::engine::{FrameRecord, Grid, Pilot, RefreshRecord, ResendRecord, Run, SliceRecord};
use framelap::scenario::{Lead, Pacing, Scenario};
use framelap::work::WorkTable;
use world::World;

/// Nanoseconds in a millisecond.
const MS: f64 = 1e6;

/// All that happened.
pub(crate) struct Story {
    pub(crate) frames: Vec<FrameRecord>,
    /// Frame by frame, as many as slices a frame.
    pub(crate) slices: Vec<SliceRecord>,
    pub(crate) resends: Vec<ResendRecord>,
    pub(crate) refreshes: Vec<RefreshRecord>,
    pub(crate) pilot: Pilot,
    pub(crate) end_ns: i64,
}

impl Story {
    /// The same as the first engine would leave it, for the tables and measures made of that.
    pub(crate) fn into_run(self, scenario: &Scenario) -> Run {
        let Self { frames, slices, resends, refreshes, pilot, end_ns } = self;
        let (slice_count, grid) = (scenario.slices.count as usize, Grid::new(scenario));
        Run { frames, slice_count, slices: slices.into_iter().collect(), resends, refreshes, grid, pilot, end_ns }
    }
}

/// Plays a scenario on a table: "Plans" says which lead the run is made with.
pub(crate) fn play(scenario: &Scenario, table: &WorkTable) -> Story {
    let (starting_lead_ns, pilot) = match scenario.pacing {
        Pacing::Intervals { .. } => (0, Pilot::None),
        Pacing::Adaptive { start_ms, .. } => (cut::ms(start_ms), Pilot::None),
        Pacing::Fixed { lead: Lead::Ms(ms), .. } => (cut::ms(ms), Pilot::None),
        Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } => {
            // "a pilot run at lead 60 ms [...]. If it is infinite no lead meets the share: the lead is 60 ms"
            let pilot_lead_ns = cut::ms(60.0);
            let pilot = World::new(scenario, table, pilot_lead_ns).play();
            match tuned_lead_ns(scenario, &pilot, pilot_lead_ns, late_share) {
                Some(lead_ns) => (lead_ns, Pilot::Found(lead_ns)),
                None => (pilot_lead_ns, Pilot::Infinite),
            }
        }
    };
    let mut story = World::new(scenario, table, starting_lead_ns).play();
    story.pilot = pilot;
    story
}

/// "`y_k = R_k - (D_j(k) - 60 ms)` for the counted frames (never ready: infinite); the lead is the type-7 (1 - q) quantile
/// of y (h = (m - 1)(1 - q) in f64; infinite if an order statistic of weight above 0 is), rounded up to ns, at least 1 ns"
fn tuned_lead_ns(scenario: &Scenario, pilot: &Story, pilot_lead_ns: i64, late_share: f64) -> Option<i64> {
    let counted = &pilot.frames[scenario.run.warmup as usize..];
    let mut y: Vec<Option<i64>> = Vec::new();
    for frame in counted {
        let latch_ns = cut::latch_ns(scenario, i64::from(frame.target.unwrap()));
        y.push(frame.ready.ns().map(|ready_ns| ready_ns - (latch_ns - pilot_lead_ns)));
    }
    y.sort_by_key(|y| y.unwrap_or(i64::MAX));
    let h = (y.len() as f64 - 1.0) * (1.0 - late_share);
    let (below, weight) = (h.floor() as usize, h - h.floor());
    let low = y[below]?;
    let quantile = if weight > 0.0 {
        let high = y[below + 1]?;
        low as f64 + weight * (high - low) as f64
    } else {
        low as f64
    };
    Some((quantile.ceil() as i64).max(1))
}
