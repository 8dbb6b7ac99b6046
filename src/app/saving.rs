//! Saving, and the question before a file is replaced that this window did not open or save: one of that name that is
//! there already, or one that another program has changed since.

use std::path::{Path, PathBuf};

use eframe::egui::{Align, Button, Context, Id, Layout, Modal, RichText, Ui};

use super::App;
use super::command::{Command, Purpose};
use super::pair::{self, Document, Origin};
use super::target::Target;
use super::theme::Palette;
use crate::report::figures::Side;
use crate::report::format::of;
use crate::scenario::presets::own;
use crate::{files, scenario};

/// A file that waits for the word whether it may be replaced.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Replacing {
    what: What,
    path: PathBuf,
    fresh: bool,
}

/// What would be put in the file's place.
#[derive(Debug, Clone, PartialEq)]
enum What {
    /// A side, saved to its own file, which another program has changed.
    Changed(Side),
    /// A side, saved to its own file, which holds so many comments.
    Comments(Side, usize),
    /// A side, saved to a file that is there already.
    Other(Side),
    /// A preset of the user's own, under a name that is taken.
    Own(Side, String),
    /// The talk, saved to its own file, which another program has changed.
    TalkChanged,
    /// The talk, saved to its own file, which holds so many comments.
    TalkComments(usize),
    /// The talk, saved to a file that is there already.
    TalkOther,
}

/// What was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reply {
    Replace,
    Elsewhere,
    Cancel,
}

impl App {
    /// Saves a side to its file, or asks for one. Another program's changes of the file are not replaced unasked.
    pub(super) fn save(&mut self, side: Side, ctx: &Context) {
        match self.state.pair.of(side).file().map(Path::to_path_buf) {
            Some(path) if self.changed_outside(&path) => self.ask_to_replace(What::Changed(side), path),
            Some(path) => match scenario::comments_in(&path) {
                0 => self.write(&path, side, ctx),
                found => self.ask_to_replace(What::Comments(side, found), path),
            },
            None => self.run(Command::SaveAs(side), ctx),
        }
    }

    /// Saves a side to a path; `agreed` tells whether the system's dialog has asked already about a file of that name.
    pub(super) fn save_to(&mut self, path: &Path, side: Side, agreed: bool, ctx: &Context) {
        let target = Target::of(path, "ron", agreed);
        if self.state.pair.of(side).file().is_some_and(|own| same_file(own, &target.path)) {
            self.save(side, ctx);
        } else if target.is_taken() {
            self.ask_to_replace(What::Other(side), target.path);
        } else {
            self.write(&target.path, side, ctx);
        }
    }

    /// Keeps a side as a preset of the user's own.
    pub(super) fn save_own(&mut self, side: Side, name: &str, agreed: bool, ctx: &Context) {
        let path = match self.own.file(name) {
            Ok(path) => path,
            Err(why) => return self.own.refuse(side, name, why),
        };
        if path.exists() && !agreed {
            return self.ask_to_replace(What::Own(side, name.to_owned()), path);
        }
        let mut document = self.state.pair.of(side).clone();
        name.trim().clone_into(&mut document.scenario.name);
        match own::save(&path, &document.scenario) {
            Ok(()) => {
                self.message = None;
                // Who works on a file goes on with it; the preset is a copy.
                if document.file().is_none() {
                    document.origin = Origin::Own(path);
                    self.put("own preset", side, document, ctx);
                } else {
                    self.saved.note(path, document.scenario);
                }
                self.own.read();
            }
            Err(error) => self.message = Some(format!("Not saved. {error}")),
        }
    }

    fn write(&mut self, path: &Path, side: Side, ctx: &Context) {
        let scenario = &self.state.pair.of(side).scenario;
        // What is saved can be opened again.
        match scenario.check().and_then(|()| scenario::save(path, scenario)) {
            Ok(()) => {
                self.saved.note(path.to_path_buf(), scenario.clone());
                self.state.note_mark(path, files::mark(path));
                self.state.note_recent(path);
                let new = Origin::File(path.to_path_buf());
                let old = std::mem::replace(&mut self.state.pair.of_mut(side).origin, new.clone());
                self.history.moved(side, &old, &new);
                self.message = None;
                self.guard_saved(ctx);
            }
            Err(error) => self.message = Some(format!("Not saved. {error}")),
        }
    }

    /// Whether a file holds something else than when this window opened or saved it. One that is gone can be saved anew.
    pub(super) fn changed_outside(&self, path: &Path) -> bool {
        files::mark(path).is_some_and(|now| self.state.mark(path) != Some(now))
    }

    fn ask_to_replace(&mut self, what: What, path: PathBuf) {
        self.replacing = Some(Replacing { what, path, fresh: true });
    }

    /// Asks whether the talk may replace a file: its own, changed by another program, or one that is there already.
    pub(super) fn ask_to_replace_talk(&mut self, path: PathBuf, own: bool) {
        self.ask_to_replace(if own { What::TalkChanged } else { What::TalkOther }, path);
    }

    /// Asks whether the talk may replace its own file, which holds so many comments.
    pub(super) fn ask_to_drop_comments(&mut self, path: PathBuf, found: usize) {
        self.ask_to_replace(What::TalkComments(found), path);
    }

    /// The question over the page.
    pub(super) fn show_replacing(&mut self, ctx: &Context) {
        let Some(replacing) = &mut self.replacing else { return };
        let fresh = std::mem::take(&mut replacing.fresh);
        let replacing = replacing.clone();
        let mut reply = None;
        let modal = Modal::new(Id::unique("replace")).show(ctx, |ui| reply = replacing.contents(ui, fresh));
        let Some(reply) = reply.or(modal.should_close().then_some(Reply::Cancel)) else { return };
        self.replacing = None;
        match (reply, replacing.what) {
            (Reply::Replace, What::Changed(side) | What::Comments(side, _) | What::Other(side)) => {
                self.write(&replacing.path, side, ctx);
            }
            (Reply::Replace, What::Own(side, name)) => self.save_own(side, &name, true, ctx),
            (Reply::Elsewhere, What::Changed(side) | What::Comments(side, _) | What::Other(side)) => {
                self.run(Command::TypePath(Purpose::Save(side)), ctx);
            }
            (Reply::Replace, What::TalkChanged | What::TalkComments(_) | What::TalkOther) => {
                self.write_talk(&replacing.path, ctx);
            }
            (Reply::Elsewhere, What::TalkChanged | What::TalkComments(_) | What::TalkOther) => {
                self.run(Command::TypePath(Purpose::SaveTalk), ctx);
            }
            (Reply::Elsewhere, What::Own(side, name)) => self.own.ask_name(side, name),
            (Reply::Cancel, _) => {}
        }
        ctx.request_repaint();
    }

    /// A file name for a side: its own, else one made of its title.
    pub(super) fn suggested_name(&self, side: Side) -> String {
        let document: &Document = self.state.pair.of(side);
        match document.file().and_then(Path::file_name) {
            Some(name) => name.to_string_lossy().into_owned(),
            None => format!("{}.ron", own::slug(&document.title())),
        }
    }
}

/// Whether two paths lead to the same file.
pub(super) fn same_file(a: &Path, b: &Path) -> bool {
    let real = |path: &Path| std::fs::canonicalize(path).ok();
    a == b || real(a).is_some_and(|a| real(b) == Some(a))
}

impl Replacing {
    /// The question and its answers; Enter and Escape leave the file as it is.
    fn contents(&self, ui: &mut Ui, fresh: bool) -> Option<Reply> {
        let (heading, told) = match &self.what {
            What::Changed(side) => (
                "The file was changed by another program",
                format!(
                    "It no longer holds what this window opened or saved. Replacing it by the {} loses those changes.",
                    pair::name(*side)
                ),
            ),
            What::Other(side) => (
                "There is such a file already",
                format!("Replacing it by the {} loses what is in it now.", pair::name(*side)),
            ),
            What::Comments(_, found) => (
                "The file holds comments",
                format!(
                    "Saving leaves {} out, which somebody wrote into it by hand. What is to stay can be moved to the notes \
                     of the scenario.",
                    of(*found as u64, "comment")
                ),
            ),
            What::TalkComments(found) => (
                "The file holds comments",
                format!("Saving leaves {} out, which somebody wrote into it by hand.", of(*found as u64, "comment")),
            ),
            What::TalkChanged => (
                "The file was changed by another program",
                "It no longer holds the talk that this window opened or saved. Replacing it loses those changes."
                    .to_owned(),
            ),
            What::TalkOther => {
                ("There is such a file already", "Replacing it by the talk loses what is in it now.".to_owned())
            }
            What::Own(_, name) => (
                "There is such a preset of your own already",
                format!("Replacing it by {name:?} loses what is in it now."),
            ),
        };
        ui.set_width(440.0);
        ui.heading(heading);
        ui.add_space(6.0);
        ui.label(self.path.display().to_string());
        ui.label(RichText::new(told).color(Palette::current(ui).soft));
        ui.add_space(8.0);
        let mut reply = None;
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let cancel = ui.button("Cancel").on_hover_text("Leave the file as it is (Escape)");
            if fresh {
                cancel.request_focus();
            }
            if cancel.clicked() {
                reply = Some(Reply::Cancel);
            }
            let other = if matches!(self.what, What::Own(..)) { "Another name…" } else { "Another path…" };
            if ui.button(other).clicked() {
                reply = Some(Reply::Elsewhere);
            }
            if ui.add(Button::new("Replace")).clicked() {
                reply = Some(Reply::Replace);
            }
        });
        reply
    }
}
