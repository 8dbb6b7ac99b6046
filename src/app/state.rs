//! What the window remembers: all that is worth keeping from one start to the next.

use eframe::egui::ThemePreference;
use serde::{Deserialize, Serialize};

use super::pair::Pair;
use crate::report::figures::Side;

/// The state of the window that lasts; everything else is made anew at every start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct State {
    /// Baseline and candidate.
    pub(super) pair: Pair,
    /// Which sides the parameter column changes.
    pub(super) edited: Edited,
    /// Light or dark.
    pub(super) theme: ThemeChoice,
    /// Scale of the interface.
    pub(super) zoom: f32,
    /// Whether the parameter column is shown.
    pub(super) parameters: bool,
    /// Which figure is shown where there is not room for all.
    pub(super) figure: Figure,
}

impl Default for State {
    fn default() -> Self {
        Self {
            pair: Pair::default(),
            edited: Edited::Candidate,
            theme: ThemeChoice::System,
            zoom: 1.0,
            parameters: true,
            figure: Figure::Lanes,
        }
    }
}

/// Which sides a change of a parameter goes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Edited {
    /// The baseline alone.
    Baseline,
    /// The candidate alone.
    Candidate,
    /// Both.
    Both,
}

impl Edited {
    /// All, in the order of the column's switch.
    pub(super) const ALL: [Self; 3] = [Self::Candidate, Self::Baseline, Self::Both];

    /// Its name.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Baseline => "Baseline",
            Self::Candidate => "Candidate",
            Self::Both => "Both",
        }
    }

    /// The sides.
    pub(super) const fn sides(self) -> &'static [Side] {
        match self {
            Self::Baseline => &[Side::Baseline],
            Self::Candidate => &[Side::Candidate],
            Self::Both => &[Side::Baseline, Side::Candidate],
        }
    }

    /// The side whose values the column shows.
    pub(super) const fn shown(self) -> Side {
        match self {
            Self::Baseline => Side::Baseline,
            Self::Candidate | Self::Both => Side::Candidate,
        }
    }
}

/// Light, dark, or as the system says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ThemeChoice {
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
    /// As the system says.
    System,
}

impl ThemeChoice {
    /// All, in the order of the menu.
    pub const ALL: [Self; 3] = [Self::Light, Self::Dark, Self::System];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::System => "As the system",
        }
    }

    /// The same in egui's words.
    pub(super) const fn preference(self) -> ThemePreference {
        match self {
            Self::Light => ThemePreference::Light,
            Self::Dark => ThemePreference::Dark,
            Self::System => ThemePreference::System,
        }
    }
}

/// A figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Figure {
    /// One frame's way.
    Lanes,
    /// Both histograms.
    Distribution,
    /// What became of frames and refreshes.
    Outcomes,
    /// Latency against the slice count.
    SliceCurve,
}

impl Figure {
    /// All, in the order of the page.
    pub(super) const ALL: [Self; 4] = [Self::Lanes, Self::Distribution, Self::Outcomes, Self::SliceCurve];

    /// Those of the row at the bottom, from left to right.
    pub(super) const ROW: [Self; 3] = [Self::Distribution, Self::Outcomes, Self::SliceCurve];

    /// Its title.
    pub(super) const fn title(self) -> &'static str {
        match self {
            Self::Lanes => "Lanes",
            Self::Distribution => "Distribution",
            Self::Outcomes => "Outcomes",
            Self::SliceCurve => "Slice count",
        }
    }
}
