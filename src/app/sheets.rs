//! The figures on their sheets: verdict and budget on top, lanes in the middle, the row of three below. Where there is not
//! room for all, the row, or everything below the verdict, becomes pages to switch between.

use eframe::egui::{Align, Frame, Layout, Margin, Rect, Stroke, Ui, UiBuilder, pos2, vec2};

use super::answers::{Answers, Shown};
use super::command::Command;
use super::compute::Drawn;
use super::page::GAP;
use super::state::{Figure, State};
use super::theme::Palette;
use super::{App, Views, figures};
use crate::report::figures::curve::Curve;
use crate::report::figures::lanes;
use crate::report::figures::verdict::{Line, Met};
use crate::scenario::parameters::Stage;

/// Width that a figure needs to stand beside others \[pt\].
const FIGURE_WIDTH: f32 = 296.0;
/// Share of the height that the row takes.
const ROW_SHARE: f32 = 0.4;
/// Least height of the row \[pt\].
const ROW_HEIGHT: f32 = 240.0;
/// Least height of the lanes' sheet, and the greatest that they fill \[pt\].
const LANES_HEIGHT: (f32, f32) = (384.0, 570.0);
/// Height below which the budget is told in one line \[pt\].
const WHOLE_BUDGET_HEIGHT: f32 = 680.0;
/// Margins of a sheet \[pt\].
const MARGIN: Margin = Margin::symmetric(12, 8);
/// Slice counts that the handle of the curve can ask for: the range of the parameter.
const MOST_SLICES: u32 = 64;

impl App {
    /// Lays the figures out over the space there is.
    pub(super) fn sheets(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let Self { state, answers: Answers { shown, curve, .. }, views, .. } = self;
        let Some(Shown { drawn, .. }) = shown else {
            ui.centered_and_justified(|ui| ui.weak("Computing the first answer"));
            return;
        };
        let whole_budget = ui.available_height() >= WHOLE_BUDGET_HEIGHT;
        ui.spacing_mut().item_spacing = vec2(GAP, GAP);
        let top = framed(ui, |ui| verdict(ui, drawn, whole_budget, commands));
        let space = Rect::from_min_max(pos2(top.left(), top.bottom() + GAP), ui.max_rect().max);
        let mut hand = Hand { state, drawn, curve, views, commands };
        let row = (space.height() * ROW_SHARE).max(ROW_HEIGHT).max(space.height() - GAP - LANES_HEIGHT.1);
        if space.height() - GAP - row < LANES_HEIGHT.0 {
            sheet(ui, space, |ui| hand.pages(ui, &Figure::ALL));
            return;
        }
        let border = space.bottom() - row;
        sheet(ui, space.with_max_y(border - GAP), |ui| hand.draw(ui, Figure::Lanes));
        let space = space.with_min_y(border);
        let width = (space.width() - 2.0 * GAP) / 3.0;
        if width < FIGURE_WIDTH {
            sheet(ui, space, |ui| hand.pages(ui, &Figure::ROW));
            return;
        }
        for (place, figure) in Figure::ROW.into_iter().enumerate() {
            let left = space.left() + place as f32 * (width + GAP);
            sheet(ui, Rect::from_x_y_ranges(left..=left + width, space.y_range()), |ui| hand.draw(ui, figure));
        }
    }
}

/// All that drawing a figure needs.
struct Hand<'a> {
    state: &'a mut State,
    drawn: &'a Drawn,
    curve: &'a Curve,
    views: &'a mut Views,
    commands: &'a mut Vec<Command>,
}

impl Hand<'_> {
    /// One figure of several, and the switch.
    fn pages(&mut self, ui: &mut Ui, figures: &[Figure]) {
        let chosen = if figures.contains(&self.state.figure) { self.state.figure } else { figures[0] };
        ui.horizontal(|ui| {
            for figure in figures {
                if ui.selectable_label(chosen == *figure, figure.title()).clicked() {
                    self.state.figure = *figure;
                    ui.request_repaint();
                }
            }
        });
        self.draw(ui, chosen);
    }

    fn draw(&mut self, ui: &mut Ui, figure: Figure) {
        let Self { state, drawn, curve, views, commands } = self;
        match figure {
            Figure::Lanes => {
                if let Some(lane) = views.lanes.show(ui, &drawn.lanes).clicked {
                    commands.push(Command::Reveal(stage_of(lane).name().to_owned()));
                }
            }
            Figure::Distribution => {
                views.distribution.show(ui, &drawn.histograms, &drawn.lanes.names);
            }
            Figure::Outcomes => figures::outcomes(ui, &drawn.outcomes, &drawn.lanes.names),
            Figure::SliceCurve => {
                let scenario = &state.pair.candidate.scenario;
                let most = scenario.block_rows().min(MOST_SLICES);
                if let Some(count) = figures::slice_curve(ui, curve, scenario.slices.count, most).asked {
                    commands.push(Command::Slices(count));
                }
            }
        }
    }
}

/// The verdict, and the budget: all of it, or what is not met and how much is.
fn verdict(ui: &mut Ui, drawn: &Drawn, whole_budget: bool, commands: &mut Vec<Command>) {
    let verdict = &drawn.verdict;
    figures::verdict(ui, verdict);
    let clicked = if whole_budget {
        figures::budget(ui, &verdict.lines)
    } else {
        // The shares of the time are no limits; there is not room for them here.
        let (met, over): (Vec<&Line>, Vec<&Line>) =
            verdict.lines.iter().filter(|line| !line.piece).partition(|line| line.met == Met::Yes);
        ui.horizontal_wrapped(|ui| {
            ui.label(format!("Budget: {} of {} lines met", met.len(), met.len() + over.len()));
            let over: Vec<Line> = over.into_iter().cloned().collect();
            figures::budget(ui, &over)
        })
        .inner
    };
    if let Some(line) = clicked {
        commands.push(Command::Reveal(budget_parameter(line)));
    }
}

/// Parameters that a lane stands for.
const fn stage_of(lane: lanes::Stage) -> Stage {
    match lane {
        lanes::Stage::Pose => Stage::Pose,
        lanes::Stage::Cpu => Stage::Simulate,
        lanes::Stage::Gpu => Stage::Render,
        lanes::Stage::Encoder => Stage::Encode,
        lanes::Stage::Link => Stage::Link,
        lanes::Stage::Decoder => Stage::Decode,
        lanes::Stage::Display => Stage::Display,
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
