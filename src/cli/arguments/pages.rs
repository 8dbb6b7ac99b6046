//! What can be said of a head-to-head as one page, and of a walk as moving pictures.

use std::ops::RangeInclusive;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Sides;
use super::pictures::{Theme, size};
use crate::app::Shooting;

/// The rates of a walk, as the parser of arguments has them.
const RATES: RangeInclusive<i64> = *Shooting::RATES.start() as i64..=*Shooting::RATES.end() as i64;

pub(super) const REPORT: &str = "\
Writes one page that holds a whole head-to-head: verdict with intervals, warnings, designs, budget, figures, measures, method, \
both scenarios in full, and the commands that make every number again. It loads nothing from elsewhere, needs no script, \
and prints on A4, dark on light whatever the theme. Without scenarios it is of whole frames against 8 slices, as in the window.

--frames, --warmup, --seed and --set change both scenarios; --set-candidate and --set-baseline change one, after that. The \
page bears the date, which SOURCE_DATE_EPOCH fixes where it is set.";

/// Examples of `report`, a line each.
pub(in crate::cli) const REPORT_EXAMPLES: &str = "\
framelap report answer.html
framelap report answer.html mine.ron theirs.ron
framelap report answer.html 4 1 --seed 7 --set-candidate slices.count=4 --theme dark";

pub(super) const WALK: &str = "\
Writes a walk through one frame, in slow motion, for slides: OUT.png is one animated PNG, a folder is filled with numbered \
pictures, frame-0001.png and on. The end is held for two seconds on the gain. Without scenarios it is of whole frames against \
8 slices, as in the window.";

/// Examples of `walk`, a line each.
pub(in crate::cli) const WALK_EXAMPLES: &str = "\
framelap walk walk.png
framelap walk pictures/ mine.ron theirs.ron --figure fronts --theme dark
framelap walk walk.png 2 1 --frame 812 --slow-down 500 --frames-per-second 30 --size 1280x720";

/// Options of `report`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Report {
    /// The file to write
    #[arg(value_name = "OUT.html")]
    pub(in crate::cli) out: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) sides: Sides,
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(in crate::cli) theme: Theme,
}

/// Options of `walk`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Walk {
    /// The file or the folder to write
    #[arg(value_name = "OUT.png|FOLDER")]
    pub(in crate::cli) out: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) sides: Sides,
    /// Where the walk is seen
    #[arg(long, default_value = "lanes")]
    pub(in crate::cli) figure: Walked,
    /// The frame, instead of a typical one
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub(in crate::cli) frame: Option<u32>,
    /// Pictures a second, 1 to 120
    #[arg(long, value_name = "N", default_value = "25", value_parser = clap::value_parser!(u32).range(RATES), allow_hyphen_values = true)]
    pub(in crate::cli) frames_per_second: u32,
    /// Seconds shown for a second of the pipeline, 1 to 1000000; without it, so many that the walk takes ten seconds
    #[arg(long, value_name = "X", value_parser = slow_down, allow_hyphen_values = true)]
    pub(in crate::cli) slow_down: Option<f64>,
    /// Width and height in pixels
    #[arg(long, value_name = "WxH", default_value = "1920x1080", value_parser = size, allow_hyphen_values = true)]
    pub(in crate::cli) size: [u32; 2],
    /// Light, dark, or high contrast of either
    #[arg(long, default_value = "light")]
    pub(in crate::cli) theme: Theme,
}

/// Where a walk is seen.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Walked {
    // Stage by stage.
    Lanes,
    // The picture as it moves through the stages.
    Fronts,
}

fn slow_down(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|times| Shooting::SLOWNESS.contains(times))
        .ok_or_else(|| "allowed: 1 to 1000000".to_owned())
}
