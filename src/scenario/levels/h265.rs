//! Limits of H.265.

use super::{Demand, Level, Limit, Tier, Usage};

/// A row of ITU-T Rec. H.265 Table A.8 (size, slices) and Table A.9 (rate, bitrate).
pub(super) struct Row {
    pub(super) name: &'static str,
    /// `MaxLumaPs` \[luma samples\].
    size: f64,
    /// `MaxLumaSr` \[luma samples/s\].
    rate: f64,
    /// `MaxBR` \[1000 bit/s\], VCL, Main and Main 10, Main tier.
    main_kbps: f64,
    /// The same for the High tier; 0: there is none.
    high_kbps: f64,
    /// `MaxSliceSegmentsPerPicture`.
    slices: f64,
}

const fn row(name: &'static str, size: f64, rate: f64, main_kbps: f64, high_kbps: f64, slices: f64) -> Row {
    Row { name, size, rate, main_kbps, high_kbps, slices }
}

/// Levels from 3.1 on, below which no picture of a headset fits.
pub(super) const LEVELS: [Row; 9] = [
    row("3.1", 983_040.0, 33_177_600.0, 10_000.0, 0.0, 40.0),
    row("4", 2_228_224.0, 66_846_720.0, 12_000.0, 30_000.0, 75.0),
    row("4.1", 2_228_224.0, 133_693_440.0, 20_000.0, 50_000.0, 75.0),
    row("5", 8_912_896.0, 267_386_880.0, 25_000.0, 100_000.0, 200.0),
    row("5.1", 8_912_896.0, 534_773_760.0, 40_000.0, 160_000.0, 200.0),
    row("5.2", 8_912_896.0, 1_069_547_520.0, 60_000.0, 240_000.0, 200.0),
    row("6", 35_651_584.0, 1_069_547_520.0, 60_000.0, 240_000.0, 600.0),
    row("6.1", 35_651_584.0, 2_139_095_040.0, 120_000.0, 480_000.0, 600.0),
    row("6.2", 35_651_584.0, 4_278_190_080.0, 240_000.0, 800_000.0, 600.0),
];

/// Usage of a level; width and height at most `sqrt(8 MaxLumaPs)` (Rec. H.265, A.4.1).
pub(super) fn usage(level: Level, demand: &Demand) -> Vec<Usage> {
    let Some(row) = LEVELS.iter().find(|row| row.name == level.name) else { return Vec::new() };
    let kbps = match level.tier {
        Tier::Main => row.main_kbps,
        Tier::High => row.high_kbps,
    };
    if kbps == 0.0 {
        return Vec::new();
    }
    let (width, height) = (f64::from(demand.width_px), f64::from(demand.height_px));
    let side = (8.0 * row.size).sqrt().floor();
    [
        (Limit::Size, width * height, row.size),
        (Limit::Width, width, side),
        (Limit::Height, height, side),
        (Limit::Rate, width * height * demand.rate_hz, row.rate),
        (Limit::Bitrate, demand.bitrate_mbps, kbps / 1000.0),
        (Limit::Slices, f64::from(demand.slices), row.slices),
    ]
    .map(|(limit, used, allowed)| Usage { limit, used, allowed })
    .to_vec()
}
