//! The two scenarios of a head-to-head, and where each came from.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::report::figures::Side;
use crate::scenario::{Scenario, presets};

/// The name of a side within a sentence.
pub(super) const fn name(side: Side) -> &'static str {
    match side {
        Side::Baseline => "baseline",
        Side::Candidate => "candidate",
    }
}

/// Where a scenario came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Origin {
    /// The program's start.
    Start,
    /// A shipped preset, by its name.
    Preset(String),
    /// A file.
    File(PathBuf),
    /// A preset of the user's own, by its file: what is changed is not saved there unasked.
    Own(PathBuf),
    /// The command line or another place that keeps no copy.
    Elsewhere,
}

/// A scenario and where it came from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Document {
    /// The scenario.
    pub(super) scenario: Scenario,
    /// Its origin.
    pub(super) origin: Origin,
}

impl Document {
    /// The file that it is saved to, if it has one.
    pub(super) fn file(&self) -> Option<&Path> {
        match &self.origin {
            Origin::File(path) => Some(path),
            Origin::Start | Origin::Preset(_) | Origin::Own(_) | Origin::Elsewhere => None,
        }
    }

    /// The file that it was read from, if it was: its own, or that of a preset.
    pub(super) fn source(&self) -> Option<&Path> {
        match &self.origin {
            Origin::File(path) | Origin::Own(path) => Some(path),
            Origin::Start | Origin::Preset(_) | Origin::Elsewhere => None,
        }
    }

    /// Its name on screen: the scenario's, else the file's.
    pub(super) fn title(&self) -> String {
        if !self.scenario.name.trim().is_empty() {
            return self.scenario.name.trim().to_owned();
        }
        self.file().and_then(Path::file_stem).map_or_else(|| "unnamed".to_owned(), |stem| stem.to_string_lossy().into())
    }
}

/// Baseline and candidate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Pair {
    /// What the candidate is compared with.
    pub(super) baseline: Document,
    /// The design in hand.
    pub(super) candidate: Document,
}

impl Default for Pair {
    /// The first question of the trade: the same design, whole frames against slices.
    fn default() -> Self {
        let at_start = |side| Document { scenario: start(side), origin: Origin::Start };
        Self { baseline: at_start(Side::Baseline), candidate: at_start(Side::Candidate) }
    }
}

/// What the program starts with on a side.
pub(super) fn start(side: Side) -> Scenario {
    let mut scenario = Scenario::default();
    match side {
        Side::Baseline => {
            "Whole frames".clone_into(&mut scenario.name);
            scenario.slices.count = 1;
        }
        Side::Candidate => "Sliced frames".clone_into(&mut scenario.name),
    }
    scenario
}

impl Pair {
    /// The document of one side.
    pub(super) fn of(&self, side: Side) -> &Document {
        match side {
            Side::Baseline => &self.baseline,
            Side::Candidate => &self.candidate,
        }
    }

    /// The document of one side, to be changed.
    pub(super) fn of_mut(&mut self, side: Side) -> &mut Document {
        match side {
            Side::Baseline => &mut self.baseline,
            Side::Candidate => &mut self.candidate,
        }
    }

    /// Whether both sides hold the same scenarios as `other`, wherever they came from.
    pub(super) fn same_scenarios(&self, other: &Self) -> bool {
        Side::BOTH.iter().all(|&side| self.of(side).scenario == other.of(side).scenario)
    }
}

/// What is in the files that were opened or saved, by path: tells whether a document has unsaved changes, also after
/// undo and swap.
#[derive(Debug, Default)]
pub(super) struct Saved(BTreeMap<PathBuf, Scenario>);

impl Saved {
    /// Remembers that `path` holds `scenario`.
    pub(super) fn note(&mut self, path: PathBuf, scenario: Scenario) {
        self.0.insert(path, scenario);
    }

    /// Remembers that the file a document was read from holds it, if there is one.
    pub(super) fn note_source(&mut self, document: &Document) {
        if let Some(path) = document.source() {
            self.note(path.to_path_buf(), document.scenario.clone());
        }
    }

    /// Whether a document differs from where it came from.
    pub(super) fn differs(&self, document: &Document) -> bool {
        let Document { scenario, origin } = document;
        match origin {
            Origin::Start => Side::BOTH.iter().all(|&side| *scenario != start(side)),
            Origin::Preset(name) => presets::find(name).is_none_or(|preset| preset.scenario() != *scenario),
            Origin::File(path) | Origin::Own(path) => self.0.get(path) != Some(scenario),
            Origin::Elsewhere => false,
        }
    }
}
