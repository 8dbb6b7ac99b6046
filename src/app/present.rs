//! Presenting: one figure fills the screen for a room, with nothing around it but the names of the designs and the gain.
//!
//! The interface is scaled so that the smallest text is a fortieth of the height or more, and has high contrast; the
//! user's own scale and theme come back on leaving and are what the session keeps.

mod banner;
mod live;

use eframe::egui::{
    Align2, Area, CentralPanel, Context, Frame, Id, Key, Margin, Modifiers, Panel, PointerState, Popup, RichText, Ui,
    UiBuilder, Vec2, ViewportCommand, vec2,
};
use std::time::Duration;

use super::answers::{Answers, Shown};
use super::command::Command;
use super::gallery::{self, Figure, Hand};
use super::state::Places;
use super::studies::Studies;
use super::talk::{self, Cast};
use super::theme::{self, Palette};
use super::{App, figures};
use crate::report::figures::verdict::{Tone, Verdict};
use crate::report::figures::walk::Walk;
use crate::time::ns_to_ms;
use live::Live;

/// Height of the screen while presenting \[pt\]: the smallest text is a fortieth of it, and a little more.
const HEIGHT: f32 = 40.0 * theme::SMALL - 4.0;
/// So long after the pointer moved the handle is seen \[s\].
const HANDLE_S: f64 = 2.5;
/// The parameter of the slider at first.
const FIRST: &str = "slices.count";

/// Keys while presenting, for the help.
pub(super) const KEYS: [(&str, &str); 4] = [
    ("Right, Space, Page down", "Presenting: the next figure"),
    ("Left, Backspace, Page up", "Presenting: the figure before"),
    ("S", "Presenting: bring up a slider, or take it away"),
    ("Escape", "Presenting: back to the page"),
];

/// What is presented.
#[derive(Debug)]
pub(super) struct Presenting {
    /// In the order in which they are stepped through.
    figures: Vec<Figure>,
    at: usize,
    /// The slider for the audience.
    live: Live,
    /// Whether the window filled the screen before.
    full_before: bool,
    /// When the pointer moved last \[s\].
    moved_s: Option<f64>,
    /// Whether a control had the keyboard when the frame before was over: it lets go of it before we see the key.
    busy: bool,
    /// The talk whose steps are presented instead of figures of the page.
    pub(super) cast: Option<Box<Cast>>,
}

/// What can be done while presenting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Act {
    /// The next figure.
    Next,
    /// The figure before.
    Before,
    /// Brings the slider up, or takes it away.
    Slider,
    /// Gives the slider another parameter.
    Choose(&'static str),
    /// Back to the page.
    Leave,
}

impl Presenting {
    /// Figures on the page first, in the order of their places, then the others; of the studies only those that found
    /// something, and the one given.
    fn new(places: Places, first: Option<Figure>, full_before: bool, studies: &Studies) -> Self {
        let on_page = Places::ALL.map(|place| places.at(place));
        let shows = |figure: &Figure| figure.study().is_none_or(|kind| studies.picture(kind).is_some());
        let others = gallery::ALL.iter().map(gallery::Entry::figure).filter(|figure| !on_page.contains(figure));
        let others = others.filter(|figure| shows(figure) || Some(*figure) == first);
        let figures: Vec<Figure> = on_page.into_iter().chain(others).collect();
        let at = figures.iter().position(|figure| Some(*figure) == first).unwrap_or(0);
        let live = Live::new(FIRST);
        Self { figures, at, live, full_before, moved_s: None, busy: false, cast: None }
    }

    /// The figure on screen.
    pub(super) fn figure(&self) -> Figure {
        self.cast.as_ref().map_or_else(|| self.figures[self.at], |cast| cast.figure())
    }

    /// How many figures there are.
    #[cfg(test)]
    pub(super) fn count(&self) -> usize {
        self.figures.len()
    }

    fn go_to(&mut self, figure: Figure) {
        // A step stays with its figure.
        if let (None, Some(at)) = (&self.cast, self.figures.iter().position(|other| *other == figure)) {
            self.at = at;
        }
    }
}

impl App {
    /// Begins to present, with a figure of the page or the one given.
    pub(super) fn present(&mut self, first: Option<Figure>, ctx: &Context) {
        if self.presenting.is_some() {
            return;
        }
        let full_before = ctx.input(|input| input.viewport().fullscreen.unwrap_or(false));
        self.presenting = Some(Presenting::new(self.state.places, first, full_before, &self.studies));
        self.views.presented = true;
        theme::apply_as(ctx, true);
        ctx.send_viewport_cmd(ViewportCommand::Fullscreen(true));
    }

    pub(super) fn stop_presenting(&mut self, ctx: &Context) {
        let Some(mut presenting) = self.presenting.take() else { return };
        self.views.presented = false;
        if let Some(cast) = presenting.cast.take() {
            self.end_cast(*cast);
        }
        self.state.theme.show(ctx);
        ctx.set_zoom_factor(self.state.zoom);
        forget_pointer(ctx);
        if !presenting.full_before {
            ctx.send_viewport_cmd(ViewportCommand::Fullscreen(false));
        }
    }

    /// Presents, or goes back to the page.
    pub(super) fn toggle_presenting(&mut self, ctx: &Context) {
        if self.presenting.is_some() { self.stop_presenting(ctx) } else { self.present(None, ctx) }
    }

    /// Does what was asked for while presenting.
    pub(super) fn act_presenting(&mut self, act: Act, ctx: &Context) {
        let Some(presenting) = &mut self.presenting else { return };
        let talk = presenting.cast.is_some();
        match act {
            Act::Next if talk => self.turn_step(1, ctx),
            Act::Before if talk => self.turn_step(-1, ctx),
            Act::Next => presenting.at = (presenting.at + 1).min(presenting.figures.len() - 1),
            Act::Before => presenting.at = presenting.at.saturating_sub(1),
            Act::Slider => presenting.live.toggle(),
            Act::Choose(path) => presenting.live.choose(path),
            Act::Leave => self.stop_presenting(ctx),
        }
    }

    /// Begins a walk where it is seen, or ends the one that is open.
    pub(super) fn toggle_walk(&mut self) {
        if self.views.walk.is_open() {
            self.views.walk.end();
            return;
        }
        let step_walks = |presenting: &Presenting| presenting.cast.is_none() || walks(presenting.figure());
        if !self.presenting.as_ref().is_none_or(step_walks) {
            return;
        }
        self.views.walk.begin();
        if let Some(presenting) = &mut self.presenting {
            if !walks(presenting.figure()) {
                presenting.go_to(Figure::Lanes);
            }
            return;
        }
        let place = Places::ALL.into_iter().find(|place| self.state.places.at(*place) == Figure::Lanes);
        if place.is_none() {
            self.state.places.put(Places::MIDDLE, Figure::Lanes);
        }
        self.state.page = place.unwrap_or(Places::MIDDLE);
    }

    /// What the keys of this frame ask for while presenting. A slider that is up has its own use for arrows and space.
    pub(super) fn presenting_keys(&mut self, ctx: &Context) -> Vec<Command> {
        let Some(presenting) = &self.presenting else { return Vec::new() };
        let over = self.keys_shown || self.about_shown || Popup::is_any_open(ctx);
        let held = presenting.busy && presenting.live.is_up();
        if over {
            return Vec::new();
        }
        let keys: &[(Key, Act)] = &[
            (Key::Escape, Act::Leave),
            (Key::PageDown, Act::Next),
            (Key::PageUp, Act::Before),
            (Key::S, Act::Slider),
            (Key::ArrowRight, Act::Next),
            (Key::Space, Act::Next),
            (Key::ArrowLeft, Act::Before),
            (Key::Backspace, Act::Before),
        ];
        let free = if held { 0 } else { keys.len() };
        let taken = |(key, act): &(Key, Act)| {
            ctx.input_mut(|input| input.consume_key(Modifiers::NONE, *key)).then_some(Command::Presented(*act))
        };
        keys[..free].iter().filter_map(taken).collect()
    }

    /// Lays out what is presented instead of the page.
    pub(super) fn lay_out_presented(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let ctx = ui.ctx().clone();
        scale(&ctx);
        let ground = Palette::current(ui).sheet;
        let frame = Frame::new().fill(ground).inner_margin(Margin::symmetric(14, 8));
        let low = frame.inner_margin(Margin::symmetric(14, 4));
        if self.presenting.as_ref().is_some_and(|presenting| presenting.cast.is_some()) {
            self.caption(ui, frame.inner_margin(Margin { top: 10, ..Margin::symmetric(14, 4) }));
            self.step_line(ui, low);
        } else {
            self.banner(ui, low);
        }
        self.live_panel(ui, low, commands);
        self.walk_panel(ui, low);
        let Self { presenting, state, answers, views, studies, .. } = self;
        let Answers { shown, curve, .. } = &*answers;
        CentralPanel::default().frame(frame).show(ui, |ui| {
            let (Some(presenting), Some(Shown { drawn, baseline, candidate, .. })) = (&*presenting, shown) else {
                let talk = presenting.as_ref().is_some_and(|presenting| presenting.cast.is_some());
                let text = match &answers.problem {
                    Some(problem) => problem.text.as_str(),
                    None if talk => "Computing this step",
                    None => "Computing the first answer",
                };
                ui.centered_and_justified(|ui| ui.weak(text));
                return;
            };
            let highlight = presenting.cast.as_ref().map(|cast| cast.highlight()).unwrap_or_default();
            let mut hand = Hand {
                state,
                drawn,
                answers: [baseline, candidate],
                curve,
                ready: &|_| false,
                views,
                studies,
                commands,
            };
            let tagged = UiBuilder::new().ui_stack_info(figures::highlighting(highlight));
            ui.scope_builder(tagged, |ui| hand.draw(ui, presenting.figure()));
        });
        self.handle(&ctx, commands);
        self.sign(&ctx);
        self.dialogs(&ctx, commands);
        let busy = ctx.memory(|memory| memory.focused().is_some());
        if let Some(presenting) = &mut self.presenting {
            presenting.busy = busy;
        }
    }

    /// What was kept just now, for as long as a glance takes: the bar that says so is on the page.
    fn sign(&self, ctx: &Context) {
        let Some(text) = self.outbox.fresh(ctx) else { return };
        let area = Area::new(Id::unique("sign")).anchor(Align2::CENTER_BOTTOM, vec2(0.0, -44.0)).interactable(false);
        area.show(ctx, |ui| {
            Frame::popup(ui.style()).show(ui, |ui| ui.label(RichText::new(text).font(theme::text())));
        });
    }

    /// What drives the walk, below a figure that can be walked through.
    fn walk_panel(&mut self, ui: &mut Ui, frame: Frame) {
        let walked = self.presenting.as_ref().is_some_and(|presenting| walks(presenting.figure()));
        if !walked || !self.views.walk.is_open() || self.walk_rests(ui) {
            return;
        }
        let Some(walk) = self.walk() else { return };
        let views = &mut self.views;
        let panel = Panel::bottom("walk").resizable(false).frame(frame);
        panel.show(ui, |ui| views.walk.show(ui, &walk));
    }

    /// Whether the walk of a step of a talk is only looked at: until it is driven, by keys or pointer, its bar is away.
    fn walk_rests(&mut self, ui: &Ui) -> bool {
        let plays = self.views.walk.plays();
        let Some(presenting) = self.presenting.as_mut().filter(|presenting| presenting.cast.is_some()) else {
            return false;
        };
        let (now_s, driven) =
            ui.input(|input| (input.time, figures::WALKING.iter().any(|key| input.key_pressed(*key))));
        if driven || plays {
            presenting.moved_s = Some(now_s);
        }
        presenting.moved_s.is_none_or(|moved_s| now_s >= moved_s + HANDLE_S)
    }

    /// Buttons for who has no keys at hand: seen while the pointer moves.
    fn handle(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        let Some(presenting) = &mut self.presenting else { return };
        let (now_s, moves) =
            ctx.input(|input| (input.time, input.pointer.delta() != Vec2::ZERO || input.pointer.any_down()));
        if moves {
            presenting.moved_s = Some(now_s);
        }
        let Some(left_s) = presenting.moved_s.map(|moved_s| moved_s + HANDLE_S - now_s).filter(|left_s| *left_s > 0.0)
        else {
            return;
        };
        let area = Area::new(Id::unique("handle")).anchor(Align2::RIGHT_CENTER, vec2(-10.0, 0.0));
        let shown = area.show(ctx, |ui| {
            Frame::popup(ui.style()).show(ui, |ui| {
                let mut button = |name: &str, hint: &str, command: Command| {
                    if ui.button(name).on_hover_text(hint).clicked() {
                        commands.push(command);
                    }
                };
                button("Next", "The next figure (arrow right)", Command::Presented(Act::Next));
                button("Before", "The figure before (arrow left)", Command::Presented(Act::Before));
                button("Walk", "One frame's way in slow motion (F6)", Command::Walk);
                button("Keep", "Keep it as a step of the talk (Ctrl+K)", Command::Talk(talk::Act::Keep));
                button("Slider", "Turn a parameter (S)", Command::Presented(Act::Slider));
                button("Leave", "Back to the page (Escape)", Command::Presented(Act::Leave));
            });
        });
        if shown.response.contains_pointer() {
            // It stays while the pointer rests on it, without asking for a frame.
            presenting.moved_s = Some(now_s);
        } else {
            ctx.request_repaint_after(Duration::from_secs_f64(left_s));
        }
    }
}

/// Whether a figure shows a walk.
const fn walks(figure: Figure) -> bool {
    matches!(figure, Figure::Lanes | Figure::Fronts)
}

/// Nothing is pointed at until the pointer moves: where it was lies elsewhere on a page of another scale.
fn forget_pointer(ctx: &Context) {
    ctx.input_mut(|input| input.pointer = PointerState::default());
}

/// Scales the interface so that the screen has the height that its smallest text is made for.
fn scale(ctx: &Context) {
    let now = ctx.zoom_factor();
    let wanted = ctx.input(|input| input.content_rect().height()) * now / HEIGHT;
    if wanted > 0.0 && (wanted / now - 1.0).abs() > 1e-3 {
        ctx.set_zoom_factor(wanted);
        forget_pointer(ctx);
    }
}

impl App {
    /// The walk through the frame of the lanes; none before the first answer.
    fn walk(&self) -> Option<Walk> {
        let Shown { drawn, baseline, candidate, .. } = self.answers.shown.as_ref()?;
        Some(self.views.lanes.walk(&drawn.lanes, [baseline, candidate]))
    }

    /// How long that walk is \[ms\].
    pub(super) fn walk_end_ms(&self) -> f64 {
        self.walk().map_or(0.0, |walk| ns_to_ms(walk.end_ns()))
    }

    /// Shows the walk through the frame of the lanes, paused so long after the pose \[ms\].
    pub(super) fn walk_at_ms(&mut self, at_ms: f64) {
        self.views.walk.pause_at_ms(at_ms);
    }

    /// The names of both designs: as the figures call them, or by their titles where those do not tell them apart.
    pub(super) fn presented_names(&self) -> Option<[String; 2]> {
        let names = &self.answers.shown.as_ref()?.drawn.lanes.names;
        let counts = [&self.state.pair.baseline, &self.state.pair.candidate].map(|side| side.scenario.slices.count);
        if counts[0] == counts[1] {
            return Some([&self.state.pair.baseline, &self.state.pair.candidate].map(|side| side.title().clone()));
        }
        Some(names.clone())
    }

    fn banner(&self, ui: &mut Ui, frame: Frame) {
        let Some(names) = self.presented_names() else { return };
        let Some(shown) = &self.answers.shown else { return };
        let Verdict { tone, headline, .. } = &shown.drawn.verdict;
        let measured = matches!(tone, Tone::Sooner | Tone::Later | Tone::Mixed) && !headline.contains(" at ");
        let of = measured.then_some("median");
        let place = self.presenting.as_ref().map_or((0, 0), |presenting| (presenting.at + 1, presenting.figures.len()));
        let told = banner::Told { names: &names, gain: headline, of, place, freshness: self.answers.freshness() };
        let panel = Panel::top("banner").resizable(false).frame(frame);
        panel.show(ui, |ui| banner::show(ui, &told));
    }

    fn live_panel(&mut self, ui: &mut Ui, frame: Frame, commands: &mut Vec<Command>) {
        let Self { presenting, state, answers, column, .. } = self;
        let Some(presenting) = presenting.as_mut().filter(|presenting| presenting.live.is_up()) else { return };
        let refused = column.refused(presenting.live.path());
        let problem = answers.problem.as_ref().map(|problem| problem.text.as_str());
        let panel = Panel::bottom("live").resizable(false).frame(frame);
        panel.show(ui, |ui| presenting.live.show(ui, &state.pair, refused.or(problem), commands));
    }
}

/// The walk's own keys, and those of presenting, for the help.
pub(super) fn keys() -> impl Iterator<Item = (&'static str, &'static str)> {
    KEYS.into_iter().chain(figures::WALK_KEYS)
}
