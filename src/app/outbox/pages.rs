//! What leaves as a whole: the head-to-head as one page, a walk as moving pictures.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use eframe::egui::Context;

use super::{Made, Outbox};
use crate::app::App;
use crate::app::command::Purpose;
use crate::app::exhibit::{Cut, Film, Progress, Report, Shooting};
use crate::app::gallery::Figure;
use crate::app::state::ThemeChoice;
use crate::app::target::Target;
use crate::files;
use crate::report::provenance;

/// A name for the file of a report, and of a walk.
pub(in crate::app) const REPORT: &str = "report.html";
pub(in crate::app) const WALK: &str = "walk.png";
/// Endings that a report's file may have, the usual one first.
pub const REPORT_ENDINGS: [&str; 2] = ["html", "htm"];
/// How often it is looked how far a walk has come.
const LOOK: Duration = Duration::from_millis(200);

impl Progress {
    /// How far it has come, in words.
    pub(super) fn told(&self) -> String {
        let [done, of] = [&self.done, &self.of].map(|count| count.load(Ordering::Relaxed));
        if self.stop.load(Ordering::Relaxed) {
            "giving up the walk".to_owned()
        } else {
            format!("walk: picture {done} of {of}")
        }
    }
}

impl Outbox {
    /// Whether a walk is being written.
    pub(in crate::app) fn shoots(&self) -> bool {
        self.shooting.is_some()
    }

    /// Gives up the walk that is being written.
    pub(in crate::app) fn stop(&self) {
        if let Some(progress) = &self.shooting {
            progress.stop.store(true, Ordering::Relaxed);
        }
    }

    /// Forgets a walk that is written, and looks again soon at one that is not.
    pub(super) fn watch(&mut self, ctx: &Context) {
        // The thread that writes it holds the other one.
        if self.shooting.as_ref().is_some_and(|progress| Arc::strong_count(progress) == 1) {
            self.shooting = None;
        } else if self.shooting.is_some() {
            ctx.request_repaint_after(LOOK);
        }
    }
}

impl App {
    /// Takes the whole head-to-head as it is now out as one page, after a path was asked for.
    pub(in crate::app) fn take_out_report(&mut self, typed: bool, ctx: &Context) {
        // The curve comes last of all that the page shows.
        let Some(exhibit) = self.exhibit(Figure::SliceCurve) else {
            self.message = Some("No report yet: its figures are still being computed.".to_owned());
            return;
        };
        self.outbox.report = Some(Report::of(exhibit));
        if typed {
            self.files.type_path(Purpose::Report, REPORT.to_owned());
        } else {
            self.files.ask(Purpose::Report, REPORT.to_owned(), ctx.clone());
        }
    }

    /// Writes the report that waits for a path; `agreed` as with figures.
    pub(in crate::app) fn put_out_report(&mut self, path: &Path, agreed: bool, ctx: &Context) {
        let Some(report) = self.outbox.report.take() else { return };
        let target = Target::of(path, REPORT_ENDINGS[0], agreed);
        if !REPORT_ENDINGS.contains(&target.ending().as_str()) {
            return self.refuse_ending(&target, ".html, .htm");
        }
        let Some(path) = self.free(target) else { return };
        let theme = self.slide(ctx).theme;
        self.make(move || write_report(&report, theme, path), ctx);
    }

    /// Takes the walk through the frame of the lanes out, after it was asked how it is to be shot, and for a path.
    pub(in crate::app) fn take_out_walk(&mut self, typed: bool, ctx: &Context) {
        let presented = self.presenting.as_ref().map(crate::app::present::Presenting::figure);
        let figure = if presented == Some(Figure::Fronts) { Figure::Fronts } else { Figure::Lanes };
        let Some(exhibit) = self.exhibit(figure) else {
            self.message = Some("No walk yet: its frame is still being computed.".to_owned());
            return;
        };
        self.outbox.film = Some(Film::of(exhibit));
        self.outbox.shots_asked = Some(typed);
        ctx.request_repaint();
    }

    /// Writes the walk that waits for a path; `agreed` as with figures.
    pub(in crate::app) fn put_out_walk(&mut self, path: &Path, agreed: bool, ctx: &Context) {
        let Some(film) = self.outbox.film.take() else { return };
        let target = Target::of(path, "png", agreed);
        if target.ending() != "png" {
            return self.refuse_ending(&target, ".png");
        }
        let Some(path) = self.free(target) else { return };
        self.outbox.shots_asked = None;
        let shooting = self.outbox.shots.shooting(self.slide(ctx).theme);
        match film.cut(&shooting) {
            Ok(cut) => {
                let progress = Arc::new(Progress::default());
                self.outbox.shooting = Some(Arc::clone(&progress));
                self.make(move || write_walk(&film, &shooting, &cut, &progress, path), ctx);
            }
            Err(why) => self.message = Some(format!("Not saved. {why}")),
        }
    }
}

fn write_walk(film: &Film, shooting: &Shooting, cut: &Cut, progress: &Progress, path: PathBuf) -> Made {
    let out = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let date = provenance::today();
    match files::save(&path, |to| film.animation(shooting, cut, (&date, &out), progress, to)) {
        Err(_) if progress.stop.load(Ordering::Relaxed) => Made::Nothing,
        done => Made::of(path, done),
    }
}

fn write_report(report: &Report, theme: ThemeChoice, path: PathBuf) -> Made {
    let out = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let done = files::save(&path, |to| report.write(theme, &provenance::today(), &out, to));
    Made::of(path, done)
}
