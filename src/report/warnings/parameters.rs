//! What to try against a warning, as paths of parameters.

use super::Warning;
use crate::measure::Server;
use crate::scenario::levels::Limit;

impl Warning {
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
