//! What can be said on the command line, and the help that tells it.

pub(super) mod calibrate;
pub(super) mod pages;
pub(super) mod studies;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{PossibleValue, PossibleValuesParser, Styles};
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::app::{Kind, ThemeChoice};

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

const FIGURE: &str = "\
Writes one figure of a head-to-head into a file, by the ending of its name: .csv a table with the numbers in full, .png \
or .svg a picture. Without scenarios it is of whole frames against 8 slices, as in the window.

--frames, --warmup, --seed and --set change both scenarios; --set-candidate and --set-baseline change one, after that. A \
picture bears the command that makes it again, and the date, which SOURCE_DATE_EPOCH fixes where it is set.";

/// Examples of `figure`, a line each.
pub(super) const FIGURE_EXAMPLES: &str = "\
framelap figure distribution spread.csv
framelap figure exposed-time slide.png mine.ron theirs.ron --theme dark
framelap figure lanes frame-812.svg 2 1 --frame 812 --set-candidate slices.count=4";

const TALK: &str = "\
Writes every step of a talk into a folder as 01.png, 02.png and so on: the figure as it is presented, with its caption and \
the number of the step. Numbers in captions are filled in from the answers. Without arguments it lists the talks that are \
shipped; --show prints one as a file to start from. A talk's file given to `framelap` opens in the window.";

/// Examples of `talk`, a line each.
pub(super) const TALK_EXAMPLES: &str = "\
framelap talk
framelap talk why-slices slides
framelap talk --show why-slices > mine.ron
framelap talk mine.ron slides --theme dark --size 1920x1080";

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
    /// List the parameters in which two scenarios differ, with both values
    Differences(Differences),
    /// Write one figure as a picture or as a table
    #[command(long_about = FIGURE, after_help = format!("Examples:\n{}", indented(FIGURE_EXAMPLES)))]
    Figure(Figure),
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
    Picture(Picture),
    /// Write the steps of a talk as numbered pictures; alone: list the talks that are shipped
    #[command(long_about = TALK, after_help = format!("Examples:\n{}", indented(TALK_EXAMPLES)))]
    Talk(Talk),
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
    /// Set any other parameter, by its path in the scenario file; may be given again
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

/// Options of `figure`.
#[derive(Debug, Args)]
pub(super) struct Figure {
    /// Which figure
    #[arg(value_name = "NAME", value_parser = figures())]
    pub(super) name: String,
    /// The file to write, its ending says as what
    #[arg(value_name = "OUT.csv|png|svg")]
    pub(super) out: PathBuf,
    #[command(flatten)]
    pub(super) sides: Sides,
    /// The frame of a figure that shows one, instead of a typical one
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub(super) frame: Option<u32>,
    /// Where the time begins that the lanes show, in ms from the frame's pose
    #[arg(long, value_name = "MS", requires = "to", allow_hyphen_values = true)]
    pub(super) from: Option<f64>,
    /// Where it ends
    #[arg(long, value_name = "MS", requires = "from", allow_hyphen_values = true)]
    pub(super) to: Option<f64>,
    /// What the distribution is of
    #[arg(long)]
    pub(super) measure: Option<Measure>,
    /// Of which quantile of the ages late correction is drawn
    #[arg(long)]
    pub(super) quantile: Option<Quantile>,
    /// How the distribution is drawn
    #[arg(long)]
    pub(super) form: Option<Form>,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = SLIDE, value_parser = size, allow_hyphen_values = true)]
    pub(super) size: [u32; 2],
    /// Dark or light
    #[arg(long, default_value = "light")]
    pub(super) theme: Theme,
    /// Pixels per point of a .png, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "2", value_parser = scale, allow_hyphen_values = true)]
    pub(super) scale: f32,
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

/// Size of a slide as presentations have it, in points.
const SLIDE: &str = "960x540";

/// A quantile.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Quantile {
    // The median.
    P50,
    // The 99 % quantile.
    P99,
}

/// What a distribution is of.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Measure {
    // From the pose to the photons.
    PoseToPhoton,
    // Age of the pose of what is on display.
    PhotonAge,
    // From rendered to decoded.
    Stream,
}

/// How a distribution is drawn.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Form {
    // Share of every bin.
    Histogram,
    // Share up to a value.
    Cumulative,
    // Share later than a value.
    Tail,
}

/// Names of the figures, each with what it tells.
fn figures() -> PossibleValuesParser {
    PossibleValuesParser::new(Kind::all().map(|kind| PossibleValue::new(kind.slug()).help(kind.meaning())))
}

/// Options of `picture`.
#[derive(Debug, Args)]
pub(super) struct Picture {
    /// The PNG file to write
    #[arg(value_name = "OUT.png")]
    pub(super) out: PathBuf,
    /// Candidate: a file or a preset
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(super) candidate: Option<OsString>,
    /// Baseline: a file or a preset
    #[arg(value_name = "BASELINE")]
    pub(super) baseline: Option<OsString>,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = "1600x900", value_parser = size, allow_hyphen_values = true)]
    pub(super) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(super) theme: Theme,
    /// Pixels per point, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "1", value_parser = scale, allow_hyphen_values = true)]
    pub(super) scale: f32,
    /// Present one figure, as large as it is shown to a room, instead of the page
    #[arg(long, value_name = "FIGURE", value_parser = figures())]
    pub(super) present: Option<String>,
    /// Walk through the frame of the lanes, up to so many ms after its pose
    #[arg(long, value_name = "MS", value_parser = instant, allow_hyphen_values = true)]
    pub(super) walk: Option<f64>,
}

/// Options of `talk`.
#[derive(Debug, Args)]
pub(super) struct Talk {
    /// The talk: a file, or the name of a shipped one
    #[arg(value_name = "TALK")]
    pub(super) name: Option<OsString>,
    /// The folder for the pictures; files of the same names are replaced
    #[arg(value_name = "OUTDIR", conflicts_with = "show")]
    pub(super) out: Option<PathBuf>,
    /// Print a shipped talk as a file, to start from
    #[arg(long, requires = "name")]
    pub(super) show: bool,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = "1920x1080", value_parser = size, allow_hyphen_values = true)]
    pub(super) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(super) theme: Theme,
    /// Pixels per point of a .png, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "1", value_parser = scale, allow_hyphen_values = true)]
    pub(super) scale: f32,
    /// Write .svg files, which stay sharp, instead of .png
    #[arg(long)]
    pub(super) svg: bool,
}

/// Theme of a picture.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Theme {
    // Dark on light.
    Light,
    // Light on dark.
    Dark,
    // Black on white.
    Contrast,
    // White on black.
    ContrastDark,
}

impl From<Theme> for ThemeChoice {
    fn from(theme: Theme) -> Self {
        match theme {
            Theme::Light => Self::Light,
            Theme::Dark => Self::Dark,
            Theme::Contrast => Self::Contrast,
            Theme::ContrastDark => Self::ContrastDark,
        }
    }
}

const SIZES: std::ops::RangeInclusive<u32> = 200..=8000;

fn size(text: &str) -> Result<[u32; 2], String> {
    let side = |side: &str| side.parse().ok().filter(|side| SIZES.contains(side));
    let sides = text.split_once('x').and_then(|(width, height)| Some([side(width)?, side(height)?]));
    sides.ok_or_else(|| "allowed: width x height, 200x200 to 8000x8000, as in 1600x900".to_owned())
}

fn instant(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|ms| (0.0..=1e6).contains(ms)).ok_or_else(|| "allowed: 0 to 1000000 ms".to_owned())
}

fn scale(text: &str) -> Result<f32, String> {
    text.parse().ok().filter(|scale| (0.5..=4.0).contains(scale)).ok_or_else(|| "allowed: 0.5 to 4".to_owned())
}
