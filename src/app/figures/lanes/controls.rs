//! Stepping from frame to frame.

use eframe::egui::{Button, DragValue, RichText, Ui};

use super::{Around, LanesView, WalkView};
use crate::app::figures::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::lanes::LanesPair;
use crate::report::figures::walk::Walk;
use crate::report::format::count;

impl LanesView {
    /// Title, frame number and steps in one row; while a walk is open, what drives it.
    pub(super) fn controls(
        &mut self,
        ui: &mut Ui,
        lanes: &LanesPair,
        walk: Option<&Walk>,
        walking: &mut WalkView,
        around: Around,
    ) {
        if around == Around::Title {
            ui.horizontal(|ui| {
                ink::title(ui, "Lanes");
                let frame = format!("frame {}", count(self.frame(lanes) as u64));
                ui.label(RichText::new(frame).font(theme::small()).color(Palette::current(ui).soft));
            });
            return;
        }
        if let Some(walk) = walk {
            ui.horizontal(|ui| {
                ink::title(ui, "Lanes");
                walking.show(ui, walk);
            });
            return;
        }
        ui.horizontal_wrapped(|ui| {
            ink::title(ui, "Lanes");
            ui.add_space(12.0);
            ui.spacing_mut().item_spacing.x = 4.0;
            if ink::is_on_paper(ui) {
                let text = format!("Frame {}", count(self.frame(lanes) as u64));
                ui.label(RichText::new(text).font(theme::small()).color(Palette::current(ui).soft));
                return;
            }
            self.number(ui, lanes);
            self.steps(ui, lanes);
            let walk = ui.add(Button::new(RichText::new("Walk").font(theme::small())));
            if walk.on_hover_text("The frame's way in slow motion (F6)").clicked() {
                walking.begin();
                // The bar takes the place of these buttons.
                ui.ctx().request_repaint();
            }
        });
    }

    fn number(&mut self, ui: &mut Ui, lanes: &LanesPair) {
        let palette = Palette::current(ui);
        let label = ui.label(RichText::new("Frame").font(theme::small()).color(palette.soft));
        let mut frame = self.frame(lanes);
        let last = lanes.frames().saturating_sub(1);
        let entry = DragValue::new(&mut frame).range(0..=last).speed(0.2);
        let entry = ui.add(entry).labelled_by(label.id);
        if entry.changed() {
            self.step_to(frame);
        }
    }

    fn steps(&mut self, ui: &mut Ui, lanes: &LanesPair) {
        let frame = self.frame(lanes);
        let last = lanes.frames().saturating_sub(1);
        let button = |ui: &mut Ui, enabled: bool, name: &str, hint: &str| {
            ui.add_enabled(enabled, Button::new(RichText::new(name).font(theme::small()))).on_hover_text(hint).clicked()
        };
        ui.scope(|ui| {
            if button(ui, frame > 0, "Previous", "The frame before (arrow left, when the lanes have the focus)") {
                self.step_to(frame - 1);
            }
            if button(ui, frame < last, "Next", "The frame after (arrow right)") {
                self.step_to(frame + 1);
            }
            let troubled = lanes.next_troubled(frame);
            if button(
                ui,
                troubled.is_some(),
                "Next late",
                "The next frame that was late or not shown, on either side (L)",
            ) && let Some(next) = troubled
            {
                self.go_to(next);
            }
            let longest = lanes.longest_in_words();
            if button(ui, lanes.worst.is_some(), "Longest", &format!("{longest} (W)"))
                && let Some(worst) = lanes.worst
            {
                self.go_to(worst);
            }
            if button(ui, self.frame.is_some(), "Typical", "A frame with the median gain (T)") {
                self.go_to_typical();
            }
            if button(ui, self.window.is_some(), "Fit", "The whole way again (F, or a double click)") {
                self.window = None;
            }
        });
    }
}
