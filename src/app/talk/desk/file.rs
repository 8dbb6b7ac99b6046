//! A talk and its file: opened, saved, back with the session, and whether its work is saved.

use std::path::Path;

use eframe::egui::Context;

use super::{Act, InHand, Source, UNTITLED};
use crate::app::App;
use crate::app::given::absolute;
use crate::app::guard::Step as Guarded;
use crate::app::target::Target;
use crate::files;
use crate::scenario::{self, presets::own};
use crate::talk::{self, Step, Talk, shipped};

impl App {
    /// A file that cannot be used is refused in words; the talk in hand stays.
    pub(in crate::app) fn load_talk(&mut self, path: &Path, ctx: &Context) {
        let mark = files::mark(path);
        match talk::load(path) {
            Ok(talk) => {
                self.message = faulty("Opened", &talk);
                let in_hand = InHand { talk, source: Source::File(absolute(path)) };
                self.step(Guarded::Talk(Box::new(in_hand), mark), ctx);
            }
            Err(error) => self.message = Some(format!("Not opened. {error}")),
        }
    }

    /// Takes a talk of the command line in hand. Work of last time that is not saved can be brought back.
    pub(in crate::app) fn open_talk(&mut self, talk: Talk, path: &Path) {
        let source = Source::File(absolute(path));
        if self.talk_differs() && self.state.talk.as_ref().is_some_and(|in_hand| in_hand.source != source) {
            let message =
                "A talk of last time that is not saved gave way; Undo change in the window of the talk brings it back.";
            self.message = Some(message.to_owned());
        } else if self.talk_differs() {
            // The same file: its unsaved changes of last time go on.
            self.talk.shown = true;
            return;
        }
        self.message = self.message.take().or_else(|| faulty("Opened", &talk));
        self.take_talk(InHand { talk, source }, files::mark(path));
    }

    /// Takes a talk in hand; with the mark of its file.
    pub(in crate::app) fn take_talk(&mut self, in_hand: InHand, mark: Option<u64>) {
        if let Source::File(path) = &in_hand.source {
            self.talk.saved = Some((path.clone(), in_hand.talk.clone()));
            self.state.note_recent_talk(path);
            self.state.note_mark(path, mark);
        }
        let before = self.state.talk.replace(in_hand);
        self.talk.note(before);
        (self.talk.typing, self.talk.chosen, self.talk.shown) = (None, 0, true);
    }

    /// Takes up the talk that a session brought back.
    pub(in crate::app) fn restore_talk(&mut self) {
        let Some(in_hand) = self.state.talk.clone() else { return };
        if let Source::File(path) = &in_hand.source {
            self.talk.saved = talk::load(path).ok().map(|talk| (path.clone(), talk));
        }
        self.talk.restored = Some(in_hand);
        if self.talk_differs() {
            self.talk.shown = true;
        }
    }

    /// Whether the talk in hand has work that no file holds.
    pub(in crate::app) fn talk_differs(&self) -> bool {
        let Some(InHand { talk, source }) = &self.state.talk else { return false };
        match source {
            Source::New => !talk.steps.is_empty(),
            Source::Shipped(slug) => shipped::find(slug).is_none_or(|shipped| shipped.talk() != talk),
            Source::File(path) => !self.talk.saved.as_ref().is_some_and(|(file, saved)| file == path && saved == talk),
        }
    }

    /// The same, unless the last session left it so and the next one brings it back.
    pub(in crate::app) fn talk_lost_by_closing(&self) -> bool {
        self.talk_differs() && self.talk.restored != self.state.talk
    }

    /// The talk's file, if it has one.
    pub(in crate::app) fn talk_file(&self) -> Option<&Path> {
        match &self.state.talk.as_ref()?.source {
            Source::File(path) => Some(path),
            Source::New | Source::Shipped(_) => None,
        }
    }

    /// Title and place of the talk, and whether it is saved, in words.
    pub(in crate::app) fn talk_in_words(&self) -> String {
        let Some(InHand { talk, source }) = &self.state.talk else { return "No talk".to_owned() };
        let begun = *source == Source::New;
        let source = match source {
            Source::New => "not in a file yet".to_owned(),
            Source::Shipped(_) => "shipped with the program".to_owned(),
            Source::File(path) => path.display().to_string(),
        };
        let changed = if self.talk_differs() && !begun { ", changed and not saved" } else { "" };
        format!("Talk: {}, {source}{changed}", talk.title.trim())
    }

    pub(super) fn save_talk(&mut self, ctx: &Context) {
        match self.talk_file().map(Path::to_path_buf) {
            Some(path) if self.changed_outside(&path) => self.ask_to_replace_talk(path, true),
            Some(path) => match scenario::comments_in(&path) {
                0 => self.write_talk(&path, ctx),
                found => self.ask_to_drop_comments(path, found),
            },
            None => self.act_talk(Act::SaveAs, ctx),
        }
    }

    /// Saves the talk to a path; `agreed` tells whether the system's dialog has asked already about a file of that name.
    pub(in crate::app) fn save_talk_to(&mut self, path: &Path, agreed: bool, ctx: &Context) {
        let target = Target::of(path, "ron", agreed);
        if self.talk_file().is_some_and(|own| crate::app::saving::same_file(own, &target.path)) {
            self.save_talk(ctx);
        } else if target.is_taken() {
            self.ask_to_replace_talk(target.path, false);
        } else {
            self.write_talk(&target.path, ctx);
        }
    }

    /// Writes the talk; what is saved can be opened again.
    pub(in crate::app) fn write_talk(&mut self, path: &Path, ctx: &Context) {
        let Some(in_hand) = &mut self.state.talk else { return };
        if in_hand.talk.title.trim().is_empty() {
            // A file must have one; nothing is to be lost over it.
            UNTITLED.clone_into(&mut in_hand.talk.title);
        }
        match talk::save(path, &in_hand.talk) {
            Ok(()) => {
                in_hand.source = Source::File(path.to_path_buf());
                self.talk.saved = Some((path.to_path_buf(), in_hand.talk.clone()));
                self.message = faulty("Saved", &in_hand.talk);
                self.state.note_recent_talk(path);
                self.state.note_mark(path, files::mark(path));
                self.guard_saved(ctx);
            }
            Err(error) => self.message = Some(format!("Not saved. {error}")),
        }
    }

    /// A file name for the talk: its own, else one made of its title.
    pub(in crate::app) fn suggested_talk_name(&self) -> String {
        let title = self.state.talk.as_ref().map_or(UNTITLED, |in_hand| in_hand.talk.title.as_str());
        match self.talk_file().and_then(Path::file_name) {
            Some(name) => name.to_string_lossy().into_owned(),
            None => format!("{}.ron", own::slug(title)),
        }
    }
}

/// What a caption names that is no number, and what becomes of it; none where there is none.
fn faulty(done: &str, talk: &Talk) -> Option<String> {
    let of_step = |(at, step): (usize, &Step)| {
        let found = [&step.headline, &step.text].into_iter().find_map(|text| talk::unknown(text))?;
        Some((at + 1, found))
    };
    let mut faulty = talk.steps.iter().enumerate().filter_map(of_step);
    let (step, found) = faulty.next()?;
    let found = crate::quote::quoted(&found);
    let more = match faulty.count() {
        0 => String::new(),
        1 => " One step more has such a caption.".to_owned(),
        steps => format!(" {steps} steps more have such captions."),
    };
    Some(format!(
        "{done}. The caption of step {step} asks for a number that there is none of, {found}: it stands there as typed.{more}"
    ))
}
