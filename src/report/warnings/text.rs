//! What a warning says: what happens, why it matters, what to try.

use std::fmt::{self, Display, Formatter};

use super::Warning;
use crate::measure::Server;
use crate::report::format::{self, ms, number, share, with_unit};
use crate::report::words;
use crate::scenario::Codec;
use crate::scenario::levels::{Limit, Usage};

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
                "No lead meets the late share asked for, {}: {} of the frames never get ready, which no lead mends. In \
                 place of a tuned lead, the run keeps the {} of the trial that leads are tuned from, so latency is not \
                 that of a tuned design. Mend what loses the frames, allow a greater late share, or set the lead in ms.",
                share(*late_share),
                share(*never_ready),
                with_unit(*lead_ms, 0, "ms")
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
                "Only {slices} of the {engines} engines of the {} can work at a time: a slice waits for the same slice of \
                 the frame before, so that offered load looks lower than it is. Try {engines} slices, or references \
                 Independent.",
                words::server(*server)
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
                "{}, so {} rests on the {} slowest of them, and another seed may tell another story. Try {} \
                 frames.",
                format::counting(*frames),
                name(*quantile),
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

impl Warning {
    /// What happens alone, in at most some 70 characters.
    pub fn brief(&self) -> String {
        match self {
            Self::NotSteady { growth_ms_per_frame: Some(growth), .. } => {
                format!("The run is not steady: latency grows by {} a frame", with_unit(Some(*growth), 2, "ms"))
            }
            Self::NotSteady { .. } => "The run is not steady: work is offered faster than done".to_owned(),
            Self::Overloaded { server, load, engines, .. } => offered(*server, *load, *engines),
            Self::FramesInFlight { allowed, skipped, .. } => {
                format!("{} of the frames are skipped: only {allowed} may be in flight", share(*skipped))
            }
            Self::NoLead { late_share, .. } => {
                format!("No lead meets the late share asked for, {}", share(*late_share))
            }
            Self::HiddenDrops { not_shown, missed, .. } => format!(
                "{} of frames are never shown, but only {} of refreshes are missed",
                share(*not_shown),
                share(*missed)
            ),
            Self::ComposeMisses { missed, .. } => {
                format!("The compositor is too slow at {} of the refreshes", share(*missed))
            }
            Self::IdleEngines { server, engines, slices } => {
                format!("Only {slices} of the {engines} engines of the {} can work at a time", words::server(*server))
            }
            Self::RateControl { held, .. } => {
                format!("Rate control held {} of frames at its limit: quality is not equal", share(*held))
            }
            Self::Level { codec, needed, allowed, .. } => needs(*codec, needed.as_deref(), allowed),
            Self::ThinSlices { thinnest, .. } => format!(
                "Slices as thin as {} block rows compress worse than is reckoned",
                number(*thinnest, usize::from(thinnest.fract() > 0.05))
            ),
            Self::EmptySlices { slices, empty, .. } => {
                let be = if *empty == 1 { "is" } else { "are" };
                format!("{empty} of {slices} slices {be} lower than one row of coding blocks")
            }
            Self::ShortWarmup { warmup, needed } => format!(
                "The lead needs {} frames to settle, but frames count from {} on",
                format::count(u64::from(*needed)),
                format::count(u64::from(*warmup))
            ),
            Self::FewFrames { frames, quantile, .. } => {
                format!("{}, too few for {}", format::counting(*frames), name(*quantile))
            }
            Self::Rare { what, expected, .. } => {
                format!("{what} come about {} in the part of the run that counts", times(*expected))
            }
        }
    }
}

/// A quantile's name: `p99`.
fn name(quantile: f64) -> String {
    format!("p{}", number(100.0 * quantile, usize::from((1000.0 * quantile).round() % 10.0 > 0.5)))
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
            ", because the {} is offered {} of what it can do and any number of frames may wait before it. Its quantiles \
             mean nothing and are left out. Bound its buffer, or try {}.",
            words::server(server),
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
    write!(
        to,
        "{}, so no more than {} of the frames can pass in the long run. ",
        offered(server, load, engines),
        with_unit(Some(100.0 / load), 1, "%")
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

fn offered(server: Server, load: f64, engines: bool) -> String {
    let several = if engines { "'s engines are" } else { " is" };
    format!("The {}{several} offered {} of what can be done in the time", words::server(server), percent(load))
}

fn needs(codec: Codec, needed: Option<&str>, allowed: &str) -> String {
    match needed {
        Some(needed) => format!("The stream needs level {needed} of {codec:?}, and {allowed} is allowed"),
        None => format!("No level of {codec:?} holds the stream"),
    }
}

fn level(to: &mut Formatter<'_>, codec: Codec, needed: Option<&str>, allowed: &str, over: &[Usage]) -> fmt::Result {
    write!(to, "{}", needs(codec, needed, allowed))?;
    if needed.is_none() {
        write!(to, ", so that no decoder of the standard need play it")?;
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

/// What gives a server less to do, or more to do it with.
const fn remedy(server: Server) -> &'static str {
    match server {
        Server::Cpu => "less to simulate, or a frame at fewer refreshes",
        Server::Gpu => "fewer pixels, or a frame at fewer refreshes",
        Server::Encoder | Server::Decoder => "fewer slices, fewer pixels or one engine more",
        Server::Link => "a faster link or fewer bits",
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
