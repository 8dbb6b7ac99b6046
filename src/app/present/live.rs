//! A slider brought up before the audience: one parameter of the candidate, any of those that are numbers.

use eframe::egui::{Align, Layout, Ui};

use crate::app::command::Command;
use crate::app::field::{Editing, Field};
use crate::app::pair::Pair;
use crate::app::present::Act;
use crate::app::state::Edited;
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Kind, Parameter, Stage};

/// Width of the choice of the parameter \[pt\].
const CHOICE: f32 = 110.0;

/// The slider.
#[derive(Debug)]
pub(super) struct Live {
    path: &'static str,
    up: bool,
    editing: Editing,
}

impl Live {
    pub(super) fn new(path: &'static str) -> Self {
        Self { path, up: false, editing: Editing::default() }
    }

    /// Whether it is seen.
    pub(super) const fn is_up(&self) -> bool {
        self.up
    }

    /// Path of its parameter.
    pub(super) const fn path(&self) -> &'static str {
        self.path
    }

    pub(super) fn toggle(&mut self) {
        self.up = !self.up;
    }

    pub(super) fn choose(&mut self, path: &'static str) {
        self.path = path;
        self.up = true;
        self.editing = Editing::default();
    }

    /// Lays it out: the choice of the parameter, then its field. `note` says what is wrong.
    pub(super) fn show(&mut self, ui: &mut Ui, pair: &Pair, note: Option<&str>, commands: &mut Vec<Command>) {
        let Some(parameter) = parameters::find(self.path) else { return };
        let scenario = &pair.candidate.scenario;
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.scope(|ui| {
                ui.set_min_width(CHOICE);
                ui.menu_button("Parameter", |ui| choices(ui, scenario, commands));
            });
            let label = parameter.full_label();
            let edited = Edited::Candidate;
            let field = Field { parameter, label, scenario, pair, edited, lead: None, note };
            ui.vertical(|ui| field.show(ui, &mut self.editing, commands));
        });
    }
}

/// The common numbers, then all by stage.
fn choices(ui: &mut Ui, scenario: &Scenario, commands: &mut Vec<Command>) {
    let numbers = || parameters::all().iter().filter(|parameter| slides(parameter, scenario));
    for parameter in numbers().filter(|parameter| parameter.common) {
        choice(ui, parameter, parameter.full_label(), commands);
    }
    ui.separator();
    for stage in Stage::ALL {
        if numbers().any(|parameter| parameter.stage == stage) {
            ui.menu_button(stage.name(), |ui| {
                for parameter in numbers().filter(|parameter| parameter.stage == stage) {
                    choice(ui, parameter, parameter.label.clone(), commands);
                }
            });
        }
    }
}

fn choice(ui: &mut Ui, parameter: &'static Parameter, label: String, commands: &mut Vec<Command>) {
    if ui.button(label).on_hover_text(&parameter.meaning).clicked() {
        commands.push(Command::Presented(Act::Choose(&parameter.path)));
        ui.close();
    }
}

/// Whether a parameter is there and has a slider.
fn slides(parameter: &Parameter, scenario: &Scenario) -> bool {
    matches!(parameter.kind, Kind::Number(_) | Kind::NumberOrNone { .. }) && parameter.get(scenario).is_some()
}
