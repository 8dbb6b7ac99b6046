//! Limits of AV1. Its slices are tiles: a band of rows is one tile, or several beside each other where the frame is wider than
//! a tile may be.

use super::{Demand, Level, Limit, Tier, Usage};

/// A row of the AV1 specification, Annex A.3.
pub(super) struct Row {
    pub(super) name: &'static str,
    /// `MaxPicSize` \[luma samples\].
    size: f64,
    /// `MaxHSize` \[luma samples\].
    width: f64,
    /// `MaxVSize` \[luma samples\].
    height: f64,
    /// `MaxDisplayRate` \[luma samples/s\]. Every frame is shown, so `MaxDecodeRate`, never less, does not bind.
    rate: f64,
    /// `MainMbps` \[Mbit/s\].
    main_mbps: f64,
    /// `HighMbps` \[Mbit/s\].
    high_mbps: f64,
    /// `MaxTiles`.
    tiles: f64,
    /// `MaxTileCols`.
    columns: f64,
}

#[expect(clippy::too_many_arguments, reason = "a row of the standard's table, in its order")]
const fn row(
    name: &'static str,
    size: f64,
    width: f64,
    height: f64,
    rate: f64,
    main_mbps: f64,
    high_mbps: f64,
    tiles: f64,
    columns: f64,
) -> Row {
    Row { name, size, width, height, rate, main_mbps, high_mbps, tiles, columns }
}

/// Levels from 4.0 on, the first with a High tier.
pub(super) const LEVELS: [Row; 10] = [
    row("4.0", 2_359_296.0, 6_144.0, 3_456.0, 70_778_880.0, 12.0, 30.0, 32.0, 8.0),
    row("4.1", 2_359_296.0, 6_144.0, 3_456.0, 141_557_760.0, 20.0, 50.0, 32.0, 8.0),
    row("5.0", 8_912_896.0, 8_192.0, 4_352.0, 267_386_880.0, 30.0, 100.0, 64.0, 8.0),
    row("5.1", 8_912_896.0, 8_192.0, 4_352.0, 534_773_760.0, 40.0, 160.0, 64.0, 8.0),
    row("5.2", 8_912_896.0, 8_192.0, 4_352.0, 1_069_547_520.0, 60.0, 240.0, 64.0, 8.0),
    row("5.3", 8_912_896.0, 8_192.0, 4_352.0, 1_069_547_520.0, 60.0, 240.0, 64.0, 8.0),
    row("6.0", 35_651_584.0, 16_384.0, 8_704.0, 1_069_547_520.0, 60.0, 240.0, 128.0, 16.0),
    row("6.1", 35_651_584.0, 16_384.0, 8_704.0, 2_139_095_040.0, 100.0, 480.0, 128.0, 16.0),
    row("6.2", 35_651_584.0, 16_384.0, 8_704.0, 4_278_190_080.0, 160.0, 800.0, 128.0, 16.0),
    row("6.3", 35_651_584.0, 16_384.0, 8_704.0, 4_278_190_080.0, 160.0, 800.0, 128.0, 16.0),
];

/// Widest tile \[luma samples\].
const TILE_WIDTH: u32 = 4096;
/// Largest tile \[luma samples\].
const TILE_SIZE: f64 = 4096.0 * 2304.0;
/// Largest tile times frames per second \[luma samples/s\].
const TILE_SAMPLE_RATE: f64 = 588_251_136.0;
/// `MaxHeaderRate` from level 4.0 on \[frame headers/s\].
const HEADER_RATE: f64 = 300.0;
/// Tiles per second over `MaxTiles` \[1/s\].
const TILE_RATE: f64 = 120.0;

/// Usage of a level, tiles included (AV1 specification, Annex A.3).
pub(super) fn usage(level: Level, demand: &Demand) -> Vec<Usage> {
    let Some(row) = LEVELS.iter().find(|row| row.name == level.name) else { return Vec::new() };
    let (width, height) = (f64::from(demand.width_px), f64::from(demand.height_px));
    let columns = demand.width_px.div_ceil(TILE_WIDTH).max(1);
    let tiles = f64::from(demand.slices) * f64::from(columns);
    let tile = f64::from(demand.width_px.div_ceil(columns)) * f64::from(demand.slice_px);
    let mbps = match level.tier {
        Tier::Main => row.main_mbps,
        Tier::High => row.high_mbps,
    };
    [
        (Limit::Size, width * height, row.size),
        (Limit::Width, width, row.width),
        (Limit::Height, height, row.height),
        (Limit::Rate, width * height * demand.rate_hz, row.rate),
        (Limit::Bitrate, demand.bitrate_mbps, mbps),
        (Limit::Slices, tiles, row.tiles),
        (Limit::TileColumns, f64::from(columns), row.columns),
        (Limit::TileRate, tiles * demand.rate_hz, TILE_RATE * row.tiles),
        (Limit::TileSize, tile, TILE_SIZE),
        (Limit::TileSampleRate, tile * demand.rate_hz, TILE_SAMPLE_RATE),
        (Limit::HeaderRate, demand.rate_hz, HEADER_RATE),
    ]
    .map(|(limit, used, allowed)| Usage { limit, used, allowed })
    .to_vec()
}
