//! A talk while it is presented: which step, what of the user's own is set aside for so long, and the answers of the steps
//! around.

use std::collections::BTreeMap;
use std::sync::Arc;

use eframe::egui::Context;

use super::ahead::{Ahead, Desk, Ready};
use super::look;
use crate::app::answers::{Answers, Freshness, Shown, too_long};
use crate::app::compute::Bench;
use crate::app::gallery::Figure;
use crate::app::history::History;
use crate::app::pair::{Document, Origin, Pair};
use crate::app::present::Presenting;
use crate::app::state::{Looks, State};
use crate::app::worker::Worker;
use crate::app::{App, Views};
use crate::report::figures::Side;
use crate::talk::{Facts, Highlight, Step, Talk};

/// Steps around the one on screen whose answers are kept.
const NEAR: usize = 2;

/// A talk that is presented.
pub(in crate::app) struct Cast {
    talk: Talk,
    at: usize,
    ready: BTreeMap<usize, Ready>,
    /// Who computes steps ahead; none where nobody computes in the background.
    ahead: Option<Ahead>,
    /// Computes steps on this thread, where nobody does in the background.
    desk: Desk,
    aside: Aside,
}

/// The user's own, which comes back on leaving.
struct Aside {
    pair: Pair,
    looks: Looks,
    views: Views,
    history: History,
    answers: Answers,
    worker: Option<Worker<Bench>>,
}

impl std::fmt::Debug for Cast {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Cast").field("talk", &self.talk.title).field("at", &self.at).finish_non_exhaustive()
    }
}

impl Cast {
    /// The step on screen.
    pub(in crate::app) fn step(&self) -> &Step {
        &self.talk.steps[self.at]
    }

    /// Its figure.
    pub(in crate::app) fn figure(&self) -> Figure {
        look::figure(self.step().look.figure)
    }

    /// Its place, from 0, and how many there are.
    pub(in crate::app) fn place(&self) -> (usize, usize) {
        (self.at, self.talk.steps.len())
    }

    /// The parts of the figure that keep their strength.
    pub(in crate::app) fn highlight(&self) -> Highlight {
        Highlight::of(&self.step().highlight)
    }

    /// Whether a step's answers are there.
    #[cfg(test)]
    pub(in crate::app) fn knows(&self, step: usize) -> bool {
        self.ready.contains_key(&step)
    }

    /// The pair of a step.
    fn pair(&self, step: usize) -> Option<Pair> {
        let document =
            |scenario: &crate::scenario::Scenario| Document { scenario: scenario.clone(), origin: Origin::Elsewhere };
        let [baseline, candidate] = self.talk.pair(step)?.map(document);
        Some(Pair { baseline, candidate })
    }

    /// What a step needs to be computed; none where there is no such step, or it is too much to show.
    fn job(&self, step: usize) -> Option<(usize, Pair, bool)> {
        let pair = self.pair(step)?;
        let short = Side::BOTH.iter().all(|side| too_long(&pair.of(*side).scenario).is_none());
        let curve = self.talk.steps[step].look.figure == crate::talk::Shown::SliceCount;
        short.then_some((step, pair, curve))
    }

    /// Takes in steps that were computed ahead.
    fn listen(&mut self) {
        while let Some((step, ready)) = self.ahead.as_ref().and_then(Ahead::ready) {
            if step.abs_diff(self.at) <= NEAR {
                self.ready.insert(step, ready);
            }
        }
    }

    /// Asks for the steps around the one on screen that are not there yet.
    fn look_ahead(&self) {
        let Some(ahead) = &self.ahead else { return };
        let around = [Some(self.at + 1), self.at.checked_sub(1), Some(self.at + 2)];
        let wanted = around.into_iter().flatten().filter(|step| !self.ready.contains_key(step));
        ahead.ask(wanted.filter_map(|step| self.job(step)).collect());
    }
}

impl App {
    /// Begins to present a talk that was checked, from a step on.
    pub(in crate::app) fn present_talk(&mut self, talk: &Talk, step: usize, ctx: &Context) {
        if self.presenting.is_some() || talk.steps.is_empty() {
            return;
        }
        // Before anything is set aside: what is on screen belongs to the user.
        self.present(None, ctx);
        let Some(presenting) = &mut self.presenting else { return };
        let background = self.worker.is_some();
        let aside = Aside {
            pair: self.state.pair.clone(),
            looks: self.state.looks.clone(),
            views: std::mem::take(&mut self.views),
            history: std::mem::take(&mut self.history),
            answers: std::mem::take(&mut self.answers),
            worker: self.worker.take(),
        };
        let at = step.min(talk.steps.len() - 1);
        let ahead = background.then(|| Ahead::start(ctx)).flatten();
        let (ready, desk) = (BTreeMap::new(), Desk::default());
        presenting.cast = Some(Box::new(Cast { talk: talk.clone(), at, ready, ahead, desk, aside }));
        self.show_step(ctx);
    }

    /// Goes to another step, so many further on; at the ends it stays.
    pub(in crate::app) fn turn_step(&mut self, by: isize, ctx: &Context) {
        let fresh = self.answers.freshness() == Freshness::Current;
        let Some(cast) = cast_of(&mut self.presenting) else { return };
        let last = cast.talk.steps.len() - 1;
        let to = cast.at.saturating_add_signed(by).min(last);
        if to == cast.at {
            return;
        }
        // What the worker found of the step is good for coming back to it, unless a hand has turned it meanwhile.
        let whole = cast.job(cast.at).is_some_and(|(_, pair, curve)| {
            fresh && pair.same_scenarios(&self.state.pair) && (!curve || self.answers.all_of(Figure::SliceCurve))
        });
        if let (true, Some(Shown { baseline, candidate, drawn, .. })) = (whole, &self.answers.shown) {
            let answers = [Arc::clone(baseline), Arc::clone(candidate)];
            let ready = Ready { answers, drawn: Arc::clone(drawn), curve: self.answers.curve.clone() };
            cast.ready.insert(cast.at, ready);
        }
        cast.at = to;
        cast.ready.retain(|step, _| step.abs_diff(to) <= NEAR);
        self.show_step(ctx);
    }

    /// Puts the step that a talk is at on screen: with answers that are there already, or else those that come.
    fn show_step(&mut self, ctx: &Context) {
        let Some(cast) = cast_of(&mut self.presenting) else { return };
        cast.listen();
        let Some(pair) = cast.pair(cast.at) else { return };
        self.views = Views { presented: true, ..look::views(&cast.step().look) };
        self.history = History::default();
        self.answers = Answers::default();
        self.column.forget_notes();
        self.worker = None;
        if cast.aside.worker.is_some() {
            // One that knows of no other step: nothing of theirs comes late.
            self.worker = Self::new_worker(ctx).ok();
        } else if let (None, Some((step, pair, curve))) = (cast.ready.get(&cast.at), cast.job(cast.at)) {
            let ready = cast.desk.ready(&pair, curve);
            cast.ready.insert(step, ready);
        }
        if let Some(Ready { answers: [baseline, candidate], drawn, curve }) = cast.ready.get(&cast.at).cloned() {
            self.answers.set(&pair, baseline, candidate, drawn, curve);
        }
        self.state.pair = pair;
        cast.look_ahead();
        ctx.request_repaint();
    }

    /// Takes in what was computed ahead; to be called before each frame.
    pub(in crate::app) fn take_ahead(&mut self) {
        let Some(cast) = cast_of(&mut self.presenting) else { return };
        cast.listen();
    }

    /// Gives the user's own back after a talk was presented.
    pub(in crate::app) fn end_cast(&mut self, cast: Cast) {
        let Aside { pair, looks, views, history, answers, worker } = cast.aside;
        self.state.pair = pair;
        self.state.looks = looks;
        self.views = views;
        self.views.presented = false;
        self.history = history;
        self.answers = answers;
        self.worker = worker;
        self.column.forget_notes();
    }

    /// What the session keeps: the user's own, also while a talk is presented.
    pub(in crate::app) fn state_to_keep(&self) -> Option<State> {
        let Aside { pair, looks, .. } = &self.presenting.as_ref()?.cast.as_ref()?.aside;
        let mut state = self.state.clone();
        (state.pair, state.looks) = (pair.clone(), looks.clone());
        Some(state)
    }

    /// What captions are filled in from; none before the first answer.
    pub(in crate::app) fn facts(&self) -> Option<Facts<'_>> {
        let Shown { baseline, candidate, drawn, .. } = self.answers.shown.as_ref()?;
        Some(Facts {
            answers: [baseline, candidate],
            lanes: &drawn.lanes,
            frame: self.views.lanes.frame(&drawn.lanes),
            curve: &self.answers.curve,
            walk_ms: self.views.walk.at_ns().map(crate::time::ns_to_ms),
        })
    }
}

fn cast_of(presenting: &mut Option<Presenting>) -> Option<&mut Cast> {
    presenting.as_mut()?.cast.as_deref_mut()
}
