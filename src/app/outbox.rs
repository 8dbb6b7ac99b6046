//! Figures on their way out of the window: to the clipboard or into files.
//!
//! Pictures are made on a thread of their own, so that the window goes on; what came of them is taken in between two frames.

mod pages;
mod shots;

use std::borrow::Cow;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::Duration;

use eframe::egui::{ColorImage, Context, Theme};

pub use pages::REPORT_ENDINGS;
pub(super) use pages::{REPORT, WALK};

use super::answers::Shown;
use super::calibrating::{BenchPurpose, MeasuredExhibit};
use super::command::Purpose;
use super::exhibit::{Exhibit, Film, Format, Progress, Report, Slide};
use super::figures::{RunStripView, Take};
use super::gallery::Figure;
use super::state::{Places, ThemeChoice};
use super::talk::Act;
use super::target::Target;
use super::{App, Views};
use crate::files;
use crate::report::figures::Side;
use crate::report::provenance;

/// How long it is said that something is out.
const NOTICE: Duration = Duration::from_secs(8);
/// How long the same is seen while presenting.
const GLANCE: Duration = Duration::from_secs(2);

/// What is on its way.
#[derive(Default)]
pub(super) struct Outbox {
    /// What is to be written once its path is known.
    waiting: Option<Leaving>,
    /// The report that is to be.
    report: Option<Report>,
    /// The walk that is to be.
    film: Option<Film>,
    /// How it is to be shot, as it was asked for last.
    shots: shots::Shots,
    /// The question how, while it is open; `true` where the path is typed afterwards.
    shots_asked: Option<bool>,
    /// The walk that is being written.
    shooting: Option<Arc<Progress>>,
    /// What is being made.
    coming: Vec<Receiver<Made>>,
    notice: Option<Notice>,
}

/// A figure of the head-to-head, or of a calibration.
enum Leaving {
    Figure(Box<Exhibit>),
    Measured(MeasuredExhibit),
}

struct Notice {
    text: String,
    /// When it was new, in the context's time \[s\].
    from_s: f64,
    /// When it is old, in the context's time \[s\].
    until_s: f64,
}

/// What came of one.
enum Made {
    Picture(String, Arc<ColorImage>),
    File(PathBuf),
    /// Given up when that was asked for.
    Nothing,
    Failed(String),
}

impl Made {
    /// What came of writing a file.
    fn of(path: PathBuf, done: std::io::Result<()>) -> Self {
        match done {
            Ok(()) => Self::File(path),
            Err(error) => {
                Self::Failed(format!("Not saved. {}: cannot be written: {}", path.display(), files::why(&error)))
            }
        }
    }
}

impl Outbox {
    /// How a walk is to be shot.
    #[cfg(test)]
    pub(super) fn shots(&self) -> shots::Shots {
        self.shots
    }

    /// What there is to say of the last one.
    pub(super) fn notice(&self) -> Option<Cow<'_, str>> {
        if let Some(shooting) = &self.shooting {
            return Some(Cow::from(shooting.told()));
        }
        if !self.coming.is_empty() {
            return Some(Cow::from("drawing"));
        }
        self.notice.as_ref().map(|notice| Cow::from(notice.text.as_str()))
    }

    pub(super) fn say(&mut self, text: String, ctx: &Context) {
        let from_s = ctx.input(|input| input.time);
        self.notice = Some(Notice { text, from_s, until_s: from_s + NOTICE.as_secs_f64() });
        ctx.request_repaint_after(NOTICE);
    }

    /// What was said a moment ago, to be seen for a glance while presenting; asks for the frame in which it goes.
    pub(super) fn fresh(&self, ctx: &Context) -> Option<&str> {
        let notice = self.notice.as_ref()?;
        let left_s = notice.from_s + GLANCE.as_secs_f64() - ctx.input(|input| input.time);
        if left_s <= 0.0 {
            return None;
        }
        ctx.request_repaint_after(Duration::from_secs_f64(left_s));
        Some(&notice.text)
    }

    /// Makes something on a thread of its own.
    fn make(&mut self, make: impl FnOnce() -> Made + Send + 'static, ctx: &Context) -> std::io::Result<()> {
        let (answer, made) = channel();
        let ctx = ctx.clone();
        thread::Builder::new().name("figure".to_owned()).spawn(move || {
            // The window may be gone by now.
            let _ = answer.send(make());
            ctx.request_repaint();
        })?;
        self.coming.push(made);
        Ok(())
    }

    /// Ends what is on its way before the program does, so that nothing half made stays behind: a walk is given up, all else
    /// is written.
    pub(super) fn finish(&mut self) {
        self.stop();
        for coming in self.coming.drain(..) {
            if let Ok(Made::Failed(why)) = coming.recv() {
                log::warn!("{why}");
            }
        }
    }

    /// What has been made since the last call.
    fn made(&mut self) -> Vec<Made> {
        let mut made = Vec::new();
        self.coming.retain(|coming| match coming.try_recv() {
            Ok(one) => {
                made.push(one);
                false
            }
            Err(TryRecvError::Empty) => true,
            Err(TryRecvError::Disconnected) => {
                made.push(Made::Failed("The figure could not be drawn.".to_owned()));
                false
            }
        });
        made
    }
}

/// A name for the file of a figure.
pub(super) fn suggested_name(figure: Figure, take: Take) -> String {
    format!("{}.{}", figure.entry().slug, usual_ending(take))
}

const fn usual_ending(take: Take) -> &'static str {
    if matches!(take, Take::SaveTable) { "csv" } else { "png" }
}

impl App {
    /// Takes a figure out, at once or after a path was asked for.
    pub(super) fn take_out(&mut self, figure: Figure, take: Take, ctx: &Context) {
        if take == Take::Step {
            if let Some(place) = Places::ALL.into_iter().find(|place| self.state.places.at(*place) == figure) {
                self.state.page = place;
            }
            return self.act_talk(Act::Keep, ctx);
        }
        let Some(exhibit) = self.exhibit(figure) else {
            self.message = Some("Not taken out: the figure is still being computed.".to_owned());
            return;
        };
        let (purpose, suggested) = (Purpose::Figure(figure, take), suggested_name(figure, take));
        match take {
            Take::CopyTable => {
                ctx.copy_text(exhibit.table().tsv());
                self.outbox.say(format!("{} copied as a table", figure.entry().name), ctx);
            }
            Take::CopyPicture => self.copy_picture(exhibit, ctx),
            Take::Step => {}
            Take::SavePicture | Take::SaveTable => {
                self.outbox.waiting = Some(Leaving::Figure(Box::new(exhibit)));
                self.files.ask(purpose, suggested, ctx.clone());
            }
            Take::TypePath => {
                self.outbox.waiting = Some(Leaving::Figure(Box::new(exhibit)));
                self.files.type_path(purpose, suggested);
            }
        }
    }

    /// A figure as it is on screen; none while it is not the answer to the scenarios as they are.
    pub(super) fn exhibit(&self, figure: Figure) -> Option<Exhibit> {
        let Shown { baseline, candidate, drawn, .. } = self.answers.shown.as_ref()?;
        let answers = [baseline, candidate].map(Arc::clone);
        let pair = &self.state.pair;
        let current = Side::BOTH.iter().all(|&side| answers[side.index()].scenario == pair.of(side).scenario);
        (current && self.answers.all_of(figure) && self.studies.can_leave(figure.study(), pair)).then(|| Exhibit {
            figure,
            pair: pair.clone(),
            answers,
            drawn: Arc::clone(drawn),
            curve: self.answers.curve.clone(),
            // The run is shown whole: no command names a part of it.
            views: Views { run_strip: RunStripView::default(), ..self.views.clone() },
            studies: self.studies.found(),
            problem: None,
            folder: None,
        })
    }

    fn copy_picture(&mut self, exhibit: Exhibit, ctx: &Context) {
        let slide = self.slide(ctx);
        let make = move || {
            let entry = exhibit.figure.entry();
            let out = suggested_name(exhibit.figure, Take::CopyPicture);
            let picture = exhibit.picture(&slide, &provenance::today(), &out);
            let size = [picture.width, picture.height].map(|pixels| pixels as usize);
            Made::Picture(entry.name.to_owned(), Arc::new(ColorImage::from_rgba_unmultiplied(size, &picture.rgba)))
        };
        self.make(make, ctx);
    }

    /// The same with a figure of a calibration.
    pub(super) fn take_out_measured(&mut self, exhibit: MeasuredExhibit, take: Take, ctx: &Context) {
        let purpose = Purpose::Bench(BenchPurpose::Figure(exhibit.figure, take));
        let suggested = format!("{}.{}", exhibit.figure.slug(), usual_ending(take));
        match take {
            Take::CopyTable => {
                ctx.copy_text(exhibit.table().tsv());
                self.outbox.say(format!("{} copied as a table", exhibit.figure.name()), ctx);
            }
            Take::CopyPicture => {
                let slide = self.slide(ctx);
                let make = move || {
                    let picture = exhibit.picture(&slide, &provenance::today());
                    let size = [picture.width, picture.height].map(|pixels| pixels as usize);
                    let image = ColorImage::from_rgba_unmultiplied(size, &picture.rgba);
                    Made::Picture(exhibit.figure.name(), Arc::new(image))
                };
                self.make(make, ctx);
            }
            Take::Step => {
                let why = "Not kept. A figure of measurements is no step of a talk: keep one of a scenario.";
                self.message = Some(why.to_owned());
            }
            Take::SavePicture | Take::SaveTable => {
                self.outbox.waiting = Some(Leaving::Measured(exhibit));
                self.files.ask(purpose, suggested, ctx.clone());
            }
            Take::TypePath => {
                self.outbox.waiting = Some(Leaving::Measured(exhibit));
                self.files.type_path(purpose, suggested);
            }
        }
    }

    /// Writes what waits for a path, as what its ending says.
    ///
    /// `agreed` tells whether the system's dialog has asked already about a file of that name.
    pub(super) fn put_out(&mut self, path: &Path, take: Take, agreed: bool, ctx: &Context) {
        let Some(exhibit) = self.outbox.waiting.take() else { return };
        let target = Target::of(path, usual_ending(take), agreed);
        let Some(format) = Format::of(&target.path) else { return self.refuse_ending(&target, Format::ENDINGS) };
        let Some(path) = self.free(target) else { return };
        let slide = self.slide(ctx);
        self.make(move || write(&exhibit, format, &slide, path), ctx);
    }

    /// The path of a target; none where a file is there that it was not agreed to replace, and says so.
    fn free(&mut self, target: Target) -> Option<PathBuf> {
        let free = target.free();
        self.message = free.as_ref().err().cloned();
        free.ok()
    }

    /// Says that nothing is written by a name of that ending.
    fn refuse_ending(&mut self, target: &Target, endings: &str) {
        let shown = target.path.display();
        self.message = Some(format!("Not saved. {shown}: found another ending, allowed: {endings}"));
    }

    /// A slide in the theme of the window.
    fn slide(&self, ctx: &Context) -> Slide {
        let theme = match (self.state.theme, ctx.theme()) {
            (ThemeChoice::System, Theme::Light) => ThemeChoice::Light,
            (ThemeChoice::System, Theme::Dark) => ThemeChoice::Dark,
            (chosen, _) => chosen,
        };
        Slide { size: Slide::SIZE, scale: Slide::SCALE, theme }
    }

    fn make(&mut self, make: impl FnOnce() -> Made + Send + 'static, ctx: &Context) {
        if let Err(error) = self.outbox.make(make, ctx) {
            self.message = Some(format!("Not drawn: the system gives no thread ({error})."));
        }
    }

    /// Hands on what has been made since the last frame, and forgets what was said long enough.
    pub(super) fn take_what_is_out(&mut self, ctx: &Context) {
        self.outbox.watch(ctx);
        for made in self.outbox.made() {
            match made {
                Made::Nothing => {}
                Made::Picture(name, image) => {
                    ctx.copy_image(Arc::unwrap_or_clone(image));
                    self.outbox.say(format!("{name} copied as a picture"), ctx);
                }
                Made::File(path) => {
                    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
                    self.outbox.say(format!("{name} saved"), ctx);
                }
                Made::Failed(why) => self.message = Some(why),
            }
        }
        let now_s = ctx.input(|input| input.time);
        if self.outbox.notice.as_ref().is_some_and(|notice| now_s >= notice.until_s) {
            self.outbox.notice = None;
        }
    }
}

fn write(leaving: &Leaving, format: Format, slide: &Slide, path: PathBuf) -> Made {
    let out = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let date = provenance::today();
    let done = files::save(&path, |to| match leaving {
        Leaving::Figure(exhibit) => exhibit.write(format, slide, &date, &out, to),
        Leaving::Measured(exhibit) => exhibit.write(format, slide, &date, to),
    });
    Made::of(path, done)
}
