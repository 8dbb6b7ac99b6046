//! What can be said to what paints: one figure, the window, the steps of a talk.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, ValueEnum};

use super::Sides;
use crate::app::{Kind, ThemeChoice};

pub(super) const FIGURE: &str = "\
Writes one figure of a head-to-head into a file, by the ending of its name: .csv a table with the numbers in full, .png \
or .svg a picture. Without scenarios it is of whole frames against 8 slices, as in the window.

--frames, --warmup, --seed and --set change both scenarios; --set-candidate and --set-baseline change one, after that. A \
picture bears the command that makes it again, and the date, which SOURCE_DATE_EPOCH fixes where it is set.";

/// Examples of `figure`, a line each.
pub(in crate::cli) const FIGURE_EXAMPLES: &str = "\
framelap figure distribution spread.csv
framelap figure exposed-time slide.png mine.ron theirs.ron --theme dark
framelap figure lanes frame-812.svg 2 1 --frame 812 --set-candidate slices.count=4";

pub(super) const TALK: &str = "\
Writes every step of a talk into a folder as 01.png, 02.png and so on: the figure as it is presented, with its caption and \
the number of the step. Numbers in captions are filled in from the answers. Without arguments it lists the talks that are \
shipped; --show prints one as a file to start from. A talk's file given to `framelap` opens in the window.";

/// Examples of `talk`, a line each.
pub(in crate::cli) const TALK_EXAMPLES: &str = "\
framelap talk
framelap talk why-slices slides
framelap talk --show why-slices > mine.ron
framelap talk mine.ron slides --theme dark --size 1920x1080";

/// Options of `figure`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Figure {
    /// Which figure
    #[arg(value_name = "NAME", value_parser = figures())]
    pub(in crate::cli) name: String,
    /// The file to write, its ending says as what
    #[arg(value_name = "OUT.csv|png|svg")]
    pub(in crate::cli) out: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) sides: Sides,
    /// The frame of a figure that shows one, instead of a typical one
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub(in crate::cli) frame: Option<u32>,
    /// Where the time begins that the lanes show, in ms from the frame's pose
    #[arg(long, value_name = "MS", requires = "to", allow_hyphen_values = true)]
    pub(in crate::cli) from: Option<f64>,
    /// Where it ends
    #[arg(long, value_name = "MS", requires = "from", allow_hyphen_values = true)]
    pub(in crate::cli) to: Option<f64>,
    /// What the distribution is of
    #[arg(long)]
    pub(in crate::cli) measure: Option<Measure>,
    /// Of which quantile of the ages late correction is drawn
    #[arg(long)]
    pub(in crate::cli) quantile: Option<Quantile>,
    /// How the distribution is drawn
    #[arg(long)]
    pub(in crate::cli) form: Option<Form>,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = SLIDE, value_parser = size, allow_hyphen_values = true)]
    pub(in crate::cli) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(in crate::cli) theme: Theme,
    /// Pixels per point of a .png, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "2", value_parser = scale, allow_hyphen_values = true)]
    pub(in crate::cli) scale: f32,
}

/// Size of a slide as presentations have it, in points.
const SLIDE: &str = "960x540";

/// A quantile.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Quantile {
    // The median.
    P50,
    // The 99 % quantile.
    P99,
}

/// What a distribution is of.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Measure {
    // From the pose to the photons.
    PoseToPhoton,
    // Age of the pose of what is on display.
    PhotonAge,
    // From rendered to decoded.
    Stream,
}

/// How a distribution is drawn.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Form {
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
pub(in crate::cli) struct Picture {
    /// The PNG file to write
    #[arg(value_name = "OUT.png")]
    pub(in crate::cli) out: PathBuf,
    /// Candidate: a file or a preset
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) candidate: Option<OsString>,
    /// Baseline: a file or a preset
    #[arg(value_name = "BASELINE")]
    pub(in crate::cli) baseline: Option<OsString>,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = "1600x900", value_parser = size, allow_hyphen_values = true)]
    pub(in crate::cli) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(in crate::cli) theme: Theme,
    /// Pixels per point, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "1", value_parser = scale, allow_hyphen_values = true)]
    pub(in crate::cli) scale: f32,
    /// Present one figure, as large as it is shown to a room, instead of the page
    #[arg(long, value_name = "FIGURE", value_parser = figures())]
    pub(in crate::cli) present: Option<String>,
    /// Walk through the frame of the lanes, up to so many ms after its pose
    #[arg(long, value_name = "MS", value_parser = instant, allow_hyphen_values = true)]
    pub(in crate::cli) walk: Option<f64>,
}

/// Options of `talk`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Talk {
    /// The talk: a file, or the name of a shipped one
    #[arg(value_name = "TALK")]
    pub(in crate::cli) name: Option<OsString>,
    /// The folder for the pictures; files of the same names are replaced
    #[arg(value_name = "OUTDIR", conflicts_with = "show")]
    pub(in crate::cli) out: Option<PathBuf>,
    /// Print a shipped talk as a file, to start from
    #[arg(long, requires = "name")]
    pub(in crate::cli) show: bool,
    /// Width and height in points; pixels are so many times the scale
    #[arg(long, value_name = "WxH", default_value = "1920x1080", value_parser = size, allow_hyphen_values = true)]
    pub(in crate::cli) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(in crate::cli) theme: Theme,
    /// Pixels per point of a .png, 0.5 to 4
    #[arg(long, value_name = "S", default_value = "1", value_parser = scale, allow_hyphen_values = true)]
    pub(in crate::cli) scale: f32,
    /// Write .svg files, which stay sharp, instead of .png
    #[arg(long)]
    pub(in crate::cli) svg: bool,
}

/// Theme of a picture.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Theme {
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

const SIZES: std::ops::RangeInclusive<u32> = crate::app::Shooting::SIDES;

pub(super) fn size(text: &str) -> Result<[u32; 2], String> {
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
