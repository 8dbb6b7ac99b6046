//! Figures of a calibration: measured against simulated, as distributions, quantiles, and what is left over time.

pub mod course;
pub mod overlay;
pub mod quantiles;

use crate::calibrate::{Calibrated, Role};
use crate::report::calibration;
use crate::report::format;
use crate::report::words::capital;
use course::Strip;
use overlay::Overlay;
use quantiles::Quantiles;

/// The two sides of every figure: what the baseline is elsewhere is measured here, what the candidate is, simulated.
pub const NAMES: [&str; 2] = ["Measured", "Simulated"];

/// All figures of a calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Spreads, a figure a role that was measured and is simulated.
    pub overlays: Vec<Overlay>,
    /// Quantiles of all of them.
    pub quantiles: Quantiles,
    /// What the fit leaves over time, a figure a role.
    pub strips: Vec<Strip>,
    /// Where both disagree most, in a sentence.
    pub largest: String,
    /// What is compared, in words.
    pub basis: String,
}

impl Figures {
    /// Those of a calibration.
    pub fn of(whole: &Calibrated) -> Self {
        let compared = &whole.judgement.comparisons;
        let on = if whole.held_out { "the second half of every run, fitted on the first" } else { "all of them" };
        let frames = format::count(whole.judgement.frames as u64);
        let noun = format::noun(whole.judgement.frames as u64, "frame");
        let slices = whole.answer.scenario.slices.count;
        let cut = if slices == 1 { "whole frames".to_owned() } else { format!("{slices} slices") };
        let simulated = format::count(u64::from(whole.answer.scenario.run.frames - whole.answer.scenario.run.warmup));
        Self {
            overlays: compared.iter().map(overlay::of).collect(),
            quantiles: Quantiles::of(&whole.differences),
            strips: whole.courses.iter().map(Strip::of).collect(),
            largest: calibration::largest(&whole.judgement, &whole.adopted.cut),
            basis: format!("{frames} measured {noun} of {cut}, {on}; {simulated} simulated"),
        }
    }

    /// The overlay of a role.
    pub fn overlay(&self, role: Role) -> Option<&Overlay> {
        self.overlays.iter().find(|overlay| overlay.measure == role)
    }

    /// The strip of a role.
    pub fn strip(&self, role: Role) -> Option<&Strip> {
        self.strips.iter().find(|strip| strip.role == role)
    }

    /// Roles that there is a figure of.
    pub fn roles(&self) -> Vec<Role> {
        let mut roles: Vec<Role> = self.overlays.iter().map(|overlay| overlay.measure).collect();
        roles.extend(self.strips.iter().map(|strip| strip.role).filter(|role| self.overlay(*role).is_none()));
        roles
    }
}

/// What a role is called in a heading.
pub fn title(role: Role) -> String {
    capital(&role.name().replace('-', " "))
}
