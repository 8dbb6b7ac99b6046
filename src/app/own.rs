//! Presets of the user's own in the window: the list in the menus, the question for a name, the folder in words.

use std::path::PathBuf;

use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{Align, Button, Context, Id, Key, Label, Layout, Modal, RichText, ScrollArea, TextEdit, Ui};

use super::command::Command;
use super::menu::close_menus;
use super::pair;
use crate::report::figures::Side;
use crate::scenario::presets::own::{self, Own};

/// Width of the text about the folder in a menu \[pt\].
const FOLDER_WIDTH: f32 = 340.0;
/// Height that the list takes in a menu before it scrolls \[pt\].
const LIST_HEIGHT: f32 = 220.0;

/// What is known of the folder.
#[derive(Debug, Default)]
pub(super) struct Library {
    /// None where this window keeps no presets, or there is no place for them.
    folder: Option<PathBuf>,
    list: Vec<Own>,
    /// Why the folder cannot be read.
    problem: Option<String>,
    naming: Option<Naming>,
}

/// A name that is being typed.
#[derive(Debug)]
struct Naming {
    side: Side,
    text: String,
    /// Why the last one was refused.
    refused: Option<String>,
    fresh: bool,
}

impl Library {
    /// The user's own.
    pub(super) fn of_user() -> Self {
        match own::folder() {
            Ok(folder) => Self::at(folder),
            Err(error) => Self { problem: Some(error.to_string()), ..Self::default() },
        }
    }

    /// Those of a folder.
    pub(super) fn at(folder: PathBuf) -> Self {
        let mut library = Self { folder: Some(folder), ..Self::default() };
        library.read();
        library
    }

    /// Reads the folder again.
    pub(super) fn read(&mut self) {
        let Some(folder) = &self.folder else { return };
        match own::all(folder) {
            Ok(list) => (self.list, self.problem) = (list, None),
            Err(error) => (self.list, self.problem) = (Vec::new(), Some(error.to_string())),
        }
    }

    /// The preset of a file, as it was when the folder was read.
    pub(super) fn of(&self, path: &std::path::Path) -> Option<&Own> {
        self.list.iter().find(|own| own.path == path)
    }

    /// The file that a preset of a name is kept in, or why there is none.
    pub(super) fn file(&self, name: &str) -> Result<PathBuf, String> {
        match &self.folder {
            Some(folder) => own::file(folder, name),
            None => Err(self.problem.clone().unwrap_or_else(|| "There is no folder for them.".to_owned())),
        }
    }

    /// Whether a name is asked for.
    pub(super) fn asking(&self) -> bool {
        self.naming.is_some()
    }

    /// Asks for a name.
    pub(super) fn ask_name(&mut self, side: Side, text: String) {
        self.naming = Some(Naming { side, text, refused: None, fresh: true });
    }

    /// Asks again, and says why.
    pub(super) fn refuse(&mut self, side: Side, name: &str, why: String) {
        self.naming = Some(Naming { side, text: name.to_owned(), refused: Some(why), fresh: true });
    }

    /// Shows the field for a name.
    pub(super) fn show(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        let Some(naming) = &mut self.naming else { return };
        let mut done = None;
        let modal = Modal::new(Id::unique("own preset")).show(ctx, |ui| done = naming.contents(ui));
        if done == Some(true) {
            commands.push(Command::Named(naming.side, naming.text.trim().to_owned()));
        }
        if done.is_some() || modal.should_close() {
            self.naming = None;
        }
    }

    /// The presets as lines of a menu; the folder is read again when the lines come into sight.
    pub(super) fn items(&self, ui: &mut Ui, side: Side, commands: &mut Vec<Command>) {
        if came_into_sight(ui) {
            commands.push(Command::ReadOwn);
        }
        ui.weak("Your own");
        if let Some(problem) = &self.problem {
            ui.set_max_width(FOLDER_WIDTH);
            ui.add(Label::new(RichText::new(problem).color(ui.visuals().error_fg_color)).wrap());
        } else if self.list.is_empty() {
            ui.weak("none yet; save one in the menu Presets");
        }
        ScrollArea::vertical().id_salt("own presets").max_height(LIST_HEIGHT).show(ui, |ui| {
            for own in &self.list {
                let entry = ui.add_enabled(own.scenario.is_ok(), Button::new(own.name()));
                let entry = match &own.scenario {
                    Err(error) => entry.on_disabled_hover_text(error.to_string()),
                    Ok(_) if own.notes().is_empty() => entry.on_hover_text(own.path.display().to_string()),
                    Ok(_) => entry.on_hover_text(own.notes()),
                };
                if entry.clicked() {
                    commands.push(Command::OwnPreset(own.path.clone(), side));
                    close_menus(ui.ctx());
                }
            }
        });
    }

    /// Where they are kept, in words.
    pub(super) fn place(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let Some(folder) = &self.folder else { return };
        ui.set_max_width(FOLDER_WIDTH);
        let words = "Your own presets are the files in this folder; rename or remove them with your file manager:";
        // A menu would stretch the lines to its width.
        ui.with_layout(Layout::top_down(Align::Min), |ui| ui.add(Label::new(RichText::new(words).weak()).wrap()));
        let path = folder.display().to_string();
        ui.with_layout(Layout::top_down(Align::Min), |ui| ui.add(Label::new(path.as_str()).wrap().selectable(true)));
        if ui.button("Copy the folder's path").clicked() {
            commands.push(Command::Copy(path));
            close_menus(ui.ctx());
        }
    }
}

/// Whether what is laid out here was not laid out in the frame before.
fn came_into_sight(ui: &Ui) -> bool {
    let id = ui.scope_id().with("in sight");
    let now = ui.ctx().cumulative_frame_nr();
    let before = ui.data_mut(|data| {
        let before = data.get_temp::<u64>(id);
        data.insert_temp(id, now);
        before
    });
    before.is_none_or(|before| before + 1 < now)
}

impl Naming {
    /// The field and its buttons; `Some(true)` when the name stands, `Some(false)` when it is given up.
    fn contents(&mut self, ui: &mut Ui) -> Option<bool> {
        ui.set_width(440.0);
        ui.heading(format!("Save {} as own preset", pair::name(self.side)));
        ui.add_space(6.0);
        let label = ui.label("Name of the preset");
        let edit = TextEdit::singleline(&mut self.text).desired_width(f32::INFINITY).hint_text("My bench");
        let mut output = edit.show(ui);
        let field = output.response.response.clone().labelled_by(label.id);
        if std::mem::take(&mut self.fresh) {
            field.request_focus();
            // What is suggested goes with the first letter typed.
            let all = CCursorRange::two(CCursor::new(0), CCursor::new(self.text.chars().count()));
            output.state.cursor.set_char_range(Some(all));
            output.state.store(ui.ctx(), field.id);
        }
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if let Some(refused) = &self.refused {
            ui.add(Label::new(RichText::new(refused).color(ui.visuals().error_fg_color)).wrap());
        }
        ui.add_space(8.0);
        let given = !self.text.trim().is_empty();
        let mut done = (entered && given).then_some(true);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.add_enabled(given, Button::new("Save")).clicked() {
                done = Some(true);
            }
            if ui.button("Cancel").clicked() {
                done = Some(false);
            }
        });
        done
    }
}
