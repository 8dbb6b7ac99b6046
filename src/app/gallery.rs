//! The gallery: every figure that a place of the page can show, in one list.

use eframe::egui::{ScrollArea, Ui, Vec2, vec2};
use serde::{Deserialize, Serialize};

use super::command::Command;
use super::compute::Drawn;
use super::state::State;
use super::{Views, figures};
use crate::report::figures::curve::Curve;
use crate::report::figures::fronts::Fronts;
use crate::report::figures::lanes;
use crate::scenario::parameters::Stage;
use crate::study::Answer;

/// A figure. Its entry stands in [`ALL`], at the same place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Figure {
    /// One frame's way.
    Lanes,
    /// Both histograms.
    Distribution,
    /// What became of frames and refreshes.
    Outcomes,
    /// Latency against the slice count.
    SliceCurve,
    /// Where the time from pose to photon goes.
    Ledger,
    /// The picture on its way through the stages.
    Fronts,
    /// What late correction leaves.
    LeftOver,
    /// One eye's field of view and the codec's limits.
    Eye,
}

/// What the page knows of a figure.
pub(super) struct Entry {
    figure: Figure,
    /// What it is called in lists.
    pub(super) name: &'static str,
    /// What it tells, in a sentence.
    pub(super) meaning: &'static str,
    /// Room that it needs within its sheet \[pt\].
    pub(super) least: Vec2,
    show: fn(&mut Hand<'_>, &mut Ui),
}

/// Room that every place of the row has within its sheet \[pt\].
pub(super) const PLACE: Vec2 = vec2(272.0, 224.0);
/// Room for lanes that can be read \[pt\].
pub(super) const LANES: Vec2 = vec2(600.0, 344.0);
/// Slice counts that the handle of the curve can ask for: the range of the parameter.
const MOST_SLICES: u32 = 64;

/// Every figure, in the order of the list to choose from.
pub(super) const ALL: [Entry; 8] = [
    Entry {
        figure: Figure::Lanes,
        name: "Lanes",
        meaning: "One frame's way through the pipeline, slice by slice",
        least: LANES,
        show: |hand, ui| hand.lanes(ui),
    },
    Entry {
        figure: Figure::Distribution,
        name: "Distribution",
        meaning: "How latencies and photon ages are spread, with the budget",
        least: PLACE,
        show: |hand, ui| {
            hand.views.distribution.show(ui, &hand.drawn.histograms, &hand.drawn.lanes.names);
        },
    },
    Entry {
        figure: Figure::Outcomes,
        name: "Outcomes",
        meaning: "What became of every frame and every refresh",
        least: PLACE,
        show: |hand, ui| figures::outcomes(ui, &hand.drawn.outcomes, &hand.drawn.lanes.names),
    },
    Entry {
        figure: Figure::SliceCurve,
        name: "Slice count",
        meaning: "The candidate's latency against its slice count, with a handle to change it",
        least: PLACE,
        show: |hand, ui| hand.slice_curve(ui),
    },
    Entry {
        figure: Figure::Ledger,
        name: "Exposed time",
        meaning: "Where the time from pose to photon goes, piece by piece, against what is allowed",
        least: PLACE,
        show: |hand, ui| hand.ledger(ui),
    },
    Entry {
        figure: Figure::Fronts,
        name: "Fronts",
        meaning: "How the picture of the frame in the lanes moves through the stages, slice by slice",
        least: PLACE,
        show: |hand, ui| hand.fronts(ui),
    },
    Entry {
        figure: Figure::LeftOver,
        name: "Late correction",
        meaning: "Rotation and parallax that are left over, and the guard band, against the wearer's motion",
        least: PLACE,
        show: |hand, ui| {
            hand.views.left_over.show(ui, &hand.drawn.left_over, &hand.drawn.lanes.names);
        },
    },
    Entry {
        figure: Figure::Eye,
        name: "Eye's field",
        meaning: "The density of the coded picture over one eye's field, and what it asks of the codec",
        least: PLACE,
        show: |hand, ui| {
            hand.views.eye.show(ui, &hand.drawn.eyes, &hand.drawn.lanes.names);
        },
    },
];

impl Figure {
    /// Its entry.
    pub(super) const fn entry(self) -> &'static Entry {
        const LIST: &[Entry] = &ALL;
        &LIST[self as usize]
    }
}

impl Entry {
    /// The figure.
    pub(super) const fn figure(&self) -> Figure {
        self.figure
    }
}

/// All that drawing a figure needs.
pub(super) struct Hand<'a> {
    pub(super) state: &'a State,
    pub(super) drawn: &'a Drawn,
    /// The answers that the figures were made of, for what is looked up in them.
    pub(super) answers: [&'a Answer; 2],
    pub(super) curve: &'a Curve,
    pub(super) views: &'a mut Views,
    pub(super) commands: &'a mut Vec<Command>,
}

impl Hand<'_> {
    /// Draws a figure over the space there is; where that is too little for it, it scrolls.
    pub(super) fn draw(&mut self, ui: &mut Ui, figure: Figure) {
        let entry = figure.entry();
        let space = ui.available_size();
        if space.x >= entry.least.x && space.y >= entry.least.y {
            (entry.show)(self, ui);
            return;
        }
        ScrollArea::both().auto_shrink(false).show(ui, |ui| {
            ui.allocate_ui(space.max(entry.least), |ui| (entry.show)(self, ui));
        });
    }

    fn lanes(&mut self, ui: &mut Ui) {
        if let Some(lane) = self.views.lanes.show(ui, &self.drawn.lanes, self.answers).clicked {
            self.commands.push(Command::Reveal(stage_of(lane).name().to_owned()));
        }
    }

    fn ledger(&mut self, ui: &mut Ui) {
        if let Some(lane) = figures::ledger(ui, &self.drawn.ledger, &self.drawn.lanes.names) {
            self.commands.push(Command::Reveal(stage_of(lane).name().to_owned()));
        }
    }

    /// The fronts of the frame that the lanes look at.
    fn fronts(&self, ui: &mut Ui) {
        let frame = self.views.lanes.frame(&self.drawn.lanes);
        figures::fronts(ui, &Fronts::of(self.answers, frame), &self.drawn.lanes.names);
    }

    fn slice_curve(&mut self, ui: &mut Ui) {
        let scenario = &self.state.pair.candidate.scenario;
        let most = scenario.block_rows().min(MOST_SLICES);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_stands_at_its_place_in_the_list() {
        for (place, entry) in ALL.iter().enumerate() {
            assert_eq!(entry.figure as usize, place, "{}", entry.name);
            assert_eq!(entry.figure.entry().name, entry.name);
        }
    }
}
