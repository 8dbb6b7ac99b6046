//! Drawing a work table from a scenario and its seed.

use super::frames::draw_frames;
use super::law::{Law, stall_ms};
use super::link::{draw_closures, draw_losses};
use super::luck::{Column, Luck};
use super::shares::{draw_bit_shares, row_shares};
use super::table::{FrameWork, WorkTable};
use crate::scenario::{Pacing, Scenario};
use crate::stop::{Stop, Stopped, in_chunks};
use crate::time::ms_to_ns;

/// A run goes on for at most a second after its last plan.
const TAIL_NS: i64 = 1_000_000_000;

/// Longest lead that a scenario can ask for \[ns\].
const LEAD_MAX_NS: i64 = 200_000_000;

/// Draws the work table of a scenario that is in its ranges (see [`Scenario::check`]).
pub fn draw(scenario: &Scenario) -> WorkTable {
    let mut table = WorkTable::default();
    table.draw_into(scenario);
    table
}

impl WorkTable {
    /// Draws the work table of a scenario into this one, whose arrays are used again.
    pub fn draw_into(&mut self, scenario: &Scenario) {
        // Nobody asks to stop.
        let _ = self.draw_unless(scenario, Stop::NEVER);
    }

    /// The same, unless stopped before it is done; then the table holds nothing of use.
    pub fn draw_unless(&mut self, scenario: &Scenario, stop: Stop<'_>) -> Result<(), Stopped> {
        self.draw_frames(scenario, stop)?;
        self.draw_refreshes(scenario, stop)?;
        self.draw_closures(scenario);
        self.draw_losses(scenario, stop)
    }

    /// Draws what frames.csv holds: frames and shares.
    pub(super) fn draw_frames(&mut self, scenario: &Scenario, stop: Stop<'_>) -> Result<(), Stopped> {
        draw_frames(scenario, &mut self.frames, stop)?;
        let whole = |values: &mut Vec<f64>| {
            values.extend(row_shares(scenario));
            Ok(())
        };
        self.row_shares.refill(scenario.slices.count as usize, whole)?;
        let rows = self.row_shares.of(0);
        self.bit_shares.refill(rows.len(), |values| draw_bit_shares(scenario, rows, values, stop))
    }

    /// Draws the compositor's time of every refresh that the run can reach.
    pub(super) fn draw_refreshes(&mut self, scenario: &Scenario, stop: Stop<'_>) -> Result<(), Stopped> {
        let compose = &scenario.display.compose;
        let reach_ns = horizon_ns(scenario, &self.frames) + ms_to_ns(scenario.display.latch_lead_ms);
        let refreshes = (reach_ns as f64 / scenario.refresh_period_ns()) as usize + 2;
        let law = Law::new(&compose.spread);
        let [luck, stall_luck] =
            [Column::Compose, Column::ComposeStall].map(|column| Luck::new(scenario.run.seed, column));
        let compose_ns = |refresh| {
            let factor = law.draw_at(luck, refresh);
            let stalled = compose.stall.chance > 0.0;
            let stall = if stalled { stall_ms(compose.stall, &mut stall_luck.at(refresh)) } else { 0.0 };
            ms_to_ns(compose.fixed_ms * factor + stall)
        };
        self.compose_ns.clear();
        self.compose_ns.reserve(refreshes);
        in_chunks(refreshes, stop, |chunk| self.compose_ns.extend(chunk.map(compose_ns)))
    }

    /// Draws the times in which the link is closed, as far as the run can reach.
    pub(super) fn draw_closures(&mut self, scenario: &Scenario) {
        draw_closures(scenario, horizon_ns(scenario, &self.frames), &mut self.closures);
    }

    /// Draws the packets lost of the frames and shares in this table.
    pub(super) fn draw_losses(&mut self, scenario: &Scenario, stop: Stop<'_>) -> Result<(), Stopped> {
        let Self { frames, bit_shares, losses, .. } = self;
        losses.refill(|rows| draw_losses(scenario, frames, bit_shares, rows, stop))
    }
}

/// A time that the run does not outlast: the last plan at its latest, and the tail. Plans are late by the first lead at
/// most, by the alignment to refreshes and by the clock.
fn horizon_ns(scenario: &Scenario, frames: &[FrameWork]) -> i64 {
    let planned = &frames[..frames.len().min(scenario.run.frames as usize)];
    let last_plan_ns = match scenario.pacing {
        Pacing::Intervals { .. } => planned.iter().map(|frame| frame.interval_ns).sum(),
        Pacing::Fixed { .. } | Pacing::Adaptive { .. } => {
            let latest_clock_ns = planned.iter().map(|frame| frame.clock_error_ns).max().unwrap_or(0).max(0);
            let periods = planned.len() as f64 * scenario.frame_period_ns() + 2.0 * scenario.refresh_period_ns();
            periods as i64 + ms_to_ns(scenario.display.latch_lead_ms) + LEAD_MAX_NS + latest_clock_ns
        }
    };
    last_plan_ns + TAIL_NS
}
