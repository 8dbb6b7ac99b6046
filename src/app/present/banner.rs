//! The one line around a presented figure: the names of both designs, the gain.

use eframe::egui::{Align, Layout, RichText, Ui};

use crate::app::answers::Freshness;
use crate::app::figures::heading;
use crate::app::theme::{self, Palette};

/// What the line says.
pub(super) struct Told<'a> {
    /// Baseline and candidate.
    pub(super) names: &'a [String; 2],
    /// The gain in words.
    pub(super) gain: &'a str,
    /// What the gain is of, where it is not said in it.
    pub(super) of: Option<&'a str>,
    /// Number of the figure, from 1, and how many there are.
    pub(super) place: (usize, usize),
    pub(super) freshness: Freshness,
}

/// Lays it out: names at the left, gain at the right.
pub(super) fn show(ui: &mut Ui, told: &Told<'_>) {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new(told.gain).font(theme::title_face(theme::LARGE)).strong().color(palette.ink));
            for doubt in told.of.into_iter().chain(told.freshness.doubt()) {
                ui.label(RichText::new(doubt).font(theme::text()).color(palette.soft));
            }
            let (number, count) = told.place;
            ui.label(RichText::new(format!("{number} of {count}")).font(theme::text()).color(palette.soft));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| heading(ui, told.names));
        });
    });
}
