//! Limits of H.264.

use super::{Demand, Level, Limit, Tier, Usage};

/// A row of ITU-T Rec. H.264 Table A-1 (macroblock rate, frame size, bitrate) and Table A-4 (slice rate).
pub(super) struct Row {
    pub(super) name: &'static str,
    /// `MaxMBPS` \[macroblocks/s\].
    mb_rate: f64,
    /// `MaxFS` \[macroblocks\].
    frame_mb: f64,
    /// `MaxBR` \[1000 bit/s\], VCL, Main profile.
    kbps: f64,
    /// `SliceRate`, Main and High profiles.
    slice_rate: f64,
}

const fn row(name: &'static str, mb_rate: f64, frame_mb: f64, kbps: f64, slice_rate: f64) -> Row {
    Row { name, mb_rate, frame_mb, kbps, slice_rate }
}

/// Levels from 3.1 on, below which no picture of a headset fits.
pub(super) const LEVELS: [Row; 11] = [
    row("3.1", 108_000.0, 3_600.0, 14_000.0, 60.0),
    row("3.2", 216_000.0, 5_120.0, 20_000.0, 60.0),
    row("4", 245_760.0, 8_192.0, 20_000.0, 60.0),
    row("4.1", 245_760.0, 8_192.0, 50_000.0, 24.0),
    row("4.2", 522_240.0, 8_704.0, 50_000.0, 24.0),
    row("5", 589_824.0, 22_080.0, 135_000.0, 24.0),
    row("5.1", 983_040.0, 36_864.0, 240_000.0, 24.0),
    row("5.2", 2_073_600.0, 36_864.0, 240_000.0, 24.0),
    row("6", 4_177_920.0, 139_264.0, 240_000.0, 24.0),
    row("6.1", 8_355_840.0, 139_264.0, 480_000.0, 24.0),
    row("6.2", 16_711_680.0, 139_264.0, 800_000.0, 24.0),
];

/// Usage of a level; width and height at most `sqrt(8 MaxFS)` macroblocks, slices at most `MaxMBPS` times the frame period
/// over `SliceRate` (Rec. H.264, A.3).
pub(super) fn usage(level: Level, demand: &Demand) -> Vec<Usage> {
    let Some(row) = LEVELS.iter().find(|row| row.name == level.name && level.tier == Tier::Main) else {
        return Vec::new();
    };
    let width = f64::from(demand.width_px.div_ceil(16));
    let height = f64::from(demand.height_px.div_ceil(16));
    let side = (8.0 * row.frame_mb).sqrt().floor();
    let slices = (row.mb_rate / demand.rate_hz / row.slice_rate).floor();
    [
        (Limit::Size, width * height, row.frame_mb),
        (Limit::Width, width, side),
        (Limit::Height, height, side),
        (Limit::Rate, width * height * demand.rate_hz, row.mb_rate),
        (Limit::Bitrate, demand.bitrate_mbps, row.kbps / 1000.0),
        (Limit::Slices, f64::from(demand.slices), slices),
    ]
    .map(|(limit, used, allowed)| Usage { limit, used, allowed })
    .to_vec()
}
