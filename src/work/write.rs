//! Writing a work table to a folder, exactly: what is read back is equal to the nanosecond and to the last bit.

use std::fmt;
use std::fs;
use std::io::{self, Write};
use std::path::Path;

use super::error::WorkError;
use super::read::{CLOSURES, FRAMES, LOSSES, REFRESHES, has_intervals};
use super::table::WorkTable;
use crate::files::save;
use crate::scenario::{Scenario, to_ron};

/// Writes a scenario's work table into a folder, which is made where it is missing: `frames.csv`, `refreshes.csv`,
/// `closures.csv`, `losses.csv`, and `scenario.ron`, what the table was drawn for. Files of these names are replaced.
pub fn write(folder: &Path, scenario: &Scenario, table: &WorkTable) -> Result<(), WorkError> {
    fs::create_dir_all(folder).map_err(|cause| WorkError::Write { path: folder.to_owned(), cause })?;
    let file = |name: &str, fill: &dyn Fn(&mut dyn Write) -> io::Result<()>| {
        let path = folder.join(name);
        save(&path, fill).map_err(|cause| WorkError::Write { path, cause })
    };
    file(FRAMES, &|to| write_frames(to, table, has_intervals(scenario)))?;
    file(REFRESHES, &|to| write_refreshes(to, table))?;
    file(CLOSURES, &|to| write_closures(to, table))?;
    file(LOSSES, &|to| write_losses(to, table))?;
    file(SCENARIO, &|to| to.write_all(to_ron(scenario).as_bytes()))
}

/// What the table was drawn for; not read, the scenario to replay is the caller's.
const SCENARIO: &str = "scenario.ron";

/// A duration in ms with six decimals: every nanosecond.
struct Ms(i64);

impl fmt::Display for Ms {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (sign, ns) = (if self.0 < 0 { "-" } else { "" }, self.0.unsigned_abs());
        write!(to, "{sign}{}.{:06}", ns / 1_000_000, ns % 1_000_000)
    }
}

/// A duration in us with three decimals: every nanosecond.
struct Us(i64);

impl fmt::Display for Us {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (sign, ns) = (if self.0 < 0 { "-" } else { "" }, self.0.unsigned_abs());
        write!(to, "{sign}{}.{:03}", ns / 1000, ns % 1000)
    }
}

fn write_frames(to: &mut dyn Write, table: &WorkTable, intervals: bool) -> io::Result<()> {
    write!(to, "frame,simulate_ms,render_ms,encode_ms,decode_ms,bits,intra,uplink_ms,link_delay_ms,")?;
    if intervals {
        write!(to, "interval_ms,")?;
    }
    write!(to, "clock_error_us")?;
    for (name, shares) in [("row_share", &table.row_shares), ("bit_share", &table.bit_shares)] {
        for slice in 0..shares.slices() {
            write!(to, ",{name}_{slice}")?;
        }
    }
    writeln!(to)?;
    for (frame, work) in table.frames.iter().enumerate() {
        let [simulate, render, encode, decode, uplink, delay] =
            [work.simulate_ns, work.render_ns, work.encode_ns, work.decode_ns, work.uplink_ns, work.link_delay_ns]
                .map(Ms);
        let (bits, intra) = (work.bits, u8::from(work.intra));
        write!(to, "{frame},{simulate},{render},{encode},{decode},{bits},{intra},{uplink},{delay},")?;
        if intervals {
            write!(to, "{},", Ms(work.interval_ns))?;
        }
        write!(to, "{}", Us(work.clock_error_ns))?;
        // Rust writes the shortest digits that read back as the same number.
        for share in table.row_shares.of(frame).iter().chain(table.bit_shares.of(frame)) {
            write!(to, ",{share}")?;
        }
        writeln!(to)?;
    }
    Ok(())
}

fn write_refreshes(to: &mut dyn Write, table: &WorkTable) -> io::Result<()> {
    writeln!(to, "refresh,compose_ms")?;
    table.compose_ns.iter().enumerate().try_for_each(|(refresh, ns)| writeln!(to, "{refresh},{}", Ms(*ns)))
}

fn write_closures(to: &mut dyn Write, table: &WorkTable) -> io::Result<()> {
    writeln!(to, "start_ms,length_ms")?;
    let mut closures = table.closures.iter();
    closures.try_for_each(|closure| writeln!(to, "{},{}", Ms(closure.start_ns), Ms(closure.end_ns - closure.start_ns)))
}

fn write_losses(to: &mut dyn Write, table: &WorkTable) -> io::Result<()> {
    writeln!(to, "frame,slice,try,lost")?;
    let mut losses = table.losses.rows().iter();
    losses.try_for_each(|loss| writeln!(to, "{},{},{},{}", loss.frame, loss.slice, loss.attempt, loss.lost))
}
