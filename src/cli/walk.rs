//! `framelap walk`: a walk through one frame as moving pictures.

use std::io::{self, IsTerminal as _};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Instant;

use anyhow::{anyhow, bail};

use super::arguments::pages::{Walk, Walked};
use super::picture::too_small;
use super::{Outcome, output, scenarios};
use crate::app::{self, Film, HOLD_S, Kind, Progress, Shooting};
use crate::files;
use crate::report::format::{number, of};
use crate::report::provenance;

pub(super) fn run(options: &Walk) -> anyhow::Result<Outcome> {
    let into_folder = into_folder(&options.out)?;
    let slug = match options.figure {
        Walked::Lanes => "lanes",
        Walked::Fronts => "fronts",
    };
    let kind = Kind::named(slug).ok_or_else(|| anyhow!("{slug}: there is no such figure"))?;
    let [baseline, candidate] = scenarios::pair(&options.sides)?;
    let mut film = Film::new(kind, baseline, candidate);
    if let Some(frame) = options.frame {
        film = film.look_at(frame).map_err(|last| anyhow!("--frame: found {frame}, allowed: 0 to {last}"))?;
    }
    let shooting = Shooting {
        size: options.size,
        theme: options.theme.into(),
        frames_per_second: options.frames_per_second,
        slow_down: options.slow_down,
    };
    let cut = film.cut(&shooting).map_err(|why| anyhow!("{}: {why}", options.out.display()))?;
    if let Some(least) = film.least_size(&shooting) {
        return Err(too_small(options.size, least, slug));
    }
    let date = provenance::today();
    let pictures = if into_folder {
        told(|progress| {
            std::fs::create_dir_all(&options.out)
                .and_then(|()| film.pictures(&shooting, &cut, &date, progress, &options.out))
                .map_err(|error| anyhow!("{}: cannot be written: {}", options.out.display(), files::why(&error)))
        })?;
        cut.moving + cut.held
    } else {
        let out = options.out.file_name().unwrap_or_default().to_string_lossy();
        told(|progress| output::save(&options.out, |to| film.animation(&shooting, &cut, (&date, &out), progress, to)))?;
        cut.moving + 1
    };
    let seconds = f64::from(cut.moving) / f64::from(options.frames_per_second) + f64::from(HOLD_S);
    output::print(&format!(
        "{}: {}, {} s\n",
        options.out.display(),
        of(u64::from(pictures), "picture"),
        number(seconds, 1)
    ))
}

/// Does the work while telling how far it has come, where standard error is a terminal.
fn told<T>(work: impl FnOnce(&Progress) -> anyhow::Result<T>) -> anyhow::Result<T> {
    let progress = Progress::default();
    if !io::stderr().is_terminal() {
        return work(&progress);
    }
    let (begun, over) = (Instant::now(), AtomicBool::new(false));
    thread::scope(|scope| {
        let watcher = scope.spawn(|| {
            while !over.load(Ordering::Relaxed) {
                let [done, of] = [&progress.done, &progress.of].map(|count| count.load(Ordering::Relaxed));
                let left = (done > 0).then(|| begun.elapsed() * of.saturating_sub(done) / done);
                output::line(&format!("{done} of {of} pictures{}", output::left(left)));
                thread::park_timeout(2 * output::SILENCE);
            }
            output::line("");
        });
        let worked = work(&progress);
        over.store(true, Ordering::Relaxed);
        watcher.thread().unpark();
        worked
    })
}

/// Whether the path is one of a folder: it is there, ends as one, or has no ending. A folder with pictures of another walk is
/// refused, since those that are more would stay among the new ones.
fn into_folder(out: &Path) -> anyhow::Result<bool> {
    let shown = out.display();
    let ends_as_one = out.as_os_str().to_string_lossy().ends_with(['/', std::path::MAIN_SEPARATOR]);
    match out.extension() {
        Some(ending) if !ends_as_one && !out.is_dir() => {
            if !ending.eq_ignore_ascii_case("png") {
                bail!("{shown}: found the ending .{}, allowed: .png, or a folder", ending.to_string_lossy());
            }
            Ok(false)
        }
        _ if out.is_file() => bail!("{shown}: found a file, allowed: a name that ends in .png, or a folder"),
        _ if app::holds_pictures(out) => {
            bail!("{shown}: found pictures of another walk in it, allowed: a folder without any, or a new one")
        }
        _ => Ok(true),
    }
}
