//! Numbers for the captions in the list of steps: worked out once a step in the background, and kept while a step needs
//! them, so that the list says what the room will read.

use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use eframe::egui::Context;

use super::ahead::Desk;
use crate::app::answers::too_long;
use crate::app::pair::{Document, Origin, Pair};
use crate::scenario::Scenario;
use crate::talk::{Look, Numbers, Talk, fill};

/// What a step's numbers follow from.
#[derive(Debug, Clone, PartialEq)]
struct Question {
    /// Baseline and candidate.
    sides: [Scenario; 2],
    look: Look,
}

/// The numbers of the steps of a talk.
#[derive(Debug, Default)]
pub(in crate::app) struct Told {
    /// The talk that they are of.
    of: Talk,
    known: Vec<(Question, Numbers)>,
    /// Which of them each step needs; none: not known yet.
    steps: Vec<Option<usize>>,
    /// What is not known yet, each once.
    missing: Vec<Question>,
    /// What is being worked out.
    asked: Vec<Question>,
    answers: Option<Receiver<(Question, Numbers)>>,
}

impl Told {
    /// A text of a step with its numbers; dots in their place while they are not known.
    pub(in crate::app) fn fill(&self, step: usize, text: &str) -> String {
        self.numbers(step).map_or_else(|| fill(text, None), |numbers| numbers.fill(text))
    }

    /// The numbers of a step; none while they are not known.
    pub(super) fn numbers(&self, step: usize) -> Option<&Numbers> {
        let at = self.steps.get(step).copied().flatten()?;
        self.known.get(at).map(|(_, numbers)| numbers)
    }

    /// Takes in what has been worked out, and asks for what the talk needs besides; without a background, one step is
    /// worked out on this thread.
    pub(super) fn follow(&mut self, talk: &Talk, background: bool, ctx: &Context) {
        let came = self.listen();
        if came || self.of != *talk {
            self.of.clone_from(talk);
            self.look_up();
        }
        if self.missing.is_empty() || self.asked == self.missing {
            return;
        }
        if background {
            self.ask(ctx);
        } else if let Some(question) = self.missing.first().cloned() {
            let numbers = question.work_out(&mut Desk::default());
            self.known.push((question, numbers));
            self.look_up();
            ctx.request_repaint();
        }
    }

    fn listen(&mut self) -> bool {
        let before = self.known.len();
        while let Some(answer) = self.answers.as_ref().map(Receiver::try_recv) {
            match answer {
                Ok((question, numbers)) => {
                    self.asked.retain(|asked| *asked != question);
                    self.known.push((question, numbers));
                }
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => self.answers = None,
            }
        }
        self.known.len() > before
    }

    /// Keeps what the steps need, and finds the place of each and what is missing.
    fn look_up(&mut self) {
        let questions: Vec<Option<Question>> =
            (0..self.of.steps.len()).map(|step| Question::of(&self.of, step)).collect();
        self.known.retain(|(known, _)| questions.iter().flatten().any(|question| question == known));
        let place = |question: &Option<Question>| {
            question.as_ref().and_then(|question| self.known.iter().position(|(known, _)| known == question))
        };
        self.steps = questions.iter().map(place).collect();
        self.missing.clear();
        for (question, place) in questions.into_iter().zip(&self.steps) {
            self.missing.extend(question.filter(|question| place.is_none() && !self.missing.contains(question)));
        }
    }

    /// Works out what is missing on a thread of its own; one that works already ends after the step under way.
    fn ask(&mut self, ctx: &Context) {
        let (answer, answers) = channel();
        let missing = self.missing.clone();
        self.asked.clone_from(&missing);
        let ctx = ctx.clone();
        let work = move || {
            let mut desk = Desk::default();
            for question in missing {
                let numbers = question.work_out(&mut desk);
                if answer.send((question, numbers)).is_err() {
                    return;
                }
                ctx.request_repaint();
            }
        };
        // Without a thread the dots stay.
        self.answers = thread::Builder::new().name("captions".to_owned()).spawn(work).ok().map(|_| answers);
    }
}

impl Question {
    /// What a step's numbers follow from; none where it is too much to be worked out for a list.
    fn of(talk: &Talk, step: usize) -> Option<Self> {
        let sides = talk.pair(step)?;
        let short = sides.iter().all(|scenario| too_long(scenario).is_none());
        short.then(|| Self { sides: sides.map(Clone::clone), look: talk.steps[step].look })
    }

    fn work_out(&self, desk: &mut Desk) -> Numbers {
        let [baseline, candidate] =
            self.sides.each_ref().map(|scenario| Document { scenario: scenario.clone(), origin: Origin::Elsewhere });
        desk.numbers(&Pair { baseline, candidate }, &self.look)
    }
}
