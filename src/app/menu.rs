//! The top bar: menus at the left, the names of both scenarios at the right.

use std::path::{Path, PathBuf};

use eframe::egui::{Button, Context, Popup, Ui};

use super::App;
use super::calibrating::BenchPurpose;
use super::command::{Command, Purpose};
use super::files;
use super::gallery::{self, Figure};
use super::keys;
use super::pair;
use super::state::{Places, ThemeChoice};
use super::theme;
use crate::report::figures::Side;
use crate::scenario::presets;

/// Smallest, usual and largest scale of the interface in the menu.
const ZOOMS: [f32; 7] = [0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0];

impl App {
    /// The menus.
    pub(super) fn menus(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        ui.menu_button("File", |ui| self.file_menu(ui, commands));
        ui.menu_button("Edit", |ui| self.edit_menu(ui, commands));
        ui.menu_button("Presets", |ui| self.preset_menu(ui, commands));
        ui.menu_button("Studies", |ui| self.study_menu(ui, commands));
        ui.menu_button("Talk", |ui| self.talk_menu(ui, commands));
        ui.menu_button("View", |ui| self.view_menu(ui, commands));
        ui.menu_button("Help", |ui| {
            item(ui, commands, "Keys", Command::ToggleKeys, true);
            item(ui, commands, "About framelap", Command::About, true);
        });
    }

    fn file_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let free = !self.files.asking();
        for side in [Side::Candidate, Side::Baseline] {
            let name = pair::name(side);
            item(ui, commands, &format!("Open as {name}…"), Command::Open(side), free);
        }
        ui.separator();
        for side in [Side::Candidate, Side::Baseline] {
            let name = pair::name(side);
            item(ui, commands, &format!("Save {name}"), Command::Save(side), free);
            item(ui, commands, &format!("Save {name} as…"), Command::SaveAs(side), free);
        }
        ui.separator();
        let whole = free && self.answers.all_of(Figure::SliceCurve);
        item(ui, commands, "Save report…", Command::Report(false), whole);
        let walks = self.answers.all_of(Figure::Lanes) && !self.outbox.shoots();
        item(ui, commands, "Save walk…", Command::SaveWalk(false), free && walks);
        item(ui, commands, "Give up the walk being saved", Command::StopWalk, self.outbox.shoots());
        ui.separator();
        for side in [Side::Candidate, Side::Baseline] {
            let name = format!("Recent as {}", pair::name(side));
            recent(ui, &name, &self.state.recent, |path| Command::Picked(Purpose::Open(side), path), commands);
        }
        ui.weak(files::drop_advice());
        ui.separator();
        self.bench_items(ui, commands);
        ui.separator();
        ui.menu_button("By typed path", |ui| {
            for side in [Side::Candidate, Side::Baseline] {
                let name = format!("Path to open as {}…", pair::name(side));
                item(ui, commands, &name, Command::TypePath(Purpose::Open(side)), true);
            }
            let measurements = Command::TypePath(Purpose::Bench(BenchPurpose::Open));
            item(ui, commands, "Path of measurements to open…", measurements, true);
            for side in [Side::Candidate, Side::Baseline] {
                let name = format!("Path to save {} to…", pair::name(side));
                item(ui, commands, &name, Command::TypePath(Purpose::Save(side)), true);
            }
            let whole = self.answers.all_of(Figure::SliceCurve);
            item(ui, commands, "Path to save the report to…", Command::Report(true), whole);
            item(ui, commands, "Path to save the walk to…", Command::SaveWalk(true), walks);
        });
        ui.separator();
        item(ui, commands, "Quit", Command::Quit, true);
    }

    fn edit_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        item(ui, commands, "Undo", Command::Undo, self.history.can_undo());
        item(ui, commands, "Redo", Command::Redo, self.history.can_redo());
        ui.separator();
        item(ui, commands, "Swap baseline and candidate", Command::Swap, true);
        item(ui, commands, "Keep as baseline", Command::CandidateToBaseline, true);
        item(ui, commands, "Back to baseline", Command::BaselineToCandidate, true);
        ui.separator();
        for side in [Side::Candidate, Side::Baseline] {
            let name = format!("Reset all of {}", pair::name(side));
            item(ui, commands, &name, Command::ResetAll(side), true);
        }
        ui.separator();
        item(ui, commands, "Find a parameter", Command::Search, true);
    }

    /// Every study, to be put into the middle of the page.
    fn study_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        for entry in gallery::ALL.iter().filter(|entry| entry.figure().study().is_some()) {
            item(ui, commands, entry.name, Command::Put(Places::MIDDLE, entry.figure()), true);
        }
        ui.separator();
        let studied = self.state.places.at(Places::MIDDLE).study().is_some();
        item(ui, commands, "Run the study in the middle", Command::StudyInTheMiddle, studied);
        item(ui, commands, "Give up the study under way", Command::CancelStudy, self.studies.running());
    }

    fn view_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        for theme in ThemeChoice::ALL {
            if theme::outlined(ui, |ui| ui.radio(self.state.theme == theme, theme.name())).clicked() {
                commands.push(Command::Theme(theme));
                ui.close();
            }
        }
        ui.separator();
        ui.menu_button("Scale", |ui| {
            for zoom in ZOOMS {
                let now = (ui.ctx().zoom_factor() - zoom).abs() < 0.01;
                if theme::outlined(ui, |ui| ui.radio(now, format!("{:.0} %", zoom * 100.0))).clicked() {
                    commands.push(Command::Zoom(zoom));
                    ui.close();
                }
            }
        });
        ui.separator();
        let name = if self.shows_parameters(ui.ctx()) { "Hide parameters" } else { "Show parameters" };
        item(ui, commands, name, Command::ToggleParameters, true);
        item(ui, commands, "Present", Command::Present, true);
        item(ui, commands, "Walk", Command::Walk, true);
    }
}

impl App {
    /// Every preset, to be put on either side, and what can be done with one's own.
    fn preset_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        item(ui, commands, "Whole frames against 8 slices", Command::StartAgain, true);
        ui.separator();
        for side in [Side::Candidate, Side::Baseline] {
            ui.menu_button(format!("As {}", pair::name(side)), |ui| self.preset_items(ui, side, commands));
        }
        ui.separator();
        for side in [Side::Candidate, Side::Baseline] {
            let name = format!("Save {} as own preset…", pair::name(side));
            item(ui, commands, &name, Command::SaveOwn(side), true);
        }
        self.own.place(ui, commands);
    }

    /// What a side can start from.
    pub(super) fn presets_for(&self, ui: &mut Ui, side: Side, commands: &mut Vec<Command>) {
        self.preset_items(ui, side, commands);
        ui.separator();
        item(ui, commands, "Open a file…", Command::Open(side), true);
    }

    fn preset_items(&self, ui: &mut Ui, side: Side, commands: &mut Vec<Command>) {
        shipped_items(ui, side, commands);
        ui.separator();
        self.own.items(ui, side, commands);
    }
}

fn shipped_items(ui: &mut Ui, side: Side, commands: &mut Vec<Command>) {
    for preset in presets::all() {
        if ui.button(preset.name()).on_hover_text(preset.notes()).clicked() {
            commands.push(Command::Preset(preset.slug, side));
            close_menus(ui.ctx());
        }
    }
}

/// One line of a menu.
pub(super) fn item(ui: &mut Ui, commands: &mut Vec<Command>, name: &str, command: Command, enabled: bool) {
    let shortcut = keys::text(ui.ctx(), &command);
    if ui.add_enabled(enabled, Button::new(name).shortcut_text(shortcut)).clicked() {
        commands.push(command);
        close_menus(ui.ctx());
    }
}

/// A menu of files used before, by their names, with their folders where names are alike; greyed while there is none.
pub(super) fn recent(
    ui: &mut Ui,
    name: &str,
    files: &[PathBuf],
    command: impl Fn(PathBuf) -> Command,
    commands: &mut Vec<Command>,
) {
    ui.add_enabled_ui(!files.is_empty(), |ui| {
        ui.menu_button(name, |ui| {
            for path in files {
                let alike = files.iter().filter(|other| other.file_name() == path.file_name()).count() > 1;
                let folder = path.parent().and_then(Path::file_name).filter(|_| alike);
                let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                let name = folder.map_or(name.to_string(), |folder| format!("{name} in {}", folder.to_string_lossy()));
                if ui.button(name).on_hover_text(path.display().to_string()).clicked() {
                    commands.push(command(path.clone()));
                    close_menus(ui.ctx());
                }
            }
        });
    });
}

pub(super) fn close_menus(ctx: &Context) {
    Popup::close_all(ctx);
}
