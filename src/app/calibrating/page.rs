//! The page: what is open, its parts, what is asked, and what is under way.

use eframe::egui::{
    Align, Button, ComboBox, Frame, Label, Layout, Margin, ProgressBar, RichText, Role as Kind, ScrollArea, Ui,
    WidgetInfo,
};

use super::act::{Ask, BenchPurpose};
use super::{Base, Calibrating, Tab};
use crate::app::App;
use crate::app::command::{Command, Purpose};
use crate::app::menu::{close_menus, recent};
use crate::app::theme::{self, Palette};
use crate::calibrate::Samples;
use crate::report::figures::Side;
use crate::report::format;

/// Width of the bar that shows how far work is \[pt\].
const PROGRESS: f32 = 130.0;
/// What the page is for, before a file is open.
const PROMISE: &str = "Open a table of what a bench has measured, a row a frame or a row a slice: .csv with any separator and any \
    order of columns. Framelap proposes what the columns stand for, fits what each stage costs and how it is spread, runs the \
    scenario that follows, and holds it against what was measured. Nothing leaves this computer.";

impl App {
    /// Lays the page out over the space there is.
    pub(in crate::app) fn bench_page(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let pair = Side::BOTH.map(|side| self.state.pair.of(side).scenario.clone());
        let current = self.calibrating.current([&pair[0], &pair[1]]);
        let bench = &mut self.calibrating;
        let mut asks = Vec::new();
        let palette = Palette::current(ui);
        let frame = Frame::new().fill(palette.sheet).inner_margin(Margin::symmetric(14, 10));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            head(ui, bench, &mut asks);
            if let Some(problem) = &bench.problem {
                ui.add(Label::new(RichText::new(problem).color(palette.bad)).wrap());
            }
            if bench.opened.is_none() {
                intro(ui, bench, &self.state.bench.recent, &mut asks, commands);
                return;
            }
            tabs(ui, bench, current, &mut asks);
            options(ui, bench, &mut asks);
            ui.separator();
            match bench.tab {
                Tab::Columns => bench.columns(ui, &mut asks, commands),
                Tab::Fit => bench.fitted(ui, &mut asks),
                Tab::Compare => bench.compared(ui, &mut asks),
                Tab::Scenario => bench.taken(ui, [&pair[0], &pair[1]], &mut asks, commands),
            }
        });
        commands.extend(asks.into_iter().map(Command::Bench));
    }

    /// The lines of the menu.
    pub(in crate::app) fn bench_items(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let mut item = |ui: &mut Ui, name: &str, command: Command, hint: &str| {
            if ui.button(name).on_hover_text(hint).clicked() {
                commands.push(command);
                close_menus(ui.ctx());
            }
        };
        item(
            ui,
            "Calibrate from measurements",
            Command::Bench(Ask::Show),
            "Shows the page that fits a scenario to measured times",
        );
        item(ui, "Open measurements…", Command::Bench(Ask::Open), "Picks the file to fit to, and shows that page");
        let read = |path| Command::Bench(Ask::Read(path));
        recent(ui, "Recent measurements", &self.state.bench.recent, read, commands);
    }
}

/// What is open, and the way back.
fn head(ui: &mut Ui, bench: &Calibrating, asks: &mut Vec<Ask>) {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ui.label(RichText::new("Calibrate").font(theme::title()).strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.button("Back to the figures").clicked() {
                asks.push(Ask::Leave);
            }
            if bench.opened.is_some() && ui.button("Open another…").clicked() {
                asks.push(Ask::Open);
            }
            if bench.opened.is_none() {
                under_way(ui, bench, asks);
            }
            let text = bench.opened.as_ref().map_or_else(String::new, |opened| {
                let name = opened.path.file_name().unwrap_or_default().to_string_lossy();
                let rows = format::of(opened.sheet.rows as u64, "row");
                format!("{name}: {rows}, {}", format::of(opened.sheet.columns.len() as u64, "column"))
            });
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let label = ui.add(Label::new(RichText::new(text).color(palette.soft)).truncate());
                if let Some(opened) = &bench.opened {
                    label.on_hover_text(opened.path.display().to_string());
                }
            });
        });
    });
}

/// What is under way, how far it is, and the button that ends it.
fn under_way(ui: &mut Ui, bench: &Calibrating, asks: &mut Vec<Ask>) {
    let Some(job) = &bench.job else { return };
    if ui.button("Cancel").on_hover_text("Give up what is under way (Escape)").clicked() {
        asks.push(Ask::Cancel);
    }
    let (told, share) = job.progress();
    let bar = ProgressBar::new(share.unwrap_or(0.0) as f32).desired_width(PROGRESS).desired_height(10.0);
    let response = ui.add(bar);
    response.widget_info(|| WidgetInfo::labeled(Kind::ProgressIndicator, true, told.clone()));
    ui.label(RichText::new(&told).font(theme::small()));
}

/// The parts of the page, and the button that fits.
fn tabs(ui: &mut Ui, bench: &Calibrating, current: bool, asks: &mut Vec<Ask>) {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        for tab in Tab::ALL {
            let there = tab == Tab::Columns || bench.found.is_some();
            let label = ui.add_enabled(there, Button::selectable(bench.tab == tab, tab.name()));
            let label = label.on_disabled_hover_text("Nothing is fitted yet");
            if label.on_hover_text(tab.meaning()).clicked() {
                asks.push(Ask::Turn(tab));
            }
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if bench.running() {
                under_way(ui, bench, asks);
                return;
            }
            let name = if bench.found.is_some() { "Fit again" } else { "Fit" };
            if ui.add(Button::new(RichText::new(name).strong())).clicked() {
                asks.push(Ask::Fit);
            }
            if bench.found.is_some() && !current {
                ui.label(RichText::new("of before a change").font(theme::small()).color(palette.ink));
            } else if let Some(saved) = &bench.saved {
                ui.label(RichText::new(saved).font(theme::small()).color(palette.soft));
            }
        });
    });
}

/// How it is to be fitted.
fn options(ui: &mut Ui, bench: &mut Calibrating, asks: &mut Vec<Ask>) {
    ui.horizontal_wrapped(|ui| {
        let mut hold_out = bench.hold_out;
        let meaning = "Fit on the first half of every run and judge on the second: whether the fit holds for frames it has not \
                       seen";
        if theme::outlined(ui, |ui| ui.checkbox(&mut hold_out, "Hold out the second half")).on_hover_text(meaning).changed() {
            asks.push(Ask::HoldOut(hold_out));
        }
        ui.add_space(10.0);
        ui.label("Spread:");
        let name = samples_name(bench.samples);
        let combo = ComboBox::from_id_salt("samples").selected_text(name).show_ui(ui, |ui| {
            for samples in [Samples::WhereNoLawFits, Samples::Always, Samples::Never] {
                if ui.selectable_label(bench.samples == samples, samples_name(samples)).clicked() {
                    asks.push(Ask::Samples(samples));
                }
            }
        });
        combo.response.widget_info(|| WidgetInfo::labeled(Kind::ComboBox, true, format!("Spread: {name}")));
        ui.add_space(10.0);
        ui.label("Not measured, from");
        let base = bench.base.unwrap_or(Base::Of(Side::Candidate));
        let combo = ComboBox::from_id_salt("base").selected_text(base.name()).show_ui(ui, |ui| {
            for other in Base::ALL {
                if ui.selectable_label(base == other, other.name()).clicked() {
                    asks.push(Ask::Base(other));
                }
            }
        });
        let told = format!("What was not measured comes from {}", base.name());
        combo.response.widget_info(|| WidgetInfo::labeled(Kind::ComboBox, true, told.clone()));
    });
}

const fn samples_name(samples: Samples) -> &'static str {
    match samples {
        Samples::WhereNoLawFits => "a law where one fits, else samples",
        Samples::Always => "samples as measured",
        Samples::Never => "always the best law",
    }
}

/// What stands where no file is open.
fn intro(
    ui: &mut Ui,
    bench: &Calibrating,
    recent: &[std::path::PathBuf],
    asks: &mut Vec<Ask>,
    commands: &mut Vec<Command>,
) {
    ui.add_space(12.0);
    ui.scope(|ui| {
        ui.set_max_width(620.0);
        ui.add(Label::new(PROMISE).wrap());
    });
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        let free = !bench.running();
        if ui.add_enabled(free, Button::new("Open measurements…")).clicked() {
            asks.push(Ask::Open);
        }
        if ui.add_enabled(free, Button::new("Type its path…")).clicked() {
            commands.push(Command::TypePath(Purpose::Bench(BenchPurpose::Open)));
        }
        ui.weak("or drop the file on the window");
    });
    if recent.is_empty() {
        return;
    }
    ui.add_space(10.0);
    ui.label(RichText::new("Opened before").strong());
    ScrollArea::vertical().id_salt("recent measurements").show(ui, |ui| {
        for path in recent {
            if ui.link(path.display().to_string()).clicked() {
                asks.push(Ask::Read(path.clone()));
            }
        }
    });
}
