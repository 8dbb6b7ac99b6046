//! What goes to standard output and standard error.

use std::io::{self, Write};
use std::path::Path;
use std::time::Duration;

use anyhow::{Context as _, anyhow, bail};

use super::Outcome;
use crate::files;
use crate::report::format::of;
use crate::scenario::{self, Scenario};
use crate::study::cost::{self, Cost};

/// Writes text to standard output. A reader that has seen enough and closed the pipe is no error.
pub(super) fn print(text: &str) -> anyhow::Result<Outcome> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error).context("standard output"),
        _ => Ok(Outcome::Done),
    }
}

/// Writes a file that is no scenario, whole or not at all; one that is a scenario, or a talk, is never replaced by it. For a
/// pipe the same holds as for standard output.
pub(super) fn save(file: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> anyhow::Result<()> {
    if file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("ron")) && file.is_file() {
        bail!("{}: found a scenario or a talk there, allowed: a file that is none", file.display());
    }
    save_ron(file, fill)
}

/// The same for a file of RON, which replaces what was there.
pub(super) fn save_ron(file: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> anyhow::Result<()> {
    match files::save(file, fill) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(anyhow!("{}: cannot be written: {}", file.display(), files::why(&error)))
        }
        _ => Ok(()),
    }
}

/// Writes one message to standard error, on one line. There is nowhere to tell of a failure to do so.
pub(super) fn warn(message: &str) {
    let _ = writeln!(io::stderr(), "framelap: {}", message.lines().collect::<Vec<_>>().join(" "));
}

/// Shortest time between two words about progress.
pub(super) const SILENCE: Duration = Duration::from_millis(100);

/// Writes over the line of progress. There is nowhere to tell of a failure to do so.
pub(super) fn line(text: &str) {
    let mut to = io::stderr().lock();
    let _ = write!(to, "\r\x1b[K{text}").and_then(|()| to.flush());
}

/// How long it will still take, behind how far it has come.
pub(super) fn left(left: Option<Duration>) -> String {
    left.filter(|left| left.as_secs() > 0).map_or_else(String::new, |left| format!(", {} s left", left.as_secs()))
}

/// Says of a file of RON that is about to be replaced that its comments go.
pub(super) fn tell_comments(path: &Path) {
    let found = scenario::comments_in(path);
    if found > 0 {
        let comments = of(found as u64, "comment");
        warn(&format!("{}: found {comments} in the file, which saving over it leaves out", path.display()));
    }
}

/// Memory from which on an answer's cost is told beforehand \[bytes\].
const TOLD_BYTES: f64 = 1e9;
/// Time from which on it is told \[s\].
const TOLD_S: f64 = 10.0;

/// Says beforehand what the answers to scenarios, all kept at a time, will cost where that is much.
///
/// # Errors
/// Where they need more memory than is free.
pub(super) fn tell_cost(scenarios: &[&Scenario]) -> anyhow::Result<()> {
    if let Some(told) = costly(scenarios, cost::free_bytes())? {
        warn(&told);
    }
    Ok(())
}

fn costly(scenarios: &[&Scenario], free_bytes: Option<f64>) -> anyhow::Result<Option<String>> {
    let costs: Vec<Cost> = scenarios.iter().map(|scenario| Cost::of(scenario)).collect();
    let bytes: f64 = costs.iter().map(|cost| cost.bytes).sum();
    let seconds: f64 = costs.iter().map(|cost| cost.seconds).sum();
    if bytes < TOLD_BYTES && seconds < TOLD_S {
        return Ok(None);
    }
    let frames = scenarios.iter().map(|scenario| scenario.run.frames).max().unwrap_or_default();
    let told = format!("{frames} frames take some {:.1} GB of memory", bytes / 1e9);
    if let Some(free) = free_bytes.filter(|free| bytes > *free) {
        bail!("run.frames: {told}, and {:.1} GB are free; allowed: fewer frames, or fewer slices", free / 1e9);
    }
    Ok(Some(format!("{told} and some {seconds:.0} s")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_costly_answer_is_told_of_and_one_beyond_the_memory_refused() {
        let mut scenario = Scenario::default();
        assert_eq!(costly(&[&scenario], Some(0.0)).unwrap(), None);
        scenario.run.frames = 1_000_000;
        scenario.slices.count = 64;
        for free in [None, Some(9e9)] {
            let told = costly(&[&scenario], free).unwrap().unwrap();
            assert!(told.starts_with("1000000 frames take some 4.5 GB of memory and some "), "{told}");
        }
        let refused = costly(&[&scenario, &scenario], Some(7e9)).unwrap_err().to_string();
        assert!(refused.contains("9.0 GB") && refused.contains("7.0 GB are free"), "{refused}");
    }
}
