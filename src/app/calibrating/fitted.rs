//! What was fitted: a card a stage with its parts, its laws and what to know of it.

use eframe::egui::{Button, Frame, Grid, Label, Margin, RichText, ScrollArea, Ui};

use super::Calibrating;
use super::act::Ask;
use crate::app::theme::{self, Palette};
use crate::calibrate::{Law, Samples, SizeFit, StageFit};
use crate::report::calibration::{LAW_CAUTION, LAW_HEAD, Part, intra_every, law_rows, size_parts, stage_parts};
use crate::report::figures::measured::title;
use crate::report::format;

/// Width that a card needs \[pt\].
const CARD: f32 = 470.0;

/// What a card shows.
struct Card<'a> {
    heading: String,
    parts: Vec<Part>,
    laws: &'a [Law],
    law_serves: bool,
    lag_one: Option<f64>,
    notes: Vec<String>,
}

impl Calibrating {
    /// Lays it out over the space there is.
    pub(super) fn fitted(&self, ui: &mut Ui, asks: &mut Vec<Ask>) {
        let Some(found) = &self.found else { return };
        let fit = &found.whole.fit;
        let mut cards: Vec<Card<'_>> = fit.stages.iter().map(Card::of_stage).collect();
        cards.extend(fit.sizes.as_ref().map(Card::of_sizes));
        let count = ((ui.available_width() / CARD) as usize).clamp(1, cards.len().max(1));
        let held = if found.whole.held_out { " of the first halves of all runs" } else { "" };
        let frames = format::of(fit.frames as u64, "frame");
        ui.label(format!("Fitted to {frames}{held}; where bits are told apart, intra frames aside."));
        ScrollArea::vertical().id_salt("fits").auto_shrink(false).show(ui, |ui| {
            for role in &fit.too_few {
                let told = format!("{}: measured in too few frames to be fitted (30 at least).", title(*role));
                ui.label(RichText::new(told).color(Palette::current(ui).ink));
            }
            for words in &fit.not_told {
                ui.label(RichText::new(words).color(Palette::current(ui).ink));
            }
            ui.columns(count, |columns| {
                for (place, card) in cards.iter().enumerate() {
                    card.show(&mut columns[place % count], place, self.samples, asks);
                }
            });
        });
    }
}

impl<'a> Card<'a> {
    fn of_stage(fit: &'a StageFit) -> Self {
        Self {
            heading: format!("{}, {}", title(fit.role), format::of(fit.frames as u64, "frame")),
            parts: stage_parts(fit),
            laws: &fit.laws,
            law_serves: fit.law_serves,
            lag_one: fit.lag_one,
            notes: fit.notes.clone(),
        }
    }

    fn of_sizes(fit: &'a SizeFit) -> Self {
        let mut notes = fit.notes.clone();
        notes.extend(fit.intra_every.map(intra_every));
        Self {
            heading: format!("Size, {}", format::of(fit.frames as u64, "frame")),
            parts: size_parts(fit),
            laws: &fit.laws,
            law_serves: fit.law_serves,
            lag_one: fit.lag_one,
            notes,
        }
    }

    fn show(&self, ui: &mut Ui, place: usize, samples: Samples, asks: &mut Vec<Ask>) {
        let palette = Palette::current(ui);
        Frame::new().fill(palette.paper).inner_margin(Margin::symmetric(12, 8)).show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.label(RichText::new(&self.heading).strong());
            table(ui, ("parts", place), &["", "estimate", "95 %"], self.parts.iter().map(|part| &part[..]));
            ui.add_space(4.0);
            if self.laws.is_empty() {
                ui.label(RichText::new("No law could be fitted to the factor that is left.").color(palette.ink));
            } else {
                let rows = law_rows(self.laws);
                table(ui, ("laws", place), &LAW_HEAD, rows.iter().map(|row| &row[..]));
                self.law(ui, samples, asks);
                note(ui, LAW_CAUTION);
            }
            if let Some(lag_one) = self.lag_one {
                note(ui, &format!("Correlation of neighbouring frames {}", format::number(lag_one, 3)));
            }
            for told in &self.notes {
                note(ui, told);
            }
        });
        ui.add_space(8.0);
    }

    /// Whether the best law is close enough, and what stands for it.
    fn law(&self, ui: &mut Ui, samples: Samples, asks: &mut Vec<Ask>) {
        let palette = Palette::current(ui);
        let best = self.laws.first().map_or("", |law| law.family.name());
        let (told, color) = match (self.law_serves, samples) {
            (_, Samples::Always) => ("The samples as measured stand for a law.".to_owned(), palette.ink),
            (true, _) => (format!("{best} is close enough and stands for the spread."), palette.ink),
            (false, Samples::Never) => {
                (format!("No law fits; {best}, the nearest, stands for the spread."), palette.bad)
            }
            (false, _) => ("No law fits: the samples as measured stand for the spread.".to_owned(), palette.ink),
        };
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(told).font(theme::small()).color(color));
            let offer = match (self.law_serves, samples) {
                (false, Samples::Never) => Some(("Take the samples as measured", Samples::WhereNoLawFits)),
                (true, Samples::WhereNoLawFits) => Some(("Take the samples instead", Samples::Always)),
                (true, Samples::Always) => Some(("Take laws where they fit", Samples::WhereNoLawFits)),
                _ => None,
            };
            if let Some((name, samples)) = offer
                && ui.add(Button::new(RichText::new(name).font(theme::small()))).clicked()
            {
                asks.extend([Ask::Samples(samples), Ask::Fit]);
            }
        });
    }
}

fn note(ui: &mut Ui, text: &str) {
    let color = Palette::current(ui).soft;
    ui.add(Label::new(RichText::new(text).font(theme::small()).color(color)).wrap());
}

/// A table of small text: names at the left, numbers at the right of their columns.
fn table<'t>(ui: &mut Ui, salt: (&str, usize), head: &[&str], rows: impl Iterator<Item = &'t [String]>) {
    let soft = Palette::current(ui).soft;
    Grid::new(salt).num_columns(head.len()).spacing([14.0, 2.0]).show(ui, |ui| {
        for name in head {
            ui.label(RichText::new(*name).font(theme::small()).color(soft));
        }
        ui.end_row();
        for row in rows {
            for (place, cell) in row.iter().enumerate() {
                let font = if place == 0 { theme::small() } else { theme::figures(theme::SMALL) };
                ui.label(RichText::new(cell).font(font));
            }
            ui.end_row();
        }
    });
}
