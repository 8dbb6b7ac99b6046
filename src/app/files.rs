//! Files picked by dialog or typed path. The system's dialog runs on a thread of its own and the window stays alive;
//! where the system has none, a typed path does the same.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use eframe::egui::{
    Align, Align2, Area, Context, Frame, HoveredFile, Id, Key, Layout, Modal, Order, TextEdit, Ui, Vec2,
};

use super::calibrating::{self, BenchPurpose};
use super::command::{Command, Purpose};
use super::figures::Take;
use super::pair;
use crate::report::figures::Side;
use crate::talk::is_talk;

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

impl Purpose {
    /// What a dialog is called.
    fn title(self) -> String {
        match self {
            Self::Open(side) => format!("Open as {}", pair::name(side)),
            Self::Save(side) => format!("Save {}", pair::name(side)),
            Self::OpenTalk => "Open a talk".to_owned(),
            Self::SaveTalk => "Save the talk".to_owned(),
            Self::Figure(figure, Take::SaveTable) => format!("Save the table of {}", figure.entry().name),
            Self::Figure(figure, _) => format!("Save {}", figure.entry().name),
            Self::Bench(purpose) => purpose.title(),
            Self::Report => "Save the report".to_owned(),
            Self::Walk => "Save the walk".to_owned(),
        }
    }

    /// What kind of files a dialog shows, and their endings.
    fn endings(self) -> (&'static str, &'static [&'static str]) {
        match self {
            Self::Open(_) | Self::Save(_) => ("Scenario", &["ron"]),
            Self::OpenTalk | Self::SaveTalk => ("Talk", &["ron"]),
            Self::Figure(_, Take::SaveTable) => ("Table", &["csv"]),
            Self::Figure(..) => ("Picture", &["png", "svg"]),
            Self::Bench(purpose) => purpose.endings(),
            Self::Report => ("Page", &["html"]),
            Self::Walk => ("Animated picture", &["png"]),
        }
    }
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
            let (kind, endings) = purpose.endings();
            let dialog = rfd::FileDialog::new().add_filter(kind, endings).set_title(purpose.title());
            let path = match purpose {
                Purpose::Open(_) | Purpose::OpenTalk => dialog.pick_file(),
                Purpose::Bench(purpose) if purpose.reads() => dialog.pick_file(),
                Purpose::Bench(purpose) if purpose.folder() => dialog.pick_folder(),
                Purpose::Save(_)
                | Purpose::SaveTalk
                | Purpose::Figure(..)
                | Purpose::Report
                | Purpose::Walk
                | Purpose::Bench(_) => dialog.set_file_name(suggested).save_file(),
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
            commands.push(Command::Typed(typed.purpose, PathBuf::from(typed.text.trim())));
        }
        if done.is_some() || modal.should_close() {
            self.typed = None;
        }
    }
}

/// What was dropped on the window: measurements are read, a talk is taken in hand, of scenarios the first becomes the
/// candidate, the second the baseline. Others are left alone.
pub(super) fn dropped(ctx: &Context) -> Vec<Command> {
    let paths: Vec<PathBuf> =
        ctx.input(|input| input.raw.dropped_files.iter().map(|file| file.path().to_path_buf()).collect());
    let (measured, paths): (Vec<PathBuf>, Vec<PathBuf>) = paths.into_iter().partition(|path| calibrating::wants(path));
    if let Some(path) = measured.into_iter().next() {
        return vec![Command::Picked(Purpose::Bench(BenchPurpose::Open), path)];
    }
    if let Some(path) = paths.first().filter(|path| is_talk(path)) {
        return vec![Command::Picked(Purpose::OpenTalk, path.clone())];
    }
    let sides = [Side::Candidate, Side::Baseline];
    paths.into_iter().zip(sides).map(|(path, side)| Command::Picked(Purpose::Open(side), path)).collect()
}

/// Says over the page what becomes of files that are held over it.
pub(super) fn drop_hint(ctx: &Context) {
    let held = ctx.input(|input| input.raw.hovered_files.len());
    let measured = |file: &HoveredFile| file.path.as_deref().is_some_and(calibrating::wants);
    let text = match held {
        0 => return,
        _ if ctx.input(|input| input.raw.hovered_files.iter().any(measured)) => "Drop to open the measurements",
        1 => "Drop to open as candidate",
        _ => "Drop to open the first as candidate, the second as baseline",
    };
    Area::new(Id::unique("drop hint")).order(Order::Foreground).anchor(Align2::CENTER_CENTER, Vec2::ZERO).show(
        ctx,
        |ui| {
            Frame::popup(ui.style()).inner_margin(24.0).show(ui, |ui| ui.heading(text));
        },
    );
}

/// Whether files can be dropped on the window, in words.
pub(super) fn drop_advice() -> &'static str {
    let wayland = std::env::var_os("WAYLAND_DISPLAY").is_some_and(|name| !name.is_empty());
    if wayland && cfg!(target_os = "linux") {
        "Dropping files on the window does not work on Wayland."
    } else {
        "Or drop one or two files on the window."
    }
}

impl Typed {
    /// The field and its buttons; `Some(true)` when the path stands, `Some(false)` when it is given up.
    fn contents(&mut self, ui: &mut Ui) -> Option<bool> {
        let (label, hint, verb) = match self.purpose {
            Purpose::Open(_) => ("Path of the scenario file", "bench.ron", "Open"),
            Purpose::Save(_) => ("Path of the scenario file", "bench.ron", "Save"),
            Purpose::OpenTalk => ("Path of the talk's file", "talk.ron", "Open"),
            Purpose::SaveTalk => ("Path of the talk's file", "talk.ron", "Save"),
            Purpose::Bench(purpose) => purpose.typed().into(),
            Purpose::Figure(..) => ("Path of a .png, .svg or .csv file", "slide.svg", "Save"),
            Purpose::Report => ("Path of the .html file", "report.html", "Save"),
            Purpose::Walk => ("Path of the .png file", "walk.png", "Save"),
        };
        ui.set_width(440.0);
        ui.heading(self.purpose.title());
        ui.add_space(6.0);
        let label = ui.label(label);
        let field = ui.add(TextEdit::singleline(&mut self.text).desired_width(f32::INFINITY).hint_text(hint));
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
