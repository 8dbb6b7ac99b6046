//! What the window says beside the figures: the message that a file was refused, the list of keys, what the program is.

use eframe::egui::{
    Align, Context, Grid, Id, Key, Label, Layout, Modal, Popup, RichText, ScrollArea, Ui, ViewportCommand,
};

use super::App;
use super::calibrating::Ask;
use super::command::Command;
use super::files;
use super::keys;
use super::present;

/// The caution that stands wherever the program speaks about comfort.
const CAUTION: &str = "Lower and steadier latency is better for comfort, but no figure here says whether a person will \
    feel well: that depends on the content, the optics, the tracking and the person. Test designs with people before you \
    decide, and stop a test when somebody feels unwell.";

/// Width kept for the button that takes a message away \[pt\].
const DISMISS_WIDTH: f32 = 84.0;

impl App {
    /// Escape gives up the work under way and takes refusals away, unless it is meant for something else.
    pub(super) fn escape(&self, ui: &Ui, commands: &mut Vec<Command>) {
        let ctx = ui.ctx();
        let over = self.message.is_some() || self.keys_shown || self.about_shown;
        if over
            || ctx.text_edit_focused()
            || Popup::is_any_open(ctx)
            || !ui.input(|input| input.key_pressed(Key::Escape))
        {
            return;
        }
        if self.studies.running() {
            commands.push(Command::CancelStudy);
        }
        if self.column.refuses() {
            commands.push(Command::ForgetRefusals);
        }
        if self.calibrating.shown() && self.calibrating.running() {
            commands.push(Command::Bench(Ask::Cancel));
        }
    }

    /// The line under the top bar with a message that stays until it is taken away.
    pub(super) fn message_line(&self, ui: &mut Ui, commands: &mut Vec<Command>) {
        let Some(message) = &self.message else { return };
        ui.horizontal_top(|ui| {
            ui.vertical(|ui| {
                ui.set_width(ui.available_width() - DISMISS_WIDTH);
                ui.add(Label::new(RichText::new(message).color(ui.visuals().error_fg_color)).wrap());
            });
            if ui.button("Dismiss").clicked() {
                commands.push(Command::Dismiss);
            }
        });
        let free = !ui.ctx().text_edit_focused();
        if free && ui.input(|input| input.key_pressed(Key::Escape)) {
            commands.push(Command::Dismiss);
        }
    }

    /// The windows over the page.
    pub(super) fn dialogs(&mut self, ctx: &Context, commands: &mut Vec<Command>) {
        files::drop_hint(ctx);
        self.show_guard(ctx);
        self.show_replacing(ctx);
        self.show_bench_question(ctx);
        self.show_shots(ctx);
        self.files.show(ctx, commands);
        self.own.show(ctx, commands);
        if self.keys_shown {
            self.keys_shown = !closed(ctx, "keys", |ui| {
                ui.heading("Keys");
                ui.add_space(6.0);
                ScrollArea::vertical().max_height(420.0).show(ui, key_list);
            });
        }
        if self.about_shown {
            self.about_shown = !closed(ctx, "about", |ui| {
                ui.set_width(420.0);
                ui.heading(format!("framelap {}", crate::version::version()));
                ui.add_space(6.0);
                ui.label(env!("CARGO_PKG_DESCRIPTION"));
                ui.add_space(6.0);
                ui.label(RichText::new("About comfort").strong());
                ui.label(CAUTION);
                ui.add_space(6.0);
                ui.weak(format!("Licence: {}. Default fonts: Ubuntu Light and Hack.", env!("CARGO_PKG_LICENSE")));
            });
        }
    }

    /// Names the window after what it shows, with an asterisk where the candidate is not saved.
    pub(super) fn name_window(&mut self, ctx: &Context) {
        let candidate = &self.state.pair.candidate;
        let mark = if self.saved.differs(candidate) { "*" } else { "" };
        let title = format!("{}{mark} – framelap", candidate.title());
        if title != self.title {
            ctx.send_viewport_cmd(ViewportCommand::Title(title.clone()));
            self.title = title;
        }
    }
}

/// A window over the page with a button to close it; true when it is to be closed.
fn closed(ctx: &Context, name: &str, contents: impl FnOnce(&mut Ui)) -> bool {
    let modal = Modal::new(Id::unique(name)).show(ctx, |ui| {
        contents(ui);
        ui.add_space(8.0);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.button("Close").clicked()).inner
    });
    modal.inner || modal.should_close()
}

fn key_list(ui: &mut Ui) {
    Grid::new("key list").num_columns(2).spacing([24.0, 6.0]).show(ui, |ui| {
        for binding in &keys::ALL {
            let keys: Vec<String> = binding.shortcuts.iter().map(|keys| ui.ctx().format_shortcut(keys)).collect();
            ui.label(binding.name);
            ui.label(keys.join(" or "));
            ui.end_row();
        }
        for (keys, name) in keys::ELSEWHERE.into_iter().chain(present::keys()) {
            ui.label(name);
            ui.label(keys);
            ui.end_row();
        }
    });
}
