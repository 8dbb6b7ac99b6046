//! What a reader must know before believing an answer: where a scenario cannot work, or where a number misleads. Each
//! warning says what happens, why it matters and what to try, and knows the parameters to try it with.

mod find;
mod pair;
#[cfg(test)]
mod tests;

use std::fmt::{self, Display, Formatter};

use serde::Serialize;

pub use find::{hides_drops, warnings};
pub use pair::{Told, tell};

use super::format::{self, ms, number, share, with_unit};
use crate::measure::Server;
use crate::scenario::Codec;
use crate::scenario::levels::{Limit, Usage};

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
        /// The lead used instead \[ms\].
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

    /// Paths of the parameters to try something with, the first one first.
    pub fn parameters(&self) -> Vec<&'static str> {
        match self {
            Self::NotSteady { cause: Some((server, _)), .. } => {
                [buffer_of(*server)].into_iter().flatten().chain(relief(*server).iter().copied()).collect()
            }
            Self::NotSteady { cause: None, .. } => vec!["run.frames", "run.warmup"],
            Self::Overloaded { server, .. } => relief(*server).to_vec(),
            Self::FramesInFlight { .. } => vec!["host.frames_in_flight"],
            Self::NoLead { .. } => vec!["pacing.lead.late_share"],
            Self::HiddenDrops { lead, .. } => vec![lead, "display.choose"],
            Self::ComposeMisses { .. } => vec!["display.latch_lead_ms", "display.compose.fixed_ms"],
            Self::IdleEngines { server: Server::Encoder, .. } => {
                vec!["slices.count", "stream.references", "encode.engines"]
            }
            Self::IdleEngines { .. } => vec!["slices.count", "stream.references", "decode.engines"],
            Self::RateControl { .. } => {
                vec!["stream.bitrate_mbps", "slices.bits_penalty_pct", "stream.intra.every", "stream.vbv_frames"]
            }
            Self::Level { over, .. } => {
                let mut paths: Vec<&str> = over.iter().map(|usage| path_of(usage.limit)).collect();
                paths.push("budget.level_max");
                paths.dedup();
                paths
            }
            Self::ThinSlices { .. } => vec!["slices.count", "slices.block_px"],
            Self::EmptySlices { weights: true, .. } => vec!["slices.shape.weights", "slices.count"],
            Self::EmptySlices { weights: false, .. } => vec!["slices.shape.ratio", "slices.count"],
            Self::ShortWarmup { .. } => vec!["run.warmup", "pacing.start_ms"],
            Self::FewFrames { .. } => vec!["run.frames"],
            Self::Rare { path, .. } => vec!["run.frames", path],
        }
    }
}

impl Display for Warning {
    fn fmt(&self, to: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotSteady { growth_ms_per_frame, cause } => not_steady(to, *growth_ms_per_frame, *cause),
            Self::Overloaded { server, load, gone, engines } => overloaded(to, *server, *load, gone, *engines),
            Self::FramesInFlight { allowed, host_ms, period_ms, skipped } => write!(
                to,
                "{} of the frames are skipped though the host could do them: a frame is with it for {} from simulate to \
                 encoded, and with at most {allowed} in flight one begins every {}, while one is planned every {}. Try {} \
                 in flight.",
                share(*skipped),
                ms(*host_ms),
                ms(host_ms / f64::from(*allowed)),
                ms(*period_ms),
                allowed + 1
            ),
            Self::NoLead { late_share, never_ready, lead_ms } => write!(
                to,
                "No lead meets the late share asked for, {}: {} of the frames never get ready, which no lead mends. The \
                 lead is {} instead, so latency is not that of a tuned design. Mend what loses the frames, or allow a \
                 greater late share.",
                share(*late_share),
                share(*never_ready),
                lead_ms.map_or_else(|| "60 ms".to_owned(), |lead| with_unit(Some(lead), 0, "ms"))
            ),
            Self::HiddenDrops { not_shown, missed, repeated, photon_age_ms, .. } => write!(
                to,
                "{} of the frames are never shown, but only {} of the refreshes count as missed: frames come before the \
                 refresh they are for, and where one is absent, what is on display is new enough not to count. Look at \
                 the photon age ({} on average) and at repeats ({}) instead, or try a shorter lead.",
                share(*not_shown),
                share(*missed),
                format::maybe_ms(*photon_age_ms),
                share(*repeated)
            ),
            Self::ComposeMisses { missed, allowed_ms, mean_ms } => write!(
                to,
                "The compositor is too slow at {} of the refreshes, and nothing new is shown at them, however early \
                 frames come: it takes {} on average and may take {}, the shorter of latch lead and refresh period. Try a \
                 longer latch lead or less to compose.",
                share(*missed),
                with_unit(Some(*mean_ms), 2, "ms"),
                with_unit(Some(*allowed_ms), 2, "ms")
            ),
            Self::IdleEngines { server, engines, slices } => write!(
                to,
                "Only {slices} of the {engines} engines of {} can work at a time: a slice waits for the same slice of \
                 the frame before, so that offered load looks lower than it is. Try {engines} slices, or references \
                 Independent.",
                the(*server)
            ),
            Self::RateControl { held, missing } => write!(
                to,
                "Rate control held {} of the frames at its limit and left them {} fewer bits than this picture asks for, \
                 so quality is not equal any more and latency looks better than it should. Try a higher bitrate, or fewer \
                 slices or intra frames.",
                share(*held),
                share(*missing)
            ),
            Self::Level { codec, needed, allowed, over } => level(to, *codec, needed.as_deref(), allowed, over),
            Self::ThinSlices { slices, rows, thinnest, block_px } => write!(
                to,
                "Cut into {slices} slices, the {rows} block rows leave as few as {} rows of {block_px} px to a slice. So \
                 thin bands compress worse than the straight line of the bits penalty says. Try fewer slices.",
                number(*thinnest, usize::from(thinnest.fract() > 0.05))
            ),
            Self::EmptySlices { slices, empty, .. } => write!(
                to,
                "{empty} of {slices} slices {} lower than one row of coding blocks, where no encoder can cut: the answer \
                 is for a frame that cannot be made. Try fewer slices, or sizes that differ less.",
                if *empty == 1 { "is" } else { "are" }
            ),
            Self::ShortWarmup { warmup, needed } => write!(
                to,
                "The lead moves by one step a frame and needs at least {} frames from where it starts to where it \
                 stays, and frames count from frame {} on: the answer mixes both. Try a longer warm-up, or start nearer.",
                format::count(u64::from(*needed)),
                format::count(u64::from(*warmup))
            ),
            Self::FewFrames { frames, quantile, beyond, enough } => write!(
                to,
                "{} frames count, so p{} rests on the {} slowest of them, and another seed may tell another story. Try {} \
                 frames.",
                format::count(*frames),
                number(100.0 * quantile, usize::from((1000.0 * quantile).round() % 10.0 > 0.5)),
                if *beyond < 1.5 { "one or two".to_owned() } else { number(*beyond, 0) },
                format::count(*enough)
            ),
            Self::Rare { what, expected, enough, .. } => write!(
                to,
                "{what} come about {} in the part of the run that counts, so what they do to p99 and to missed refreshes \
                 is luck. Try {} frames.",
                times(*expected),
                format::count(*enough)
            ),
        }
    }
}

fn not_steady(to: &mut Formatter<'_>, growth_ms: Option<f64>, cause: Option<(Server, f64)>) -> fmt::Result {
    write!(to, "The run is not steady: ")?;
    match growth_ms {
        Some(growth) => write!(to, "latency grows by {} a frame", with_unit(Some(growth), 2, "ms"))?,
        None => write!(to, "work is offered faster than done")?,
    }
    match cause {
        Some((server, load)) => write!(
            to,
            ", because {} is offered {} of what it can do and any number of frames may wait before it. Its quantiles \
             mean nothing and are left out. Bound its buffer, or try {}.",
            the(server),
            percent(load),
            remedy(server)
        ),
        None => write!(
            to,
            ". Its quantiles mean nothing and are left out. Try a longer run, to see whether it settles, and a longer \
             warm-up."
        ),
    }
}

fn overloaded(to: &mut Formatter<'_>, server: Server, load: f64, gone: &[f64; 4], engines: bool) -> fmt::Result {
    let several = if engines { "s engines are" } else { " is" };
    let name = if engines { format!("{}'", the(server)) } else { the(server).to_owned() };
    write!(
        to,
        "{}{several} offered {} of what can be done in the time, so no more than {} of the frames can pass in the long \
         run. ",
        capital(&name),
        percent(load),
        percent(1.0 / load)
    )?;
    let places =
        ["skipped before simulate", "dropped before encode", "dropped before the link", "dropped before decode"];
    let told: Vec<String> = (gone.iter().zip(places).filter(|(gone, _)| **gone > 0.0))
        .map(|(gone, place)| format!("{} are {place}", share(*gone)))
        .collect();
    if told.is_empty() {
        write!(to, "Here they still wait. ")?;
    } else {
        write!(to, "Of those that count, {}. ", told.join(", "))?;
    }
    write!(to, "Try {}.", remedy(server))
}

fn level(to: &mut Formatter<'_>, codec: Codec, needed: Option<&str>, allowed: &str, over: &[Usage]) -> fmt::Result {
    match needed {
        Some(needed) => write!(to, "The stream needs level {needed} of {codec:?}, and {allowed} is allowed")?,
        None => write!(to, "No level of {codec:?} holds the stream, so that no decoder of the standard need play it")?,
    }
    for (number, usage) in over.iter().enumerate() {
        write!(to, "{} {}", if number == 0 { ":" } else { "," }, limit(usage))?;
    }
    write!(to, ". A decoder made for less may refuse it. Try less of that")?;
    write!(to, "{}.", if needed.is_some() { ", or allow a higher level" } else { ", or another codec" })
}

/// A limit in words, with what is used of it.
fn limit(usage: &Usage) -> String {
    let (what, scale, unit) = match usage.limit {
        Limit::Size => ("picture size", 1e6, "million samples"),
        Limit::Width => ("width", 1.0, "samples"),
        Limit::Height => ("height", 1.0, "samples"),
        Limit::Rate => ("samples a second", 1e6, "million"),
        Limit::Bitrate => ("bitrate", 1.0, "Mbit/s"),
        Limit::Slices => ("slices or tiles", 1.0, ""),
        Limit::TileColumns => ("tile columns", 1.0, ""),
        Limit::TileRate => ("tiles a second", 1.0, ""),
        Limit::TileSize => ("tile size", 1e6, "million samples"),
        Limit::TileSampleRate => ("tile samples a second", 1e6, "million"),
        Limit::HeaderRate => ("frame headers a second", 1.0, ""),
    };
    let decimals = usize::from(scale > 1.0);
    let [used, allowed] = [usage.used, usage.allowed].map(|value| value / scale);
    format!("{what} {} of {}", number(used, decimals), with_unit(Some(allowed), decimals, unit))
}

/// The parameter that a limit of a level is kept with.
const fn path_of(limit: Limit) -> &'static str {
    match limit {
        Limit::Size | Limit::Width | Limit::Height => "pixels.layout",
        Limit::Rate | Limit::HeaderRate => "display.refresh_hz",
        Limit::Bitrate => "stream.bitrate_mbps",
        Limit::Slices | Limit::TileColumns | Limit::TileRate | Limit::TileSize | Limit::TileSampleRate => {
            "slices.count"
        }
    }
}

/// The buffer before a server.
const fn buffer_of(server: Server) -> Option<&'static str> {
    match server {
        Server::Cpu | Server::Gpu => None,
        Server::Encoder => Some("encode.buffer.frames"),
        Server::Link => Some("link.buffer.frames"),
        Server::Decoder => Some("decode.buffer.frames"),
    }
}

/// Parameters that give a server less to do, or more to do it with.
const fn relief(server: Server) -> &'static [&'static str] {
    match server {
        Server::Cpu => &["host.simulate.fixed_ms", "host.simulate.per_mpx_ms"],
        Server::Gpu => &["host.render.per_mpx_ms", "host.render.fixed_ms", "pixels.layout"],
        Server::Encoder => {
            &["slices.count", "encode.engines", "encode.work.per_mpx_ms", "encode.slice_overhead_ms", "pixels.layout"]
        }
        Server::Link => &["link.rate_mbps", "stream.bitrate_mbps", "link.unit_overhead_ms", "slices.count"],
        Server::Decoder => {
            &["slices.count", "decode.engines", "decode.work.per_mpx_ms", "decode.slice_overhead_ms", "pixels.layout"]
        }
    }
}

/// The same in words.
const fn remedy(server: Server) -> &'static str {
    match server {
        Server::Cpu => "less to simulate, or a frame at fewer refreshes",
        Server::Gpu => "fewer pixels, or a frame at fewer refreshes",
        Server::Encoder | Server::Decoder => "fewer slices, fewer pixels or one engine more",
        Server::Link => "a faster link or fewer bits",
    }
}

/// A server within a sentence.
const fn the(server: Server) -> &'static str {
    match server {
        Server::Cpu => "the CPU",
        Server::Gpu => "the GPU",
        Server::Encoder => "the encoder",
        Server::Link => "the link",
        Server::Decoder => "the decoder",
    }
}

/// A number of times, or less than once.
fn times(expected: f64) -> String {
    match expected.round() as u64 {
        0 => "less than once".to_owned(),
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}

/// A load as per cent: one decimal near the edge, where whole numbers would say 100 %.
fn percent(load: f64) -> String {
    let percent = 100.0 * load;
    with_unit(Some(percent), usize::from((percent - 100.0).abs() < 5.0), "%")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
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
