//! All fits to one file of measurements.

use serde::Serialize;

use super::mapping::Role;
use super::measured::Measured;
use super::size::SizeFit;
use super::stage::StageFit;

/// Stages that are fitted, in the order of the pipeline.
pub const STAGES: [Role; 7] =
    [Role::Uplink, Role::Simulate, Role::Render, Role::Encode, Role::Link, Role::Decode, Role::Compose];

/// All fits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// Frames measured.
    pub frames: usize,
    /// Stages that were measured in enough frames, in the order of the pipeline.
    pub stages: Vec<StageFit>,
    /// Coded sizes, where they were measured.
    pub sizes: Option<SizeFit>,
    /// The slice count of the measurements; where there are several, the one that most frames have and that is above 1.
    pub slices: Option<u32>,
    /// What was measured, but in too few frames to be fitted.
    pub too_few: Vec<Role>,
}

impl Fit {
    /// Fits everything that was measured.
    pub fn of(measured: &Measured) -> Self {
        let stages: Vec<StageFit> = STAGES.into_iter().filter_map(|role| StageFit::of(measured, role)).collect();
        let sizes = SizeFit::of(measured);
        let fitted =
            |role: Role| stages.iter().any(|stage| stage.role == role) || role == Role::Size && sizes.is_some();
        let too_few = STAGES
            .into_iter()
            .chain([Role::Size])
            .filter(|&role| measured.of_role(role).is_some() && !fitted(role))
            .collect();
        Self { frames: measured.frames, slices: slices_of(measured), too_few, sizes, stages }
    }

    /// The fit of a stage.
    pub fn stage(&self, role: Role) -> Option<&StageFit> {
        self.stages.iter().find(|stage| stage.role == role)
    }
}

fn slices_of(measured: &Measured) -> Option<u32> {
    let count = |n: u32| measured.slices.iter().filter(|slices| **slices == n).count();
    let most = (2..=64).max_by_key(|&n| (count(n), std::cmp::Reverse(n)));
    most.filter(|&n| count(n) > 0).or_else(|| measured.slices.first().copied())
}
