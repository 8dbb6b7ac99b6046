//! The parameter column: every parameter of the list, the common dozen on top, all others below in pipeline order,
//! folded by stage; with a search over all of them.

use std::collections::{BTreeMap, BTreeSet};

use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{CollapsingHeader, Frame, Key, Margin, Response, RichText, ScrollArea, TextEdit, Ui};

use serde::{Deserialize, Serialize};

use super::answers::Problem;
use super::command::Command;
use super::differing;
use super::field::{Editing, Field};
use super::pair::Pair;
use super::state::Edited;
use super::theme;
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Parameter, Stage};

/// Keeps what is in the column out of the way of its scroll bar.
pub(super) const BESIDE_SCROLL_BAR: Margin = Margin { left: 0, right: 10, top: 0, bottom: 0 };

/// Lets the scroll bar of the column stand on that margin, whether there is one or not: no slider changes its length.
pub(super) fn scroll_on_margin(ui: &mut Ui) {
    ui.spacing_mut().scroll.floating_allocated_width = 0.0;
}

/// What of the column comes back at the next start.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Kept {
    search: String,
    /// Whether only the parameters are listed in which baseline and candidate differ.
    only_differences: bool,
    /// The stages that are unfolded.
    open: BTreeSet<Stage>,
}

/// What the column remembers between frames.
#[derive(Debug, Default)]
pub(super) struct Column {
    kept: Kept,
    search_asked: bool,
    /// Stage to be unfolded and brought into view, and the parameter of it that was asked for.
    reveal: Option<(Stage, Option<&'static str>)>,
    /// Why a typed value was refused, by path.
    notes: BTreeMap<&'static str, String>,
    editing: Editing,
}

impl Column {
    /// A column as it was when it was kept.
    pub(super) fn as_kept(kept: Kept) -> Self {
        Self { kept, ..Self::default() }
    }

    /// What is to come back.
    pub(super) const fn kept(&self) -> &Kept {
        &self.kept
    }

    /// Puts the cursor into the search at the next frame.
    pub(super) fn search_now(&mut self) {
        self.search_asked = true;
    }

    /// Lists only the parameters in which baseline and candidate differ.
    #[cfg(test)]
    pub(super) fn only_differences(&mut self) {
        self.kept.only_differences = true;
    }

    /// Brings a parameter, given by its path, or a stage, given by its name, into view at the next frame.
    pub(super) fn reveal(&mut self, what: &str) {
        let parameter = parameters::find(what);
        let by_name = || Stage::ALL.into_iter().find(|stage| stage.name() == what);
        if let Some(stage) = parameter.map(|parameter| parameter.stage).or_else(by_name) {
            self.kept.search.clear();
            self.kept.only_differences = false;
            self.reveal = Some((stage, parameter.map(|parameter| parameter.path.as_str())));
        }
    }

    /// Notes why a value was refused, or that none was.
    pub(super) fn note(&mut self, path: &'static str, refused: Option<String>) {
        match refused {
            Some(text) => self.notes.insert(path, text),
            None => self.notes.remove(path),
        };
    }

    /// Why a value of a parameter was refused.
    pub(super) fn refused(&self, path: &str) -> Option<&str> {
        self.notes.get(path).map(String::as_str)
    }

    /// Whether a value was refused.
    pub(super) fn refuses(&self) -> bool {
        !self.notes.is_empty()
    }

    /// Forgets all refusals.
    pub(super) fn forget_notes(&mut self) {
        self.notes.clear();
    }

    /// Lays the column out; with the leads of both runs, where they are known.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        pair: &Pair,
        (edited, leads): (Edited, &[Option<String>; 2]),
        problem: Option<&Problem>,
        commands: &mut Vec<Command>,
    ) {
        let differing = differing::all(pair);
        Frame::new().inner_margin(BESIDE_SCROLL_BAR).show(ui, |ui| {
            which_sides(ui, edited, commands);
            ui.add_space(4.0);
            self.search_box(ui);
            let only = format!("Only differences ({})", differing.len());
            theme::outlined(ui, |ui| ui.checkbox(&mut self.kept.only_differences, only))
                .on_hover_text("List only the parameters in which baseline and candidate differ, with both values");
            ui.add_space(4.0);
        });
        let words: Vec<String> = self.kept.search.split_whitespace().map(str::to_lowercase).collect();
        if self.kept.only_differences {
            let found: Vec<_> = differing.into_iter().filter(|parameter| has_words(parameter, &words)).collect();
            differing::show(ui, pair, &found, (&self.notes, leads), commands);
            return;
        }
        let mut rows = Rows {
            shown: &pair.of(edited.shown()).scenario,
            pair,
            edited,
            lead: leads[edited.shown().index()].as_deref(),
            problem,
            notes: &self.notes,
            editing: &mut self.editing,
            open: &mut self.kept.open,
            commands,
        };
        let reveal = self.reveal.take();
        scroll_on_margin(ui);
        ScrollArea::vertical()
            .auto_shrink(false)
            .content_margin(BESIDE_SCROLL_BAR)
            .show(ui, |ui| if words.is_empty() { rows.all(ui, reveal) } else { rows.found(ui, &words) });
    }

    fn search_box(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            let width = ui.available_width() - if self.kept.search.is_empty() { 0.0 } else { 52.0 };
            let edit = TextEdit::singleline(&mut self.kept.search).hint_text("Find a parameter").desired_width(width);
            let mut output = edit.show(ui);
            let field = output.response.response.on_hover_text("Words of the name, the meaning or the path");
            field.widget_info(|| {
                eframe::egui::WidgetInfo::labeled(eframe::egui::Role::SearchInput, true, "Find a parameter")
            });
            if std::mem::take(&mut self.search_asked) {
                field.request_focus();
                // What is typed next takes the place of what was sought before.
                let all = CCursorRange::two(CCursor::new(0), CCursor::new(self.kept.search.chars().count()));
                output.state.cursor.set_char_range(Some(all));
                output.state.store(ui.ctx(), field.id);
            }
            let cleared = !self.kept.search.is_empty() && ui.button("Clear").clicked();
            if cleared || (field.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape))) {
                self.kept.search.clear();
            }
        });
    }
}

/// The switch that says which sides a change goes to.
fn which_sides(ui: &mut Ui, edited: Edited, commands: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        ui.label("Change").on_hover_text("Which scenario the parameters below belong to");
        for choice in Edited::ALL {
            if ui.selectable_label(edited == choice, choice.name()).clicked() {
                commands.push(Command::Edit(choice));
            }
        }
    });
}

/// The rows of one frame.
struct Rows<'a> {
    shown: &'a Scenario,
    pair: &'a Pair,
    edited: Edited,
    /// The lead of the run of the scenario that is shown, if it is known.
    lead: Option<&'a str>,
    problem: Option<&'a Problem>,
    notes: &'a BTreeMap<&'static str, String>,
    editing: &'a mut Editing,
    /// The stages that are unfolded.
    open: &'a mut BTreeSet<Stage>,
    commands: &'a mut Vec<Command>,
}

impl Rows<'_> {
    /// The common dozen, then every stage.
    fn all(&mut self, ui: &mut Ui, reveal: Option<(Stage, Option<&'static str>)>) {
        let there = |parameter: &&Parameter| parameter.common && parameter.get(self.shown).is_some();
        for parameter in parameters::all().iter().filter(there).collect::<Vec<_>>() {
            self.row(ui, parameter, Place::Common);
        }
        ui.add_space(8.0);
        ui.separator();
        for stage in Stage::ALL {
            let asked = reveal.filter(|(asked, _)| *asked == stage);
            self.stage(ui, stage, asked.is_some(), asked.and_then(|(_, path)| path));
        }
    }

    fn stage(&mut self, ui: &mut Ui, stage: Stage, open: bool, wanted: Option<&'static str>) {
        let of_stage = || parameters::all().iter().filter(|parameter| parameter.stage == stage);
        let differing = of_stage().filter(|parameter| differing::differs(self.pair, parameter)).count();
        let at_fault = self.problem.is_some_and(|problem| of_stage().any(|parameter| parameter.path == problem.path));
        let mut title = RichText::new(if differing == 0 {
            stage.name().to_owned()
        } else {
            format!("{} · {differing} differ{}", stage.name(), if differing == 1 { "s" } else { "" })
        });
        if at_fault {
            title = title.color(ui.visuals().error_fg_color);
        }
        let fold = CollapsingHeader::new(title).id_salt(("stage", stage)).default_open(self.open.contains(&stage));
        let header = fold.open(open.then_some(true)).show(ui, |ui| {
            for parameter in of_stage().filter(|parameter| parameter.get(self.shown).is_some()) {
                let row = self.row(ui, parameter, Place::Stage);
                if wanted == Some(parameter.path.as_str()) {
                    row.scroll_to_me(Some(eframe::egui::Align::Center));
                }
            }
            if ui.small_button("Reset all of this stage").clicked() {
                let paths = of_stage().map(|parameter| parameter.path.as_str()).collect();
                self.commands.push(Command::Reset(paths, self.edited));
            }
            ui.add_space(6.0);
        });
        if header.openness > 0.5 {
            self.open.insert(stage);
        } else {
            self.open.remove(&stage);
        }
        if open && wanted.is_none() {
            header.header_response.scroll_to_me(Some(eframe::egui::Align::TOP));
        }
    }

    /// Every parameter that has all the words, those of alternatives not chosen included.
    fn found(&mut self, ui: &mut Ui, words: &[String]) {
        let mut stage = None;
        for parameter in parameters::all().iter().filter(|parameter| has_words(parameter, words)) {
            if stage != Some(parameter.stage) {
                stage = Some(parameter.stage);
                ui.add_space(6.0);
                ui.label(RichText::new(parameter.stage.name()).strong());
            }
            self.row(ui, parameter, Place::Found);
        }
        if stage.is_none() {
            ui.add_space(6.0);
            ui.label("No parameter has these words.");
        }
    }

    fn row(&mut self, ui: &mut Ui, parameter: &'static Parameter, place: Place) -> Response {
        let refused = self.notes.get(parameter.path.as_str()).map(String::as_str);
        let at_fault = self.problem.filter(|problem| problem.path == parameter.path);
        let field = Field {
            parameter,
            scenario: self.shown,
            pair: self.pair,
            edited: self.edited,
            lead: self.lead,
            label: match place {
                // Out of their stage, labels need its name.
                Place::Common => parameter.full_label(),
                _ => parameter.label.clone(),
            },
            note: refused.or(at_fault.map(|problem| problem.text.as_str())),
        };
        ui.push_id((place, &parameter.path), |ui| field.show(ui, self.editing, self.commands)).inner
    }
}

/// Where in the column a row stands: the same parameter may stand in two places.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Place {
    Common,
    Stage,
    Found,
}

fn has_words(parameter: &Parameter, words: &[String]) -> bool {
    let Parameter { path, label, meaning, stage, .. } = parameter;
    let all = format!("{} {label} {meaning} {path}", stage.name()).to_lowercase();
    words.iter().all(|word| all.contains(word))
}
