//! Arguments of `calibrate`.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Changes;
use crate::calibrate;

pub(super) const CALIBRATE: &str = "\
Reads a CSV file of measurements, a row a frame or a row a slice, and makes a scenario of them: for each stage what it costs \
per frame, slice, Mpx and Mbit, how that is spread, how often it stalls and what lasts from frame to frame, with 95 % \
intervals and the goodness of each fit; then runs the scenario and holds its quantiles against the measured ones.

What the columns stand for is guessed from their names and shown; --map changes it. Rows that cannot be used are counted and \
listed. --hold-out fits the first half of every run and judges on the second.";

/// Examples of `calibrate`, a line each.
pub(in crate::cli) const CALIBRATE_EXAMPLES: &str = "\
framelap calibrate bench.csv
framelap calibrate bench.csv --map 't enc=encode:us' --group qp24 --save-scenario bench.ron
framelap calibrate bench.csv --scenario mine.ron --hold-out --json
framelap calibrate bench.csv --save-scenario bench.ron --save-work measured
framelap calibrate bench.csv --hold-out --figures overlays
framelap simulate bench.ron --work measured --frames 235";

/// Options of `calibrate`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Calibrate {
    /// The measurements
    #[arg(value_name = "MEASUREMENTS.csv")]
    pub(in crate::cli) measurements: PathBuf,
    /// What is not measured comes from here: a file or a preset [default: the default scenario]
    #[arg(long, value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: Option<OsString>,
    /// What a column stands for; may be given again
    #[arg(long, value_name = "COLUMN=ROLE[:UNIT]", allow_hyphen_values = true)]
    pub(in crate::cli) map: Vec<String>,
    /// Read what the columns stand for from a file
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) mapping: Option<PathBuf>,
    /// Write what the columns stand for into a file
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) save_mapping: Option<PathBuf>,
    /// Use the rows of this group [default: the first one]
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) group: Option<String>,
    /// Leave out so many frames at the start of every run
    #[arg(long, value_name = "N")]
    pub(in crate::cli) skip: Option<u32>,
    /// When samples as measured stand for a law
    #[arg(long, value_enum, default_value = "auto")]
    pub(in crate::cli) samples: Samples,
    /// Fit the first half of every run and judge on the second
    #[arg(long)]
    pub(in crate::cli) hold_out: bool,
    /// Write the scenario
    #[arg(long, value_name = "FILE.ron")]
    pub(in crate::cli) save_scenario: Option<PathBuf>,
    /// Write the measured frames as a work table, for `simulate --work`
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) save_work: Option<PathBuf>,
    /// Write every figure into this folder, as .png, .svg and .csv: measured against simulated, quantiles, over time
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) figures: Option<PathBuf>,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub(in crate::cli) json: bool,
}

/// When samples stand for a law.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::cli) enum Samples {
    /// Where no law fits
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl From<Samples> for calibrate::Samples {
    fn from(samples: Samples) -> Self {
        match samples {
            Samples::Auto => Self::WhereNoLawFits,
            Samples::Always => Self::Always,
            Samples::Never => Self::Never,
        }
    }
}
