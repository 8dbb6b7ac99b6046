//! The worker: a thread that answers the newest question while the window stays alive.
//!
//! The window posts a pair of scenarios; a newer pair replaces one that waits, and ends one that is being answered at its
//! next step. The steps of an answer: both scenarios shortened, so that the picture follows the hand; both whole; how sure
//! the gain is, from further seeds; then the slice-count curve of the candidate, point by point. Answers that are still good are kept and not computed again,
//! and the window hands answers back that it shows no longer, so that their arrays are used again.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

use crate::scenario::Scenario;

/// Steps of a rest between an answer and the longer one after it, and how long each takes.
const REST_STEPS: u32 = 15;
const REST_STEP: Duration = Duration::from_millis(4);

/// Frames of the short run.
pub(super) const SHORT_FRAMES: u32 = 2_000;

/// What the worker computes with. The window's own one is [`super::compute::Bench`]; tests bring theirs.
pub(super) trait Compute: Send + 'static {
    /// The answer for one scenario.
    type Answer: Send + Sync + 'static;
    /// What the page draws of two answers.
    type Drawn: Send + 'static;
    /// One point of the slice-count curve.
    type Point: Send + 'static;
    /// How sure the gain of two answers is.
    type Gains: Copy + Send + 'static;

    /// Answers one scenario.
    fn answer(&mut self, scenario: &Scenario) -> Self::Answer;
    /// Takes back an answer that nobody shows any longer.
    fn reuse(&mut self, answer: Self::Answer);
    /// Makes the figures of two answers; `short`: they are of a part of the run, and the whole is on its way.
    fn draw(&self, baseline: &Self::Answer, candidate: &Self::Answer, short: bool) -> Self::Drawn;
    /// How sure the gain of two whole answers is; none where `stop` was set before it was known.
    fn gains(&self, baseline: &Self::Answer, candidate: &Self::Answer, stop: &AtomicBool) -> Option<Self::Gains>;
    /// The slice counts of the curve.
    fn counts(&self, scenario: &Scenario) -> Vec<u32>;
    /// The curve at `counts`, each point as it is found, in any order, until `stop` is set.
    fn curve(&self, scenario: &Scenario, counts: &[u32], stop: &AtomicBool, found: &(dyn Fn(u32, Self::Point) + Sync));
}

/// What the worker sends, in order.
pub(super) enum Reply<C: Compute> {
    /// Both answers.
    Pair(PairReply<C>),
    /// How sure the gain is of the whole answers to the question of that number, which came before.
    Gains(u64, C::Gains),
    /// The candidate's curve begins anew, with so many points to come; those that follow belong to it.
    CurveBegins(usize),
    /// One more point of the curve.
    Point(C::Point),
    /// All is answered.
    Done,
}

/// Both answers to a question.
pub(super) struct PairReply<C: Compute> {
    /// Number of the question.
    pub(super) question: u64,
    /// The baseline's answer.
    pub(super) baseline: Arc<C::Answer>,
    /// The candidate's answer.
    pub(super) candidate: Arc<C::Answer>,
    /// The figures of both.
    pub(super) drawn: C::Drawn,
    /// Whether these are the short runs, and the whole ones are on their way.
    pub(super) short: bool,
}

enum Job<A> {
    Question(Box<Question>),
    Used(Arc<A>),
}

struct Question {
    number: u64,
    baseline: Scenario,
    candidate: Scenario,
    /// Set when a newer question came, or the window is gone.
    stop: Arc<AtomicBool>,
}

/// The window's end of the worker. Dropped, it ends the thread.
pub(super) struct Worker<C: Compute> {
    jobs: Sender<Job<C::Answer>>,
    replies: Receiver<Reply<C>>,
    newest: u64,
    stop: Arc<AtomicBool>,
}

impl<C: Compute> Worker<C> {
    /// Starts the thread; `wake` is called after each reply.
    pub(super) fn start(compute: C, wake: impl Fn() + Send + Sync + 'static) -> std::io::Result<Self> {
        let (jobs, questions) = channel();
        let (sender, replies) = channel();
        let bench = Bench { compute, kept: Vec::new(), gains: None, curve: None, sender, wake };
        thread::Builder::new().name("answers".to_owned()).spawn(move || bench.work(&questions))?;
        Ok(Self { jobs, replies, newest: 0, stop: Arc::default() })
    }

    /// Posts a question, which replaces the one before, and returns its number.
    pub(super) fn ask(&mut self, baseline: &Scenario, candidate: &Scenario) -> u64 {
        self.stop.store(true, Ordering::Relaxed);
        self.stop = Arc::default();
        self.newest += 1;
        let question = Question {
            number: self.newest,
            baseline: baseline.clone(),
            candidate: candidate.clone(),
            stop: Arc::clone(&self.stop),
        };
        // Without a thread nothing is answered and the window says "computing": there is nothing better to do.
        let _ = self.jobs.send(Job::Question(Box::new(question)));
        self.newest
    }

    /// Hands an answer back.
    pub(super) fn give_back(&self, answer: Arc<C::Answer>) {
        let _ = self.jobs.send(Job::Used(answer));
    }

    /// The next reply, if there is one.
    pub(super) fn reply(&self) -> Option<Reply<C>> {
        self.replies.try_recv().ok()
    }

    /// Waits for the next reply.
    #[cfg(test)]
    pub(super) fn wait(&self) -> Option<Reply<C>> {
        self.replies.recv().ok()
    }
}

impl<C: Compute> Drop for Worker<C> {
    fn drop(&mut self) {
        // Ends what is being computed; the closed channel then ends the thread.
        self.stop.store(true, Ordering::Relaxed);
    }
}

/// The thread's end.
struct Bench<C: Compute, W> {
    compute: C,
    /// Answers to the newest question's scenarios, whole and short.
    kept: Vec<(Scenario, Arc<C::Answer>)>,
    /// How sure the gain was of the pair asked about last.
    gains: Option<([Scenario; 2], C::Gains)>,
    curve: Option<Curve>,
    sender: Sender<Reply<C>>,
    wake: W,
}

/// A slice-count curve under way.
struct Curve {
    /// The candidate that it is made of, its slice count aside.
    of: Scenario,
    /// Slice counts still to come.
    left: Vec<u32>,
}

/// A newer question came, or the window is gone.
struct Stopped;

impl<C: Compute, W: Fn() + Sync> Bench<C, W> {
    fn work(mut self, jobs: &Receiver<Job<C::Answer>>) {
        while let Ok(job) = jobs.recv() {
            let mut newest = self.take(job);
            while let Ok(job) = jobs.try_recv() {
                newest = self.take(job).or(newest);
            }
            if let Some(question) = newest {
                // Stopped is no fault: the next turn of the loop answers the newer question.
                let _ = self.answer(&question);
            }
        }
    }

    fn take(&mut self, job: Job<C::Answer>) -> Option<Box<Question>> {
        match job {
            Job::Question(question) => Some(question),
            Job::Used(answer) => {
                self.release(answer);
                None
            }
        }
    }

    fn release(&mut self, answer: Arc<C::Answer>) {
        if let Some(answer) = Arc::into_inner(answer) {
            self.compute.reuse(answer);
        }
    }

    /// Answers one question, step by step, until a newer one is there. The first step is always taken and whatever was
    /// computed is sent, so that the picture moves on while questions keep coming.
    fn answer(&mut self, question: &Question) -> Result<(), Stopped> {
        let Question { baseline, candidate, .. } = question;
        let (short_baseline, short_candidate) = (shortened(baseline, SHORT_FRAMES), shortened(candidate, SHORT_FRAMES));
        self.keep_only(&[baseline, candidate, &short_baseline, &short_candidate]);
        let whole_is_kept = self.find(baseline).is_some() && self.find(candidate).is_some();
        if !whole_is_kept && (short_baseline != *baseline || short_candidate != *candidate) {
            let baseline = self.one(&short_baseline);
            let candidate = self.one(&short_candidate);
            self.send_pair(question, baseline, candidate, true)?;
            rest(question)?;
        }
        let baseline = self.one(baseline);
        proceed(question)?;
        let candidate = self.one(candidate);
        self.send_pair(question, Arc::clone(&baseline), Arc::clone(&candidate), false)?;
        rest(question)?;
        self.send_gains(question, &baseline, &candidate)?;
        drop((baseline, candidate));
        self.draw_curve(question)?;
        self.send(Reply::Done)
    }

    fn send_pair(
        &self,
        question: &Question,
        baseline: Arc<C::Answer>,
        candidate: Arc<C::Answer>,
        short: bool,
    ) -> Result<(), Stopped> {
        let drawn = self.compute.draw(&baseline, &candidate, short);
        self.send(Reply::Pair(PairReply { question: question.number, baseline, candidate, drawn, short }))
    }

    fn send_gains(&mut self, question: &Question, baseline: &C::Answer, candidate: &C::Answer) -> Result<(), Stopped> {
        let pair = [&question.baseline, &question.candidate];
        let kept = self.gains.as_ref().filter(|(of, _)| of.each_ref() == pair).map(|(_, gains)| *gains);
        let gains = kept.or_else(|| self.compute.gains(baseline, candidate, &question.stop)).ok_or(Stopped)?;
        self.gains = Some((pair.map(Clone::clone), gains));
        self.send(Reply::Gains(question.number, gains))
    }

    fn keep_only(&mut self, wanted: &[&Scenario]) {
        for (of, answer) in std::mem::take(&mut self.kept) {
            if wanted.contains(&&of) {
                self.kept.push((of, answer));
            } else {
                self.release(answer);
            }
        }
    }

    fn find(&self, scenario: &Scenario) -> Option<Arc<C::Answer>> {
        self.kept.iter().find(|(of, _)| of == scenario).map(|(_, answer)| Arc::clone(answer))
    }

    fn one(&mut self, scenario: &Scenario) -> Arc<C::Answer> {
        self.find(scenario).unwrap_or_else(|| {
            let answer = Arc::new(self.compute.answer(scenario));
            self.kept.push((scenario.clone(), Arc::clone(&answer)));
            answer
        })
    }

    /// The curve does not depend on the candidate's own slice count: it stays, or goes on, while that one is dragged.
    fn draw_curve(&mut self, question: &Question) -> Result<(), Stopped> {
        proceed(question)?;
        let mut of = question.candidate.clone();
        of.slices.count = 1;
        let counts = self.compute.counts(&question.candidate);
        let left = match self.curve.take() {
            Some(curve) if curve.of == of => curve.left,
            _ => {
                self.send(Reply::CurveBegins(counts.len()))?;
                counts
            }
        };
        let found = Mutex::new(Vec::new());
        let Self { sender, wake, .. } = self;
        self.compute.curve(&question.candidate, &left, &question.stop, &|count, point| {
            // A window that is gone stops the curve by its own flag.
            let _ = sender.send(Reply::Point(point));
            wake();
            if let Ok(mut found) = found.lock() {
                found.push(count);
            }
        });
        let found = found.into_inner().unwrap_or_default();
        let left: Vec<u32> = left.into_iter().filter(|count| !found.contains(count)).collect();
        self.curve = Some(Curve { of, left });
        proceed(question)
    }

    fn send(&self, reply: Reply<C>) -> Result<(), Stopped> {
        self.sender.send(reply).map_err(|_| Stopped)?;
        (self.wake)();
        Ok(())
    }
}

/// Waits for a hand that goes on turning, before work that would take the processor from the picture that follows it.
fn rest(question: &Question) -> Result<(), Stopped> {
    for _ in 0..REST_STEPS {
        proceed(question)?;
        std::thread::sleep(REST_STEP);
    }
    proceed(question)
}

fn proceed(question: &Question) -> Result<(), Stopped> {
    if question.stop.load(Ordering::Relaxed) { Err(Stopped) } else { Ok(()) }
}

/// The scenario with at most so many frames, of which at most a tenth does not count.
pub(super) fn shortened(scenario: &Scenario, most: u32) -> Scenario {
    let mut short = scenario.clone();
    if short.run.frames > most {
        short.run.frames = most;
        short.run.warmup = short.run.warmup.min(most / 10);
    }
    short
}

#[cfg(test)]
mod tests;
