//! What is coded and how it is cut: pixel layout, slices, the stream.

use serde::{Deserialize, Serialize};

use super::spread::Spread;

/// How many pixels are coded, and where.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Pixels {
    /// The layout.
    pub layout: Layout,
    /// GPU time to resample, where the layout is not full, per million coded pixels \[ms\].
    pub resample_per_mpx_ms: f64,
}

impl Default for Pixels {
    fn default() -> Self {
        Self { layout: Layout::Full, resample_per_mpx_ms: 0.05 }
    }
}

/// Density of the coded picture over the field of view.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Layout {
    /// As displayed.
    Full,
    /// Each axis scaled; rendered at that size too.
    Uniform {
        /// Linear scale, 0.25 to 1.5.
        scale: f64,
    },
    /// Full density at the centre, falling in a straight line to the edge.
    Foveated {
        /// Central share of each axis at density 1.
        center: f64,
        /// Linear density at the edge.
        edge_density: f64,
    },
}

/// How a frame is cut into slices, bands of rows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Slices {
    /// Slices a frame.
    pub count: u32,
    /// Their sizes.
    pub shape: Shape,
    /// Height of a row of coding blocks \[px\].
    pub block_px: u32,
    /// Spread of bits per row between slices and frames (cv), 0 is none.
    pub spread_cv: f64,
    /// More bits per further slice for the same quality \[%\].
    pub bits_penalty_pct: f64,
}

impl Default for Slices {
    fn default() -> Self {
        Self { count: 8, shape: Shape::Equal, block_px: 16, spread_cv: 0.0, bits_penalty_pct: 0.1 }
    }
}

/// Relative sizes of slices.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Shape {
    /// As equal as whole block rows allow.
    Equal,
    /// Each `ratio` times the one before.
    Geometric {
        /// Ratio of a slice to the one before.
        ratio: f64,
    },
    /// As given, scaled to sum 1.
    Weights(Vec<f64>),
}

/// The coded stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Stream {
    /// Codec; its standard's levels limit size, rate, bitrate and slices.
    pub codec: Codec,
    /// Target bitrate \[Mbit/s\].
    pub bitrate_mbps: f64,
    /// How strongly content complexity scales the bits of a frame.
    pub content: f64,
    /// Spread of the bits from frame to frame.
    pub size: Spread,
    /// Rate control buffer in target frames; 0: off.
    pub vbv_frames: f64,
    /// Intra frames.
    pub intra: Intra,
    /// Bytes added to every slice \[bytes\].
    pub slice_header_bytes: u32,
    /// What a slice needs of earlier frames.
    pub references: References,
    /// What happens after a frame goes missing.
    pub after_missing: AfterMissing,
}

impl Default for Stream {
    fn default() -> Self {
        Self {
            codec: Codec::H265,
            bitrate_mbps: 200.0,
            content: 0.3,
            size: Spread::Normal { cv: 0.15, low: 0.4, high: 1.6 },
            vbv_frames: 1.5,
            intra: Intra::default(),
            slice_header_bytes: 70,
            references: References::Frame,
            after_missing: AfterMissing::Conceal,
        }
    }
}

/// Video codec, by its open standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Codec {
    /// ITU-T Rec. H.264.
    H264,
    /// ITU-T Rec. H.265.
    H265,
    /// AV1.
    AV1,
}

/// Intra frames.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Intra {
    /// One every so many frames; none: only the first.
    pub every: Option<u32>,
    /// Bits of an intra frame over those of another.
    pub factor: f64,
}

impl Default for Intra {
    fn default() -> Self {
        Self { every: None, factor: 2.5 }
    }
}

/// What a slice needs of earlier frames before an engine may begin it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum References {
    /// No slice of an earlier frame is in service.
    Frame,
    /// No slice numbered up to `reach` beyond its own, of an earlier frame, is in service.
    Bands {
        /// Slices beyond its own.
        reach: u32,
    },
    /// Nothing.
    Independent,
}

/// What happens after a frame goes missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum AfterMissing {
    /// The decoder conceals it; later frames can be shown.
    Conceal,
    /// The device asks for an intra frame; frames until then cannot be shown.
    RequestIntra,
}
