//! What draws a figure, and what comes of a click in it.

use eframe::egui::{ScrollArea, Ui, Vec2};

use super::Figure;
use crate::app::Views;
use crate::app::command::Command;
use crate::app::compute::Drawn;
use crate::app::figures::{self, Around};
use crate::app::state::State;
use crate::app::studies::Studies;
use crate::report::figures::curve::Curve;
use crate::report::figures::fronts::Fronts;
use crate::report::figures::lanes;
use crate::scenario::parameters::{self, Parameter, Stage};
use crate::study::Answer;

/// Width of the bars of a figure that has less room than it needs \[pt\].
const BAR: f32 = 6.0;

/// All that drawing a figure needs.
pub(in crate::app) struct Hand<'a> {
    pub(in crate::app) state: &'a State,
    pub(in crate::app) drawn: &'a Drawn,
    /// The answers that the figures were made of, for what is looked up in them.
    pub(in crate::app) answers: [&'a Answer; 2],
    pub(in crate::app) curve: &'a Curve,
    /// Whether all that a figure shows has come.
    pub(in crate::app) ready: &'a dyn Fn(Figure) -> bool,
    pub(in crate::app) views: &'a mut Views,
    pub(in crate::app) studies: &'a Studies,
    pub(in crate::app) commands: &'a mut Vec<Command>,
}

impl Hand<'_> {
    /// Draws a figure over the space there is; where that is too little for it, it scrolls.
    pub(in crate::app) fn draw(&mut self, ui: &mut Ui, figure: Figure) {
        let entry = figure.entry();
        let space = ui.available_size();
        self.views.lacks = (entry.least - space).max(Vec2::ZERO);
        if space.x >= entry.least.x && space.y >= entry.least.y {
            entry.show(self, ui);
            return;
        }
        // As little as can be is taken from what has too little.
        ui.spacing_mut().scroll.floating_allocated_width = BAR;
        // Named, since areas of two places would else be one.
        ScrollArea::both().id_salt(entry.slug).auto_shrink(false).show(ui, |ui| {
            ui.allocate_ui(space.max(entry.least), |ui| entry.show(self, ui));
        });
    }

    /// Brings the parameters of a lane into view.
    fn reveal(&mut self, lane: lanes::Stage) {
        self.commands.push(Command::Reveal(stage_of(lane).name().to_owned()));
    }

    pub(super) fn lanes(&mut self, ui: &mut Ui) {
        let Views { lanes, walk, presented, .. } = &mut *self.views;
        let around = if *presented { Around::Title } else { Around::Controls };
        if let Some(lane) = lanes.show_walking(ui, &self.drawn.lanes, self.answers, walk, around).clicked {
            self.reveal(lane);
        }
    }

    pub(super) fn ledger(&mut self, ui: &mut Ui) {
        if self.views.presented {
            figures::ledger_slide(ui, &self.drawn.ledger, &self.drawn.lanes.names);
            return;
        }
        if let Some(lane) = figures::ledger(ui, &self.drawn.ledger, &self.drawn.lanes.names) {
            self.reveal(lane);
        }
    }

    pub(super) fn outcomes(&self, ui: &mut Ui) {
        let Drawn { outcomes, lanes, .. } = self.drawn;
        if self.views.presented {
            figures::outcomes_slide(ui, outcomes, &lanes.names);
        } else {
            figures::outcomes(ui, outcomes, &lanes.names);
        }
    }

    pub(super) fn eye(&mut self, ui: &mut Ui) {
        let Views { eye, presented, .. } = &mut *self.views;
        let names = &self.drawn.lanes.names;
        if *presented {
            figures::eye_slide(ui, &self.drawn.eyes, names);
        } else {
            eye.show(ui, &self.drawn.eyes, names);
        }
    }

    pub(super) fn loads(&mut self, ui: &mut Ui) {
        if let Some(lane) = figures::loads(ui, &self.drawn.loads, &self.drawn.lanes.names) {
            self.reveal(lane);
        }
    }

    /// The fronts of the frame that the lanes look at.
    pub(super) fn fronts(&self, ui: &mut Ui) {
        let frame = self.views.lanes.frame(&self.drawn.lanes);
        let Drawn { lanes, .. } = self.drawn;
        let walk = self.views.walk.at_ns().map(|at_ns| (self.views.lanes.walk(lanes, self.answers), at_ns));
        let walk = walk.as_ref().map(|(walk, at_ns)| (walk, *at_ns));
        figures::fronts(ui, &Fronts::of(self.answers, frame), &lanes.names, walk);
    }

    /// A frame that is clicked comes into the lanes.
    pub(super) fn run(&mut self, ui: &mut Ui) {
        let looked_at = self.views.lanes.frame(&self.drawn.lanes);
        let names = &self.drawn.lanes.names;
        if let Some(frame) = self.views.run_strip.show(ui, &self.drawn.strips, names, looked_at) {
            self.views.lanes.go_to(frame);
            ui.ctx().request_repaint();
        }
    }

    pub(super) fn slice_curve(&mut self, ui: &mut Ui) {
        let scenario = &self.state.pair.candidate.scenario;
        let count = parameters::find("slices.count").and_then(Parameter::numeric);
        let most = count.map_or(1, |count| count.high_in(scenario) as u32);
        if let Some(count) = figures::slice_curve(ui, self.curve, scenario.slices.count, most).asked {
            self.commands.push(Command::Slices(count));
        }
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
