//! "Latch", "Refreshes": what is on display, and since when.

use std::collections::BTreeSet;

use framelap::engine::{Fate, RefreshKind, RefreshRecord};
use framelap::scenario::Choose;

use super::cut;
use super::world::{Kind, World};

#[derive(Default)]
pub(super) struct Display {
    /// Frames ready and neither shown nor superseded.
    pub(super) ready: BTreeSet<usize>,
    /// On display.
    shown: Option<usize>,
}

impl World<'_> {
    /// "Latches before 0 do not happen."
    pub(super) fn first_latch(&mut self) {
        let first = (0..i64::MAX).find(|&refresh| cut::latch_ns(self.scenario, refresh) >= 0).unwrap();
        self.later(cut::latch_ns(self.scenario, first), Kind::Latch, first as usize, 0);
    }

    pub(super) fn latch(&mut self, refresh: usize) {
        self.later(cut::latch_ns(self.scenario, refresh as i64 + 1), Kind::Latch, refresh + 1, 0);
        // "A refresh whose latch lies before 0 is a row of kind none and composes nothing"
        while self.refreshes.len() < refresh {
            self.refreshes.push(RefreshRecord { frame: None, kind: RefreshKind::None, composed: false });
        }
        let composed = self.compositor_is_in_time(refresh);
        let taken = if composed { self.choice(refresh) } else { None };
        if let Some(taken) = taken {
            let older: Vec<usize> = self.display.ready.range(..taken).copied().collect();
            for frame in older {
                self.display.ready.remove(&frame);
                self.end_frame(frame, Fate::Superseded);
            }
            self.display.ready.remove(&taken);
            self.end_frame(taken, Fate::Shown);
            self.frames[taken].shown = Some(refresh as u32);
            self.display.shown = Some(taken);
        }
        // "Each is the first that holds of: new, compositor miss, miss (j is a frame's target and what is on display is
        // older than it, or nothing is), repeat (none while nothing is on display)."
        let due = (0..self.frames.len()).find(|&frame| self.target(frame) == Some(refresh as u32));
        let kind = if taken.is_some() {
            RefreshKind::New
        } else if !composed {
            RefreshKind::ComposeMiss
        } else if due.is_some_and(|due| self.display.shown.is_none_or(|shown| shown < due)) {
            RefreshKind::Miss
        } else if self.display.shown.is_some() {
            RefreshKind::Repeat
        } else {
            RefreshKind::None
        };
        self.refreshes.push(RefreshRecord { frame: self.display.shown.map(|frame| frame as u32), kind, composed });
    }

    /// "if `compose_j > min(latch_lead, T)` the compositor misses and nothing new is taken"; "beyond the end the last row
    /// repeats"
    fn compositor_is_in_time(&self, refresh: usize) -> bool {
        let compose = &self.table.compose_ns;
        let compose_ns = compose.get(refresh).or(compose.last()).copied().unwrap_or(0);
        let latch_lead_ns = cut::ms(self.scenario.display.latch_lead_ms) as f64;
        compose_ns as f64 <= latch_lead_ns.min(cut::refresh_period_ns(self.scenario))
    }

    /// "among ready frames newer than the one shown, Newest takes the newest; `OnTarget` the newest whose target is <= j"
    fn choice(&self, refresh: usize) -> Option<usize> {
        let newest_first = self.display.ready.iter().rev().copied();
        match self.scenario.display.choose {
            Choose::Newest => newest_first.into_iter().next(),
            Choose::OnTarget => newest_first
                .into_iter()
                .find(|&frame| self.target(frame).is_some_and(|target| target as usize <= refresh)),
        }
    }
}
