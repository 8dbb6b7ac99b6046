//! What big files of measurements cost: reading, gathering and fitting a million rows, a row a frame and a row a slice; that
//! it grows no faster than the rows; and how soon it ends when it is stopped. `cargo bench --bench calibrate`.

use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use framelap::calibrate::{Fit, Mapping, Measured, Sheet, Watch};
use framelap::stop::Stop;

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    println!(
        "{:>10} {:>6} {:>9} {:>9} {:>9} {:>9} {:>9}",
        "rows", "a row", "read, s", "gather, s", "fit, s", "all, s", "peak, MB"
    );
    let mut last: Option<Duration> = None;
    for (rows, slices) in [(100_000, 1), (1_000_000, 1), (100_000, 8), (1_000_000, 8)] {
        let path = folder.path().join(format!("{rows}-{slices}.csv"));
        write(&path, rows, slices).expect("a file");
        let [read, gathered, fitted] = times(&path);
        let all = read + gathered + fitted;
        let s = |time: Duration| format!("{:.2}", time.as_secs_f64());
        let kind = if slices > 1 { "slice" } else { "frame" };
        let peak = peak_mb().map_or_else(|| "-".to_owned(), |mb| format!("{mb:.0}"));
        println!("{rows:>10} {kind:>6} {:>9} {:>9} {:>9} {:>9} {peak:>9}", s(read), s(gathered), s(fitted), s(all));
        match last.take() {
            Some(fewer) if rows == 1_000_000 => {
                println!(
                    "  ten times the rows take {:.1} times as long (<= 11)",
                    all.as_secs_f64() / fewer.as_secs_f64()
                );
            }
            _ => last = Some(all),
        }
        if rows == 1_000_000 {
            println!("  stopped, it ends within {:.1} ms (<= 100)", stopping(&path).as_secs_f64() * 1e3);
        }
        let _ = fs::remove_file(path);
    }
}

/// A file of made up measurements: sizes of some spread, times that go with them, rare stalls.
fn write(path: &Path, rows: u32, slices: u32) -> std::io::Result<()> {
    let mut to = BufWriter::new(File::create(path)?);
    writeln!(to, "frame,slice,bytes,encode_ms,decode_ms")?;
    let mut state = 1_u64;
    let mut uniform = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    for row in 0..rows {
        let bytes = 30_000.0 * (0.5 + uniform());
        let jitter = |uniform: f64| 0.9 + 0.2 * uniform;
        let encode = (3.0 + bytes * 1.6e-5) * jitter(uniform());
        let stall = if uniform() < 1e-3 { -8.0 * uniform().ln() } else { 0.0 };
        let decode = (2.0 + bytes * 4e-5) * jitter(uniform()) + stall;
        writeln!(to, "{},{},{bytes:.0},{encode:.6},{decode:.6}", row / slices, row % slices)?;
    }
    to.flush()
}

fn times(path: &Path) -> [Duration; 3] {
    let begun = Instant::now();
    let sheet = Sheet::read(path).expect("a sheet");
    let read = begun.elapsed();
    let begun = Instant::now();
    let measured = Measured::of(&sheet, &Mapping::propose(&sheet));
    let gathered = begun.elapsed();
    drop(sheet);
    let begun = Instant::now();
    assert!(Fit::of(&measured).stages.len() == 2, "both stages are fitted");
    [read, gathered, begun.elapsed()]
}

/// Most memory that this process ever held; none where the system does not tell.
fn peak_mb() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse::<f64>().ok().map(|kb| kb / 1024.0)
}

/// The longest time from the wish to stop to the end of a fit.
fn stopping(path: &Path) -> Duration {
    let sheet = Sheet::read(path).expect("a sheet");
    let measured = Measured::of(&sheet, &Mapping::propose(&sheet));
    let after = |wait: Duration| {
        let stop = AtomicBool::new(false);
        std::thread::scope(|scope| {
            let fit = scope.spawn(|| {
                let _ = Fit::of_unless(&measured, &Watch::new(Stop::when(&stop), &|_| ()));
                Instant::now()
            });
            std::thread::sleep(wait);
            let asked = Instant::now();
            stop.store(true, Ordering::Relaxed);
            fit.join().map_or(Duration::MAX, |ended| ended.saturating_duration_since(asked))
        })
    };
    (1..=6).map(|step| after(Duration::from_millis(step * 250))).max().unwrap_or_default()
}
