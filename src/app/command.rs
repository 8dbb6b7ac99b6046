//! What can be done: collected while the page is laid out, run after it.

use std::path::PathBuf;

use super::calibrating::{Ask, BenchPurpose};
use super::figures::Take;
use super::gallery::Figure;
use super::present::Act;
use super::state::{Edited, ThemeChoice};
use super::studies::{Kind, Setup};
use super::talk;
use crate::report::figures::Side;
use crate::scenario::Scenario;
use crate::scenario::parameters::Value;

/// One thing to do.
#[must_use]
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Command {
    /// Gives one parameter a value on the sides given.
    Set(&'static str, Value, Edited),
    /// What was typed for a parameter is none of its values; the text says why.
    Refused(&'static str, String),
    /// The refusals beside fields are read.
    ForgetRefusals,
    /// Gives the candidate the baseline's value of a parameter; with an alternative, its fields too.
    TakeBaseline(&'static str),
    /// Gives parameters their defaults on the sides given; the text names them.
    Reset(Vec<&'static str>, Edited),
    /// Gives all parameters of a side their defaults; its name and notes stay.
    ResetAll(Side),
    /// Gives the candidate another slice count, by the handle of the curve.
    Slices(u32),
    /// Goes one step back.
    Undo,
    /// Goes one step forward.
    Redo,
    /// Candidate becomes baseline and baseline candidate.
    Swap,
    /// The baseline becomes what the candidate is.
    CandidateToBaseline,
    /// The candidate becomes what the baseline is.
    BaselineToCandidate,
    /// A side becomes a shipped preset.
    Preset(&'static str, Side),
    /// A side becomes a preset of the user's own, given by its file.
    OwnPreset(PathBuf, Side),
    /// Asks for a name to keep a side under as own preset.
    SaveOwn(Side),
    /// A name was typed for an own preset.
    Named(Side, String),
    /// Reads the folder of own presets again.
    ReadOwn,
    /// Puts a text into the clipboard.
    Copy(String),
    /// The pair of the program's start.
    StartAgain,
    /// Asks for a file to open.
    Open(Side),
    /// Saves a side to its file, or asks for one.
    Save(Side),
    /// Asks for a file to save a side to.
    SaveAs(Side),
    /// Asks for a typed path.
    TypePath(Purpose),
    /// A path was picked in the system's dialog, from a list or by dropping a file; what it would replace was asked about.
    Picked(Purpose, PathBuf),
    /// A path was typed.
    Typed(Purpose, PathBuf),
    /// Which sides the parameter column changes.
    Edit(Edited),
    /// Light or dark.
    Theme(ThemeChoice),
    /// Scale of the interface.
    Zoom(f32),
    /// Shows or hides the parameter column.
    ToggleParameters,
    /// Puts the cursor into the search of the parameter column.
    Search,
    /// Puts a figure at a place of the page.
    Put(usize, Figure),
    /// Takes a figure out of the program.
    Take(Figure, Take),
    /// Writes the whole head-to-head as one page, to a path that is asked for; `true`: to a typed one.
    Report(bool),
    /// Writes the walk through the frame of the lanes as moving pictures, to a path that is asked for; `true`: to a typed one.
    SaveWalk(bool),
    /// Gives up the walk that is being written.
    StopWalk,
    /// Turns to a place where there is not room for all.
    Turn(usize),
    /// Runs a study on the pair as it is.
    Study(Kind),
    /// Asks a study something else from now on.
    SetUpStudy(Kind, Setup),
    /// Runs the study in the middle of the page.
    StudyInTheMiddle,
    /// Gives up the study that is on its way.
    CancelStudy,
    /// The candidate takes values that a study was asked about, as one step.
    TakeValues(Vec<(&'static str, Value)>),
    /// The candidate becomes what a study has tried, as one step.
    TakeScenario(Box<Scenario>),
    /// Brings what belongs to a stage or a parameter into view in the column.
    Reveal(String),
    /// Something about a calibration from measurements.
    Bench(Ask),
    /// Presents, or goes back to the page.
    Present,
    /// Something done while presenting.
    Presented(Act),
    /// Begins or ends the walk through the frame of the lanes.
    Walk,
    /// Something done with a talk.
    Talk(talk::Act),
    /// Shows or hides the list of keys.
    ToggleKeys,
    /// Shows what this program is.
    About,
    /// Takes the message away.
    Dismiss,
    /// Closes the window.
    Quit,
}

impl Command {
    /// Whether what it does is seen on the page of figures or in the column beside it.
    pub(super) const fn needs_the_page(&self) -> bool {
        matches!(
            self,
            Self::Put(..)
                | Self::Reveal(_)
                | Self::Search
                | Self::ToggleParameters
                | Self::StudyInTheMiddle
                | Self::Walk
        )
    }

    /// Whether it is about the parameter column.
    pub(super) const fn needs_parameters(&self) -> bool {
        matches!(self, Self::Reveal(_) | Self::Search | Self::ToggleParameters)
    }
}

/// What a path is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// A scenario is read into a side.
    Open(Side),
    /// A side is written.
    Save(Side),
    /// A talk is read.
    OpenTalk,
    /// The talk in hand is written.
    SaveTalk,
    /// A figure is written, as what the ending of the name says.
    Figure(Figure, Take),
    /// Something of a calibration.
    Bench(BenchPurpose),
    /// The whole head-to-head is written as one page.
    Report,
    /// A walk is written as moving pictures.
    Walk,
}
