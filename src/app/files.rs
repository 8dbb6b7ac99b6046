//! Files picked by dialog or typed path. The system's dialog runs on a thread of its own and the window stays alive;
//! where the system has none, a typed path does the same.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::{Duration, Instant};

use eframe::egui::text::{CCursor, CCursorRange};
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
    dialog: Option<Asked>,
    typed: Option<Typed>,
    /// What was typed last, and for what: a path that was refused need not be typed again.
    last: Option<(Purpose, String)>,
}

/// A dialog of the system that is open.
#[derive(Debug)]
struct Asked {
    purpose: Purpose,
    suggested: String,
    reply: Receiver<Reply>,
    begun: Instant,
    /// Whether it was seen: a dialog takes the keys from the window.
    seen: bool,
    /// Whether the field for a typed path has come in its place meanwhile.
    instead: bool,
}

/// What a dialog of the system came to, and how long it took.
#[derive(Debug)]
struct Reply {
    path: Option<PathBuf>,
    after: Duration,
}

/// A dialog that is over sooner without a file was never seen: nobody gives one up so fast.
const UNSEEN: Duration = Duration::from_millis(150);
/// So long nothing is said while no dialog is seen.
const PATIENCE: Duration = Duration::from_secs(3);
/// Whether the system may have no file dialog at all, or one that never comes.
const MAY_LACK: bool = cfg!(all(unix, not(target_os = "macos")));

/// What is said when there is no dialog of the system, and what to do instead.
fn no_dialog(purpose: Purpose, droppable: bool) -> String {
    let opens = match purpose {
        Purpose::Open(_) => Some("framelap FILE"),
        Purpose::OpenTalk => Some("framelap TALK"),
        Purpose::Bench(BenchPurpose::Open) => Some("framelap calibrate FILE"),
        _ => None,
    };
    let Some(command) = opens else {
        return "The system's file dialog could not be opened. Type the path here.".to_owned();
    };
    let drop = if droppable { "drop the file on the window, " } else { "" };
    format!("The system's file dialog could not be opened. Type the path here, {drop}or start with it: `{command}`.")
}

/// A path that is being typed.
#[derive(Debug)]
struct Typed {
    purpose: Purpose,
    text: String,
    /// Why it is typed, where a dialog was asked for.
    why: Option<String>,
    /// Whether it was opened just now.
    fresh: bool,
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

    /// Opens the system's dialog; where there is none, the field for a typed path.
    pub(super) fn ask(&mut self, purpose: Purpose, suggested: String, ctx: Context) {
        let name = suggested.clone();
        self.ask_with(purpose, suggested, ctx, move || {
            let (kind, endings) = purpose.endings();
            let dialog = rfd::FileDialog::new().add_filter(kind, endings).set_title(purpose.title());
            match purpose {
                Purpose::Open(_) | Purpose::OpenTalk => dialog.pick_file(),
                Purpose::Bench(purpose) if purpose.reads() => dialog.pick_file(),
                Purpose::Bench(purpose) if purpose.folder() => dialog.pick_folder(),
                Purpose::Save(_)
                | Purpose::SaveTalk
                | Purpose::Figure(..)
                | Purpose::Report
                | Purpose::Walk
                | Purpose::Bench(_) => dialog.set_file_name(name).save_file(),
            }
        });
    }

    /// Lets `pick` ask for a file on a thread of its own.
    fn ask_with(
        &mut self,
        purpose: Purpose,
        suggested: String,
        ctx: Context,
        pick: impl FnOnce() -> Option<PathBuf> + Send + 'static,
    ) {
        if self.asking() {
            return;
        }
        let (answer, reply) = channel();
        let waits = ctx.clone();
        let run = move || {
            let begun = Instant::now();
            let path = pick();
            // The window may be gone by now.
            let _ = answer.send(Reply { path, after: begun.elapsed() });
            ctx.request_repaint();
        };
        match thread::Builder::new().name("file dialog".to_owned()).spawn(run) {
            Ok(_) => {
                let begun = Instant::now();
                self.dialog = Some(Asked { purpose, suggested, reply, begun, seen: false, instead: false });
                waits.request_repaint_after(PATIENCE);
            }
            Err(error) => {
                log::warn!("no thread for the file dialog: {error}");
                self.type_instead(purpose, suggested);
            }
        }
    }

    /// Opens the field for a typed path.
    pub(super) fn type_path(&mut self, purpose: Purpose, suggested: String) {
        let suggested = match &self.last {
            Some((of, text)) if *of == purpose && suggested.is_empty() => text.clone(),
            _ => suggested,
        };
        self.typed = Some(Typed { purpose, text: suggested, why: None, fresh: true });
    }

    /// The same where a dialog was asked for and there is none.
    fn type_instead(&mut self, purpose: Purpose, suggested: String) {
        let why = Some(no_dialog(purpose, droppable()));
        self.typed = Some(Typed { purpose, text: suggested, why, fresh: true });
    }

    /// What the system's dialog answered since the last call. One that failed, was over before anybody could see it, or was
    /// never seen at all, gives way to the field for a typed path; one that does not come, after some patience.
    ///
    /// `focused` tells whether the window has the keys, which a dialog that is seen takes.
    pub(super) fn answered(&mut self, focused: bool) -> Option<Command> {
        let asked = self.dialog.as_mut()?;
        asked.seen |= !focused || !MAY_LACK;
        let reply = match asked.reply.try_recv() {
            Ok(reply) => Some(reply),
            Err(TryRecvError::Empty) => {
                if !asked.seen && !asked.instead && asked.begun.elapsed() >= PATIENCE {
                    asked.instead = true;
                    let (purpose, suggested) = (asked.purpose, asked.suggested.clone());
                    self.type_instead(purpose, suggested);
                }
                return None;
            }
            Err(TryRecvError::Disconnected) => None,
        };
        let Asked { purpose, suggested, seen, instead, .. } = self.dialog.take()?;
        match reply {
            Some(Reply { path: Some(path), .. }) => {
                if instead {
                    self.typed = None;
                }
                return Some(Command::Picked(purpose, path));
            }
            Some(Reply { path: None, after }) if after > UNSEEN && seen => {}
            _ if instead => {}
            _ => self.type_instead(purpose, suggested),
        }
        None
    }

    /// Shows the field for a typed path.
    pub(super) fn show(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        let Some(typed) = &mut self.typed else { return };
        let mut done = None;
        let modal = Modal::new(Id::unique("typed path")).show(ctx, |ui| done = typed.contents(ui));
        if done == Some(true) {
            commands.push(Command::Typed(typed.purpose, PathBuf::from(typed.text.trim())));
            self.last = Some((typed.purpose, typed.text.clone()));
        }
        if done.is_some() || modal.should_close() {
            self.typed = None;
            // A dialog that never came is waited for no longer.
            self.dialog = self.dialog.take().filter(|asked| !asked.instead);
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
    if droppable() {
        "Or drop one or two files on the window."
    } else {
        "Dropping files on the window does not work on Wayland."
    }
}

/// Whether files can be dropped on the window.
fn droppable() -> bool {
    let wayland = std::env::var_os("WAYLAND_DISPLAY").is_some_and(|name| !name.is_empty());
    !(wayland && cfg!(target_os = "linux"))
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
        if let Some(why) = &self.why {
            ui.label(why);
            ui.add_space(6.0);
        }
        let label = ui.label(label);
        let edit = TextEdit::singleline(&mut self.text).desired_width(f32::INFINITY).hint_text(hint);
        let mut output = edit.show(ui);
        let field = output.response.response.clone().labelled_by(label.id);
        if std::mem::take(&mut self.fresh) {
            // What is suggested goes with the first letter typed.
            let all = CCursorRange::two(CCursor::new(0), CCursor::new(self.text.chars().count()));
            output.state.cursor.set_char_range(Some(all));
            output.state.store(ui.ctx(), field.id);
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Asks with a dialog that is played, and waits until it is over; `focused` tells whether the window keeps the keys.
    fn asked(focused: bool, pick: impl FnOnce() -> Option<PathBuf> + Send + 'static) -> (Files, Option<Command>) {
        let mut files = Files::default();
        files.ask_with(Purpose::SaveTalk, "talk.ron".to_owned(), Context::default(), pick);
        for _ in 0..1000 {
            let command = files.answered(focused);
            if !files.asking() {
                return (files, command);
            }
            thread::sleep(Duration::from_millis(5));
        }
        panic!("the dialog is never over");
    }

    #[test]
    fn where_there_is_no_dialog_a_path_is_typed() {
        for files in [asked(true, || None).0, asked(false, || panic!("no dialog")).0] {
            let typed = files.typed.as_ref().unwrap();
            assert_eq!(
                (typed.text.as_str(), typed.why.clone()),
                ("talk.ron", Some(no_dialog(Purpose::SaveTalk, true)))
            );
        }
    }

    #[test]
    #[cfg(target_os = "linux")]
    fn a_dialog_that_failed_slowly_or_never_comes_gives_way_too() {
        let slow = || {
            thread::sleep(UNSEEN + Duration::from_millis(30));
            None
        };
        let (files, command) = asked(true, slow);
        assert!(files.typed.is_some() && command.is_none(), "nobody has seen it");
        // One that hangs: after some patience a path is typed, and what it brings later still counts.
        let (answer, hangs) = channel::<Option<PathBuf>>();
        let mut files = Files::default();
        let pick = move || hangs.recv().unwrap_or_default();
        files.ask_with(Purpose::Open(Side::Candidate), String::new(), Context::default(), pick);
        assert!(files.answered(true).is_none() && files.typed.is_none());
        files.dialog.as_mut().unwrap().begun = Instant::now().checked_sub(PATIENCE).unwrap();
        assert!(files.answered(true).is_none() && files.typed.is_some());
        let why = files.typed.as_ref().unwrap().why.clone().unwrap();
        assert!(why.contains("could not be opened") && why.contains("`framelap FILE`"), "{why}");
        answer.send(Some("late.ron".into())).unwrap();
        let picked = (0..1000).find_map(|_| {
            thread::sleep(Duration::from_millis(5));
            files.answered(true)
        });
        assert!(matches!(picked, Some(Command::Picked(_, path)) if path.as_os_str() == "late.ron"));
        assert!(!files.busy());
    }

    #[test]
    fn what_to_do_without_a_dialog_is_what_works() {
        let told = no_dialog(Purpose::Bench(BenchPurpose::Open), true);
        assert!(told.contains("drop the file on the window") && told.contains("`framelap calibrate FILE`"), "{told}");
        assert!(!no_dialog(Purpose::OpenTalk, false).contains("drop"));
        assert!(!no_dialog(Purpose::Report, true).contains("framelap"), "a report is not opened");
    }

    #[test]
    fn a_dialog_that_was_given_up_stays_given_up() {
        let (files, command) = asked(false, || {
            thread::sleep(UNSEEN + Duration::from_millis(30));
            None
        });
        assert!(!files.busy() && command.is_none());
    }

    #[test]
    fn a_picked_file_is_picked_however_fast() {
        let (files, command) = asked(true, || Some("a.ron".into()));
        assert!(matches!(command, Some(Command::Picked(Purpose::SaveTalk, path)) if path.as_os_str() == "a.ron"));
        assert!(!files.busy());
    }
}
