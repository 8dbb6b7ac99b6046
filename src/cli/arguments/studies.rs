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
difference of each from the first, paired by seed, with a verdict: better, worse, or unclear, and how many seeds or frames \
would tell. All run at the length and from the seed of the first.";

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

pub(super) const MAP: &str = concat!(
    "Turns two parameters over their values and tells a measure at every pair, with the borders that cross the map: every line \
     of the budget met, pose to photon at its budget, the same as the baseline, encoder, link or decoder offered all they can \
     do, the highest codec level. The baseline is turned too in a parameter in which both scenarios hold the same value, and \
     keeps its own where they differ. Values are ",
    values!(),
    "."
);

/// Examples of `map`, a line each.
pub(in crate::cli) const MAP_EXAMPLES: &str = "\
framelap map 2 1 --x slices.count=1..32 --y encode.slice_overhead_ms=0.02..1:16:log --frames 2000
framelap map mine.ron --x stream.bitrate_mbps=50..400:15 --y display.eye_px.width=1024..3072:9 --csv map.csv";

/// Options of `map`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Map {
    /// The scenario
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// Another one, to find where both are the same
    #[arg(value_name = "BASELINE")]
    pub(in crate::cli) baseline: Option<OsString>,
    /// The parameter across and its values: path=1..64, path=0.02..2:20:log or path=a,b,c
    #[arg(long, value_name = "PATH=VALUES", allow_hyphen_values = true)]
    pub(in crate::cli) x: String,
    /// The parameter up and its values
    #[arg(long, value_name = "PATH=VALUES", allow_hyphen_values = true)]
    pub(in crate::cli) y: String,
    /// The measure, by its path in the JSON of simulate
    #[arg(long, value_name = "NAME", default_value = "pose_to_photon_ms.p99")]
    pub(in crate::cli) measure: String,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}

pub(super) const SENSITIVITY: &str = "\
Which millisecond is worth buying: turns every number of the scenario a tenth down and a tenth up (whole numbers a step), one \
at a time, and tells what that does to a measure: paired by seed, with 95 % intervals, ranked. What does not matter is listed \
too. Numbers of the budget and of the run are left alone.";

/// Examples of `sensitivity`, a line each.
pub(in crate::cli) const SENSITIVITY_EXAMPLES: &str = "\
framelap sensitivity 2
framelap sensitivity mine.ron --measure photon_age_ms.mean --seeds 16 --frames 4000
framelap sensitivity mine.ron --csv ranking.csv";

/// Options of `sensitivity`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Sensitivity {
    /// The scenario
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// The measure, by its path in the JSON of simulate
    #[arg(long, value_name = "NAME", default_value = "pose_to_photon_ms.p99")]
    pub(in crate::cli) measure: String,
    /// Seeds a value
    #[arg(long, value_name = "N", default_value = "8", allow_hyphen_values = true)]
    pub(in crate::cli) seeds: String,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}

pub(super) const SEARCH: &str = "\
Seeks the scenario that makes a measure best while it meets every line of its budget, and any further limits. What may be \
turned is told with its bounds; whole numbers stay whole. Few combinations are all tried; many are gone over by differential \
evolution, then by steps about the best. Every trial is kept (--csv, --json), and the best is confirmed under luck that the \
search has not seen. With a second measure, the front of both is sought: what none beats in both. Where nothing meets the \
limits it says so, and what comes nearest.";

/// Examples of `search`, a line each.
pub(in crate::cli) const SEARCH_EXAMPLES: &str = "\
framelap search 2 --free slices.count=1..64 --free host.parts=1..4
framelap search mine.ron --free stream.bitrate_mbps=50..500:log --free slices.count=1..32 --goal photon_age_ms.p99
framelap search 2 --free stream.bitrate_mbps=20..600:log --front picture.bits_per_px --runs 200
framelap search 2 --free slices.count=1..64 --limit \"offered_load.decoder<=0.75\" --write best.ron";

/// Options of `search`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Search {
    /// The scenario to start from
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// What may be turned: path=1..64, path=0.02..2:log or path=a,b,c; may be given again
    #[arg(long, value_name = "PATH=RANGE", required = true, allow_hyphen_values = true)]
    pub(in crate::cli) free: Vec<String>,
    /// The measure to make best, by its path in the JSON of simulate
    #[arg(long, value_name = "NAME", default_value = "pose_to_photon_ms.p99")]
    pub(in crate::cli) goal: String,
    /// A second measure: seek the front of both
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) front: Option<String>,
    /// A further limit: measure<=number or measure>=number; may be given again
    #[arg(long, value_name = "LIMIT")]
    pub(in crate::cli) limit: Vec<String>,
    /// Let the budget be
    #[arg(long)]
    pub(in crate::cli) no_budget: bool,
    /// Most runs
    #[arg(long, value_name = "N", default_value = "400", allow_hyphen_values = true)]
    pub(in crate::cli) runs: String,
    /// Write the best as a scenario file
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) write: Option<PathBuf>,
    /// Exit with status 1 when nothing meets the limits
    #[arg(long)]
    pub(in crate::cli) check: bool,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}

pub(super) const SPLIT: &str = "\
Splits a target pose to photon among the teams: what each piece takes now, on average and at the quantile, and what it may \
take. The pieces at the quantile are those of the frames that take about as long as the quantile, and sum to it. What is left \
to the target, or lacking, is shared by a rule; what the display sets, from latch to photons, takes no share. Without a \
target the scenario's own budget is split. Read the other way, it tells the pieces of a design.";

/// Examples of `split`, a line each.
pub(in crate::cli) const SPLIT_EXAMPLES: &str = "\
framelap split 2
framelap split mine.ron --target 35 --quantile 0.99 --rule spread";

/// Options of `split`.
#[derive(Debug, Args)]
pub(in crate::cli) struct Split {
    /// The scenario
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// Pose to photon aimed at, in ms [default: that of the budget]
    #[arg(long, value_name = "MS", allow_hyphen_values = true)]
    pub(in crate::cli) target: Option<String>,
    /// Quantile that must hold it [default: that of the budget]
    #[arg(long, value_name = "Q", allow_hyphen_values = true)]
    pub(in crate::cli) quantile: Option<String>,
    /// How what is left is shared: exposed (as each piece takes), spread (as each varies) or equal
    #[arg(long, value_name = "RULE", default_value = "exposed")]
    pub(in crate::cli) rule: String,
    /// Seeds
    #[arg(long, value_name = "N", default_value = "8", allow_hyphen_values = true)]
    pub(in crate::cli) seeds: String,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}

pub(super) const WHAT_IF: &str = "\
Puts one design on other links, and on more or less of their jitter, under the same luck. The links are invented: plausible \
round numbers of no product, named in the table. The first link at the first jitter is what all others are held against.";

/// Examples of `what-if`, a line each.
pub(in crate::cli) const WHAT_IF_EXAMPLES: &str = "\
framelap what-if 2
framelap what-if mine.ron --links own,optical-50m,radio-near --jitter 1,5 --measure pose_to_photon_ms.p99
framelap what-if 2 --csv links.csv";

/// Options of `what-if`.
#[derive(Debug, Args)]
pub(in crate::cli) struct WhatIf {
    /// The scenario
    #[arg(value_name = "SCENARIO|PRESET")]
    pub(in crate::cli) scenario: OsString,
    /// Links, the first to hold the others against [default: own and all others]
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub(in crate::cli) links: Vec<String>,
    /// Times the link's jitter, the first to hold the others against
    #[arg(long, value_name = "FACTORS", value_delimiter = ',', default_value = "1,0,3,10", allow_hyphen_values = true)]
    pub(in crate::cli) jitter: Vec<String>,
    /// Keep this measure, by its path in the JSON of simulate; may be given again [default: the main ones]
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) measure: Vec<String>,
    /// Seeds
    #[arg(long, value_name = "N", default_value = "8", allow_hyphen_values = true)]
    pub(in crate::cli) seeds: String,
    #[command(flatten)]
    pub(in crate::cli) changes: Changes,
    #[command(flatten)]
    pub(in crate::cli) output: Output,
}
