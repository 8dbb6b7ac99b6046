//! Keeps work that is not saved from being lost unasked.
//!
//! What one step of undo brings back is not lost: swaps and take-overs never ask. What is asked about, and when:
//!
//! * closing: each side with changes that are not saved, unless it is still as the last session left it;
//! * a talk: closing, and taking another one in hand, where no file holds its newest state;
//! * opening a file: the side it would replace, if that has changes that are not saved;
//! * a preset or a new start: the same, but only where the changes are to a file of one's own. Changes to a shipped
//!   preset are a try, the next preset is the next try, and undo brings them back.
//!
//! A scenario that the other side holds too, and keeps, is not lost.

use eframe::egui::{Align, Button, Context, Id, Layout, Modal, RichText, Ui, ViewportCommand};

use super::App;
use super::command::{Command, Purpose};
use super::pair::{Document, Origin, Pair};
use super::session::Keeper;
use super::talk::{Act, InHand};
use super::theme::Palette;
use crate::report::figures::Side;
use crate::talk::Look;

/// Something that replaces scenarios or ends the program.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// A side becomes what a file holds; with the file's mark.
    Open(Side, Document, Option<u64>),
    /// A side becomes a preset.
    Preset(Side, Document),
    /// Both sides become those of the program's start.
    StartAgain,
    /// Both sides become those of a step of a talk, and its figure is looked at.
    Show(Box<Pair>, Look),
    /// A talk is taken in hand; with its file's mark.
    Talk(Box<InHand>, Option<u64>),
    /// The window closes.
    Close,
}

/// A question that is open: what waits for the answer.
#[derive(Debug)]
pub(super) struct Guard {
    waiting: Vec<Step>,
    /// Whether the sides are being saved, one after the other.
    saving: bool,
    fresh: bool,
}

/// What was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reply {
    Save,
    TypePath,
    Discard,
    Cancel,
}

impl App {
    /// Takes a step, or asks first about the work it would lose.
    pub(super) fn step(&mut self, step: Step, ctx: &Context) {
        if let Some(guard) = &mut self.guard {
            guard.waiting.push(step);
        } else if self.at_risk(&step).is_empty() && !self.talk_at_risk(&step) {
            self.go_on(step, ctx);
        } else {
            self.guard = Some(Guard { waiting: vec![step], saving: false, fresh: true });
        }
    }

    /// Lets the window close, or asks first. To be called before each frame, also while nothing is shown.
    pub(super) fn watch_close(&mut self, ctx: &Context) {
        if self.leaving || !ctx.input(|input| input.viewport().close_requested()) {
            return;
        }
        // What may be lost by closing is the user's own, not a step of a talk.
        if self.presenting.as_ref().is_some_and(|presenting| presenting.cast.is_some()) {
            self.stop_presenting(ctx);
        }
        if self.guard.as_ref().is_none_or(|guard| !guard.waiting.iter().any(|step| matches!(step, Step::Close))) {
            self.step(Step::Close, ctx);
        }
        if !self.leaving {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            ctx.send_viewport_cmd(ViewportCommand::Minimized(false));
            ctx.send_viewport_cmd(ViewportCommand::Focus);
            ctx.request_repaint();
        }
    }

    /// After a side was saved: saves the next one that the question is about, or goes on.
    pub(super) fn guard_saved(&mut self, ctx: &Context) {
        if !self.guard.as_ref().is_some_and(|guard| guard.saving) {
            return;
        }
        match self.asked_about().first() {
            Some(&side) => self.run(Command::Save(side), ctx),
            None if self.talk_asked_about() => self.run(Command::Talk(Act::Save), ctx),
            None => self.release(ctx),
        }
    }

    /// The question over the page.
    pub(super) fn show_guard(&mut self, ctx: &Context) {
        // A dialog for the place to save to comes first; given up, the question is there again.
        if self.files.busy() || self.replacing.is_some() || self.own.asking() {
            return;
        }
        let (sides, talk) = (self.asked_about(), self.talk_asked_about());
        let Some(guard) = &mut self.guard else { return };
        guard.saving = false;
        let fresh = std::mem::take(&mut guard.fresh);
        let closing = guard.waiting.iter().any(|step| matches!(step, Step::Close));
        let comes_back = self.keeper.as_ref().is_some_and(Keeper::keeps);
        let mut reply = None;
        let modal = Modal::new(Id::unique("unsaved")).show(ctx, |ui| {
            ui.set_width(440.0);
            ui.heading("Changes are not saved");
            ui.add_space(6.0);
            for &side in &sides {
                ui.label(self.origin_of(side));
            }
            if talk {
                ui.label(self.talk_in_words());
            }
            ui.label(RichText::new(consequence(closing, comes_back)).color(Palette::current(ui).soft));
            if let Some(message) = &self.message {
                ui.label(RichText::new(message).color(ui.visuals().error_fg_color));
            }
            ui.add_space(8.0);
            let no_file = sides.iter().any(|&side| self.state.pair.of(side).file().is_none());
            let no_file = no_file || talk && self.talk_file().is_none();
            reply = buttons(ui, fresh, closing, no_file);
        });
        match reply.or(modal.should_close().then_some(Reply::Cancel)) {
            Some(Reply::Save) => self.save_first(&sides, Command::Save, Command::Talk(Act::Save), ctx),
            Some(Reply::TypePath) => {
                let side = |side| Command::TypePath(Purpose::Save(side));
                self.save_first(&sides, side, Command::TypePath(Purpose::SaveTalk), ctx);
            }
            Some(Reply::Discard) => self.release(ctx),
            Some(Reply::Cancel) => self.guard = None,
            None => {}
        }
    }

    fn save_first(&mut self, sides: &[Side], how: impl Fn(Side) -> Command, talk: Command, ctx: &Context) {
        if let Some(guard) = &mut self.guard {
            guard.saving = true;
            self.run(sides.first().map_or(talk, |side| how(*side)), ctx);
        }
    }

    /// Goes on with what waits, whatever is lost by it.
    pub(super) fn release(&mut self, ctx: &Context) {
        let Some(guard) = self.guard.take() else { return };
        for step in guard.waiting {
            self.go_on(step, ctx);
        }
        ctx.request_repaint();
    }

    fn go_on(&mut self, step: Step, ctx: &Context) {
        match step {
            Step::Open(side, document, mark) => {
                if let Some(path) = document.file() {
                    self.state.note_mark(path, mark);
                }
                self.put("open", side, document, ctx);
                self.views.look_anew();
            }
            Step::Preset(side, document) => {
                self.put("preset", side, document, ctx);
                self.views.look_anew();
            }
            Step::StartAgain => {
                self.change("start", ctx, |pair| *pair = Pair::default());
                self.views.look_anew();
            }
            Step::Show(pair, look) => self.put_on_page(*pair, &look, ctx),
            Step::Talk(in_hand, mark) => self.take_talk(*in_hand, mark),
            Step::Close => {
                self.leaving = true;
                self.outbox.finish();
                self.finish_session();
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
        }
    }

    /// The sides that the open question is about.
    fn asked_about(&self) -> Vec<Side> {
        let Some(guard) = &self.guard else { return Vec::new() };
        let risks: Vec<Vec<Side>> = guard.waiting.iter().map(|step| self.at_risk(step)).collect();
        Side::BOTH.into_iter().filter(|side| risks.iter().any(|risk| risk.contains(side))).collect()
    }

    /// The sides whose unsaved changes a step would lose.
    fn at_risk(&self, step: &Step) -> Vec<Side> {
        let replaced: &[Side] = match step {
            Step::Open(side, ..) | Step::Preset(side, _) => std::slice::from_ref(side),
            Step::StartAgain | Step::Show(..) | Step::Close => &Side::BOTH,
            Step::Talk(..) => &[],
        };
        let pair = &self.state.pair;
        let at_risk = |side: &Side| {
            let document = pair.of(*side);
            let own = matches!(document.origin, Origin::File(_));
            self.saved.differs(document)
                && match step {
                    Step::Open(..) => !self.other_holds(*side),
                    Step::Preset(..) => own && !self.other_holds(*side),
                    Step::StartAgain | Step::Show(..) => own,
                    Step::Talk(..) => false,
                    Step::Close => self.restored.as_ref().is_none_or(|restored| restored.of(*side) != document),
                }
        };
        replaced.iter().copied().filter(at_risk).collect()
    }

    /// Whether a step would lose unsaved work on the talk.
    fn talk_at_risk(&self, step: &Step) -> bool {
        match step {
            Step::Talk(..) => self.talk_differs(),
            Step::Close => self.talk_lost_by_closing(),
            _ => false,
        }
    }

    /// Whether the open question is about the talk too.
    fn talk_asked_about(&self) -> bool {
        self.guard.as_ref().is_some_and(|guard| guard.waiting.iter().any(|step| self.talk_at_risk(step)))
    }

    /// Whether the other side holds the same scenario.
    fn other_holds(&self, side: Side) -> bool {
        let pair = &self.state.pair;
        Side::BOTH.into_iter().any(|other| other != side && pair.of(other).scenario == pair.of(side).scenario)
    }
}

fn consequence(closing: bool, comes_back: bool) -> &'static str {
    match (closing, comes_back) {
        (true, true) => "Without saving, no file holds them; the next start without a file brings them back.",
        (true, false) => "Without saving, they are lost.",
        (false, _) => "Without saving, only undo brings them back, until the window closes.",
    }
}

/// The answers, by keyboard too: Enter saves, Tab leads to the others, Escape cancels.
fn buttons(ui: &mut Ui, fresh: bool, closing: bool, no_file: bool) -> Option<Reply> {
    let mut reply = None;
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let mut button = |ui: &mut Ui, name: &str, meaning: &str, meant: Reply| {
            let response = ui.add(Button::new(name)).on_hover_text(meaning);
            if response.clicked() {
                reply = Some(meant);
            }
            response
        };
        let saved = button(ui, if no_file { "Save as…" } else { "Save" }, "Save, then go on (Enter)", Reply::Save);
        if fresh {
            saved.request_focus();
        }
        if no_file {
            button(ui, "Type path…", "Save to a path that is typed, then go on", Reply::TypePath);
        }
        let name = if closing { "Close without saving" } else { "Go on without saving" };
        button(ui, name, "Leave the files as they are", Reply::Discard);
        button(ui, "Cancel", "Change nothing (Escape)", Reply::Cancel);
    });
    reply
}
