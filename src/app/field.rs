//! One row of the parameter column: label, value as text with its unit, slider or switch, reset, and what is wrong.

use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{
    Align, ComboBox, Key, Label, Layout, Response, RichText, Sense, Slider, SliderClamping, TextEdit, TextStyle, Ui,
    vec2,
};

use super::command::Command;
use super::differing;
use super::pair::Pair;
use super::state::Edited;
use super::theme::{self, Palette};
use crate::report::differences::is_tuned;
use crate::report::figures::Side;
use crate::scenario::Scenario;
use crate::scenario::parameters::{Kind, Numeric, Parameter, Scale, Value};

/// Width of a field for a number \[pt\].
const NUMBER_WIDTH: f32 = 110.0;
/// Width kept free for the reset button \[pt\].
const RESET_WIDTH: f32 = 44.0;
/// Height of a slider \[pt\]: less than a button's, so that rows stay close to their labels.
const SLIDER_HEIGHT: f32 = 16.0;

/// The field whose text is being edited, and the text.
#[derive(Debug, Default)]
pub(super) struct Editing(Option<(eframe::egui::Id, String)>);

/// One parameter of one scenario.
pub(super) struct Field<'a> {
    pub(super) parameter: &'static Parameter,
    /// What it is called here.
    pub(super) label: String,
    /// The scenario whose value is shown.
    pub(super) scenario: &'a Scenario,
    pub(super) pair: &'a Pair,
    pub(super) edited: Edited,
    /// The lead of the run of that scenario, if it is known.
    pub(super) lead: Option<&'a str>,
    /// What is wrong with the value.
    pub(super) note: Option<&'a str>,
}

impl Field<'_> {
    /// Lays the row out.
    pub(super) fn show(&self, ui: &mut Ui, editing: &mut Editing, commands: &mut Vec<Command>) -> Response {
        let row = ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            match (self.parameter.get(self.scenario), &self.parameter.kind) {
                (None, _) => self.absent(ui),
                (Some(Value::Switch(on)), _) => self.switch(ui, on, commands),
                (Some(Value::Choice(name)), Kind::Choice(names)) => self.choice(ui, name, names, commands),
                (Some(value), kind) => self.typed(ui, &value, kind, editing, commands),
            }
            if let Some(note) = self.note {
                let text = RichText::new(note).color(ui.visuals().error_fg_color);
                ui.add(Label::new(text).wrap());
            }
        });
        ui.add_space(2.0);
        row.response
    }

    /// A parameter of an alternative that is not chosen.
    fn absent(&self, ui: &mut Ui) {
        self.label(ui);
        if let Some(condition) = &self.parameter.only_while {
            ui.weak(format!("only while {condition}"));
        }
    }

    fn switch(&self, ui: &mut Ui, mut on: bool, commands: &mut Vec<Command>) {
        ui.horizontal(|ui| {
            let checkbox = theme::outlined(ui, |ui| ui.checkbox(&mut on, self.label.as_str()));
            if explained(checkbox, || self.meaning()).changed() {
                self.set(commands, Value::Switch(on));
            }
            self.mark(ui);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| self.reset(ui, commands));
        });
    }

    fn choice(&self, ui: &mut Ui, name: &'static str, names: &[&'static str], commands: &mut Vec<Command>) {
        ui.horizontal(|ui| {
            let label = self.label(ui);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                self.reset(ui, commands);
                let combo = ComboBox::from_id_salt("choice").selected_text(name).width(NUMBER_WIDTH);
                let combo = combo.show_ui(ui, |ui| {
                    for choice in names {
                        if ui.selectable_label(*choice == name, *choice).clicked() {
                            self.set(commands, Value::Choice(choice));
                        }
                    }
                });
                explained(combo.response.labelled_by(label.id), || self.meaning());
            });
        });
        if is_tuned(&self.parameter.path, name) {
            let told = self.lead.map_or_else(|| "its ms are not known yet".to_owned(), |lead| format!("tuned: {lead}"));
            ui.with_layout(Layout::right_to_left(Align::Min), |ui| ui.label(RichText::new(told).small().weak()));
        }
    }

    /// Everything that can be typed; numbers with a slider below.
    fn typed(&self, ui: &mut Ui, value: &Value, kind: &Kind, editing: &mut Editing, commands: &mut Vec<Command>) {
        let number = matches!(kind, Kind::Number(_) | Kind::NumberOrNone { .. });
        let label = ui
            .horizontal(|ui| {
                let label = self.label(ui);
                if number {
                    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                        self.text(ui, value, &label, NUMBER_WIDTH, editing, commands);
                    });
                }
                label
            })
            .inner;
        ui.horizontal(|ui| {
            ui.spacing_mut().interact_size.y = SLIDER_HEIGHT;
            let width = ui.available_width() - RESET_WIDTH;
            match kind {
                Kind::Number(numeric) => self.slider(ui, value, numeric, &label, width, commands),
                Kind::NumberOrNone { numeric, none } => {
                    let mut unset = *value == Value::None;
                    if theme::outlined(ui, |ui| ui.checkbox(&mut unset, *none)).changed() {
                        let least = numeric.slider_in(self.scenario).0.max(1.0);
                        self.set(commands, if unset { Value::None } else { Value::Whole(least as u64) });
                    }
                    let width = ui.available_width() - RESET_WIDTH;
                    self.slider(ui, value, numeric, &label, width, commands);
                }
                _ => self.text(ui, value, &label, width, editing, commands),
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| self.reset(ui, commands));
        });
    }

    /// The value as text; taken when the field is left or Enter is pressed.
    fn text(
        &self,
        ui: &mut Ui,
        value: &Value,
        label: &Response,
        width: f32,
        editing: &mut Editing,
        commands: &mut Vec<Command>,
    ) {
        let id = ui.make_persistent_id("text");
        let now = match value {
            Value::Text(text) => text.clone(),
            value => self.parameter.format(value),
        };
        let mut text = match (&editing.0, value) {
            (Some((edited, text)), _) if *edited == id => text.clone(),
            (_, Value::Text(text)) => text.clone(),
            (_, value) => self.parameter.brief(value),
        };
        let edit = TextEdit::singleline(&mut text).id(id).desired_width(width - 8.0);
        let mut output = edit.show(ui);
        let field = output.response.response.clone().labelled_by(label.id);
        let rounded = text != now && !field.has_focus() && !field.lost_focus();
        let field =
            explained(field, || if rounded { format!("Exactly {now}\n{}", self.meaning()) } else { self.meaning() });
        if field.gained_focus() {
            // What is edited is the value itself, not what it was rounded to for the eye.
            text.clone_from(&now);
            let all = CCursorRange::two(CCursor::new(0), CCursor::new(text.chars().count()));
            output.state.cursor.set_char_range(Some(all));
            output.state.store(ui.ctx(), id);
        }
        if field.lost_focus() {
            // Told in two frames; the first one takes the text.
            let edited = editing.0.take_if(|(edited, _)| *edited == id).is_some();
            if self.note.is_some() && ui.input(|input| input.key_pressed(Key::Escape)) {
                commands.push(Command::ForgetRefusals);
            }
            if edited && text != now && !ui.input(|input| input.key_pressed(Key::Escape)) {
                match self.parameter.parse(&text) {
                    Ok(value) => self.set(commands, value),
                    Err(error) => commands.push(Command::Refused(&self.parameter.path, error.to_string())),
                }
            }
        } else if field.has_focus() {
            editing.0 = Some((id, text));
        }
    }

    fn slider(
        &self,
        ui: &mut Ui,
        value: &Value,
        numeric: &Numeric,
        label: &Response,
        width: f32,
        commands: &mut Vec<Command>,
    ) {
        let (low, high) = numeric.slider_in(self.scenario);
        let Some(mut number) = value.as_f64().filter(|_| low < high && high.is_finite()) else { return };
        ui.spacing_mut().slider_width = width.max(40.0);
        let mut slider = Slider::new(&mut number, low..=high)
            .show_value(false)
            .clamping(SliderClamping::Edits)
            .trailing_fill(true)
            .step_by(numeric.step);
        if let Scale::Logarithmic { least } = numeric.scale {
            slider = slider.logarithmic(true).smallest_positive(least);
        }
        let slider = explained(ui.add(slider).labelled_by(label.id), || self.meaning());
        if slider.changed() {
            let whole = numeric.whole && number >= 0.0;
            self.set(commands, if whole { Value::Whole(number.round() as u64) } else { Value::Number(tidy(number)) });
        }
    }

    /// The label, and the mark of a difference behind it.
    fn label(&self, ui: &mut Ui) -> Response {
        let label = explained(ui.label(&self.label), || self.meaning());
        self.mark(ui);
        label
    }

    /// A dot where candidate and baseline differ.
    fn mark(&self, ui: &mut Ui) {
        if !differing::differs(self.pair, self.parameter) {
            return;
        }
        let values = Side::BOTH.map(|side| self.parameter.get(&self.pair.of(side).scenario));
        let (rect, response) =
            ui.allocate_exact_size(vec2(8.0, ui.text_style_height(&TextStyle::Body)), Sense::hover());
        ui.painter().circle_filled(rect.center(), 3.5, Palette::current(ui).candidate);
        let words =
            values.map(|value| value.map_or_else(|| "not there".to_owned(), |value| self.parameter.format(&value)));
        explained(response, || format!("Differs: baseline {}, candidate {}", words[0], words[1]));
    }

    /// A button that brings the default back, where the value is another one.
    fn reset(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let default = self.parameter.default_in(self.scenario);
        if default != self.parameter.get(self.scenario)
            && let Some(default) = default
        {
            let button = ui.small_button("reset");
            if button.on_hover_text(format!("Back to {}", self.parameter.format(&default))).clicked() {
                commands.push(Command::Reset(vec![&self.parameter.path], self.edited));
            }
        }
    }

    fn set(&self, commands: &mut Vec<Command>, value: Value) {
        commands.push(Command::Set(&self.parameter.path, value, self.edited));
    }

    /// What the parameter means, what is allowed, and its path.
    fn meaning(&self) -> String {
        let Parameter { meaning, path, .. } = self.parameter;
        format!("{meaning}\nAllowed: {}\n{path}", self.parameter.allowed_in(self.scenario))
    }
}

/// Tells something on hover; not while a pointer is down, when it would lie over the parameters below the one that is
/// dragged.
fn explained(response: Response, words: impl FnOnce() -> String) -> Response {
    if response.hovered() && !response.ctx.input(|input| input.pointer.any_down()) {
        return response.on_hover_text(words());
    }
    response
}

/// A slider's number without what adding steps up has left in its last digits.
fn tidy(number: f64) -> f64 {
    format!("{number:.12e}").parse().unwrap_or(number)
}
