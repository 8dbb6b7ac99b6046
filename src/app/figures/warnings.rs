//! What to know before believing the answer, on one line; the rest in a list.

use eframe::egui::{Align, Label, Layout, RichText, Sense, Ui, UiBuilder, vec2};

use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::warnings::Told;

/// Height of the line \[pt\].
const HEIGHT: f32 = 20.0;
/// Width of the list \[pt\].
const LIST: f32 = 520.0;

/// The first warning and a list of the others, on a line that is there with none too. Gives the place in the list of the one
/// that was clicked.
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
    // One that is cut here is in the list in full.
    let cut = ink::width(ui.painter(), &words(first), theme::small()) > rect.width() - 24.0;
    if told.len() > 1 || cut {
        let text = if told.len() > 1 { format!("and {} more", told.len() - 1) } else { "in full".to_owned() };
        let text = RichText::new(text).font(theme::small());
        inside.menu_button(text, |ui| clicked = list(ui, told, palette));
    }
    inside.with_layout(Layout::left_to_right(Align::Center), |ui| {
        mark(ui, palette);
        if line(ui, first, true) {
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
                if line(ui, one, false) {
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

fn words(one: &Told) -> String {
    format!("{}: {}", one.of(), one.text)
}

fn line(ui: &mut Ui, one: &Told, elide: bool) -> bool {
    let label = Label::new(RichText::new(words(one)).font(theme::small())).sense(Sense::click());
    let label = if elide { label.truncate() } else { label.wrap() };
    let response = ui.add(label).on_hover_cursor(eframe::egui::CursorIcon::PointingHand);
    response.on_hover_text("Click to see the parameter in the column").clicked()
}
