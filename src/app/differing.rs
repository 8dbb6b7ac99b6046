//! The parameter column while it lists only the parameters in which baseline and candidate differ: both values side by
//! side, and a button that gives the candidate the baseline's.

use std::collections::BTreeMap;

use eframe::egui::{Align, Button, Frame, Label, Layout, Response, RichText, ScrollArea, TextStyle, Ui, vec2};

use super::column::{BESIDE_SCROLL_BAR, scroll_on_margin};
use super::command::Command;
use super::pair::Pair;
use super::theme::Palette;
use crate::report::differences::with_lead;
use crate::report::figures::Side;
use crate::report::format::NOTHING;
use crate::scenario::parameters::{self, Parameter, Stage, Value};

/// Room between the two values \[pt\].
const BETWEEN: f32 = 8.0;

/// Whether baseline and candidate differ in a parameter. Name and notes change nothing, so they never do.
pub(super) fn differs(pair: &Pair, parameter: &Parameter) -> bool {
    parameter.stage != Stage::About && parameter.get(&pair.baseline.scenario) != parameter.get(&pair.candidate.scenario)
}

/// Every parameter in which they do, in pipeline order.
pub(super) fn all(pair: &Pair) -> Vec<&'static Parameter> {
    parameters::all().iter().filter(|parameter| differs(pair, parameter)).collect()
}

/// The list; with the leads of both runs, where they are known.
pub(super) fn show(
    ui: &mut Ui,
    pair: &Pair,
    found: &[&'static Parameter],
    (notes, leads): (&BTreeMap<&'static str, String>, &[Option<String>; 2]),
    commands: &mut Vec<Command>,
) {
    if found.is_empty() {
        let none = all(pair).is_empty();
        ui.label(if none { "Baseline and candidate are the same." } else { "No difference has these words." });
        return;
    }
    Frame::new().inner_margin(BESIDE_SCROLL_BAR).show(ui, |ui| {
        side_by_side(ui, Side::BOTH.map(|side| heading(ui, side)));
    });
    scroll_on_margin(ui);
    ScrollArea::vertical().id_salt("differences").auto_shrink(false).content_margin(BESIDE_SCROLL_BAR).show(ui, |ui| {
        for parameter in found {
            ui.push_id(&parameter.path, |ui| row(ui, pair, parameter, leads, commands));
            if let Some(note) = notes.get(parameter.path.as_str()) {
                ui.add(Label::new(RichText::new(note).color(ui.visuals().error_fg_color)).wrap());
            }
            ui.add_space(6.0);
        }
    });
}

fn heading(ui: &Ui, side: Side) -> RichText {
    let name = match side {
        Side::Baseline => "Baseline",
        Side::Candidate => "Candidate",
    };
    RichText::new(name).strong().color(Palette::current(ui).side(side))
}

/// Label and button above, both values below.
fn row(
    ui: &mut Ui,
    pair: &Pair,
    parameter: &'static Parameter,
    leads: &[Option<String>; 2],
    commands: &mut Vec<Command>,
) {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            take(ui, pair, parameter, commands);
            let width = ui.available_width();
            let label = left(ui, width, RichText::new(parameter.full_label()));
            label.on_hover_text(format!("{}\n{}", parameter.meaning, parameter.path));
        });
    });
    let told = |side: Side, text: fn(&Parameter, &Value) -> String| {
        with_lead(&parameter.path, value(pair, parameter, side, text), leads[side.index()].as_deref())
    };
    let exact = Side::BOTH.map(|side| told(side, Parameter::format));
    let brief = Side::BOTH.map(|side| told(side, Parameter::brief));
    let responses = side_by_side(ui, brief.each_ref().map(RichText::new));
    for ((response, exact), brief) in responses.into_iter().zip(exact).zip(brief) {
        if exact != brief {
            response.on_hover_text(exact);
        }
    }
}

/// The button; it cannot be pressed where the parameter is not there on both sides.
fn take(ui: &mut Ui, pair: &Pair, parameter: &'static Parameter, commands: &mut Vec<Command>) {
    let there = Side::BOTH.iter().all(|&side| parameter.get(&pair.of(side).scenario).is_some());
    let button = ui.add_enabled(there, Button::new("Take baseline's").small());
    let condition = parameter.only_while.as_deref().unwrap_or_default();
    let button = button
        .on_hover_text(format!(
            "Give the candidate the baseline's {}: {}",
            parameter.full_label(),
            value(pair, parameter, Side::Baseline, Parameter::format)
        ))
        .on_disabled_hover_text(format!("It is there only while {condition}: take that one first"));
    if button.clicked() {
        commands.push(Command::TakeBaseline(&parameter.path));
    }
}

fn value(pair: &Pair, parameter: &Parameter, side: Side, text: fn(&Parameter, &Value) -> String) -> String {
    match parameter.get(&pair.of(side).scenario) {
        Some(value) => text(parameter, &value),
        None => NOTHING.to_owned(),
    }
}

/// Two texts in two halves, each cut where it does not fit and whole on hover.
fn side_by_side(ui: &mut Ui, texts: [RichText; 2]) -> [Response; 2] {
    let half = (ui.available_width() - BETWEEN) / 2.0;
    let row = ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = BETWEEN;
        texts.map(|text| left(ui, half, text))
    });
    row.inner
}

/// A text at the left of so much width.
fn left(ui: &mut Ui, width: f32, text: RichText) -> Response {
    let size = vec2(width, ui.text_style_height(&TextStyle::Body));
    let inside = ui.allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
        ui.set_min_width(width);
        ui.add(Label::new(text).truncate())
    });
    inside.inner
}
