//! Measurements frame by frame: the columns of a file as a mapping reads them, in ms, bits and Mpx.

mod gather;

use super::mapping::{Mapping, Role};
use super::passage::{Passage, enough};
use super::read::{BadRows, Sheet};
use super::watch::Watch;
use crate::stop::Stopped;
use gather::Gathering;

/// Measured values of one role.
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    /// Their role.
    pub role: Role,
    /// A value a frame, in ms, bits or Mpx; not a number where nothing was measured.
    pub values: Vec<f64>,
}

/// Measurements of one group, frame by frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measured {
    /// Frames.
    pub frames: usize,
    /// Slices of each frame; 1 where the file does not tell.
    pub slices: Vec<u32>,
    /// Whether each frame is intra; none where the file does not tell.
    pub intra: Option<Vec<bool>>,
    /// Times, sizes and pixels.
    pub values: Vec<Values>,
    /// Where a run of frames that follow each other begins.
    pub starts: Vec<usize>,
    /// How much longer the first slice of each frame took than the others on average, by role \[ms\]; only with a row a
    /// slice and at least two slices.
    pub first_more: Vec<Values>,
    /// What the instants of encoder and decoder tell, where the file has them.
    pub passages: Vec<Passage>,
    /// Rows that have the same frame number as the one before, although no column tells slices.
    pub repeated: usize,
    /// Rows that hold what cannot be.
    pub bad: BadRows,
}

impl Measured {
    /// Reads a sheet as the mapping says.
    pub fn of(sheet: &Sheet, mapping: &Mapping) -> Self {
        // Nobody asks to stop.
        Self::of_unless(sheet, mapping, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub fn of_unless(sheet: &Sheet, mapping: &Mapping, watch: &Watch<'_>) -> Result<Self, Stopped> {
        Gathering::new(sheet, mapping).gather(watch)
    }

    /// Whether a run begins at a frame.
    pub(super) fn begins(&self, frame: usize) -> bool {
        self.starts.binary_search(&frame).is_ok()
    }

    /// Whether a run begins after one frame and not after another, later one.
    pub(super) fn begins_between(&self, before: usize, frame: usize) -> bool {
        self.starts.partition_point(|&start| start <= before) < self.starts.partition_point(|&start| start <= frame)
    }

    /// Puts the service that instants tell in the place of what was measured of the stage; where too few frames came back to
    /// back, the time through the stage of those that found it idle, if nothing else was measured.
    fn put(&mut self, passage: &Passage) {
        let measured = self.values.iter().position(|values| values.role == passage.role);
        let told = if passage.tells_service() {
            &passage.service_ms
        } else if measured.is_none() && !passage.by_slice && enough(&passage.idle_ms) {
            &passage.idle_ms
        } else {
            return;
        };
        let told = Values { role: passage.role, values: told.clone() };
        match measured {
            Some(at) => self.values[at] = told,
            None => self.values.push(told),
        }
        self.first_more.retain(|more| more.role != passage.role);
    }

    /// The values of a role.
    pub fn of_role(&self, role: Role) -> Option<&[f64]> {
        self.values.iter().find(|values| values.role == role).map(|values| values.values.as_slice())
    }

    /// What the instants of a stage tell.
    pub fn passage(&self, role: Role) -> Option<&Passage> {
        self.passages.iter().find(|passage| passage.role == role)
    }

    /// The part of the frames that `keep` wants, by number; runs stay runs.
    #[must_use]
    pub fn part(&self, keep: impl Fn(usize) -> bool) -> Self {
        let kept: Vec<usize> = (0..self.frames).filter(|&frame| keep(frame)).collect();
        let pick = |values: &[Values]| {
            let picked =
                |one: &Values| Values { role: one.role, values: kept.iter().map(|&k| one.values[k]).collect() };
            values.iter().map(picked).collect()
        };
        let starts =
            kept.iter().enumerate().filter(|&(at, &frame)| at == 0 || self.begins(frame) || kept[at - 1] + 1 != frame);
        Self {
            frames: kept.len(),
            slices: kept.iter().map(|&k| self.slices[k]).collect(),
            intra: self.intra.as_ref().map(|intra| kept.iter().map(|&k| intra[k]).collect()),
            values: pick(&self.values),
            starts: starts.map(|(at, _)| at).collect(),
            passages: self.passages.iter().map(|passage| passage.part(&kept)).collect(),
            first_more: if self.first_more.is_empty() { Vec::new() } else { pick(&self.first_more) },
            repeated: 0,
            bad: BadRows::default(),
        }
    }

    /// Whether there are intra frames and others.
    pub fn has_both_kinds(&self) -> bool {
        self.intra.as_ref().is_some_and(|intra| intra.iter().any(|&intra| intra) && intra.iter().any(|&intra| !intra))
    }

    /// The first and the second half of every run: to fit on one and judge on the other.
    pub fn halves(&self) -> [Self; 2] {
        let mut late = vec![false; self.frames];
        for (at, &start) in self.starts.iter().enumerate() {
            let end = self.starts.get(at + 1).copied().unwrap_or(self.frames);
            late[start + (end - start) / 2..end].fill(true);
        }
        [self.part(|frame| !late[frame]), self.part(|frame| late[frame])]
    }
}

#[cfg(test)]
mod tests;
