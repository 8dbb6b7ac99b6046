//! What the scenario takes from the fit, where it goes, and the measured frames run as they were.

use eframe::egui::{Button, Grid, Label, RichText, ScrollArea, Ui};

use super::act::{Ask, BenchPurpose};
use super::{Base, Calibrating, Found};
use crate::app::command::{Command, Purpose};
use crate::app::theme::{self, Palette};
use crate::calibrate::Replayed;
use crate::report::calibration::{CAUTION, pixels_kept};
use crate::report::figures::Side;
use crate::report::format;
use crate::report::words::capital;
use crate::scenario::{Scenario, parameters};

/// Letters of a value that are shown.
const LETTERS: usize = 44;

impl Calibrating {
    /// Lays it out over the space there is.
    pub(super) fn taken(&self, ui: &mut Ui, pair: [&Scenario; 2], asks: &mut Vec<Ask>, commands: &mut Vec<Command>) {
        let Some(found) = &self.found else { return };
        let adopted = &found.whole.adopted;
        ui.horizontal_wrapped(|ui| {
            for side in [Side::Candidate, Side::Baseline] {
                let (name, is) = match side {
                    Side::Candidate => ("Take as candidate", "It is the candidate now; undo takes that back."),
                    Side::Baseline => ("Take as baseline", "It is the baseline now; undo takes that back."),
                };
                let there = *pair[side.index()] == adopted.scenario;
                if ui
                    .add_enabled(!there, Button::new(RichText::new(name).strong()))
                    .on_disabled_hover_text(is)
                    .clicked()
                {
                    asks.push(Ask::Adopt(side));
                }
                if there {
                    ui.label(RichText::new(is).font(theme::small()).color(Palette::current(ui).soft));
                }
            }
            ui.add_space(8.0);
            save(ui, "Save scenario", BenchPurpose::SaveScenario, None, commands);
            let few = found.whole.replay.is_none().then_some(TOO_FEW);
            save(ui, "Save measured frames", BenchPurpose::SaveWork, few, commands);
        });
        ScrollArea::both().id_salt("taken").auto_shrink(false).show(ui, |ui| {
            because(ui, &adopted.because);
            replay(ui, found);
            ui.add_space(10.0);
            self.changes(ui, found);
        });
    }

    fn changes(&self, ui: &mut Ui, found: &Found) {
        let palette = Palette::current(ui);
        let adopted = &found.whole.adopted;
        ui.label(RichText::new("What the scenario takes from this").strong());
        for cut in &adopted.cut {
            ui.label(RichText::new(format!("Cut: {cut}")).font(theme::small()).color(palette.ink));
        }
        if let Some(note) = pixels_kept(&found.question.mapping) {
            ui.add(Label::new(RichText::new(note).font(theme::small()).color(palette.ink)).wrap());
        }
        let base = self.base.unwrap_or(Base::Of(Side::Candidate)).name();
        let moved: Vec<&parameters::Parameter> = parameters::all()
            .iter()
            .filter(|parameter| parameter.stage != parameters::Stage::About)
            .filter(|parameter| parameter.get(&found.question.base) != parameter.get(&adopted.scenario))
            .collect();
        if moved.is_empty() {
            ui.label("Nothing: it is what was there before.");
            return;
        }
        Grid::new("changes").num_columns(3).striped(true).spacing([20.0, 3.0]).show(ui, |ui| {
            for head in ["Parameter", capital(base).as_str(), "Measured"] {
                ui.label(RichText::new(head).font(theme::small()).color(palette.soft));
            }
            ui.end_row();
            for parameter in moved {
                let label = ui.label(RichText::new(parameter.full_label()).font(theme::small()));
                label.on_hover_text(format!("{}\n{}", parameter.meaning, parameter.path));
                for scenario in [&found.question.base, &adopted.scenario] {
                    let value = parameter.get(scenario);
                    let [brief, exact] = [parameters::Parameter::brief, parameters::Parameter::format]
                        .map(|told| value.as_ref().map_or_else(|| "–".to_owned(), |value| told(parameter, value)));
                    let label = ui.label(RichText::new(shortened(&brief)).font(theme::small()));
                    label.on_hover_text(shortened_to(&exact, 400));
                }
                ui.end_row();
            }
        });
    }
}

/// What becomes another although nothing was estimated of it, to be read before it is taken.
fn because(ui: &mut Ui, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let palette = Palette::current(ui);
    ui.label(RichText::new("To know before it is taken").strong());
    for line in lines {
        ui.add(Label::new(RichText::new(line).font(theme::small()).color(palette.ink)).wrap());
    }
    ui.add_space(10.0);
}

/// Why measured frames cannot be run.
const TOO_FEW: &str = "Fewer than 10 measured frames have the scenario's slice count";

fn save(ui: &mut Ui, name: &str, purpose: BenchPurpose, why_not: Option<&str>, commands: &mut Vec<Command>) {
    ui.add_enabled_ui(why_not.is_none(), |ui| {
        let menu = ui.menu_button(name, |ui| {
            if purpose == BenchPurpose::SaveWork {
                ui.weak(
                    "A work table in a folder: `framelap simulate SCENARIO --work FOLDER` runs the frames as measured",
                );
            }
            if ui.button("Choose where…").clicked() {
                commands.push(Command::Bench(Ask::Path(purpose)));
                ui.close();
            }
            if ui.button("Type the path…").clicked() {
                commands.push(Command::TypePath(Purpose::Bench(purpose)));
                ui.close();
            }
        });
        menu.response.on_disabled_hover_text(why_not.unwrap_or_default());
    });
}

/// Latency of the measured frames when only causality is simulated, beside that of the scenario.
fn replay(ui: &mut Ui, found: &Found) {
    let palette = Palette::current(ui);
    ui.label(RichText::new("The measured frames run as they were").strong());
    let Some(Replayed { frames, pose_to_photon_ms, turnaround_ms }) = &found.whole.replay else {
        ui.label(format!("{TOO_FEW}, so they cannot be run."));
        return;
    };
    let told = format!(
        "{} measured frames, one after another with the times and sizes they had, against the scenario with times drawn \
         from the fit. Ms; what was not measured is drawn in both.",
        format::count(u64::from(*frames))
    );
    ui.add(Label::new(RichText::new(told).font(theme::small()).color(palette.soft)).wrap());
    Grid::new("replay").num_columns(7).spacing([16.0, 3.0]).show(ui, |ui| {
        for head in ["", "p50", "p95", "p99"] {
            ui.label(RichText::new(head).font(theme::small()).color(palette.soft));
        }
        ui.end_row();
        for (name, both) in [("Pose to photon", pose_to_photon_ms), ("Turnaround", turnaround_ms)] {
            for (which, values) in ["measured frames replayed", "drawn from the fit"].into_iter().zip(both) {
                ui.label(RichText::new(format!("{name}, {which}")).font(theme::small()));
                for value in values {
                    let text = format::with_unit(*value, 2, "");
                    ui.label(RichText::new(text.trim()).font(theme::figures(theme::SMALL)));
                }
                ui.end_row();
            }
        }
    });
    ui.add(Label::new(RichText::new(CAUTION).font(theme::small()).color(palette.soft)).wrap());
}

fn shortened(value: &str) -> String {
    shortened_to(value, LETTERS)
}

fn shortened_to(value: &str, letters: usize) -> String {
    if value.chars().count() <= letters {
        return value.to_owned();
    }
    value.chars().take(letters - 1).chain(['…']).collect()
}
