//! Files picked by dialog or typed path. The system's dialog runs on a thread of its own and the window stays alive;
//! where the system has none, a typed path does the same.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use eframe::egui::{Align, Context, Id, Key, Layout, Modal, TextEdit, Ui};

use super::command::{Command, Purpose};
use super::pair;

/// The dialogs: at most one of the system's and one of ours at a time.
#[derive(Debug, Default)]
pub(super) struct Files {
    dialog: Option<(Purpose, Receiver<Option<PathBuf>>)>,
    typed: Option<Typed>,
}

/// A path that is being typed.
#[derive(Debug)]
struct Typed {
    purpose: Purpose,
    text: String,
}

impl Files {
    /// Whether a dialog is open, the system's or ours.
    pub(super) fn busy(&self) -> bool {
        self.asking() || self.typed.is_some()
    }

    /// Whether a dialog of the system is open.
    pub(super) fn asking(&self) -> bool {
        self.dialog.is_some()
    }

    /// Opens the system's dialog.
    pub(super) fn ask(&mut self, purpose: Purpose, suggested: String, ctx: Context) {
        if self.asking() {
            return;
        }
        let (answer, picked) = channel();
        let run = move || {
            let dialog = rfd::FileDialog::new().add_filter("Scenario", &["ron"]);
            let path = match purpose {
                Purpose::Open(side) => dialog.set_title(format!("Open as {}", pair::name(side))).pick_file(),
                Purpose::Save(side) => {
                    dialog.set_title(format!("Save {}", pair::name(side))).set_file_name(suggested).save_file()
                }
            };
            // The window may be gone by now.
            let _ = answer.send(path);
            ctx.request_repaint();
        };
        match thread::Builder::new().name("file dialog".to_owned()).spawn(run) {
            Ok(_) => self.dialog = Some((purpose, picked)),
            Err(error) => {
                log::warn!("no thread for the file dialog: {error}");
                self.type_path(purpose, String::new());
            }
        }
    }

    /// Opens the field for a typed path.
    pub(super) fn type_path(&mut self, purpose: Purpose, suggested: String) {
        self.typed = Some(Typed { purpose, text: suggested });
    }

    /// What the system's dialog answered since the last call.
    pub(super) fn answered(&mut self) -> Option<Command> {
        let (purpose, picked) = self.dialog.as_ref()?;
        let (purpose, answer) = match picked.try_recv() {
            Ok(answer) => (*purpose, answer),
            Err(TryRecvError::Empty) => return None,
            Err(TryRecvError::Disconnected) => (*purpose, None),
        };
        self.dialog = None;
        answer.map(|path| Command::Picked(purpose, path))
    }

    /// Shows the field for a typed path.
    pub(super) fn show(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        let Some(typed) = &mut self.typed else { return };
        let mut done = None;
        let modal = Modal::new(Id::unique("typed path")).show(ctx, |ui| done = typed.contents(ui));
        if done == Some(true) {
            commands.push(Command::Picked(typed.purpose, PathBuf::from(typed.text.trim())));
        }
        if done.is_some() || modal.should_close() {
            self.typed = None;
        }
    }
}

impl Typed {
    /// The field and its buttons; `Some(true)` when the path stands, `Some(false)` when it is given up.
    fn contents(&mut self, ui: &mut Ui) -> Option<bool> {
        let (title, verb) = match self.purpose {
            Purpose::Open(side) => (format!("Open as {}", pair::name(side)), "Open"),
            Purpose::Save(side) => (format!("Save {}", pair::name(side)), "Save"),
        };
        ui.set_width(440.0);
        ui.heading(title);
        ui.add_space(6.0);
        let label = ui.label("Path of the scenario file");
        let field = ui.add(TextEdit::singleline(&mut self.text).desired_width(f32::INFINITY).hint_text("bench.ron"));
        let field = field.labelled_by(label.id);
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if !field.has_focus() && !entered {
            field.request_focus();
        }
        ui.add_space(8.0);
        let given = !self.text.trim().is_empty();
        let mut done = (entered && given).then_some(true);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.add_enabled(given, eframe::egui::Button::new(verb)).clicked() {
                done = Some(true);
            }
            if ui.button("Cancel").clicked() {
                done = Some(false);
            }
        });
        done
    }
}
