//! Scenarios that the window is opened with.

use std::path::{Path, PathBuf};

use super::pair::{self, Document, Origin};
use crate::report::figures::Side;
use crate::scenario::presets::Preset;
use crate::scenario::presets::own::Own;
use crate::scenario::{Scenario, ScenarioError};

/// A scenario, and the place it came from: one of a file is saved there again.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    scenario: Scenario,
    origin: Origin,
}

impl Given {
    /// The scenario read from a file.
    pub fn file(path: &Path, scenario: Scenario) -> Self {
        Self { scenario, origin: Origin::File(absolute(path)) }
    }

    /// A shipped preset.
    pub fn preset(preset: &Preset) -> Self {
        Self { scenario: preset.scenario(), origin: Origin::Preset(preset.slug.to_owned()) }
    }

    /// What the program starts with on a side: whole frames, or slices.
    pub fn start(side: Side) -> Self {
        Self { scenario: pair::start(side), origin: Origin::Start }
    }

    /// The scenario.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// The scenario, to be changed.
    pub fn scenario_mut(&mut self) -> &mut Scenario {
        &mut self.scenario
    }

    /// A preset of the user's own.
    ///
    /// # Errors
    /// Why it cannot be used.
    pub fn own(preset: &Own) -> Result<Self, ScenarioError> {
        Ok(Self { scenario: preset.scenario.clone()?, origin: Origin::Own(absolute(&preset.path)) })
    }

    /// The scenario alone.
    pub fn into_scenario(self) -> Scenario {
        self.scenario
    }

    /// The same as the window keeps it.
    pub(super) fn into_document(self) -> Document {
        Document { scenario: self.scenario, origin: self.origin }
    }
}

impl From<Scenario> for Given {
    /// A scenario that nothing else keeps a copy of.
    fn from(scenario: Scenario) -> Self {
        Self { scenario, origin: Origin::Elsewhere }
    }
}

/// The same path whatever folder the program will be started in; as it is where the system cannot tell.
pub(super) fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf())
}
