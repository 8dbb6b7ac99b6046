//! What a reader must know before believing an answer: where a scenario cannot work, or where a number misleads. Each
//! warning says what happens, why it matters and what to try, and knows the parameters to try it with.

mod find;
mod pair;
mod parameters;
#[cfg(test)]
mod tests;
mod text;

use serde::Serialize;

pub use find::{hides_drops, warnings};
pub use pair::{Told, tell};

use crate::measure::Server;
use crate::scenario::Codec;
use crate::scenario::levels::Usage;

/// One warning, with its numbers. Shares are shares, 0.01 is 1 %.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// Latency grows over the run.
    NotSteady {
        /// Growth of the turnaround \[ms per frame\].
        growth_ms_per_frame: Option<f64>,
        /// A server without bound on the frames that wait before it that is offered more than it can do, and its load.
        cause: Option<(Server, f64)>,
    },
    /// A server is offered more than it can do.
    Overloaded {
        /// The server.
        server: Server,
        /// Its offered load.
        load: f64,
        /// Shares of the counted frames that were skipped, and dropped before encode, link and decode.
        gone: [f64; 4],
        /// Whether it has several engines.
        engines: bool,
    },
    /// Frames are skipped although no stage of the host is overloaded: too few may be under way.
    FramesInFlight {
        /// Frames that may be in flight.
        allowed: u32,
        /// Mean time from the start of simulate to the last slice out of the encoder \[ms\].
        host_ms: f64,
        /// Frame period \[ms\].
        period_ms: f64,
        /// Share of frames skipped.
        skipped: f64,
    },
    /// No lead meets the share of late frames asked for.
    NoLead {
        /// The share asked for.
        late_share: f64,
        /// Share of the counted frames that never got ready.
        never_ready: f64,
        /// The lead of the pilot run, which stays where none can be tuned \[ms\].
        lead_ms: Option<f64>,
    },
    /// Frames are not shown, and refreshes do not count as missed.
    HiddenDrops {
        /// Share of frames that were never shown.
        not_shown: f64,
        /// Share of refreshes missed.
        missed: f64,
        /// Share of refreshes that repeat a frame with none due.
        repeated: f64,
        /// Mean photon age \[ms\].
        photon_age_ms: Option<f64>,
        /// Path of the parameter that holds the lead.
        lead: &'static str,
    },
    /// The compositor is too slow.
    ComposeMisses {
        /// Share of refreshes at which it is.
        missed: f64,
        /// Time that it may take \[ms\].
        allowed_ms: f64,
        /// Time that it takes on average \[ms\].
        mean_ms: f64,
    },
    /// More engines than slices can keep busy.
    IdleEngines {
        /// Encoder or decoder.
        server: Server,
        /// Its engines.
        engines: u32,
        /// Slices a frame.
        slices: u32,
    },
    /// Rate control takes bits away, so that the picture is not as good as the comparison says.
    RateControl {
        /// Share of frames that it held at its limit.
        held: f64,
        /// Share of the wanted bits that is missing.
        missing: f64,
    },
    /// The stream asks for more than the level allowed, or than any level.
    Level {
        /// The codec.
        codec: Codec,
        /// The level needed, with its tier; none: there is none.
        needed: Option<String>,
        /// The highest level allowed by the budget.
        allowed: String,
        /// The limits of that level, or of the highest there is, that the stream exceeds.
        over: Vec<Usage>,
    },
    /// Slices of hardly more than a row of coding blocks.
    ThinSlices {
        /// Slices a frame.
        slices: u32,
        /// Block rows a frame.
        rows: u32,
        /// Rows of the thinnest slice.
        thinnest: f64,
        /// Height of a block row \[px\].
        block_px: u32,
    },
    /// Slices without a row of their own.
    EmptySlices {
        /// Slices a frame.
        slices: u32,
        /// Those below one row.
        empty: u32,
        /// Whether the weights are given; else they follow from a ratio.
        weights: bool,
    },
    /// The lead cannot have settled before frames count.
    ShortWarmup {
        /// Frames that do not count.
        warmup: u32,
        /// Frames that the lead needs at least.
        needed: u32,
    },
    /// Too few frames lie beyond the quantile.
    FewFrames {
        /// Frames whose pose to photon counts.
        frames: u64,
        /// The quantile.
        quantile: f64,
        /// Frames beyond it.
        beyond: f64,
        /// Frames to plan for enough of them.
        enough: u64,
    },
    /// What happens rarely hardly happens in this run.
    Rare {
        /// What it is, as the beginning of a sentence.
        what: &'static str,
        /// How often it is to be expected in the counted part.
        expected: f64,
        /// Frames to plan for ten of them.
        enough: u64,
        /// Path of the parameter that says how rare it is.
        path: &'static str,
    },
}

impl Warning {
    /// Its name in JSON.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::NotSteady { .. } => "not_steady",
            Self::Overloaded { .. } => "overloaded",
            Self::FramesInFlight { .. } => "frames_in_flight",
            Self::NoLead { .. } => "no_lead",
            Self::HiddenDrops { .. } => "hidden_drops",
            Self::ComposeMisses { .. } => "compose_misses",
            Self::IdleEngines { .. } => "idle_engines",
            Self::RateControl { .. } => "rate_control",
            Self::Level { .. } => "level",
            Self::ThinSlices { .. } => "thin_slices",
            Self::EmptySlices { .. } => "empty_slices",
            Self::ShortWarmup { .. } => "short_warmup",
            Self::FewFrames { .. } => "few_frames",
            Self::Rare { .. } => "rare",
        }
    }

    /// Whether the quantiles of the answer mean little: to be said beside any output.
    pub const fn grave(&self) -> bool {
        matches!(self, Self::NotSteady { .. } | Self::NoLead { .. })
    }

    /// Whether it is about the length of the run rather than the design. A part of a run says nothing of it.
    pub const fn of_length(&self) -> bool {
        matches!(self, Self::ShortWarmup { .. } | Self::FewFrames { .. } | Self::Rare { .. })
    }
}

/// A warning as programs read it.
#[derive(Debug, Serialize)]
pub struct Entry {
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: String,
    /// Paths of the parameters to try something with.
    pub parameters: Vec<&'static str>,
}

impl From<&Warning> for Entry {
    fn from(warning: &Warning) -> Self {
        Self { name: warning.name(), text: warning.to_string(), parameters: warning.parameters() }
    }
}
