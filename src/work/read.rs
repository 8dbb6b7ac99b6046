//! Reading a work table from CSV files: to replay it, or to feed measured times to the engine.
//!
//! Columns are found by name, in any order; names that are not asked for are passed over, as are frames beyond the run.

use std::fs;
use std::ops::RangeInclusive;
use std::path::Path;

use super::error::WorkError;
use super::link::merge;
use super::sheet::{ColumnOf, Sheet, counted};
use super::table::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
use crate::scenario::{Pacing, Scenario};
use crate::stop::Stop;
use crate::time::{ms_to_ns, us_to_ns};

/// What a stage may cost \[ms\]: nearly three hours, far beyond what any scenario draws.
const COST_MS: RangeInclusive<f64> = 0.0..=1e7;
/// Time between two plans \[ms\].
const INTERVAL_MS: RangeInclusive<f64> = 0.0..=1e6;
/// All intervals of a run together \[ms\]: more than a day, some ten million refreshes.
const INTERVALS_MS: f64 = 1e8;
const CLOCK_ERROR_US: RangeInclusive<f64> = -1e7..=1e7;
/// Instants and lengths of closures \[ms\].
const CLOSURE_MS: RangeInclusive<f64> = 0.0..=1e9;
const SHARE: RangeInclusive<f64> = 0.0..=1.0;
/// How far from 1 the shares of a frame may sum, for files whose shares were rounded.
const SHARE_SUM_SLACK: f64 = 1e-6;
/// More than a gigabyte: the packets of a slice are counted in 32 bits.
const BITS: RangeInclusive<u64> = 0..=10_000_000_000;
const LOST: RangeInclusive<u64> = 0..=1_000_000_000;
/// The first sending and as many resends as a scenario can ask for.
const TRIES: RangeInclusive<u64> = 0..=10;

/// The tables of a folder, by file name.
pub(super) const FRAMES: &str = "frames.csv";
pub(super) const REFRESHES: &str = "refreshes.csv";
pub(super) const CLOSURES: &str = "closures.csv";
pub(super) const LOSSES: &str = "losses.csv";

/// A work table that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The table.
    pub table: WorkTable,
    /// Files that were not there, whose part was drawn from the scenario instead.
    pub absent: Vec<&'static str>,
}

/// Reads the work table of a scenario from a folder, or from a lone file as its `frames.csv`. What is absent is drawn.
pub fn read(path: &Path, scenario: &Scenario) -> Result<Loaded, WorkError> {
    let found = fs::metadata(path).map_err(|cause| WorkError::Read { path: path.to_owned(), cause })?;
    let sheet = |name: &str| -> Result<Option<Sheet>, WorkError> {
        let file = if found.is_dir() { path.join(name) } else { path.to_owned() };
        let there = if found.is_dir() { fs::symlink_metadata(&file).is_ok() } else { name == FRAMES };
        there.then(|| Sheet::open(&file)).transpose()
    };
    let (mut table, mut absent) = (WorkTable::default(), Vec::new());
    // In this order: refreshes and closures reach as far as the frames' intervals, losses hang on their bits. What is drawn
    // is drawn to its end: nobody asks to stop.
    if let Some(sheet) = sheet(FRAMES)? {
        read_frames(sheet, scenario, &mut table)?;
    } else {
        let _ = table.draw_frames(scenario, Stop::NEVER);
        absent.push(FRAMES);
    }
    if let Some(sheet) = sheet(REFRESHES)? {
        table.compose_ns = read_refreshes(sheet)?;
    } else {
        let _ = table.draw_refreshes(scenario, Stop::NEVER);
        absent.push(REFRESHES);
    }
    if let Some(sheet) = sheet(CLOSURES)? {
        table.closures = read_closures(sheet)?;
    } else {
        table.draw_closures(scenario);
        absent.push(CLOSURES);
    }
    if let Some(sheet) = sheet(LOSSES)? {
        table.losses = read_losses(sheet, scenario)?;
    } else {
        let _ = table.draw_losses(scenario, Stop::NEVER);
        absent.push(LOSSES);
    }
    Ok(Loaded { table, absent })
}

/// Columns of frames.csv.
struct FrameColumns {
    frame: ColumnOf,
    simulate: ColumnOf,
    render: ColumnOf,
    encode: ColumnOf,
    decode: ColumnOf,
    bits: ColumnOf,
    intra: ColumnOf,
    uplink: ColumnOf,
    link_delay: ColumnOf,
    /// Only where the pacing asks for intervals.
    interval: Option<ColumnOf>,
    clock_error: ColumnOf,
}

impl FrameColumns {
    fn new(sheet: &Sheet, scenario: &Scenario) -> Result<Self, WorkError> {
        let column = |name| sheet.column(name);
        Ok(Self {
            frame: column("frame")?,
            simulate: column("simulate_ms")?,
            render: column("render_ms")?,
            encode: column("encode_ms")?,
            decode: column("decode_ms")?,
            bits: column("bits")?,
            intra: column("intra")?,
            uplink: column("uplink_ms")?,
            link_delay: column("link_delay_ms")?,
            interval: has_intervals(scenario).then(|| column("interval_ms")).transpose()?,
            clock_error: column("clock_error_us")?,
        })
    }

    fn frame(&self, sheet: &Sheet) -> Result<FrameWork, WorkError> {
        let cost_ns = |column| cost_ns(sheet, column);
        Ok(FrameWork {
            simulate_ns: cost_ns(&self.simulate)?,
            render_ns: cost_ns(&self.render)?,
            encode_ns: cost_ns(&self.encode)?,
            decode_ns: cost_ns(&self.decode)?,
            bits: sheet.whole(&self.bits, &BITS)?.cast_signed(),
            uplink_ns: cost_ns(&self.uplink)?,
            link_delay_ns: cost_ns(&self.link_delay)?,
            interval_ns: match &self.interval {
                Some(column) => ms_to_ns(sheet.number(column, &INTERVAL_MS, "ms")?),
                None => 0,
            },
            clock_error_ns: us_to_ns(sheet.number(&self.clock_error, &CLOCK_ERROR_US, "us")?),
            intra: sheet.whole(&self.intra, &(0..=1))? == 1,
        })
    }
}

/// Whether frames.csv has a column of intervals.
pub(super) fn has_intervals(scenario: &Scenario) -> bool {
    matches!(scenario.pacing, Pacing::Intervals { .. })
}

fn cost_ns(sheet: &Sheet, column: &ColumnOf) -> Result<i64, WorkError> {
    sheet.number(column, &COST_MS, "ms").map(ms_to_ns)
}

fn read_frames(mut sheet: Sheet, scenario: &Scenario, table: &mut WorkTable) -> Result<(), WorkError> {
    let (frames, slices) = (scenario.run.frames as usize, scenario.slices.count as usize);
    let columns = FrameColumns::new(&sheet, scenario)?;
    let share_columns = [share_columns(&sheet, "row_share", slices)?, share_columns(&sheet, "bit_share", slices)?];
    let mut shares = [Vec::new(), Vec::new()];
    let mut intervals_ns = 0;
    while table.frames.len() < frames && sheet.next_row()? {
        sheet.numbered(&columns.frame)?;
        let frame = columns.frame(&sheet)?;
        intervals_ns += frame.interval_ns;
        table.frames.push(frame);
        for (columns, shares) in share_columns.iter().zip(&mut shares) {
            read_shares(&sheet, columns, shares)?;
        }
    }
    if sheet.rows() < frames {
        let found = counted(sheet.rows(), "frame");
        return Err(sheet.wrong_file(found, format!("at least {frames}, as many as the run has (run.frames)")));
    }
    if intervals_ns > ms_to_ns(INTERVALS_MS) {
        let found = format!("intervals of {} ms together", intervals_ns / 1_000_000);
        return Err(sheet.wrong_file(found, format!("up to {INTERVALS_MS} ms")));
    }
    let [rows, bits] = shares;
    table.row_shares = Shares::new(slices, rows);
    table.bit_shares = Shares::new(slices, bits);
    Ok(())
}

/// The columns of a share for each slice, no fewer and no more.
fn share_columns(sheet: &Sheet, name: &str, slices: usize) -> Result<Vec<ColumnOf>, WorkError> {
    if let Some(further) = sheet.find(&format!("{name}_{slices}")) {
        let allowed = format!("{name}_0 to {name}_{}, as many as the scenario's slices.count", slices - 1);
        return Err(sheet.wrong(&further, "a share of one slice more".to_owned(), allowed));
    }
    (0..slices).map(|slice| sheet.column(&format!("{name}_{slice}"))).collect()
}

fn read_shares(sheet: &Sheet, columns: &[ColumnOf], shares: &mut Vec<f64>) -> Result<(), WorkError> {
    let mut sum = 0.0;
    for column in columns {
        let share = sheet.number(column, &SHARE, "")?;
        sum += share;
        shares.push(share);
    }
    if (sum - 1.0).abs() <= SHARE_SUM_SLACK {
        return Ok(());
    }
    let allowed = format!("shares that sum to 1, give or take {SHARE_SUM_SLACK}");
    // Nine decimals are beyond the slack; the rest is the dust of adding.
    let found = format!("shares that sum to {}", (sum * 1e9).round() / 1e9);
    Err(sheet.wrong(&columns[0], found, allowed))
}

fn read_refreshes(mut sheet: Sheet) -> Result<Vec<i64>, WorkError> {
    let (refresh, compose) = (sheet.column("refresh")?, sheet.column("compose_ms")?);
    let mut compose_ns = Vec::new();
    while sheet.next_row()? {
        sheet.numbered(&refresh)?;
        compose_ns.push(cost_ns(&sheet, &compose)?);
    }
    if compose_ns.is_empty() {
        return Err(sheet.wrong_file("no refresh".to_owned(), "at least one; the last repeats".to_owned()));
    }
    Ok(compose_ns)
}

fn read_closures(mut sheet: Sheet) -> Result<Vec<Closure>, WorkError> {
    let (start, length) = (sheet.column("start_ms")?, sheet.column("length_ms")?);
    let mut closures = Vec::new();
    while sheet.next_row()? {
        let start_ns = ms_to_ns(sheet.number(&start, &CLOSURE_MS, "ms")?);
        let length_ns = ms_to_ns(sheet.number(&length, &CLOSURE_MS, "ms")?);
        closures.push(Closure { start_ns, end_ns: start_ns + length_ns });
    }
    merge(&mut closures);
    Ok(closures)
}

/// Losses of the run's frames; those of later frames are passed over, as in frames.csv.
fn read_losses(mut sheet: Sheet, scenario: &Scenario) -> Result<Losses, WorkError> {
    let [frame, slice, attempt, lost] = ["frame", "slice", "try", "lost"].map(|name| sheet.column(name));
    let (frame, slice, attempt, lost) = (frame?, slice?, attempt?, lost?);
    let slices = 0..=u64::from(scenario.slices.count) - 1;
    let mut rows: Vec<(Loss, u64)> = Vec::new();
    while sheet.next_row()? {
        let row = Loss {
            frame: sheet.whole(&frame, &(0..=u64::from(u32::MAX)))? as u32,
            slice: sheet.whole(&slice, &slices)? as u32,
            attempt: sheet.whole(&attempt, &TRIES)? as u32,
            lost: sheet.whole(&lost, &LOST)? as u32,
        };
        if row.frame < scenario.run.frames {
            rows.push((row, sheet.line()));
        }
    }
    let unit = |row: &Loss| (row.frame, row.slice, row.attempt);
    rows.sort_unstable_by_key(|(row, line)| (unit(row), *line));
    if let Some([first, second]) = rows.array_windows().find(|[first, second]| unit(&first.0) == unit(&second.0)) {
        let (frame, slice, attempt) = unit(&second.0);
        let found = format!("frame {frame}, slice {slice}, try {attempt} again (first in line {})", first.1);
        return Err(sheet.wrong_line(second.1, found, "each frame, slice and try once".to_owned()));
    }
    Ok(Losses::new(rows.into_iter().map(|(row, _)| row).collect()))
}
