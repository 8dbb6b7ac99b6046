//! How a walk is to be shot: pictures a second, size and slowness, asked for before its path, within the limits of the command.

use eframe::egui::{Align, Button, Context, DragValue, Id, Label, Layout, Modal, RichText, Ui};

use super::WALK;
use crate::app::App;
use crate::app::command::Purpose;
use crate::app::exhibit::{Film, HOLD_S, Shooting};
use crate::app::state::ThemeChoice;
use crate::app::theme::{self, Palette};
use crate::report::format::{number, of};

/// Sizes that are offered by name \[px\].
const USUAL: [[u32; 2]; 3] = [[1280, 720], Shooting::SIZE, [3840, 2160]];

/// How a walk is shot, but for the theme, which is the window's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::app) struct Shots {
    pub(in crate::app) size: [u32; 2],
    pub(in crate::app) frames_per_second: u32,
    pub(in crate::app) slow_down: Option<f64>,
}

impl Default for Shots {
    fn default() -> Self {
        Self { size: Shooting::SIZE, frames_per_second: Shooting::FRAMES_PER_SECOND, slow_down: None }
    }
}

/// What was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reply {
    GoOn,
    Cancel,
}

impl Shots {
    /// The same with a theme.
    pub(super) fn shooting(self, theme: ThemeChoice) -> Shooting {
        let Self { size, frames_per_second, slow_down } = self;
        Shooting { size, theme, frames_per_second, slow_down }
    }

    /// The fields, what comes of them, and the buttons.
    fn contents(&mut self, ui: &mut Ui, film: &Film, theme: ThemeChoice, go_on: &str) -> Option<Reply> {
        ui.set_width(440.0);
        ui.heading("Save the walk");
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            let label = ui.label("Pictures a second");
            ui.add(DragValue::new(&mut self.frames_per_second).range(Shooting::RATES)).labelled_by(label.id);
        });
        ui.horizontal(|ui| {
            for (name, side) in ["Width, px", "Height, px"].into_iter().zip(&mut self.size) {
                let label = ui.label(name);
                ui.add(DragValue::new(side).range(Shooting::SIDES)).labelled_by(label.id);
            }
        });
        ui.horizontal(|ui| {
            for usual in USUAL {
                ui.selectable_value(&mut self.size, usual, format!("{} x {}", usual[0], usual[1]));
            }
        });
        self.slowness(ui, film);
        ui.add_space(6.0);
        let cut = film.cut(&self.shooting(theme));
        match &cut {
            Ok(cut) => {
                let seconds = f64::from(cut.moving) / f64::from(self.frames_per_second) + f64::from(HOLD_S);
                let pictures = of(u64::from(cut.moving + 1), "picture");
                let told = format!("{pictures}, {} s with its end held for {HOLD_S} s", number(seconds, 1));
                ui.label(RichText::new(told).color(Palette::current(ui).soft));
            }
            Err(why) => {
                ui.add(Label::new(RichText::new(why).color(Palette::current(ui).bad)).wrap());
            }
        }
        ui.add_space(8.0);
        let mut reply = None;
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.add_enabled(cut.is_ok(), Button::new(go_on)).clicked() {
                reply = Some(Reply::GoOn);
            }
            if ui.button("Cancel").clicked() {
                reply = Some(Reply::Cancel);
            }
        });
        reply
    }

    fn slowness(&mut self, ui: &mut Ui, film: &Film) {
        ui.horizontal(|ui| {
            let mut usual = self.slow_down.is_none();
            if theme::outlined(ui, |ui| ui.checkbox(&mut usual, "As slow as ten seconds take")).changed() {
                self.slow_down = if usual { None } else { film.usual_slow_down().map(|times| times.round().max(1.0)) };
            }
            if let Some(times) = &mut self.slow_down {
                let label = ui.label("Times slower");
                ui.add(DragValue::new(times).range(Shooting::SLOWNESS)).labelled_by(label.id);
            }
        });
    }
}

impl App {
    /// The question how a walk is to be shot, over the page.
    pub(in crate::app) fn show_shots(&mut self, ctx: &Context) {
        let (Some(typed), Some(film)) = (self.outbox.shots_asked, self.outbox.film.as_ref()) else { return };
        let theme = self.slide(ctx).theme;
        let go_on = if typed { "Type the path…" } else { "Choose where…" };
        let mut shots = self.outbox.shots;
        let mut reply = None;
        let modal = Modal::new(Id::unique("shots")).show(ctx, |ui| reply = shots.contents(ui, film, theme, go_on));
        self.outbox.shots = shots;
        match reply.or(modal.should_close().then_some(Reply::Cancel)) {
            None => {}
            Some(Reply::Cancel) => (self.outbox.shots_asked, self.outbox.film) = (None, None),
            Some(Reply::GoOn) => {
                self.outbox.shots_asked = None;
                if typed {
                    self.files.type_path(Purpose::Walk, WALK.to_owned());
                } else {
                    self.files.ask(Purpose::Walk, WALK.to_owned(), ctx.clone());
                }
            }
        }
    }
}
