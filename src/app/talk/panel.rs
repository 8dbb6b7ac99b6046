//! The list of a talk's steps, in a window beside the page, with the caption of the chosen one to be edited.

use eframe::egui::{Align2, Button, Context, Rangef, RichText, ScrollArea, TextEdit, Ui, Window, pos2, vec2};

use super::Act;
use super::desk::InHand;
use super::look;
use crate::app::App;
use crate::app::command::{Command, Purpose};
use crate::app::menu::recent;
use crate::app::page::GAP;
use crate::app::theme::Palette;
use crate::talk::{MOST_HEADLINE, MOST_TEXT, Part, Step, allowed, unknown};

/// Width of the window \[pt\].
const WIDTH: f32 = 400.0;
/// Height of the bar of menus, and of the title and edges of this window \[pt\].
const BAR: f32 = 32.0;
const AROUND: f32 = 52.0;
/// Least height of what this window holds \[pt\].
const LEAST: f32 = 160.0;
/// Height of the list before it scrolls, at least and at most, and of all that stands around it \[pt\].
const LIST: Rangef = Rangef { min: 80.0, max: 220.0 };
const OTHERS: f32 = 490.0;
/// Rows of the field for a text.
const ROWS: usize = 4;

impl App {
    /// The list of steps, where it is wanted.
    pub(in crate::app) fn show_talk_panel(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        if !self.talk.shown || self.presenting.is_some() {
            return;
        }
        let mut open = true;
        // Below the verdict, which stays to be read; what finds no room there scrolls.
        let screen = ctx.content_rect();
        let top = self.verdict_ends.unwrap_or(screen.top() + BAR) + GAP;
        let most = (screen.bottom() - top - AROUND).max(LEAST);
        let window =
            Window::new("Steps of the talk").open(&mut open).default_size([WIDTH, most]).resizable([true, false]);
        let window = window.pivot(Align2::RIGHT_TOP).default_pos(pos2(screen.right() - GAP, top));
        let list = (most - OTHERS).clamp(LIST.min, LIST.max);
        window.show(ctx, |ui| {
            let all = ScrollArea::vertical().id_salt("all").max_height(most).auto_shrink([false, true]);
            all.show(ui, |ui| self.talk_panel(ui, list, commands));
        });
        self.talk.shown = open;
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
        let label = ui.label("Title");
        let field = TextEdit::singleline(&mut title).char_limit(MOST_HEADLINE).desired_width(f32::INFINITY);
        if ui.add(field).labelled_by(label.id).changed() {
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
        ScrollArea::vertical().max_height(list).auto_shrink([false, true]).show(ui, |ui| {
            for (at, step) in talk.steps.iter().enumerate() {
                let figure = look::figure(step.look.figure).entry().name;
                let text = format!("{}  {figure}: {}", at + 1, step.headline);
                if ui
                    .add(Button::selectable(at == chosen, text).truncate().min_size(vec2(ui.available_width(), 0.0)))
                    .clicked()
                {
                    act(Act::Choose(at));
                }
            }
        });
        if let Some(step) = talk.steps.get(chosen) {
            ui.separator();
            step_fields(ui, chosen, step, &mut act);
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

/// Headline, text and highlighted parts of a step.
fn step_fields(ui: &mut Ui, at: usize, step: &Step, act: &mut impl FnMut(Act)) {
    let mut headline = step.headline.clone();
    let label = ui.label("Headline");
    let field = TextEdit::singleline(&mut headline).char_limit(MOST_HEADLINE).desired_width(f32::INFINITY);
    if ui.add(field).labelled_by(label.id).changed() {
        act(Act::Headline(at, headline));
    }
    let mut text = step.text.clone();
    let label = ui.label("Text; numbers as in {p99.candidate}");
    let field = TextEdit::multiline(&mut text).char_limit(MOST_TEXT).desired_rows(ROWS).desired_width(f32::INFINITY);
    if ui.add(field).labelled_by(label.id).changed() {
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
