//! What stands around the figure of a step: its caption above, the designs and the number of the step below.

use eframe::egui::{Align, Frame, Label, Layout, Panel, RichText, Ui};

use crate::app::App;
use crate::app::figures::heading;
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::talk::{Shown, fill};

/// Size of the sentences \[pt\].
const SENTENCES: f32 = 17.0;

impl App {
    /// The caption of the step on screen, its numbers filled in.
    pub(in crate::app) fn caption(&self, ui: &mut Ui, frame: Frame) {
        let Some(cast) = self.presenting.as_ref().and_then(|presenting| presenting.cast.as_ref()) else { return };
        let facts = self.facts();
        let [headline, text] = [&cast.step().headline, &cast.step().text].map(|text| fill(text, facts.as_ref()));
        if headline.is_empty() && text.is_empty() {
            return;
        }
        let palette = Palette::current(ui);
        Panel::top("caption").resizable(false).frame(frame).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            if !headline.is_empty() {
                let headline = RichText::new(headline).font(theme::title_face(theme::LARGE)).strong();
                ui.add(Label::new(headline.color(palette.ink)).wrap());
            }
            if !text.is_empty() {
                let text = RichText::new(text).font(theme::title_face(SENTENCES)).color(palette.ink);
                ui.add(Label::new(text).wrap());
            }
        });
    }

    /// The names of both designs at the left, the number of the step at the right.
    pub(in crate::app) fn step_line(&self, ui: &mut Ui, frame: Frame) {
        let Some(cast) = self.presenting.as_ref().and_then(|presenting| presenting.cast.as_ref()) else { return };
        let (at, all) = cast.place();
        let palette = Palette::current(ui);
        Panel::bottom("step").resizable(false).frame(frame).show(ui, |ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let said = |ui: &mut Ui, text: String| {
                    ui.label(RichText::new(text).font(theme::text()).color(palette.soft));
                };
                said(ui, format!("{} of {all}", at + 1));
                if let Some(doubt) = self.answers.freshness().doubt() {
                    said(ui, doubt.to_owned());
                }
                let names = Side::BOTH.map(|side| self.state.pair.of(side).title());
                // The curve is the candidate's alone.
                let alone = names[0] == names[1] || cast.step().look.figure == Shown::SliceCount;
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    if alone {
                        ui.label(RichText::new(&names[1]).font(theme::title()).color(palette.ink));
                    } else {
                        heading(ui, &names);
                    }
                });
            });
        });
    }
}
