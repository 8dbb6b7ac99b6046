//! All fits to one file of measurements.

use std::collections::BTreeMap;

use serde::Serialize;

use super::mapping::Role;
use super::measured::Measured;
use super::passage::Passage;
use super::size::SizeFit;
use super::stage::{FEWEST_FRAMES, StageFit};
use super::watch::Watch;
use crate::stop::Stopped;

/// Stages that are fitted, in the order of the pipeline.
pub const STAGES: [Role; 7] =
    [Role::Uplink, Role::Simulate, Role::Render, Role::Encode, Role::Link, Role::Decode, Role::Compose];

/// Most slices a frame.
const MOST_SLICES: usize = 64;

/// All fits.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Fit {
    /// Frames measured.
    pub frames: usize,
    /// Stages that were measured in enough frames, in the order of the pipeline.
    pub stages: Vec<StageFit>,
    /// Coded sizes, where they were measured.
    pub sizes: Option<SizeFit>,
    /// The slice count of the measurements; where there are several, the one that most frames have and that is above 1.
    pub slices: Option<u32>,
    /// Slice counts of the measured frames, ascending, with how many frames have each.
    pub slice_counts: Vec<(u32, usize)>,
    /// What was measured, but in too few frames to be fitted.
    pub too_few: Vec<Role>,
    /// What the file does not tell, in words: stages whose instants tell nothing, frame numbers that repeat.
    pub not_told: Vec<String>,
}

impl Fit {
    /// Fits everything that was measured.
    pub fn of(measured: &Measured) -> Self {
        // Nobody asks to stop.
        Self::of_unless(measured, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub fn of_unless(measured: &Measured, watch: &Watch<'_>) -> Result<Self, Stopped> {
        let mut stages = Vec::new();
        for role in STAGES {
            stages.extend(StageFit::of_unless(measured, role, watch)?);
        }
        let sizes = SizeFit::of_unless(measured, watch)?;
        let fitted =
            |role: Role| stages.iter().any(|stage| stage.role == role) || role == Role::Size && sizes.is_some();
        let too_few = STAGES
            .into_iter()
            .chain([Role::Size])
            .filter(|&role| measured.of_role(role).is_some() && !fitted(role))
            .collect();
        Ok(Self {
            frames: measured.frames,
            slices: slices_of(measured),
            slice_counts: slice_counts(measured),
            too_few,
            not_told: not_told(measured, &stages),
            sizes,
            stages,
        })
    }

    /// The fit of a stage.
    pub fn stage(&self, role: Role) -> Option<&StageFit> {
        self.stages.iter().find(|stage| stage.role == role)
    }
}

/// Stages whose instants tell nothing that can be fitted, and frame numbers that repeat.
fn not_told(measured: &Measured, stages: &[StageFit]) -> Vec<String> {
    let silent = measured.passages.iter().filter(|passage| stages.iter().all(|stage| stage.role != passage.role));
    let words = |passage: &Passage| {
        let thing = if passage.by_slice { "slice" } else { "frame" };
        let things = if passage.back_to_back == 1 { thing.to_owned() } else { format!("{thing}s") };
        format!(
            "{}: found {} {things} back to back and {} that found it idle, allowed: enough to know {FEWEST_FRAMES} frames by",
            passage.role.name(),
            passage.back_to_back,
            passage.idle
        )
    };
    let mut all: Vec<String> = silent.map(words).collect();
    if measured.repeated > 0 {
        let have = if measured.repeated == 1 { "row has" } else { "rows have" };
        all.push(format!(
            "{} {have} the frame number of the row before, and no column is the slice: each row is taken as a frame",
            measured.repeated
        ));
    }
    all
}

fn slice_counts(measured: &Measured) -> Vec<(u32, usize)> {
    let mut counts = BTreeMap::new();
    measured.slices.iter().for_each(|&n| *counts.entry(n).or_insert(0) += 1);
    counts.into_iter().collect()
}

fn slices_of(measured: &Measured) -> Option<u32> {
    let mut counts = [0_usize; MOST_SLICES + 1];
    measured.slices.iter().for_each(|&n| counts[(n as usize).min(MOST_SLICES)] += 1);
    let most = (2..=MOST_SLICES).max_by_key(|&n| (counts[n], std::cmp::Reverse(n)));
    most.filter(|&n| counts[n] > 0).map(|n| n as u32).or_else(|| measured.slices.first().copied())
}
