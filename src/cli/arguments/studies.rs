//! Arguments of the studies.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::Args;

use super::Changes;

/// Where the answer of a study goes, and in what form.
#[derive(Debug, Args)]
pub(in crate::cli) struct Output {
    /// Write a CSV table too; - is standard output, in place of the text
    #[arg(long, value_name = "FILE", allow_hyphen_values = true)]
    pub(in crate::cli) csv: Option<PathBuf>,
    /// Print JSON instead of text
    #[arg(long)]
    pub(in crate::cli) json: bool,
}

pub(super) const COMPARE: &str = "\
Compares two or more scenarios under the same luck: every measure of each with its 95 % interval over the seeds, and the \
difference of each from the first, paired by seed, with a verdict: better, worse, or not to be told apart, and how many seeds \
or frames would tell. All run at the length and from the seed of the first.";

/// Examples of `compare`, a line each.
pub(in crate::cli) const COMPARE_EXAMPLES: &str = "\
framelap compare 1 2
framelap compare 1 2 3 mine.ron --seeds 16 --frames 4000
framelap compare 1 2 --measure headroom_ms --measure exposed_ms.decode
framelap compare 1 2 --csv - > measures.csv";

/// Options of `compare`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Compare {
    /// The scenarios; the first is what the others are held against
    #[arg(value_name = "SCENARIO|PRESET", required = true, num_args = 2..)]
    pub(in crate::cli) scenarios: Vec<OsString>,
    /// Seeds to run under
    #[arg(long, value_name = "N", default_value = "8", allow_hyphen_values = true)]
    pub(in crate::cli) seeds: String,
    /// Show this measure, by its path in the JSON of simulate; may be given again [default: the main ones]
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) measure: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}

/// How values are told.
macro_rules! values {
    () => {
        "a range of every whole number (slices.count=1..64), of so many values in equal steps or ratios \
         (link.rate_mbps=300..3000:12:log), or a list (stream.codec=H264,H265)"
    };
}

pub(super) const SWEEP: &str = concat!(
    "Turns one parameter over its values, for one scenario or two under the same luck. Values are ",
    values!(),
    ". A line each tells the best value by the first measure, how far others are as good (within 0.2 ms), where more work is \
     offered than can be done, and, over slices.count, the best count by arithmetic for one frame alone."
);

/// Examples of `sweep`, a line each.
pub(in crate::cli) const SWEEP_EXAMPLES: &str = "\
framelap sweep 2 --vary slices.count=1..64
framelap sweep mine.ron 1 --vary link.rate_mbps=300..3000:12:log --seeds 8
framelap sweep 2 --vary encode.slice_overhead_ms=0.02..2:20:log --measure photon_age_ms.p99
framelap sweep 2 --vary stream.codec=H264,H265,AV1 --csv curve.csv";

/// Options of `sweep`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Sweep {
    /// The scenario
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// Another one, turned too and held against
    #[arg(value_name = "BASELINE")]
    pub(in crate::cli) baseline: Option<OsString>,
    /// The parameter and its values: path=1..64, path=0.02..2:20:log or path=a,b,c
    #[arg(long, value_name = "PATH=VALUES", allow_hyphen_values = true)]
    pub(in crate::cli) vary: String,
    /// Keep this measure, by its path in the JSON of simulate; may be given again [default: the main ones]
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) measure: Vec<String>,
    /// Seeds a value; 2 and more give intervals
    #[arg(long, value_name = "N", default_value = "1", allow_hyphen_values = true)]
    pub(in crate::cli) seeds: String,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}
