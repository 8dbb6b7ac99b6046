//! The gallery: every figure that a place of the page can show, in one list.

mod data;
mod hand;

use eframe::egui::{Ui, Vec2, vec2};
use serde::{Deserialize, Serialize};

pub(super) use data::Data;
pub(super) use hand::Hand;

use super::figures;
use super::studies::Kind;
use crate::report::figures::distribution;
use crate::report::figures::fronts::Fronts;
use crate::report::figures::table::Table;

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
    /// Every frame and refresh over the run.
    Run,
    /// The share of late frames against the lead.
    Lead,
    /// Loads and headroom.
    Loads,
    /// The answer: gain, interval, budget.
    Verdict,
    /// Baseline against candidate over several seeds.
    Comparison,
    /// A measure against a parameter.
    Sweep,
    /// A measure over two parameters.
    Map,
    /// What a tenth of every parameter does.
    Sensitivity,
    /// The best scenario under limits.
    Search,
    /// A target split among the pieces.
    Split,
    /// The same design over other links.
    WhatIf,
}

/// What the page knows of a figure.
pub(super) struct Entry {
    figure: Figure,
    /// What it is called in lists.
    pub(super) name: &'static str,
    /// What it is called in commands.
    pub(super) slug: &'static str,
    /// What it tells, in a sentence.
    pub(super) meaning: &'static str,
    /// Room that it needs within its sheet \[pt\].
    pub(super) least: Vec2,
    shown: Shown,
}

/// What is shown in a figure: how it is drawn, and its data.
enum Shown {
    /// Both answers.
    Answers { show: fn(&mut Hand<'_>, &mut Ui), table: fn(&Data<'_>) -> Table },
    /// A study.
    Study(Kind),
}

/// Room that every place of the row has within its sheet \[pt\].
pub(super) const PLACE: Vec2 = vec2(272.0, 224.0);
/// Room for lanes that can be read \[pt\].
pub(super) const LANES: Vec2 = vec2(600.0, 328.0);
/// Room for a study with what it is asked \[pt\].
pub(super) const STUDY: Vec2 = vec2(600.0, 330.0);

/// Every figure, in the order of the list to choose from.
pub(super) const ALL: [Entry; 19] = [
    Entry {
        figure: Figure::Lanes,
        name: "Lanes",
        slug: "lanes",
        meaning: "One frame's way through the pipeline, slice by slice",
        least: LANES,
        shown: Shown::Answers { show: |hand, ui| hand.lanes(ui), table: |data| data.lanes() },
    },
    Entry {
        figure: Figure::Distribution,
        name: "Distribution",
        slug: "distribution",
        meaning: "How latencies and photon ages are spread, with the budget",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| {
                hand.views.distribution.show(ui, &hand.drawn.histograms, &hand.drawn.lanes.names);
            },
            table: |data| distribution::table(&data.drawn.histograms),
        },
    },
    Entry {
        figure: Figure::Outcomes,
        name: "Outcomes",
        slug: "outcomes",
        meaning: "What became of every frame and every refresh",
        least: PLACE,
        shown: Shown::Answers { show: |hand, ui| hand.outcomes(ui), table: |data| data.drawn.outcomes.table() },
    },
    Entry {
        figure: Figure::SliceCurve,
        name: "Slice count",
        slug: "slice-count",
        meaning: "The candidate's latency against its slice count, with a handle to change it",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| hand.slice_curve(ui),
            table: |data| data.curve.table(data.answers[1].scenario.slices.count),
        },
    },
    Entry {
        figure: Figure::Ledger,
        name: "Exposed time",
        slug: "exposed-time",
        meaning: "Where the time from pose to photon goes, piece by piece, against what is allowed",
        least: PLACE,
        shown: Shown::Answers { show: |hand, ui| hand.ledger(ui), table: |data| data.drawn.ledger.table() },
    },
    Entry {
        figure: Figure::Fronts,
        name: "Fronts",
        slug: "fronts",
        meaning: "How the picture of the frame in the lanes moves through the stages, slice by slice",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| hand.fronts(ui),
            table: |data| Fronts::of(data.answers, data.frame).table(),
        },
    },
    Entry {
        figure: Figure::LeftOver,
        name: "Late correction",
        slug: "late-correction",
        meaning: "Rotation and parallax that are left over, and the guard band, against the wearer's motion",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| {
                hand.views.left_over.show(ui, &hand.drawn.left_over, &hand.drawn.lanes.names);
            },
            table: |data| data.drawn.left_over.table(),
        },
    },
    Entry {
        figure: Figure::Eye,
        name: "Eye's field",
        slug: "eyes-field",
        meaning: "The density of the coded picture over one eye's field, and what it asks of the codec",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| {
                hand.eye(ui);
            },
            table: |data| data.drawn.eyes.table(),
        },
    },
    Entry {
        figure: Figure::Run,
        slug: "the-run",
        name: "The run",
        meaning: "Every frame's latency and every refresh over the whole run; a click brings a frame into the lanes",
        least: PLACE,
        shown: Shown::Answers { show: |hand, ui| hand.run(ui), table: |data| data.drawn.strips.table() },
    },
    Entry {
        figure: Figure::Lead,
        slug: "late-share",
        name: "Late share",
        meaning: "How many frames would be late at another lead, and where Newest and OnTarget differ",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| {
                figures::late_share(ui, &hand.drawn.late_shares, &hand.drawn.lanes.names);
            },
            table: |data| data.drawn.late_shares.table(),
        },
    },
    Entry {
        figure: Figure::Loads,
        slug: "loads-and-headroom",
        name: "Loads and headroom",
        meaning: "What every server is asked to do against what it can, and how much later frames might be ready",
        least: PLACE,
        shown: Shown::Answers { show: |hand, ui| hand.loads(ui), table: |data| data.drawn.loads.table() },
    },
    Entry {
        figure: Figure::Verdict,
        name: "Verdict",
        slug: "verdict",
        meaning: "The gain with its interval, and the budget line by line",
        least: PLACE,
        shown: Shown::Answers {
            show: |hand, ui| {
                figures::answer(ui, &hand.drawn.verdict);
            },
            table: |data| data.verdict(),
        },
    },
    study(
        Figure::Comparison,
        Kind::Comparison,
        "comparison",
        "Every measure of baseline and candidate over several seeds, with intervals and a verdict in words",
    ),
    study(
        Figure::Sweep,
        Kind::Sweep,
        "sweep",
        "A measure against any parameter, for candidate and baseline; a click takes a value",
    ),
    study(
        Figure::Map,
        Kind::Map,
        "map",
        "A measure over two parameters, with the borders of budget, baseline and servers; a click takes both values",
    ),
    study(
        Figure::Sensitivity,
        Kind::Sensitivity,
        "sensitivity",
        "Which millisecond is worth buying: what a tenth of every parameter does to a measure, ranked",
    ),
    study(
        Figure::Search,
        Kind::Search,
        "search",
        "The best scenario within the budget when some parameters are free, and the way to it",
    ),
    study(
        Figure::Split,
        Kind::Split,
        "budget-split",
        "What every piece may take so that a target is met, and what it takes",
    ),
    study(Figure::WhatIf, Kind::WhatIf, "what-if", "The candidate over other links and more or less jitter"),
];

const fn study(figure: Figure, kind: Kind, slug: &'static str, meaning: &'static str) -> Entry {
    Entry { figure, name: kind.name(), slug, meaning, least: STUDY, shown: Shown::Study(kind) }
}

impl Figure {
    /// Its entry.
    pub(super) const fn entry(self) -> &'static Entry {
        const LIST: &[Entry] = &ALL;
        &LIST[self as usize]
    }

    /// The study that it shows, if it is one.
    pub(super) const fn study(self) -> Option<Kind> {
        match self.entry().shown {
            Shown::Study(kind) => Some(kind),
            Shown::Answers { .. } => None,
        }
    }
}

impl Entry {
    /// The figure.
    pub(super) const fn figure(&self) -> Figure {
        self.figure
    }

    fn show(&self, hand: &mut Hand<'_>, ui: &mut Ui) {
        match self.shown {
            Shown::Answers { show, .. } => show(hand, ui),
            Shown::Study(kind) => hand.study(ui, kind),
        }
    }

    /// Its data.
    pub(super) fn table(&self, data: &Data<'_>) -> Table {
        match self.shown {
            Shown::Answers { table, .. } => table(data),
            Shown::Study(kind) => data.study(kind),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::{Exhibit, Given, Kind};
    use crate::report::figures::Side;
    use crate::report::figures::table::Cell;

    #[test]
    fn every_figure_stands_at_its_place_in_the_list() {
        for (place, entry) in ALL.iter().enumerate() {
            assert_eq!(entry.figure as usize, place, "{}", entry.name);
            assert_eq!(entry.figure.entry().name, entry.name);
            let slug = entry.name.to_lowercase().replace(' ', "-").replace('\'', "");
            assert_eq!(entry.slug, slug, "commands call a figure as the page does");
        }
    }

    #[test]
    fn every_figure_has_a_table_with_numbers_of_both_designs() {
        for kind in Kind::all() {
            let [baseline, candidate] = Side::BOTH.map(|side| {
                let mut given = Given::start(side);
                given.scenario_mut().run.frames = 300;
                given.scenario_mut().run.warmup = 60;
                // Short runs of content that drifts may look as if latency grew.
                given.scenario_mut().content.cv = 0.0;
                given
            });
            let table = Exhibit::new(kind, baseline, candidate).table();
            assert!(table.rows.len() > 3, "{}: {} rows", kind.slug(), table.rows.len());
            assert_eq!(table.title, kind.0.entry().name);
            let mut names = table.columns.to_vec();
            names.sort_unstable();
            names.dedup();
            assert_eq!(names.len(), table.columns.len(), "{}", kind.slug());
            for (place, row) in table.rows.iter().enumerate() {
                assert_eq!(row.len(), table.columns.len(), "{}, row {place}", kind.slug());
                assert!(row.iter().any(|cell| *cell != Cell::None), "{}, row {place} is empty", kind.slug());
            }
            let number = |cell: &Cell| matches!(cell, Cell::Whole(_) | Cell::Float(_));
            let numbers = table.rows.iter().filter(|row| row.iter().any(number)).count();
            assert!(numbers + 3 >= table.rows.len(), "{}: {numbers} rows with numbers", kind.slug());
        }
    }
}
