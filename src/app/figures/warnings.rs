//! What to know before believing the answer, on one line; the rest in a list.

use eframe::egui::{Align, Label, Layout, RichText, Sense, Ui, UiBuilder, vec2};

use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::warnings::Told;

/// Height of the line \[pt\].
const HEIGHT: f32 = 20.0;
/// Width of the mark before a warning with the space behind it \[pt\].
const MARK: f32 = 24.0;
/// Width of the list \[pt\].
const LIST: f32 = 520.0;

/// The first warning, in brief where all of it finds no room, and a list of them in full, on a line that is there with none
/// too. Gives the place in the list of the one that was clicked.
pub fn warnings(ui: &mut Ui, told: &[Told]) -> Option<usize> {
    let palette = Palette::current(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let inside = UiBuilder::new().max_rect(rect).layout(Layout::right_to_left(Align::Center));
    let mut inside = ui.new_child(inside);
    let Some(first) = told.first() else {
        let text = RichText::new("No warnings").font(theme::small()).color(palette.soft);
        inside.with_layout(Layout::left_to_right(Align::Center), |ui| ui.label(text));
        return None;
    };
    let mut clicked = None;
    let wide = ink::width(ui.painter(), &words(first, &first.text), theme::small());
    if told.len() > 1 || wide + MARK > inside.available_width() {
        let text = if told.len() > 1 { format!("and {} more", told.len() - 1) } else { "in full".to_owned() };
        let text = RichText::new(text).font(theme::small());
        inside.menu_button(text, |ui| clicked = list(ui, told, palette));
    }
    let text = if wide + MARK <= inside.available_width() { &first.text } else { &first.brief };
    inside.with_layout(Layout::left_to_right(Align::Center), |ui| {
        mark(ui, palette);
        if line(ui, words(first, text), true) {
            clicked = Some(0);
        }
    });
    clicked
}

/// All of them in full.
fn list(ui: &mut Ui, told: &[Told], palette: &Palette) -> Option<usize> {
    ui.set_width(LIST);
    let mut clicked = None;
    for (number, one) in told.iter().enumerate() {
        ui.horizontal_top(|ui| {
            mark(ui, palette);
            ui.vertical(|ui| {
                if line(ui, words(one, &one.text), false) {
                    clicked = Some(number);
                }
            });
        });
    }
    if clicked.is_some() {
        ui.close();
    }
    clicked
}

fn mark(ui: &mut Ui, palette: &Palette) {
    let (rect, _) = ui.allocate_exact_size(vec2(14.0, 16.0), Sense::hover());
    Mark::Triangle.draw(ui.painter(), rect.center(), 11.0, palette.doubt, palette.sheet);
}

/// A text of a warning with whom it is about.
fn words(one: &Told, text: &str) -> String {
    format!("{}: {text}", one.of())
}

fn line(ui: &mut Ui, text: String, elide: bool) -> bool {
    let label = Label::new(RichText::new(text).font(theme::small())).sense(Sense::click());
    let label = if elide { label.truncate() } else { label.wrap() };
    let response = ui.add(label).on_hover_cursor(eframe::egui::CursorIcon::PointingHand);
    response.on_hover_text("Click to see the parameter in the column").clicked()
}
