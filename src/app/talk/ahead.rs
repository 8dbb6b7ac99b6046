//! Answers of steps that are not on screen yet: a thread of its own computes them, so that stepping does not blank.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use eframe::egui::Context;

use super::look;
use crate::app::compute::{Bench, Drawn};
use crate::app::pair::Pair;
use crate::app::worker::Compute as _;
use crate::report::figures::Side;
use crate::report::figures::curve::Curve;
use crate::scenario::Scenario;
use crate::study::Answer;
use crate::talk::{Facts, Look, Numbers, Shown};

/// Answers kept for the steps to come: most steps share their scenarios.
const KEPT: usize = 4;

/// All that a step shows.
#[derive(Clone)]
pub(super) struct Ready {
    pub(super) answers: [Arc<Answer>; 2],
    pub(super) drawn: Arc<Drawn>,
    pub(super) curve: Curve,
}

struct Job {
    step: usize,
    pair: Pair,
    curve: bool,
    turn: usize,
}

/// The window's end of the thread. Dropped, it ends the thread after the step under way.
pub(super) struct Ahead {
    jobs: Sender<Job>,
    ready: Receiver<(usize, Ready)>,
    /// Of the last question: what was asked before it is passed over.
    turn: Arc<AtomicUsize>,
}

impl Ahead {
    /// Starts the thread; none where the system gives none, and steps are then computed when they are on screen.
    pub(super) fn start(ctx: &Context) -> Option<Self> {
        let (jobs, questions) = channel::<Job>();
        let (answer, ready) = channel();
        let turn = Arc::new(AtomicUsize::new(0));
        let (newest, ctx) = (Arc::clone(&turn), ctx.clone());
        let work = move || {
            let mut desk = Desk::default();
            while let Ok(job) = questions.recv() {
                if job.turn != newest.load(Ordering::Relaxed) {
                    continue;
                }
                let ready = desk.ready(&job.pair, job.curve);
                if answer.send((job.step, ready)).is_err() {
                    return;
                }
                ctx.request_repaint();
            }
        };
        thread::Builder::new().name("talk".to_owned()).spawn(work).ok()?;
        Some(Self { jobs, ready, turn })
    }

    /// Asks for steps, the most urgent first, in place of what was asked before.
    pub(super) fn ask(&self, steps: Vec<(usize, Pair, bool)>) {
        let turn = self.turn.fetch_add(1, Ordering::Relaxed) + 1;
        for (step, pair, curve) in steps {
            // Without a thread the step is computed when it is on screen.
            let _ = self.jobs.send(Job { step, pair, curve, turn });
        }
    }

    /// A step that has been computed.
    pub(super) fn ready(&self) -> Option<(usize, Ready)> {
        self.ready.try_recv().ok()
    }
}

/// Computes steps, and keeps answers that the next one may share.
#[derive(Default)]
pub(super) struct Desk {
    bench: Bench,
    kept: Vec<Arc<Answer>>,
}

impl Desk {
    /// All that a step of two checked scenarios shows.
    pub(super) fn ready(&mut self, pair: &Pair, curve: bool) -> Ready {
        let answers = Side::BOTH.map(|side| self.answer(&pair.of(side).scenario));
        let mut drawn = self.bench.draw(&answers[0], &answers[1], false);
        self.bench.make_sure(&answers[0], &answers[1], &mut drawn);
        let curve = if curve { self.bench.whole_curve(pair) } else { Curve::default() };
        Ready { answers, drawn: Arc::new(drawn), curve }
    }

    /// The numbers that captions of a step of two checked scenarios may ask for.
    pub(super) fn numbers(&mut self, pair: &Pair, look: &Look) -> Numbers {
        let answers = Side::BOTH.map(|side| self.answer(&pair.of(side).scenario));
        let lanes = self.bench.draw(&answers[0], &answers[1], false).lanes;
        let curve = if look.figure == Shown::SliceCount { self.bench.whole_curve(pair) } else { Curve::default() };
        let views = look::views(look);
        Numbers::of(&Facts {
            answers: [&answers[0], &answers[1]],
            lanes: &lanes,
            frame: views.lanes.frame(&lanes),
            curve: &curve,
            walk_ms: look.walk_ms,
        })
    }

    fn answer(&mut self, scenario: &Scenario) -> Arc<Answer> {
        if let Some(at) = self.kept.iter().position(|answer| answer.scenario == *scenario) {
            let answer = self.kept.remove(at);
            self.kept.push(Arc::clone(&answer));
            return answer;
        }
        if self.kept.len() >= KEPT {
            self.kept.remove(0);
        }
        let answer = Arc::new(self.bench.answer(scenario));
        self.kept.push(Arc::clone(&answer));
        answer
    }
}
