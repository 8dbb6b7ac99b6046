//! The list of a talk's steps, beside the page, with the caption of the chosen one to be edited.

use eframe::egui::{Align, Button, Context, Layout, Panel, Rangef, Response, RichText, ScrollArea, TextEdit, Ui, vec2};

use super::Act;
use super::desk::InHand;
use super::look;
use super::told::Told;
use crate::app::App;
use crate::app::command::{Command, Purpose};
use crate::app::menu::recent;
use crate::app::page::COLUMN;
use crate::app::theme::{self, Palette};
use crate::report::format::NOTHING;
use crate::talk::{MOST_HEADLINE, MOST_TEXT, Numbers, Part, Step, allowed, unknown};

/// Width of the window from which the page keeps room for its figures beside both the parameters and the steps \[pt\].
const WIDE: f32 = 1240.0;
/// Height of the list before it scrolls, at least and at most, and of all that stands around it \[pt\].
const LIST: Rangef = Rangef { min: 130.0, max: 400.0 };
const OTHERS: f32 = 470.0;
/// Width of the list of numbers, and its height before it scrolls \[pt\].
const NUMBERS: [f32; 2] = [260.0, 300.0];
/// Rows of the field for a text.
const ROWS: usize = 4;

impl App {
    /// Whether the list of steps is seen.
    pub(in crate::app) fn shows_steps(&self) -> bool {
        self.talk.shown && self.presenting.is_none() && !self.calibrating.shown()
    }

    /// Whether the list of steps stands in the place of the parameters, since there is not room for both.
    pub(in crate::app) fn steps_for_parameters(&self, ctx: &Context) -> bool {
        self.shows_steps() && ctx.content_rect().width() < WIDE
    }

    /// The list of steps, where it is wanted: at the right of the page, or in the place of the parameters.
    pub(in crate::app) fn show_talk_panel(&mut self, ui: &mut Ui, commands: &mut Vec<Command>) {
        if !self.shows_steps() {
            return;
        }
        if let Some(in_hand) = &self.state.talk {
            let ctx = ui.ctx().clone();
            self.talk.told.follow(&in_hand.talk, self.worker.is_some(), &ctx);
        }
        let panel = if self.steps_for_parameters(ui.ctx()) { Panel::left("steps") } else { Panel::right("steps") };
        panel.resizable(false).exact_size(COLUMN).show(ui, |ui| {
            ui.add_space(4.0);
            ui.horizontal(|ui| {
                ui.label(RichText::new("Steps of the talk").font(theme::text()).strong());
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    if ui.button("Hide").on_hover_text("Take the list away (Ctrl+T)").clicked() {
                        commands.push(Command::Talk(Act::Panel));
                    }
                });
            });
            let list = (ui.available_height() - OTHERS).clamp(LIST.min, LIST.max);
            let all = ScrollArea::vertical().id_salt("all").auto_shrink(false);
            all.show(ui, |ui| self.talk_panel(ui, list, commands));
        });
    }

    fn talk_panel(&self, ui: &mut Ui, list: f32, commands: &mut Vec<Command>) {
        ui.spacing_mut().item_spacing = vec2(6.0, 5.0);
        let mut act = |act: Act| commands.push(Command::Talk(act));
        let keep = format!("Keep {} as a step", self.figure_in_hand().entry().name);
        let Some(InHand { talk, .. }) = &self.state.talk else {
            ui.label("A talk is a list of steps, each what was on screen, with a caption.");
            if ui.button(keep).clicked() {
                act(Act::Keep);
            }
            return;
        };
        let mut title = talk.title.clone();
        let changed = ui.horizontal(|ui| {
            let label = ui.label("Title");
            let field = TextEdit::singleline(&mut title).char_limit(MOST_HEADLINE).desired_width(f32::INFINITY);
            ui.add(field).labelled_by(label.id).changed()
        });
        if changed.inner {
            act(Act::Title(title));
        }
        let soft = Palette::current(ui).soft;
        ui.label(RichText::new(self.talk_in_words()).small().color(soft));
        let any = !talk.steps.is_empty();
        let chosen = self.talk.chosen;
        ui.horizontal_wrapped(|ui| {
            let mut button = |name: &str, enabled: bool, done: Act| {
                if ui.add_enabled(enabled, Button::new(name)).clicked() {
                    act(done);
                }
            };
            button("Present", any, Act::Present(0));
            button("Present from here", any, Act::Present(chosen));
            button("Save talk", true, Act::Save);
            button("Undo change", self.talk.can_undo(), Act::Undo);
        });
        if ui
            .button(keep)
            .on_hover_text("The figure that was used last; or Keep as a step in its title's list")
            .clicked()
        {
            act(Act::Keep);
        }
        ui.separator();
        ScrollArea::vertical().id_salt("list").max_height(list).auto_shrink([false, true]).show(ui, |ui| {
            for (at, step) in talk.steps.iter().enumerate() {
                if step_line(ui, (at, step), at == chosen, &self.talk.told).clicked() {
                    act(Act::Choose(at));
                }
            }
        });
        if let Some(step) = talk.steps.get(chosen) {
            ui.separator();
            step_fields(ui, (chosen, step), self.talk.told.numbers(chosen), &mut act);
            step_buttons(ui, chosen, talk.steps.len(), &mut act);
        }
    }

    /// The menu of talks.
    pub(in crate::app) fn talk_menu(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let item = crate::app::menu::item;
        let free = !self.files.asking();
        let some = self.state.talk.is_some();
        let steps = self.state.talk.as_ref().is_some_and(|in_hand| !in_hand.talk.steps.is_empty());
        let keep = format!("Keep {} as a step", self.figure_in_hand().entry().name);
        item(ui, commands, &keep, Command::Talk(Act::Keep), true);
        let panel = if self.talk.shown { "Hide the steps" } else { "Show the steps" };
        item(ui, commands, panel, Command::Talk(Act::Panel), true);
        ui.separator();
        item(ui, commands, "Present the talk", Command::Talk(Act::Present(0)), steps);
        item(
            ui,
            commands,
            "Present from the chosen step",
            Command::Talk(Act::Present(self.talk.chosen.max(1))),
            steps && self.talk.chosen > 0,
        );
        ui.separator();
        item(ui, commands, "New talk", Command::Talk(Act::New), true);
        item(ui, commands, "Open a talk…", Command::Talk(Act::Open), free);
        let open = |path| Command::Picked(Purpose::OpenTalk, path);
        recent(ui, "Recent talks", &self.state.recent_talks, open, commands);
        for shipped in crate::talk::shipped::all() {
            item(ui, commands, &shipped.talk().title, Command::Talk(Act::Shipped(shipped.slug)), true);
        }
        ui.separator();
        item(ui, commands, "Save talk", Command::Talk(Act::Save), free && some);
        item(ui, commands, "Save talk as…", Command::Talk(Act::SaveAs), free && some);
        ui.menu_button("By typed path", |ui| {
            item(ui, commands, "Path of a talk to open…", Command::TypePath(Purpose::OpenTalk), true);
            item(ui, commands, "Path to save the talk to…", Command::TypePath(Purpose::SaveTalk), some);
        });
    }
}

/// A step in the list: its number, its figure and its headline as the room will read it.
fn step_line(ui: &mut Ui, (at, step): (usize, &Step), chosen: bool, told: &Told) -> Response {
    let figure = look::figure(step.look.figure).entry().name;
    let [headline, text] = [&step.headline, &step.text].map(|text| told.fill(at, text));
    let headline = if headline == figure { String::new() } else { format!(": {headline}") };
    let line = format!("{}  {figure}{headline}", at + 1);
    let button = Button::selectable(chosen, line).wrap().min_size(vec2(ui.available_width(), 0.0));
    let response = ui.add(button);
    if text.is_empty() { response } else { response.on_hover_text(text) }
}

/// Headline, text and highlighted parts of a step.
fn step_fields(ui: &mut Ui, (at, step): (usize, &Step), numbers: Option<&Numbers>, act: &mut impl FnMut(Act)) {
    let mut headline = step.headline.clone();
    let label = ui.label("Headline");
    // One line of text, in as many rows as it needs.
    let field = TextEdit::multiline(&mut headline).char_limit(MOST_HEADLINE).desired_rows(1).return_key(None);
    if ui.add(field.desired_width(f32::INFINITY)).labelled_by(label.id).changed() {
        act(Act::Headline(at, headline.replace(['\n', '\r'], " ")));
    }
    let mut text = step.text.clone();
    let label = ui.horizontal(|ui| {
        let label = ui.label("Text");
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| insert_number(ui, numbers, &mut text));
        label
    });
    let label = label.inner;
    let field = TextEdit::multiline(&mut text).char_limit(MOST_TEXT).desired_rows(ROWS).desired_width(f32::INFINITY);
    ui.add(field).labelled_by(label.id);
    if text != step.text {
        act(Act::Text(at, text));
    }
    for text in [&step.headline, &step.text] {
        if let Some(found) = unknown(text) {
            let color = Palette::current(ui).bad;
            let told = format!("There is no number {found}: it is kept and shown as it stands.");
            ui.label(RichText::new(told).small().color(color)).on_hover_text(format!("Allowed: {}", allowed()));
        }
    }
    if step.look.figure.has_parts() {
        let names: Vec<&str> = step.highlight.iter().map(|part| part.label()).collect();
        let name =
            if names.is_empty() { "Highlight: nothing".to_owned() } else { format!("Highlight: {}", names.join(", ")) };
        ui.menu_button(name, |ui| {
            ScrollArea::vertical().max_height(360.0).show(ui, |ui| {
                for part in Part::all() {
                    let on = step.highlight.contains(&part);
                    let kind = if matches!(part, Part::Stage(_)) { "" } else { " (piece)" };
                    if ui.selectable_label(on, format!("{}{kind}", part.label())).clicked() {
                        act(Act::Highlight(at, part));
                    }
                }
            });
        });
    }
}

/// A list of what may stand between braces, with its value in this step: one that is picked is put at the end of the text.
fn insert_number(ui: &mut Ui, numbers: Option<&Numbers>, text: &mut String) {
    let menu = ui.menu_button("Insert a number", |ui| {
        ui.set_width(NUMBERS[0]);
        let Some(numbers) = numbers else {
            ui.weak("They are being worked out.");
            return;
        };
        ScrollArea::vertical().max_height(NUMBERS[1]).auto_shrink([false, true]).show(ui, |ui| {
            for (name, told) in numbers.each() {
                let value = told.unwrap_or(NOTHING);
                if ui.add(Button::new(name).shortcut_text(value)).clicked() {
                    let before = if text.is_empty() || text.ends_with(char::is_whitespace) { "" } else { " " };
                    let longer = format!("{text}{before}{{{name}}}");
                    if longer.chars().count() <= MOST_TEXT {
                        *text = longer;
                    }
                    ui.close();
                }
            }
        });
    });
    menu.response.on_hover_text("What stands in braces, as {p99.candidate}, is filled in from the answer of the step");
}

/// What can be done with a step.
fn step_buttons(ui: &mut Ui, at: usize, all: usize, act: &mut impl FnMut(Act)) {
    ui.horizontal_wrapped(|ui| {
        let mut button = |name: &str, meaning: &str, enabled: bool, done: Act| {
            if ui.add_enabled(enabled, Button::new(name)).on_hover_text(meaning).clicked() {
                act(done);
            }
        };
        button("Move up", "One place earlier", at > 0, Act::Move(at, at.saturating_sub(1)));
        button("Move down", "One place later", at + 1 < all, Act::Move(at, at + 1));
        button("Duplicate", "Once more, after it", true, Act::Duplicate(at));
        button("Remove", "Undo change brings it back", true, Act::Remove(at));
        button("Show on the page", "Both scenarios and the figure; undo brings yours back", true, Act::Show(at));
        button("Replace", "By what is on screen; the caption stays", true, Act::Replace(at));
    });
}
