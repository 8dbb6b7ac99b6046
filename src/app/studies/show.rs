//! A study in its place: what it is asked, how it stands, what it found, and what is taken from it.

use eframe::egui::Ui;

use super::{Kind, Picture, Standing};
use crate::app::command::Command;
use crate::app::figures::{self, Press};
use crate::app::gallery::Hand;
use crate::scenario::parameters::Value;
use crate::study::what_if::LinkKind;

impl Hand<'_> {
    /// Draws a study over the space there is.
    pub(in crate::app) fn study(&mut self, ui: &mut Ui, kind: Kind) {
        let Self { state, studies, views, .. } = self;
        let standing = studies.standing(kind, &state.pair);
        let running = matches!(standing, Standing::Running(_));
        let desk = figures::Desk {
            name: kind.name(),
            kind,
            setup: studies.setup(kind),
            standing,
            scenario: &state.pair.candidate.scenario,
            bare: views.presented,
            told: studies.picture(kind).map_or_else(String::new, Picture::told),
        };
        let pressed = figures::desk(ui, &desk).map(|press| match press {
            Press::Run => Command::Study(kind),
            Press::Cancel => Command::CancelStudy,
            Press::SetUp(setup) => Command::SetUpStudy(kind, setup),
        });
        let taken = if let Some(picture) = studies.picture(kind) {
            self.found(ui, kind, picture)
        } else {
            let next = if running { "Its answer stands here when it is done." } else { "Press Run." };
            figures::nothing(ui, &format!("{} {next}", kind.promise()));
            None
        };
        self.commands.extend(pressed.into_iter().chain(taken));
    }

    fn found(&mut self, ui: &mut Ui, kind: Kind, picture: &Picture) -> Option<Command> {
        let candidate = &self.state.pair.candidate.scenario;
        match picture {
            Picture::Comparison(found) => {
                figures::comparison(ui, found, &mut self.views.studies);
                None
            }
            Picture::Sweep(chart) => figures::sweep(ui, chart, candidate)
                .map(|at| Command::TakeValues(vec![(&chart.parameter.path, chart.values[at].clone())])),
            Picture::Map(grid) => figures::map(ui, grid, candidate).map(|cell| {
                let value = |axis: usize| (grid.parameters[axis].path.as_str(), grid.values[axis][cell[axis]].clone());
                Command::TakeValues(vec![value(0), value(1)])
            }),
            Picture::Sensitivity(found) => figures::sensitivity(ui, found).map(|path| Command::Reveal(path.to_owned())),
            Picture::Search(trail) => figures::search(ui, trail).map(|trial| Command::TakeValues(trail.values(trial))),
            Picture::Split(found) => figures::split(ui, found).then(|| Command::TakeValues(allowances(found))),
            Picture::WhatIf(found) => {
                let row = &found.rows[figures::what_if(ui, found, self.studies.setup(kind).measure)?];
                let scenario = LinkKind::find(row.link)?.put(candidate, row.jitter);
                Some(Command::TakeScenario(Box::new(scenario)))
            }
        }
    }
}

/// What every team may take on average, as the candidate's allowances.
fn allowances(found: &crate::study::split::Split) -> Vec<(&'static str, Value)> {
    let of = |share: &crate::study::split::Share| {
        let path = format!("budget.pieces.{}_ms", share.team);
        let parameter = crate::scenario::parameters::find(&path)?;
        // Hundredths are as fine as anyone allows.
        let ms = (share.may_take_mean_ms? * 100.0).round() / 100.0;
        Some((parameter.path.as_str(), Value::Number(ms)))
    };
    found.shares.iter().filter_map(of).collect()
}
