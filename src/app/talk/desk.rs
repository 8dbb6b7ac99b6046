//! The talk in hand: what is kept of it, and what can be done with it.

mod file;

use std::path::PathBuf;

use eframe::egui::Context;
use serde::{Deserialize, Serialize};

use super::look;
use super::told::Told;
use crate::app::App;
use crate::app::answers::too_long;
use crate::app::command::Purpose;
use crate::app::guard::Step as Guarded;
use crate::app::pair::{Document, Origin, Pair};
use crate::app::state::Places;
use crate::report::figures::Side;
use crate::talk::{Look, MOST_STEPS, Part, Step, Talk, shipped};

/// Changes that can be taken back.
const MOST_BEFORE: usize = 100;
/// What a talk is called before it has a title.
const UNTITLED: &str = "Untitled talk";

/// A talk and where it is kept.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub(in crate::app) struct InHand {
    pub(in crate::app) talk: Talk,
    pub(in crate::app) source: Source,
}

/// Where a talk came from.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub(in crate::app) enum Source {
    /// It was begun here.
    #[default]
    New,
    /// It ships with the program, under that name.
    Shipped(String),
    /// A file.
    File(PathBuf),
}

/// What belongs to the talk in hand and does not last.
#[derive(Debug, Default)]
pub(in crate::app) struct Desk {
    /// Whether the list of steps is seen.
    pub(in crate::app) shown: bool,
    /// The step that is edited.
    pub(in crate::app) chosen: usize,
    /// The numbers of its captions.
    pub(in crate::app) told: Told,
    /// What is in the file that was opened or saved last.
    saved: Option<(PathBuf, Talk)>,
    /// What came back from the last session.
    restored: Option<InHand>,
    /// What was there before each change.
    before: Vec<Option<InHand>>,
    /// The text that is being changed: further letters belong to the same change.
    typing: Option<(usize, &'static str)>,
}

/// What can be done with a talk.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum Act {
    /// Shows or hides the list of steps.
    Panel,
    /// What is on screen becomes the last step.
    Keep,
    /// A talk without steps.
    New,
    /// Asks for a file to open.
    Open,
    /// A shipped talk.
    Shipped(&'static str),
    /// Saves it to its file, or asks for one.
    Save,
    /// Asks for a file to save it to.
    SaveAs,
    /// Takes the last change back.
    Undo,
    /// Gives it another title.
    Title(String),
    /// Chooses a step.
    Choose(usize),
    /// Gives a step another headline.
    Headline(usize, String),
    /// Gives a step another text.
    Text(usize, String),
    /// Highlights a part of a step, or no longer.
    Highlight(usize, Part),
    /// Moves a step to another place.
    Move(usize, usize),
    /// A step once more, after it.
    Duplicate(usize),
    /// Takes a step away.
    Remove(usize),
    /// A step becomes what is on screen; its caption stays.
    Replace(usize),
    /// Puts a step on the page.
    Show(usize),
    /// Presents it from a step on.
    Present(usize),
}

impl App {
    /// Does what was asked for.
    pub(in crate::app) fn act_talk(&mut self, act: Act, ctx: &Context) {
        match act {
            // Beside measurements there is no list: it comes with the page.
            Act::Panel => self.talk.shown = self.calibrating.leave() || !self.talk.shown,
            Act::Keep => self.keep_step(ctx),
            Act::New => {
                let talk = Talk::titled(UNTITLED);
                self.step(Guarded::Talk(Box::new(InHand { talk, source: Source::New }), None), ctx);
            }
            Act::Open => self.files.ask(Purpose::OpenTalk, String::new(), ctx.clone()),
            Act::Shipped(slug) => {
                let Some(shipped) = shipped::find(slug) else { return };
                let talk = shipped.talk().clone();
                let in_hand = InHand { talk, source: Source::Shipped(slug.to_owned()) };
                self.step(Guarded::Talk(Box::new(in_hand), None), ctx);
            }
            Act::Save => self.save_talk(ctx),
            Act::SaveAs if self.state.talk.is_some() => {
                self.files.ask(Purpose::SaveTalk, self.suggested_talk_name(), ctx.clone());
            }
            Act::SaveAs => {}
            Act::Undo => {
                if let Some(before) = self.talk.before.pop() {
                    self.state.talk = before;
                    self.talk.typing = None;
                }
            }
            Act::Show(step) => self.show_on_page(step, ctx),
            Act::Present(step) => self.present_in_hand(step, ctx),
            Act::Choose(step) => self.talk.chosen = step,
            Act::Replace(step) => self.replace_step(step),
            act => self.edit_talk(&act),
        }
        let last = self.state.talk.as_ref().map_or(0, |in_hand| in_hand.talk.steps.len().saturating_sub(1));
        self.talk.chosen = self.talk.chosen.min(last);
    }

    /// Changes the talk in hand; letters typed into the same text one after the other are one change.
    fn edit_talk(&mut self, act: &Act) {
        let typing = match act {
            Act::Title(_) => Some((0, "title")),
            Act::Headline(step, _) => Some((*step, "headline")),
            Act::Text(step, _) => Some((*step, "text")),
            _ => None,
        };
        let Some(in_hand) = &mut self.state.talk else { return };
        let before = in_hand.clone();
        edit(&mut in_hand.talk, act, &mut self.talk.chosen);
        if *in_hand != before && (typing.is_none() || typing != self.talk.typing) {
            self.talk.note(Some(before));
        }
        self.talk.typing = typing;
    }

    /// What is on screen as a step without a caption; why not, where it is none.
    fn on_screen(&self) -> Result<(Look, Pair), String> {
        let figure = self.figure_in_hand();
        let name = figure.entry().name;
        let shown = look::shown(figure).ok_or_else(|| {
            format!("{name} is a study, and talks hold none: keep the figure that shows what it found.")
        })?;
        if let Some(problem) = &self.answers.problem {
            return Err(problem.text.clone());
        }
        let pair = self.state.pair.clone();
        let frames = Side::BOTH.map(|side| pair.of(side).scenario.run.frames);
        let last = frames[0].min(frames[1]).saturating_sub(1) as usize;
        Ok((look::look(shown, &self.views, last), pair))
    }

    /// The figure that is presented, or else the one at the place that was used last.
    pub(in crate::app) fn figure_in_hand(&self) -> crate::app::gallery::Figure {
        let presented = self.presenting.as_ref().map(crate::app::present::Presenting::figure);
        presented.unwrap_or_else(|| self.state.places.at(self.state.page))
    }

    fn keep_step(&mut self, ctx: &Context) {
        let (look, pair) = match self.on_screen() {
            Ok(found) => found,
            Err(why) => return self.not_kept(&why, ctx),
        };
        let before = self.state.talk.clone();
        let talk = &mut self
            .state
            .talk
            .get_or_insert_with(|| InHand { talk: Talk::titled(UNTITLED), source: Source::New })
            .talk;
        if talk.steps.len() >= MOST_STEPS {
            return self.not_kept(&format!("A talk has at most {MOST_STEPS} steps."), ctx);
        }
        let presented = self.presenting.as_ref().and_then(|presenting| presenting.cast.as_ref());
        let told = presented.map(|cast| cast.step());
        let [baseline, candidate] = Side::BOTH.map(|side| talk.take_in(&pair.of(side).scenario));
        talk.steps.push(Step {
            candidate,
            baseline,
            look,
            headline: told
                .map_or_else(|| look::figure(look.figure).entry().name.to_owned(), |step| step.headline.clone()),
            text: told.map_or_else(String::new, |step| step.text.clone()),
            highlight: told.map_or_else(Vec::new, |step| step.highlight.clone()),
        });
        let number = talk.steps.len();
        self.talk.note(before);
        self.talk.typing = None;
        self.talk.chosen = number - 1;
        self.outbox.say(format!("kept as step {number} of the talk"), ctx);
    }

    /// Why nothing was kept: on the page a message that stays, before a room a glance.
    fn not_kept(&mut self, why: &str, ctx: &Context) {
        let text = format!("Not kept. {why}");
        if self.presenting.is_some() {
            self.outbox.say(text, ctx);
        } else {
            self.message = Some(text);
        }
    }

    fn replace_step(&mut self, step: usize) {
        let (look, pair) = match self.on_screen() {
            Ok(found) => found,
            Err(why) => return self.message = Some(format!("Not replaced. {why}")),
        };
        let Some(in_hand) = &mut self.state.talk else { return };
        let before = in_hand.clone();
        let [baseline, candidate] = Side::BOTH.map(|side| in_hand.talk.take_in(&pair.of(side).scenario));
        let Some(step) = in_hand.talk.steps.get_mut(step) else { return };
        (step.baseline, step.candidate, step.look) = (baseline, candidate, look);
        if !look.figure.has_parts() {
            step.highlight.clear();
        }
        in_hand.talk.prune();
        self.talk.note(Some(before));
        self.talk.typing = None;
    }

    /// Puts the pair of a step on the page as one step of undo, and its figure in the middle.
    fn show_on_page(&mut self, step: usize, ctx: &Context) {
        let Some(talk) = self.state.talk.as_ref().map(|in_hand| &in_hand.talk) else { return };
        let (Some([baseline, candidate]), Some(shown)) = (talk.pair(step), talk.steps.get(step)) else { return };
        let document =
            |scenario: &crate::scenario::Scenario| Document { scenario: scenario.clone(), origin: Origin::Elsewhere };
        let pair = Pair { baseline: document(baseline), candidate: document(candidate) };
        let look = shown.look;
        self.step(Guarded::Show(Box::new(pair), look), ctx);
    }

    /// The same after it was asked about work that would be lost.
    pub(in crate::app) fn put_on_page(&mut self, pair: Pair, look: &Look, ctx: &Context) {
        self.change("step of a talk", ctx, |now| *now = pair);
        self.column.forget_notes();
        let presented = self.views.presented;
        self.views = crate::app::Views { presented, studies: self.views.studies.clone(), ..look::views(look) };
        self.state.places.put(Places::MIDDLE, look::figure(look.figure));
        self.state.page = Places::MIDDLE;
    }

    fn present_in_hand(&mut self, step: usize, ctx: &Context) {
        if self.presenting.is_some() {
            return self.stop_presenting(ctx);
        }
        let Some(talk) = self.state.talk.as_ref().map(|in_hand| in_hand.talk.clone()) else {
            return self.message = Some(
                "Not presented. There is no talk: keep a step, open a talk, or take a shipped one from the menu Talk."
                    .to_owned(),
            );
        };
        if let Err(error) = talk.check() {
            return self.message = Some(format!("Not presented. {error}."));
        }
        let too_long = (0..talk.steps.len()).find_map(|step| talk.pair(step)?.into_iter().find_map(too_long));
        if let Some((_, why)) = too_long {
            return self.message = Some(format!("Not presented. {why}"));
        }
        self.message = None;
        self.present_talk(&talk, step, ctx);
    }
}

impl Desk {
    fn note(&mut self, before: Option<InHand>) {
        self.before.push(before);
        if self.before.len() > MOST_BEFORE {
            self.before.remove(0);
        }
    }

    /// Whether a change can be taken back.
    pub(in crate::app) fn can_undo(&self) -> bool {
        !self.before.is_empty()
    }
}

/// Changes a talk; the step that is chosen goes with its place.
fn edit(talk: &mut Talk, act: &Act, chosen: &mut usize) {
    let all = talk.steps.len();
    match act {
        Act::Title(title) => talk.title.clone_from(title),
        Act::Headline(step, headline) => {
            if let Some(step) = talk.steps.get_mut(*step) {
                step.headline.clone_from(headline);
            }
        }
        Act::Text(step, text) => {
            if let Some(step) = talk.steps.get_mut(*step) {
                step.text.clone_from(text);
            }
        }
        Act::Highlight(step, part) => {
            if let Some(step) = talk.steps.get_mut(*step) {
                match step.highlight.iter().position(|other| other == part) {
                    Some(at) => drop(step.highlight.remove(at)),
                    None => step.highlight.push(*part),
                }
            }
        }
        Act::Move(from, to) if *from < all && *to < all => {
            let step = talk.steps.remove(*from);
            talk.steps.insert(*to, step);
            *chosen = *to;
        }
        Act::Duplicate(step) if *step < all && all < MOST_STEPS => {
            let again = talk.steps[*step].clone();
            talk.steps.insert(step + 1, again);
            *chosen = step + 1;
        }
        Act::Remove(step) if *step < all => {
            talk.steps.remove(*step);
            talk.prune();
        }
        _ => {}
    }
}
