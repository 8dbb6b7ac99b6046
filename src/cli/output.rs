//! What goes to standard output and standard error.

use std::io::{self, Write};
use std::path::Path;

use anyhow::{Context as _, anyhow};

use super::Outcome;
use crate::files;

/// Writes text to standard output. A reader that has seen enough and closed the pipe is no error.
pub(super) fn print(text: &str) -> anyhow::Result<Outcome> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error).context("standard output"),
        _ => Ok(Outcome::Done),
    }
}

/// Writes a file, whole or not at all. For a pipe the same holds as for standard output.
pub(super) fn save(file: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> anyhow::Result<()> {
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
