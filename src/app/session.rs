//! The session: what the window shows is kept in the user's state folder and comes back at the next start, also after the
//! program was killed.
//!
//! It is written whole or not at all, once nothing has changed for [`REST_S`] and when the window closes. Of two windows,
//! the one that writes last is the one that comes back. A file that cannot be read is set aside under another name, never
//! written over.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use eframe::egui::Context;
use etcetera::BaseStrategy as _;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::{Deserialize, Serialize};

use super::pair::{self, Pair};
use super::state::State;
use super::{App, Given};
use crate::quote::cut;
use crate::report::figures::Side;
use crate::{files, scenario};

/// Version of the session's file.
const VERSION: u32 = 1;
/// Largest file that is read: a session is some kB, with thousands of samples some hundred.
const LARGEST_BYTES: u64 = 16 << 20;
/// So long nothing changes before the session is written \[s\].
const REST_S: f64 = 2.0;
/// The folder of this program within the user's.
const FOLDER: &str = "framelap";
/// Names tried for a file that is set aside.
const MOST_ASIDE: u32 = 1000;

/// The file's contents.
#[derive(Debug, Serialize, Deserialize)]
struct Session {
    version: u32,
    state: State,
}

/// The version alone: that of a newer file can be read whatever else is in it.
#[derive(Debug, Deserialize)]
struct Version {
    version: u32,
}

/// Keeps the session in a file.
#[derive(Debug)]
pub(super) struct Keeper {
    /// None where there is no place for it.
    path: Option<PathBuf>,
    /// The newest state seen, and since when \[s\].
    seen: State,
    since_s: f64,
    written: State,
    writing: Option<JoinHandle<io::Result<()>>>,
    failed: bool,
}

/// What was found at the start.
#[derive(Debug)]
pub(super) struct Found {
    /// The file to keep the session in; none where it cannot be kept.
    path: Option<PathBuf>,
    /// The state of last time.
    pub(super) state: Option<State>,
    /// What the user should know.
    pub(super) message: Option<String>,
}

impl Found {
    /// The session in the user's state folder.
    pub(super) fn of_user() -> Self {
        match etcetera::choose_base_strategy() {
            Ok(folders) => {
                let folder = folders.state_dir().unwrap_or_else(|| folders.data_dir());
                Self::at(&folder.join(FOLDER).join("session.ron"))
            }
            Err(error) => {
                log::info!("no folder for the session: {error}");
                let message = "The session is not kept: the system names no home folder.".to_owned();
                Self { path: None, state: None, message: Some(message) }
            }
        }
    }

    /// The session in a file; one that cannot be used is set aside.
    pub(super) fn at(path: &Path) -> Self {
        let kept = Some(path.to_path_buf());
        if fs::metadata(path).is_ok_and(|found| found.len() > LARGEST_BYTES) {
            return Self::aside(path, &format!("it is larger than {} MiB, which no session is", LARGEST_BYTES >> 20));
        }
        let text = match fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Self { path: kept, state: None, message: None };
            }
            Err(error) if error.kind() == io::ErrorKind::InvalidData => return Self::aside(path, "it is no text"),
            Err(error) => {
                let why = files::why_unread(&error);
                let message = format!("The session of last time cannot be read: {}: {why}.", path.display());
                return Self { path: None, state: None, message: Some(message) };
            }
        };
        match read(&text) {
            Ok(state) => Self { path: kept, state: Some(state), message: None },
            Err(why) => Self::aside(path, &why),
        }
    }

    fn aside(path: &Path, why: &str) -> Self {
        let free = |number: &u32| !path.with_file_name(name_aside(*number)).exists();
        let moved = (1..MOST_ASIDE).find(free).map(|number| path.with_file_name(name_aside(number)));
        let renamed = moved.filter(|to| fs::rename(path, to).is_ok());
        let cannot = format!("The session of last time cannot be used ({why}), the window starts afresh.");
        if let Some(to) = renamed {
            let message = format!("{cannot} The old one is kept as {}.", to.display());
            Self { path: Some(path.to_path_buf()), state: None, message: Some(message) }
        } else {
            // Not written over: what cannot be used here may be of use elsewhere.
            let message = format!("{cannot} It stays in {}, and this session is not kept.", path.display());
            Self { path: None, state: None, message: Some(message) }
        }
    }
}

fn name_aside(number: u32) -> String {
    format!("session-aside-{number}.ron")
}

fn read(text: &str) -> Result<State, String> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let broken =
        |error: ron::error::SpannedError| format!("line {}: {}", error.span.start.line, cut(&error.code.to_string()));
    let Version { version } = options.from_str(text).map_err(broken)?;
    if version > VERSION {
        return Err(format!("it is of version {version}, this program knows up to {VERSION}"));
    }
    let session: Session = options.from_str(text).map_err(broken)?;
    Ok(session.state.within_reason())
}

fn write(path: &Path, state: State) -> io::Result<()> {
    let session = Session { version: VERSION, state };
    let pretty = PrettyConfig::new().struct_names(false);
    let text = ron::ser::to_string_pretty(&session, pretty).map_err(io::Error::other)?;
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    files::save(path, |to| to.write_all(text.as_bytes()))
}

impl Keeper {
    /// Keeps what changes from `state` on, in the place that was found.
    pub(super) fn new(found: Found, state: &State) -> Self {
        let [seen, written] = [state.clone(), state.clone()];
        Self { path: found.path, seen, since_s: 0.0, written, writing: None, failed: false }
    }

    /// Whether what is on screen comes back at the next start.
    pub(super) fn keeps(&self) -> bool {
        self.path.is_some() && !self.failed
    }

    /// Writes a state that has been at rest for long enough, on a thread of its own. Returns what went wrong, once.
    fn watch(&mut self, state: &State, now_s: f64, ctx: &Context) -> Option<String> {
        self.path.as_ref()?;
        if *state != self.seen {
            self.seen = state.clone();
            self.since_s = now_s;
        }
        let told = self.ended(false);
        if self.writing.is_none() && self.seen != self.written {
            let left_s = self.since_s + REST_S - now_s;
            if left_s > 0.0 {
                ctx.request_repaint_after(Duration::from_secs_f64(left_s));
            } else {
                self.written = state.clone();
                let (path, state, wake) = (self.path.clone()?, state.clone(), ctx.clone());
                let run = move || {
                    let done = write(&path, state);
                    wake.request_repaint();
                    done
                };
                match thread::Builder::new().name("session".to_owned()).spawn(run) {
                    Ok(handle) => self.writing = Some(handle),
                    Err(error) => return self.note(Err(error)),
                }
            }
        }
        told
    }

    /// Writes a state at once, after any writing that is under way.
    fn finish(&mut self, state: &State) {
        if let Some(why) = self.ended(true) {
            log::warn!("{why}");
        }
        if let Some(path) = self.path.as_deref().filter(|_| self.failed || self.written != *state) {
            if let Err(error) = write(path, state.clone()) {
                log::warn!("the session is not kept: {error}");
            }
            self.written = state.clone();
        }
    }

    fn ended(&mut self, wait: bool) -> Option<String> {
        let handle = self.writing.take_if(|handle| wait || handle.is_finished())?;
        let done = handle.join().unwrap_or_else(|_| Err(io::Error::other("the writer stopped")));
        self.note(done)
    }

    /// A failure is told once; later changes are tried all the same.
    fn note(&mut self, done: io::Result<()>) -> Option<String> {
        let failed_before = std::mem::replace(&mut self.failed, done.is_err());
        let error = done.err().filter(|_| !failed_before)?;
        let path = self.path.as_deref()?;
        Some(format!("The session is not kept: {}: {}.", path.display(), files::why(&error)))
    }
}

impl App {
    /// A window, without a worker, on what was found of the last session. Scenarios that are given come before those of
    /// last time, which undo brings back. From now on the session is kept.
    pub(super) fn kept(ctx: &Context, given: [Option<Given>; 2], found: Found) -> Self {
        let before = found.state.as_ref().map(|state| state.pair.clone());
        let mut app = Self::at_rest(ctx, found.state.clone().unwrap_or_default(), given);
        app.message.clone_from(&found.message);
        ctx.set_zoom_factor(app.state.zoom);
        if let Some(before) = before {
            for document in [&before.baseline, &before.candidate] {
                // One whose file is gone or broken by now is not saved anywhere.
                if let Some(path) = document.file().filter(|path| app.state.mark(path).is_none()) {
                    app.state.note_mark(path, files::mark(path));
                }
                let held = document.source().and_then(|path| Some((path, scenario::load(path).ok()?)));
                if let Some((path, scenario)) = held {
                    app.saved.note(path.to_path_buf(), scenario);
                }
            }
            app.give_way(&before);
            app.restored = Some(before);
        }
        app.restore_talk();
        app.keeper = Some(Keeper::new(found, &app.state));
        app
    }

    /// Says so where work of last time that is not saved gave way to what was asked for now.
    fn give_way(&mut self, before: &Pair) {
        if self.state.pair == *before {
            return;
        }
        self.history.record(before, "given", 0.0, false);
        let replaced =
            |side: &Side| self.state.pair.of(*side) != before.of(*side) && self.saved.differs(before.of(*side));
        let lost: Vec<&str> = Side::BOTH.into_iter().filter(replaced).map(pair::name).collect();
        if !lost.is_empty() {
            let sides = lost.join(" and ");
            self.message = Some(format!("Unsaved changes of last time gave way ({sides}); undo brings them back."));
        }
    }

    /// Notes what has changed and keeps it when it is time.
    pub(super) fn keep_session(&mut self, ctx: &Context) {
        let aside = self.state_to_keep();
        let Some(keeper) = &mut self.keeper else { return };
        if self.presenting.is_none() {
            self.state.note_window(ctx);
        }
        if let Some(why) = keeper.watch(aside.as_ref().unwrap_or(&self.state), ctx.input(|input| input.time), ctx)
            && self.message.is_none()
        {
            self.message = Some(why);
            // The page was laid out without it.
            ctx.request_repaint();
        }
    }

    /// Keeps the session before the program ends.
    pub(super) fn finish_session(&mut self) {
        let aside = self.state_to_keep();
        if let Some(keeper) = &mut self.keeper {
            keeper.finish(aside.as_ref().unwrap_or(&self.state));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fuzz::{fuzz, texts};
    use crate::scenario::presets;

    #[test]
    fn damaged_sessions_are_refused_or_can_be_kept_again() {
        let good = |state| {
            let session = Session { version: VERSION, state };
            ron::ser::to_string_pretty(&session, PrettyConfig::new().struct_names(false)).unwrap()
        };
        let mut other = State::default();
        other.pair.candidate = Given::from(presets::find("8").unwrap().scenario()).into_document();
        fuzz("sessions", &texts([good(State::default()), good(other)]), |bytes| {
            let state = read(&String::from_utf8_lossy(bytes))?;
            // What comes back can be kept again.
            let kept = ron::to_string(&Session { version: VERSION, state }).unwrap();
            read(&kept).unwrap();
            Ok(())
        });
    }
}
