//! What the window remembers: all that is worth keeping from one start to the next.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use eframe::egui::{Context, ThemePreference};
use serde::{Deserialize, Serialize};

use super::figures::{DistributionView, EyeView, LanesView, LeftOverView, RunStripView};
use super::gallery::Figure;
use super::open;
use super::pair::Pair;
use super::talk::{InHand, Source};
use super::theme;
use super::{calibrating, column};
use crate::report::figures::Side;

/// Files in the list of recent ones.
const MOST_RECENT: usize = 10;
/// Smallest and largest scale of the interface that is brought back.
const LEAST_ZOOM: f32 = 0.5;
/// See [`LEAST_ZOOM`].
const MOST_ZOOM: f32 = 3.0;
/// Largest size of a window that is brought back \[points\].
const MOST_SIZE: f32 = 16_000.0;

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
    /// Which figure stands where.
    pub(super) places: Places,
    /// The place that is shown where there is not room for all.
    pub(super) page: usize,
    /// Size of the window where it does not fill the screen, at scale 1 \[points\].
    pub(super) size: [f32; 2],
    /// Whether the window fills the screen.
    pub(super) maximized: bool,
    /// Files that were opened or saved, the newest first.
    pub(super) recent: Vec<PathBuf>,
    /// The talk in hand.
    pub(super) talk: Option<InHand>,
    /// Talks that were opened or saved, the newest first.
    pub(super) recent_talks: Vec<PathBuf>,
    /// What marks the contents of those files, and of the pair's, when they were opened or saved last.
    marks: BTreeMap<PathBuf, u64>,
    /// What is looked at.
    pub(super) looks: Looks,
    /// What lasts of the calibration.
    pub(super) bench: calibrating::Kept,
}

/// What of figures and column comes back: which frame, which part of it, what is searched for.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Looks {
    pub(super) lanes: LanesView,
    pub(super) distribution: DistributionView,
    pub(super) left_over: LeftOverView,
    pub(super) eye: EyeView,
    pub(super) run_strip: RunStripView,
    pub(super) column: column::Kept,
}

impl Default for State {
    fn default() -> Self {
        Self {
            pair: Pair::default(),
            edited: Edited::Candidate,
            theme: ThemeChoice::System,
            zoom: 1.0,
            parameters: true,
            places: Places::default(),
            page: Places::MIDDLE,
            size: open::SIZE,
            maximized: false,
            recent: Vec::new(),
            talk: None,
            recent_talks: Vec::new(),
            marks: BTreeMap::new(),
            looks: Looks::default(),
            bench: calibrating::Kept::default(),
        }
    }
}

impl State {
    /// The same with what a window cannot have brought back to what it can: files may be edited by hand.
    pub(super) fn within_reason(mut self) -> Self {
        let usual = Self::default();
        if !(self.zoom >= LEAST_ZOOM && self.zoom <= MOST_ZOOM) {
            self.zoom = usual.zoom;
        }
        let fits = |(size, least): (&f32, f32)| *size >= least && *size <= MOST_SIZE;
        if !self.size.iter().zip(open::LEAST_SIZE).all(fits) {
            self.size = usual.size;
        }
        if self.page >= Places::ALL.len() {
            self.page = usual.page;
        }
        self.recent.truncate(MOST_RECENT);
        self.recent_talks.truncate(MOST_RECENT);
        self.looks.lanes = self.looks.lanes.within_reason();
        self.looks.run_strip = self.looks.run_strip.within_reason();
        self
    }

    /// Notes how large the window is.
    pub(super) fn note_window(&mut self, ctx: &Context) {
        ctx.input(|input| {
            let window = input.viewport();
            let [maximized, fullscreen, minimized] =
                [window.maximized, window.fullscreen, window.minimized].map(Option::unwrap_or_default);
            if fullscreen || minimized {
                return;
            }
            self.maximized = maximized;
            let size = input.content_rect().size() * self.zoom;
            if !maximized && size.x >= 1.0 && size.y >= 1.0 {
                self.size = [size.x.round(), size.y.round()];
            }
        });
    }

    /// What marked a file's contents when it was opened or saved last.
    pub(super) fn mark(&self, path: &Path) -> Option<u64> {
        self.marks.get(path).copied()
    }

    /// Remembers what marks a file's contents now.
    pub(super) fn note_mark(&mut self, path: &Path, mark: Option<u64>) {
        let held = [self.pair.baseline.file(), self.pair.candidate.file()].map(|path| path.map(Path::to_path_buf));
        let talk = self.talk.as_ref().and_then(|in_hand| match &in_hand.source {
            Source::File(path) => Some(path),
            Source::New | Source::Shipped(_) => None,
        });
        let (recent, talks) = (&self.recent, &self.recent_talks);
        let listed = |path: &PathBuf| recent.contains(path) || talks.contains(path) || talk == Some(path);
        self.marks.retain(|path, _| listed(path) || held.iter().flatten().any(|held| held == path));
        if let Some(mark) = mark {
            self.marks.insert(path.to_path_buf(), mark);
        }
    }

    /// Puts a talk on top of the recent ones.
    pub(super) fn note_recent_talk(&mut self, path: &Path) {
        put_on_top(&mut self.recent_talks, path);
    }

    /// Puts a file on top of the recent ones.
    pub(super) fn note_recent(&mut self, path: &Path) {
        put_on_top(&mut self.recent, path);
    }
}

/// Puts a file on top of a list of recent ones.
pub(super) fn put_on_top(files: &mut Vec<PathBuf>, path: &Path) {
    files.retain(|other| other != path);
    files.insert(0, path.to_path_buf());
    files.truncate(MOST_RECENT);
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
    /// Black on white, with thicker strokes.
    Contrast,
    /// White on black, with thicker strokes.
    ContrastDark,
}

impl ThemeChoice {
    /// All, in the order of the menu.
    pub const ALL: [Self; 5] = [Self::Light, Self::Dark, Self::System, Self::Contrast, Self::ContrastDark];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::System => "As the system",
            Self::Contrast => "High contrast, light",
            Self::ContrastDark => "High contrast, dark",
        }
    }

    /// Its name as an option; none where it is the usual one.
    pub(super) const fn option(self) -> Option<&'static str> {
        match self {
            Self::Light | Self::System => None,
            Self::Dark => Some("dark"),
            Self::Contrast => Some("contrast"),
            Self::ContrastDark => Some("contrast-dark"),
        }
    }

    /// Whether it is one of high contrast.
    pub(super) const fn high_contrast(self) -> bool {
        matches!(self, Self::Contrast | Self::ContrastDark)
    }

    /// Gives the window this look.
    pub(super) fn show(self, ctx: &Context) {
        theme::apply_as(ctx, self.high_contrast());
        ctx.set_theme(self.preference());
    }

    /// The same in egui's words.
    const fn preference(self) -> ThemePreference {
        match self {
            Self::Light | Self::Contrast => ThemePreference::Light,
            Self::Dark | Self::ContrastDark => ThemePreference::Dark,
            Self::System => ThemePreference::System,
        }
    }
}

/// What stands where: the middle of the page first, then the row at the bottom from left to right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Places([Figure; 4]);

impl Default for Places {
    fn default() -> Self {
        Self([Figure::Lanes, Figure::Distribution, Figure::Outcomes, Figure::SliceCurve])
    }
}

impl Places {
    /// The middle.
    pub(super) const MIDDLE: usize = 0;
    /// All places.
    pub(super) const ALL: [usize; 4] = [0, 1, 2, 3];
    /// The row.
    pub(super) const ROW: [usize; 3] = [1, 2, 3];

    /// The same figure at every place.
    #[cfg(test)]
    pub(super) const fn full_of(figure: Figure) -> Self {
        Self([figure; 4])
    }

    /// The figure at a place.
    pub(super) const fn at(self, place: usize) -> Figure {
        self.0[place]
    }

    /// Puts a figure at a place; if it stands at another, the two change places.
    pub(super) fn put(&mut self, place: usize, figure: Figure) {
        if let Some(other) = self.0.iter().position(|there| *there == figure) {
            self.0[other] = self.0[place];
        }
        self.0[place] = figure;
    }

    /// The same with a figure put at a place.
    #[cfg(test)]
    pub(super) fn with(mut self, place: usize, figure: Figure) -> Self {
        self.put(place, figure);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figure_that_stands_elsewhere_changes_places() {
        let mut places = Places::default();
        places.put(Places::MIDDLE, Figure::Outcomes);
        let now = Places::ALL.map(|place| places.at(place));
        assert_eq!(now, [Figure::Outcomes, Figure::Distribution, Figure::Lanes, Figure::SliceCurve]);
    }
}
