//! What can be said on the command line, and the help that tells it.

pub(super) mod calibrate;
pub(super) mod pages;
pub(super) mod pictures;
pub(super) mod studies;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::Styles;
use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

const ABOUT: &str = "Simulates a split-rendering headset's frame pipeline to the nanosecond: pose, simulate, render, encode, \
                     link, decode, latch, photons; whole frames against slices.";

const WINDOW: &str = "Without a command, a window opens on the scenarios given, or on whole frames against 8 slices. \
                      A SCENARIO is a file in RON (see `framelap presets show`), or the name or number of a preset \
                      (see `framelap presets list`); a file of that name comes first.";

/// Examples of the whole program, a line each.
pub(super) const EXAMPLES: &str = "\
framelap                                   the window, whole frames against 8 slices
framelap mine.ron theirs.ron               the window, mine.ron against theirs.ron
framelap presets list                      the scenarios shipped
framelap presets write 2 mine.ron          a file to start from
framelap simulate mine.ron                 the answer as text
framelap simulate mine.ron --json --check  for scripts: JSON, status 1 when over budget
framelap parameters decode                 what can be set, by path and with its range
framelap differences mine.ron 2            in which parameters two scenarios differ
framelap figure distribution slide.svg 2   one figure as a picture or as a table
framelap report answer.html mine.ron 2     all of it as one page to hand on
framelap compare mine.ron 2                which is better in what, and how sure that is
framelap sweep 2 --vary slices.count=1..64  what one parameter does
framelap talk why-slices slides            a talk as pictures, step by step
framelap sensitivity mine.ron              which millisecond is worth buying
framelap picture screen.png mine.ron       the window as a picture, no display needed";

/// What units are used where.
pub(super) const UNITS: &str = "ms unless said; tables in whole ns from 0. A field's unit is in its name: _ms, _us, _hz, \
                                _mbps (1e6 bit/s), _px, _deg, _pct.";

/// What the exit statuses mean.
pub(super) const STATUS: &str = "0 done; 1 a line of the budget, or a limit of a search, is not met (only with --check); 2 bad input, or an output \
                                 that cannot be written, with one message on standard error.";

const SIMULATE: &str = "\
Simulates one scenario and prints what it comes to: pose to photon with its interval, what became of frames and refreshes, \
loads, where the time goes, and the budget line by line.

All chance is drawn first, into a work table. --save-work writes that table; --work replays one, drawn or measured: a folder \
with frames.csv (and refreshes.csv, closures.csv, losses.csv where there are any), or a lone frames.csv. What is absent is \
drawn, and named on standard error. The same table and scenario give the same nanoseconds everywhere.";

/// Examples of `simulate`, a line each.
pub(super) const SIMULATE_EXAMPLES: &str = "\
framelap simulate wired-90-8-slices
framelap simulate mine.ron --set slices.count=4 --set link.rate_mbps=1200
framelap simulate mine.ron --frames 2000 --seed 7 --save-frames frames.csv
framelap simulate mine.ron --save-work work
framelap simulate mine.ron --work work
framelap simulate mine.ron --json --check > answer.json || echo over budget";

fn indented(examples: &str) -> String {
    format!("  {}", examples.replace('\n', "\n  "))
}

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "framelap",
    version = crate::version::version(),
    about = ABOUT,
    long_about = format!("{ABOUT}\n\n{WINDOW}"),
    after_help = format!("Examples:\n{}\n\nUnits: {UNITS}\n\nExit status: {STATUS}", indented(EXAMPLES)),
    styles = Styles::plain(),
    args_conflicts_with_subcommands = true,
    disable_help_subcommand = true,
    max_term_width = 110
)]
pub(super) struct Arguments {
    /// Candidate to show in the window: a file or a preset
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(super) candidate: Option<OsString>,
    /// Baseline to compare it with
    #[arg(value_name = "BASELINE")]
    pub(super) baseline: Option<OsString>,
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

/// What can be done without a window.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Simulate a scenario and print or save the answer
    #[command(long_about = SIMULATE, after_help = format!("Examples:\n{}", indented(SIMULATE_EXAMPLES)))]
    Simulate(Simulate),
    /// List the presets, show one, write one to a file
    #[command(args_conflicts_with_subcommands = true)]
    Presets {
        #[command(subcommand)]
        what: Option<Presets>,
    },
    /// List the parameters: their paths for --set, what is allowed, their names
    Parameters(Parameters),
    /// List the parameters in which two scenarios differ, with both values
    Differences(Differences),
    /// Write one figure as a picture or as a table
    #[command(long_about = pictures::FIGURE, after_help = format!("Examples:\n{}", indented(pictures::FIGURE_EXAMPLES)))]
    Figure(pictures::Figure),
    /// Write a head-to-head as one page in HTML
    #[command(long_about = pages::REPORT, after_help = format!("Examples:\n{}", indented(pages::REPORT_EXAMPLES)))]
    Report(pages::Report),
    /// Write a walk through one frame as moving pictures
    #[command(long_about = pages::WALK, after_help = format!("Examples:\n{}", indented(pages::WALK_EXAMPLES)))]
    Walk(pages::Walk),
    /// Compare scenarios under the same luck, with intervals and verdicts
    #[command(long_about = studies::COMPARE, after_help = format!("Examples:\n{}", indented(studies::COMPARE_EXAMPLES)))]
    Compare(studies::Compare),
    /// Turn one parameter over its values
    #[command(long_about = studies::SWEEP, after_help = format!("Examples:\n{}", indented(studies::SWEEP_EXAMPLES)))]
    Sweep(studies::Sweep),
    /// Turn two parameters at a time and draw the borders that cross the map
    #[command(long_about = studies::MAP, after_help = format!("Examples:\n{}", indented(studies::MAP_EXAMPLES)))]
    Map(studies::Map),
    /// Rank the parameters by what a tenth of each does to a measure
    #[command(long_about = studies::SENSITIVITY, after_help = format!("Examples:\n{}", indented(studies::SENSITIVITY_EXAMPLES)))]
    Sensitivity(studies::Sensitivity),
    /// Seek the best scenario under constraints
    #[command(long_about = studies::SEARCH, after_help = format!("Examples:\n{}", indented(studies::SEARCH_EXAMPLES)))]
    Search(studies::Search),
    /// Split a target pose to photon among the teams
    #[command(long_about = studies::SPLIT, after_help = format!("Examples:\n{}", indented(studies::SPLIT_EXAMPLES)))]
    Split(studies::Split),
    /// Put one design on other links and jitters
    #[command(long_about = studies::WHAT_IF, after_help = format!("Examples:\n{}", indented(studies::WHAT_IF_EXAMPLES)))]
    WhatIf(studies::WhatIf),
    /// Make a scenario of measurements, and say how good it is
    #[command(long_about = calibrate::CALIBRATE, after_help = format!("Examples:\n{}", indented(calibrate::CALIBRATE_EXAMPLES)))]
    Calibrate(calibrate::Calibrate),
    /// Paint the window's first screen into a PNG file, no display needed
    Picture(pictures::Picture),
    /// Write the steps of a talk as numbered pictures; alone: list the talks that are shipped
    #[command(long_about = pictures::TALK, after_help = format!("Examples:\n{}", indented(pictures::TALK_EXAMPLES)))]
    Talk(pictures::Talk),
    /// Print a completion script for a shell
    #[command(after_help = "Example:\n  framelap completions bash > /etc/bash_completion.d/framelap")]
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Print the manual page, in roff
    #[command(after_help = "Example:\n  framelap manpage | man -l -")]
    Manpage,
}

/// Options of `simulate`.
#[derive(Debug, Args)]
pub(super) struct Simulate {
    /// What to simulate: a file or a preset
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(super) scenario: OsString,
    #[command(flatten)]
    pub(super) changes: Changes,
    /// Replay a work table: a folder, or a lone frames.csv
    #[arg(long, value_name = "DIR|FILE")]
    pub(super) work: Option<PathBuf>,
    /// Write the work table into a folder
    #[arg(long, value_name = "DIR")]
    pub(super) save_work: Option<PathBuf>,
    /// Write a CSV table with a row for every frame
    #[arg(long, value_name = "FILE")]
    pub(super) save_frames: Option<PathBuf>,
    /// Write a CSV table with a row for every slice
    #[arg(long, value_name = "FILE")]
    pub(super) save_slices: Option<PathBuf>,
    /// Write a CSV table with a row for every refresh
    #[arg(long, value_name = "FILE")]
    pub(super) save_refreshes: Option<PathBuf>,
    /// Print the summary as JSON instead of text
    #[arg(long)]
    pub(super) json: bool,
    /// Exit with status 1 when a line of the budget is not met
    #[arg(long)]
    pub(super) check: bool,
}

/// Changes to a scenario, after it was read.
#[derive(Debug, Args)]
pub(super) struct Changes {
    /// Frames to plan; without --warmup, at most half of them do not count
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub(super) frames: Option<String>,
    /// First frames that do not count
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub(super) warmup: Option<String>,
    /// Seed of all chance
    #[arg(long, value_name = "S", allow_hyphen_values = true)]
    pub(super) seed: Option<String>,
    /// Set any other parameter, by its path (see `framelap parameters`); may be given again
    #[arg(long, value_name = "PATH=VALUE", allow_hyphen_values = true)]
    pub(super) set: Vec<String>,
}

/// What to do with the presets.
#[derive(Debug, Default, Subcommand)]
pub(super) enum Presets {
    /// List their names, and what to see in each
    #[default]
    List,
    /// Print one as a scenario file
    Show {
        /// Its name or number
        name: String,
    },
    /// Write one to a file, to start from; an existing file is not overwritten
    Write {
        /// Its name or number
        name: String,
        /// The file
        file: PathBuf,
    },
}

/// Options of `parameters`.
#[derive(Debug, Args)]
pub(super) struct Parameters {
    /// Only those with all of these words in path, name or meaning
    #[arg(value_name = "WORD")]
    pub(super) words: Vec<String>,
}

/// Options of `differences`.
#[derive(Debug, Args)]
pub(super) struct Differences {
    /// One scenario: a file or a preset
    #[arg(value_name = "A")]
    pub(super) a: OsString,
    /// The other one
    #[arg(value_name = "B")]
    pub(super) b: OsString,
    /// Print a CSV table: path, label, a, b
    #[arg(long)]
    pub(super) csv: bool,
}

/// Two scenarios, and changes to both or to one.
#[derive(Debug, Args)]
pub(super) struct Sides {
    /// Candidate: a file or a preset
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(super) candidate: Option<OsString>,
    /// Baseline: a file or a preset
    #[arg(value_name = "BASELINE")]
    pub(super) baseline: Option<OsString>,
    #[command(flatten)]
    pub(super) changes: Changes,
    /// Set a parameter of the candidate alone; may be given again
    #[arg(long, value_name = "PATH=VALUE", allow_hyphen_values = true)]
    pub(super) set_candidate: Vec<String>,
    /// Set a parameter of the baseline alone; may be given again
    #[arg(long, value_name = "PATH=VALUE", allow_hyphen_values = true)]
    pub(super) set_baseline: Vec<String>,
}
