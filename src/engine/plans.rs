//! When the host plans its frames: targets and leads, or intervals.

use super::calendar::{self, NEVER, kind};
use super::grid::Grid;
use super::setup::{PacingSetup, Setup};
use crate::work::WorkTable;

/// The plans of a run.
#[derive(Debug)]
pub(super) struct Plans<'a> {
    table: &'a WorkTable,
    grid: Grid,
    pacing: PacingSetup,
    frames: usize,
    first_target: i64,
    lead_ns: i64,
    /// Whether the device has ever said that a frame was late.
    late_heard: bool,
    next_frame: usize,
    next_ns: i64,
    next_lead_ns: i64,
    /// Key of the next plan.
    pub next: i64,
}

/// A frame planned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plan {
    pub frame: u32,
    pub target: Option<u32>,
    pub lead_ns: i64,
}

impl<'a> Plans<'a> {
    /// The plans of a run; a fixed lead is `lead_ns` where it is given.
    pub(super) fn new(setup: &Setup, table: &'a WorkTable, grid: Grid, lead_ns: Option<i64>) -> Self {
        let start_lead_ns = match setup.pacing {
            PacingSetup::Targets { start_lead_ns, .. } => lead_ns.unwrap_or(start_lead_ns),
            PacingSetup::Intervals => 0,
        };
        let mut plans = Self {
            table,
            grid,
            pacing: setup.pacing,
            frames: setup.frames,
            first_target: first_latch_after(grid, start_lead_ns),
            lead_ns: start_lead_ns,
            late_heard: false,
            next_frame: 0,
            next_ns: 0,
            next_lead_ns: start_lead_ns,
            next: NEVER,
        };
        plans.fix_next();
        plans
    }

    /// Target refresh of a frame, where frames have one.
    pub(super) fn target(&self, frame: usize) -> Option<i64> {
        match self.pacing {
            PacingSetup::Targets { every, .. } => Some(self.first_target + frame as i64 * i64::from(every)),
            PacingSetup::Intervals => None,
        }
    }

    /// Target refresh of the last frame.
    pub(super) fn last_target(&self) -> Option<i64> {
        self.target(self.frames - 1)
    }

    /// The frame whose target is `refresh`.
    pub(super) fn frame_for(&self, refresh: i64) -> Option<u32> {
        let PacingSetup::Targets { every, .. } = self.pacing else { return None };
        let since = refresh - self.first_target;
        let frame = since / i64::from(every);
        (since >= 0 && since % i64::from(every) == 0 && frame < self.frames as i64).then_some(frame as u32)
    }

    /// Fixes when the next frame is planned, with the lead known now.
    fn fix_next(&mut self) {
        let frame = self.next_frame;
        if frame == self.frames {
            self.next = NEVER;
            return;
        }
        self.next_ns = match self.target(frame) {
            Some(target) => {
                let wanted = self.grid.latch_ns(target) - self.lead_ns + self.table.frames[frame].clock_error_ns;
                wanted.max(0).max(self.next_ns)
            }
            None if frame == 0 => 0,
            None => self.next_ns + self.table.frames[frame - 1].interval_ns,
        };
        self.next_lead_ns = self.lead_ns;
        self.next = calendar::key(self.next_ns, kind::PLAN);
    }

    /// The next plan falls due.
    pub(super) fn take(&mut self) -> Plan {
        let frame = self.next_frame;
        let plan = Plan {
            frame: frame as u32,
            target: self.target(frame).map(|target| target as u32),
            lead_ns: self.next_lead_ns,
        };
        self.next_frame += 1;
        self.fix_next();
        plan
    }

    /// Time of the last plan, once it has been handled \[ns\].
    pub(super) fn last_ns(&self) -> Option<i64> {
        (self.next_frame == self.frames).then_some(self.next_ns)
    }

    /// Whether the lead follows the device's word.
    pub(super) fn adapts(&self) -> bool {
        matches!(self.pacing, PacingSetup::Targets { adapt: Some(_), .. })
    }

    /// The device's word on a frame has come.
    pub(super) fn told(&mut self, late: bool) {
        let PacingSetup::Targets { adapt: Some(adapt), .. } = self.pacing else { return };
        if late {
            self.late_heard = true;
            self.lead_ns = (self.lead_ns + adapt.step_ns).min(adapt.max_ns);
        } else {
            let down_ns = if self.late_heard { adapt.down_ns } else { adapt.step_ns };
            self.lead_ns = (self.lead_ns - down_ns).max(adapt.min_ns);
        }
    }
}

/// The first refresh whose latch is later than `ns`.
fn first_latch_after(grid: Grid, ns: i64) -> i64 {
    let mut refresh = 0;
    while grid.latch_ns(refresh) <= ns {
        refresh += 1;
    }
    refresh
}
