//! Latch and display.

use super::super::calendar;
use super::super::calendar::kind;
use super::super::fifo::Fifo;
use super::super::grid::Grid;
use super::super::run::{Fate, RefreshKind, RefreshRecord, Run};
use super::World;

/// The display: frames ready to be taken, the one shown, the next latch.
#[derive(Debug)]
pub(super) struct Screen {
    grid: Grid,
    /// Frames newer than the one shown that are ready or, at one stride, will be; ascending.
    ready: Fifo<u32>,
    shown: Option<u32>,
    next_refresh: i64,
    /// Key of the next latch.
    pub next_latch: i64,
}

impl Screen {
    /// The display before its first latch; refreshes whose latch lies before 0 are recorded as showing nothing.
    pub(super) fn new(grid: Grid, run: &mut Run) -> Self {
        let mut next_refresh = 0;
        while grid.latch_ns(next_refresh) < 0 {
            run.refreshes.push(RefreshRecord { frame: None, kind: RefreshKind::None, composed: false });
            next_refresh += 1;
        }
        let next_latch = calendar::key(grid.latch_ns(next_refresh), kind::LATCH);
        Self { grid, ready: Fifo::new(), shown: None, next_refresh, next_latch }
    }

    /// The refresh of the next latch.
    pub(super) fn next_refresh(&self) -> i64 {
        self.next_refresh
    }

    /// A frame has become ready.
    pub(super) fn ready(&mut self, frame: u32) {
        self.ready.push(frame);
    }

    fn advance(&mut self) {
        self.next_refresh += 1;
        self.next_latch = calendar::key(self.grid.latch_ns(self.next_refresh), kind::LATCH);
    }
}

impl World<'_> {
    /// The compositor takes a ready frame, unless it is too slow.
    pub(super) fn latch(&mut self) {
        let refresh = self.screen.next_refresh;
        let compose_ns = self.table.compose_ns.get(refresh as usize).or(self.table.compose_ns.last());
        let composed = compose_ns.is_none_or(|&ns| ns as f64 <= self.setup.compose_limit_ns);
        let taken = if composed { self.take_ready(refresh) } else { None };
        if let Some(frame) = taken {
            self.end_frame(frame, Fate::Shown);
            self.frame(frame).shown = Some(refresh as u32);
            self.screen.shown = Some(frame);
        }
        let kind = self.kind_of_refresh(refresh, taken.is_some(), composed);
        self.run.refreshes.push(RefreshRecord { frame: self.screen.shown, kind, composed });
        self.screen.advance();
    }

    /// Takes the newest frame that may be shown; older ones are superseded.
    fn take_ready(&mut self, refresh: i64) -> Option<u32> {
        let mut taken = None;
        while let Some(&frame) = self.screen.ready.front() {
            let record = &self.run.frames[frame as usize];
            let due = record.target.is_none_or(|target| i64::from(target) <= refresh);
            // At one stride frames are here before they are ready.
            if (self.setup.on_target && !due) || record.ready > self.stamp() {
                break;
            }
            self.screen.ready.pop();
            if let Some(older) = taken.replace(frame) {
                self.end_frame(older, Fate::Superseded);
            }
        }
        taken
    }

    fn kind_of_refresh(&self, refresh: i64, new: bool, composed: bool) -> RefreshKind {
        if new {
            return RefreshKind::New;
        }
        if !composed {
            return RefreshKind::ComposeMiss;
        }
        let shown = self.screen.shown;
        let due = self.plans.frame_for(refresh);
        match (due, shown) {
            (Some(due), shown) if shown.is_none_or(|shown| shown < due) => RefreshKind::Miss,
            (_, Some(_)) => RefreshKind::Repeat,
            (_, None) => RefreshKind::None,
        }
    }
}
