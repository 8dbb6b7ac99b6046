//! The places of the page: verdict and budget on top, one figure in the middle, a row of three below; the title of each
//! offers every figure of the gallery. Where there is not room for all, the row, or everything below the verdict, becomes
//! pages to switch between.

use eframe::egui::{Align, Frame, Layout, Margin, Rect, Stroke, Ui, UiBuilder, Vec2, pos2, vec2};

use super::answers::{Answers, Shown};
use super::command::Command;
use super::compute::Drawn;
use super::figures::{Choice, Item, Picked};
use super::gallery::{Figure, Hand};
use super::page::GAP;
use super::state::{Edited, Places};
use super::theme::Palette;
use super::{App, figures, gallery};
use crate::report::figures::Side;

/// Width that a figure needs to stand beside others \[pt\].
const FIGURE_WIDTH: f32 = 296.0;
/// Share of the height that the row takes.
const ROW_SHARE: f32 = 0.4;
/// Least height of the row \[pt\].
const ROW_HEIGHT: f32 = 240.0;
/// Least height of the middle, with room for the lanes, and the greatest that they fill \[pt\].
const MIDDLE_HEIGHT: (f32, f32) = (384.0, 570.0);
/// Height below which the budget is told in one line \[pt\].
const WHOLE_BUDGET_HEIGHT: f32 = 680.0;
/// Margins of a sheet \[pt\].
const MARGIN: Margin = Margin::symmetric(12, 8);

impl App {
    /// Lays the figures out over the space there is.
    pub(super) fn sheets(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let Self { state, answers, views, studies, .. } = self;
        let Answers { shown, curve, .. } = &*answers;
        let Some(Shown { drawn, baseline, candidate, .. }) = shown else {
            ui.centered_and_justified(|ui| ui.weak("Computing the first answer"));
            return;
        };
        let whole_budget = ui.available_height() >= WHOLE_BUDGET_HEIGHT;
        ui.spacing_mut().item_spacing = vec2(GAP, GAP);
        let top = framed(ui, |ui| verdict(ui, drawn, state.edited, whole_budget, commands));
        let space = Rect::from_min_max(pos2(top.left(), top.bottom() + GAP), ui.max_rect().max);
        let ready = |figure: Figure| answers.all_of(figure) && studies.can_leave(figure.study(), &state.pair);
        let mut hand =
            Hand { state, drawn, answers: [baseline, candidate], curve, ready: &ready, views, studies, commands };
        let row = (space.height() * ROW_SHARE).max(ROW_HEIGHT).max(space.height() - GAP - MIDDLE_HEIGHT.1);
        if space.height() - GAP - row < MIDDLE_HEIGHT.0 {
            pages(ui, space, &mut hand, &Places::ALL);
            return;
        }
        let border = space.bottom() - row;
        place(ui, space.with_max_y(border - GAP), &mut hand, Places::MIDDLE);
        let space = space.with_min_y(border);
        let width = (space.width() - 2.0 * GAP) / 3.0;
        if width < FIGURE_WIDTH {
            pages(ui, space, &mut hand, &Places::ROW);
            return;
        }
        for (column, number) in Places::ROW.into_iter().enumerate() {
            let left = space.left() + column as f32 * (width + GAP);
            place(ui, Rect::from_x_y_ranges(left..=left + width, space.y_range()), &mut hand, number);
        }
    }
}

/// One of several places, and the switch.
fn pages(ui: &mut Ui, space: Rect, hand: &mut Hand<'_>, places: &[usize]) {
    let turned = hand.state.page;
    let chosen = if places.contains(&turned) { turned } else { places[0] };
    sheet(ui, space, |ui| {
        ui.horizontal(|ui| {
            for place in places {
                let name = hand.state.places.at(*place).entry().name;
                if ui.selectable_label(chosen == *place, name).clicked() {
                    hand.commands.push(Command::Turn(*place));
                }
            }
        });
        let rest = ui.available_rect_before_wrap();
        chosen_figure(ui, rest, hand, chosen);
    });
}

/// A place with the figure that was chosen for it.
fn place(ui: &mut Ui, space: Rect, hand: &mut Hand<'_>, number: usize) {
    sheet(ui, space, |ui| {
        let inside = ui.max_rect();
        chosen_figure(ui, inside, hand, number);
    });
}

/// The figure of a place; its title offers the others.
fn chosen_figure(ui: &mut Ui, space: Rect, hand: &mut Hand<'_>, number: usize) {
    let here = hand.state.places.at(number);
    let fits = |least: Vec2| space.width() >= least.x && space.height() >= least.y;
    let item = |entry: &gallery::Entry| Item {
        name: entry.name,
        meaning: entry.meaning,
        here: entry.figure() == here,
        fits: fits(entry.least),
        study: entry.figure().study().is_some(),
    };
    let choice = Choice::new(gallery::ALL.iter().map(item).collect(), (hand.ready)(here));
    let tagged = UiBuilder::new().max_rect(space).layout(Layout::top_down(Align::Min)).ui_stack_info(choice.tag());
    ui.scope_builder(tagged, |ui| hand.draw(ui, here));
    let used = ui.input(|input| input.pointer.any_pressed()) && ui.rect_contains_pointer(space);
    if used && hand.state.page != number {
        hand.commands.push(Command::Turn(number));
    }
    match choice.picked() {
        Some(Picked::Item(item)) => hand.commands.push(Command::Put(number, gallery::ALL[item].figure())),
        Some(Picked::Take(take)) => hand.commands.push(Command::Take(here, take)),
        None => {}
    }
}

/// The verdict, the budget, all of it or what is not met and how much is, and what to know before believing it. As high as
/// the window's size says, whatever it holds: nothing below moves while a slider is dragged.
fn verdict(ui: &mut Ui, drawn: &Drawn, edited: Edited, whole_budget: bool, commands: &mut Vec<Command>) {
    let verdict = &drawn.verdict;
    figures::verdict(ui, verdict);
    let budget = if whole_budget { figures::budget } else { figures::budget_on_a_line };
    if let Some(line) = budget(ui, &verdict.lines) {
        commands.push(Command::Reveal(budget_parameter(line)));
    }
    if let Some(told) = figures::warnings(ui, &drawn.warnings).and_then(|clicked| drawn.warnings.get(clicked)) {
        // The column must change the side that the warning is about.
        if let Some(side) = told.side.filter(|side| !edited.sides().contains(side)) {
            commands.push(Command::Edit(match side {
                Side::Baseline => Edited::Baseline,
                Side::Candidate => Edited::Candidate,
            }));
        }
        commands.push(Command::Reveal(told.path.to_owned()));
    }
}

/// Path of the parameter that sets a budget line's limit.
fn budget_parameter(line: &str) -> String {
    match line {
        "pose_to_photon" => "budget.pose_to_photon_ms".to_owned(),
        "missed" => "budget.missed_pct".to_owned(),
        "load" => "budget.load_pct".to_owned(),
        "level" => "budget.level_max".to_owned(),
        "bits_per_px" => "budget.bits_per_px_min".to_owned(),
        piece => format!("budget.pieces.{}_ms", piece.trim_start_matches("exposed_")),
    }
}

/// A sheet as high as its contents; returns its place.
fn framed(ui: &mut Ui, contents: impl FnOnce(&mut Ui)) -> Rect {
    let palette = Palette::current(ui);
    let frame = Frame::new().fill(palette.sheet).stroke(Stroke::new(1.0, palette.rule)).corner_radius(4);
    frame
        .inner_margin(MARGIN)
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
            contents(ui);
        })
        .response
        .rect
}

/// A sheet at a place.
fn sheet(ui: &mut Ui, place: Rect, contents: impl FnOnce(&mut Ui)) {
    let palette = Palette::current(ui);
    let stroke = Stroke::new(1.0, palette.rule);
    ui.painter().rect(place, 4.0, palette.sheet, stroke, eframe::egui::StrokeKind::Inside);
    let inside = UiBuilder::new().max_rect(place - MARGIN).layout(Layout::top_down(Align::Min));
    ui.scope_builder(inside, |ui| {
        ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
        contents(ui);
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parameters;

    #[test]
    fn every_budget_line_leads_to_its_limit() {
        let teams = crate::measure::Team::ALL.map(|team| format!("exposed_{}", team.name()));
        let others = ["pose_to_photon", "missed", "load", "level", "bits_per_px"].map(str::to_owned);
        for line in others.into_iter().chain(teams) {
            assert!(parameters::find(&budget_parameter(&line)).is_some(), "{line}");
        }
    }
}
