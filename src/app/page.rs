//! The layout of the page: bar on top, parameters at the left, verdict, lanes and the row of figures in the middle.

use eframe::egui::containers::menu::MenuButton;
use eframe::egui::{
    Align, Button, CentralPanel, Color32, Context, Frame, Label, Layout, Margin, MenuBar, Panel, RichText, Ui, vec2,
};

use super::answers::{Freshness, Problem};
use super::command::Command;
use super::pair::{self, Origin};
use super::theme::{self, Palette};
use super::worker::SHORT_FRAMES;
use super::{App, brief, column};
use crate::report::figures::Side;
use crate::report::format;
use crate::report::words::capital;

/// Width of the parameter column \[pt\].
pub(super) const COLUMN: f32 = 320.0;
/// Width of a side's name in the column \[pt\].
const SIDE_NAME: f32 = 70.0;
/// What stands between the titles of candidate and baseline.
const AGAINST: &str = " against ";
/// Room around what the bar and the page hold \[pt\].
pub(super) const GAP: f32 = 8.0;

impl App {
    /// Lays out the whole window.
    pub(super) fn lay_out(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        self.escape(ui, commands);
        Panel::top("bar").resizable(false).show(ui, |ui| self.bar(ui, commands));
        if self.message.is_some() {
            Panel::top("message").resizable(false).show(ui, |ui| self.message_line(ui, commands));
        }
        if self.shows_parameters(ui.ctx()) {
            let column = Panel::left("parameters").resizable(false).exact_size(COLUMN);
            column.show(ui, |ui| self.parameters(ui, commands));
        }
        self.show_talk_panel(ui, commands);
        let ground = Palette::current(ui).paper;
        let frame = Frame::new().fill(ground).inner_margin(Margin::same(GAP as i8));
        CentralPanel::default().frame(frame).show(ui, |ui| {
            if let Some(problem) = &self.answers.problem {
                problem_line(ui, problem, commands);
            }
            if self.calibrating.shown() {
                self.bench_page(ui, commands);
            } else {
                self.sheets(ui, commands);
            }
        });
        let ctx = ui.ctx().clone();
        self.dialogs(&ctx, commands);
    }

    /// Whether the parameter column is seen.
    pub(super) fn shows_parameters(&self, ctx: &Context) -> bool {
        self.state.parameters && !self.calibrating.shown() && !self.steps_for_parameters(ctx)
    }

    fn bar(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        MenuBar::new().ui(ui, |ui| {
            self.menus(ui, commands);
            ui.add_space(GAP);
            let toggle = ui.selectable_label(self.shows_parameters(ui.ctx()), "Parameters");
            if toggle.on_hover_text("Show or hide the parameter column").clicked() {
                commands.push(Command::ToggleParameters);
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                self.freshness(ui);
                ui.separator();
                if let Some(notice) = self.outbox.notice() {
                    ui.label(notice.as_ref());
                    ui.separator();
                }
                let origins = Side::BOTH.map(|side| self.origin_of(side)).join("\n");
                let titles = [Side::Candidate, Side::Baseline].map(|side| self.title_of(side));
                let width = |text: &str| width(ui, text);
                let room = ui.available_width() - width(AGAINST);
                let text = brief::both(&titles, room, width).join(AGAINST);
                ui.add(Label::new(text).truncate()).on_hover_text(origins);
            });
        });
    }

    /// How true the figures are, in words.
    fn freshness(&self, ui: &mut Ui) {
        let palette = Palette::current(ui);
        let freshness = self.answers.freshness();
        let doubt = freshness.doubt().unwrap_or_default();
        let (text, color) = match freshness {
            Freshness::Current => {
                let run = &self.state.pair.candidate.scenario.run;
                let progress = self.answers.curve_progress();
                let curve = progress.map(|(come, all)| format!(", slice-count curve {come} of {all}"));
                let frames = format::count(u64::from(run.frames));
                (format!("{frames} frames, seed {}{}", run.seed, curve.unwrap_or_default()), palette.soft)
            }
            Freshness::Short => {
                (format!("{doubt}: first {} frames", format::count(u64::from(SHORT_FRAMES))), palette.soft)
            }
            Freshness::Stale => (doubt.to_owned(), palette.soft),
            Freshness::Refused => (doubt.to_owned(), palette.bad),
        };
        let label = ui.label(RichText::new(text).color(color));
        if freshness == Freshness::Short {
            label.on_hover_text(
                "All figures are of the first frames, until the whole run is computed. Differences between the designs keep, \
                 since both meet the same luck; times may shift by a millisecond or so, since content changes slowly.",
            );
        }
    }

    /// The title of a side, with an asterisk where it has changes that are not saved.
    pub(super) fn title_of(&self, side: Side) -> String {
        let document = self.state.pair.of(side);
        let mark = if self.saved.differs(document) { "*" } else { "" };
        format!("{}{mark}", document.title())
    }

    /// Where a side came from, and whether it is saved.
    pub(super) fn origin_of(&self, side: Side) -> String {
        let document = self.state.pair.of(side);
        let origin = match &document.origin {
            Origin::Start => "the program's start".to_owned(),
            Origin::Preset(name) => format!("preset {name}"),
            Origin::File(path) => path.display().to_string(),
            Origin::Own(path) => format!("preset of your own, {}", path.display()),
            Origin::Elsewhere => "the command line".to_owned(),
        };
        let changed = if self.saved.differs(document) { ", changed and not saved" } else { "" };
        format!("{}: {}, from {origin}{changed}", capital(pair::name(side)), document.title())
    }

    /// The parameter column.
    fn parameters(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        Frame::new().inner_margin(column::BESIDE_SCROLL_BAR).show(ui, |ui| {
            ui.add_space(4.0);
            for side in [Side::Candidate, Side::Baseline] {
                self.side_line(ui, side, commands);
            }
            ui.horizontal(|ui| {
                let mut button = |name: &str, meaning: &str, command: Command| {
                    if ui.button(RichText::new(name).small()).on_hover_text(meaning).clicked() {
                        commands.push(command);
                    }
                };
                button("Swap", "Candidate becomes baseline, baseline becomes candidate", Command::Swap);
                button("Keep as baseline", "The baseline becomes what the candidate is", Command::CandidateToBaseline);
                button("Back to baseline", "The candidate becomes what the baseline is", Command::BaselineToCandidate);
            });
            ui.separator();
        });
        let Self { column, state, answers, .. } = self;
        column.show(ui, &state.pair, (state.edited, &answers.leads()), answers.problem.as_ref(), commands);
    }

    /// A side's name and the scenario it holds; pressed, it offers the presets.
    fn side_line(&self, ui: &mut Ui, side: Side, commands: &mut Vec<Command>) {
        ui.horizontal(|ui| {
            let name = capital(pair::name(side));
            let (_, rect) = ui.allocate_space(vec2(SIDE_NAME, ui.spacing().interact_size.y));
            ui.put(rect, Label::new(&name).halign(Align::LEFT));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let width = ui.available_width();
                let other = Side::BOTH[1 - side.index()];
                let [title, other] = [side, other].map(|side| self.title_of(side));
                let room = width - 2.0 * ui.spacing().button_padding.x;
                let title = brief::fitting(&title, &other, room, |text| self::width(ui, text));
                let title = RichText::new(title).strong();
                let button = Button::new(title).truncate().min_size(vec2(width, 0.0));
                let (response, _) = MenuButton::from_button(button).ui(ui, |ui| self.presets_for(ui, side, commands));
                response.on_hover_text(format!("{}\nPress to start from a preset or a file.", self.origin_of(side)));
            });
        });
    }
}

/// Width of a line of running text \[pt\].
fn width(ui: &Ui, text: &str) -> f32 {
    ui.painter().layout_no_wrap(text.to_owned(), theme::text(), Color32::PLACEHOLDER).size().x
}

/// Why nothing is computed, with a way to the parameter at fault.
fn problem_line(ui: &mut Ui, problem: &Problem, commands: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        let color = Palette::current(ui).bad;
        let text = format!("The {} cannot be simulated. {}", pair::name(problem.side), problem.text);
        ui.label(RichText::new(text).color(color));
        if ui.small_button("Show it").clicked() {
            commands.push(Command::Reveal(problem.path.clone()));
        }
    });
}
