//! The window: state, background worker, parameter column, figures, and a painter for pictures without a display. Knows
//! nothing of how to simulate.
//!
//! The interface never simulates on its own thread: [`App`] posts the pair of scenarios to a worker and draws the newest
//! answer. What is asked for while the page is laid out is collected as commands and run after it.

mod act;
mod answers;
mod brief;
mod calibrating;
mod column;
mod command;
mod compute;
mod differing;
mod errand;
mod exhibit;
mod field;
pub mod figures;
mod files;
mod gallery;
mod given;
mod guard;
mod history;
mod keys;
mod menu;
mod message;
mod open;
mod outbox;
mod own;
mod page;
mod painter;
mod pair;
mod picture;
mod present;
mod saving;
mod session;
mod sheets;
mod state;
mod studies;
mod talk;
mod target;
#[cfg(test)]
mod tests;
pub mod theme;
mod worker;

use eframe::egui::{Context, Ui, Vec2};

pub use calibrating::{MeasuredExhibit, MeasuredFigure};
pub use exhibit::{Cut, Exhibit, Film, Format, HOLD_S, Kind, Progress, Report, Shooting, Slide, holds_pictures};
pub use given::Given;
pub use open::{OpenError, open};
pub use outbox::REPORT_ENDINGS;
pub use painter::Painter;
pub use picture::{Picture, Scene, Unseen, picture, picture_of};
pub use state::ThemeChoice;
pub use talk::{TalkPictures, too_long_for_pictures};

use answers::Answers;
use calibrating::Calibrating;
use column::Column;
use compute::Bench;
use figures::{DistributionView, EyeView, LanesView, LeftOverView, RunStripView, StudyViews, WalkView};
use files::Files;
use guard::Guard;
use history::History;
use outbox::Outbox;
use own::Library;
use pair::{Pair, Saved};
use present::Presenting;
use saving::Replacing;
use session::Keeper;
use state::State;
use studies::Studies;
use worker::Worker;

use crate::report::figures::Side;
use crate::scenario::Scenario;

/// What the figures remember between frames.
#[derive(Debug, Clone, Default)]
struct Views {
    lanes: LanesView,
    distribution: DistributionView,
    left_over: LeftOverView,
    eye: EyeView,
    run_strip: RunStripView,
    walk: WalkView,
    /// Whether a figure is shown to a room: what one would press is elsewhere.
    presented: bool,
    studies: StudyViews,
    /// How much more room the figure that was drawn last needs than it has, so that it scrolls \[pt\].
    lacks: Vec2,
}

impl Views {
    /// Looks at another scenario as at the program's start: the frame that was chosen was one of the run before.
    fn look_anew(&mut self) {
        self.lanes.go_to_typical();
        self.run_strip = RunStripView::default();
        self.walk.end();
    }
}

/// The window's contents, apart from any window.
pub struct App {
    /// What lasts.
    state: State,
    /// The newest answers.
    answers: Answers,
    /// Who answers; none where a caller brings the answers.
    worker: Option<Worker<Bench>>,
    history: History,
    saved: Saved,
    files: Files,
    /// Figures on their way out.
    outbox: Outbox,
    /// The question about unsaved work, while it is open.
    guard: Option<Guard>,
    /// The question about a file that would be replaced, while it is open.
    replacing: Option<Replacing>,
    /// Presets of the user's own.
    own: Library,
    /// Whether the window may close.
    leaving: bool,
    /// What came back from the last session.
    restored: Option<Pair>,
    /// Who keeps the session; none where nothing is to be kept.
    keeper: Option<Keeper>,
    column: Column,
    views: Views,
    /// What is presented, while it is.
    presenting: Option<Presenting>,
    studies: Studies,
    /// The calibration from measurements.
    calibrating: Calibrating,
    /// The talk in hand.
    talk: talk::Desk,
    /// A message that stays until it is taken away.
    message: Option<String>,
    keys_shown: bool,
    about_shown: bool,
    title: String,
}

impl App {
    /// A window on baseline and candidate, whole frames against slices where none are given, with a worker that answers.
    /// Keeps no session.
    pub fn new(ctx: &Context, baseline: Option<Given>, candidate: Option<Given>) -> Self {
        Self::at_rest(ctx, State::default(), [baseline, candidate]).working(ctx)
    }

    fn working(mut self, ctx: &Context) -> Self {
        match Self::new_worker(ctx) {
            Ok(worker) => self.worker = Some(worker),
            Err(error) => {
                self.message = Some(format!("Nothing can be computed: the system gives no thread ({error})."));
            }
        }
        self
    }

    fn new_worker(ctx: &Context) -> std::io::Result<Worker<Bench>> {
        let wake = ctx.clone();
        Worker::start(Bench::default(), move || wake.request_repaint())
    }

    /// The same without a worker: [`App::answer_now`] brings the answers. For pictures, tests and benches.
    pub fn still(ctx: &Context, baseline: Option<Scenario>, candidate: Option<Scenario>) -> Self {
        Self::at_rest(ctx, State::default(), [baseline, candidate].map(|scenario| scenario.map(Given::from)))
    }

    fn at_rest(ctx: &Context, mut state: State, given: [Option<Given>; 2]) -> Self {
        let mut saved = Saved::default();
        for (side, given) in Side::BOTH.into_iter().zip(given) {
            if let Some(given) = given {
                let document = given.into_document();
                saved.note_source(&document);
                if let Some(path) = document.file() {
                    state.note_mark(path, crate::files::mark(path));
                }
                *state.pair.of_mut(side) = document;
            }
        }
        state.theme.show(ctx);
        let looks = state.looks.clone();
        let state::Looks { lanes, distribution, left_over, eye, run_strip, .. } = looks;
        let views = Views { lanes, distribution, left_over, eye, run_strip, ..Views::default() };
        let column = Column::as_kept(looks.column);
        Self {
            state,
            answers: Answers::default(),
            worker: None,
            history: History::default(),
            saved,
            files: Files::default(),
            outbox: Outbox::default(),
            guard: None,
            replacing: None,
            own: Library::default(),
            leaving: false,
            restored: None,
            keeper: None,
            column,
            views,
            presenting: None,
            studies: Studies::default(),
            calibrating: Calibrating::default(),
            talk: talk::Desk::default(),
            message: None,
            keys_shown: false,
            about_shown: false,
            title: String::new(),
        }
    }

    /// Answers the question on screen at once, the slice-count curve and how sure the gain is included.
    pub fn answer_now(&mut self) {
        let (baseline, candidate, drawn, curve) = Bench::default().surely(&self.state.pair);
        self.answers.set(&self.state.pair, baseline, candidate, drawn, curve);
    }

    /// One frame: takes in answers, lays the page out, runs what was asked for, asks what has become open.
    pub fn contents(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        self.take_replies();
        self.take_ahead();
        self.take_what_is_out(&ctx);
        self.studies.listen();
        self.calibrating.listen(&mut self.state.bench, &ctx);
        // A question that is open has the keyboard for itself.
        let asked = self.guard.is_some() || self.replacing.is_some() || self.own.asking() || self.calibrating.asking();
        let mut commands = if asked { Vec::new() } else { self.presenting_keys(&ctx) };
        if !asked {
            commands.extend(keys::pressed(&ctx));
        }
        commands.extend(self.files.answered(ctx.input(|input| input.focused)));
        commands.extend(files::dropped(&ctx));
        let presented = self.presenting.is_some();
        if presented {
            self.lay_out_presented(ui, &mut commands);
        } else {
            self.lay_out(ui, &mut commands);
        }
        self.run_all(commands, &ctx);
        if !ctx.input(|input| input.pointer.any_down()) {
            self.history.released();
        }
        // The scale of presenting is not the user's.
        if !presented && self.presenting.is_none() {
            self.state.zoom = ctx.zoom_factor();
        }
        self.note_looks();
        self.answers.ask(&self.state.pair, self.worker.as_mut());
        // What follows the hand comes first.
        self.studies.hold(self.worker.is_some() && self.answers.open());
        self.keep_session(&ctx);
    }

    /// What is looked at, for the session.
    fn note_looks(&mut self) {
        let Self { state: State { looks, .. }, views, column, presenting, .. } = self;
        if presenting.as_ref().is_some_and(|presenting| presenting.cast.is_some()) {
            // What a step looks at is not the user's.
            return;
        }
        (looks.lanes, looks.distribution) = (views.lanes, views.distribution);
        (looks.left_over, looks.eye, looks.run_strip) = (views.left_over, views.eye, views.run_strip);
        if looks.column != *column.kept() {
            looks.column.clone_from(column.kept());
        }
    }

    fn take_replies(&mut self) {
        let Some(worker) = &self.worker else { return };
        while let Some(reply) = worker.reply() {
            if let Some(old) = self.answers.take(reply) {
                worker.give_back(old.baseline);
                worker.give_back(old.candidate);
            }
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        self.watch_close(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.contents(ui);
        self.name_window(ui.ctx());
    }
}
