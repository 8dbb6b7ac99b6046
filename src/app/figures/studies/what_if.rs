//! The same design over other links and more or less jitter, as one table.

use eframe::egui::{Align2, Rect, Response, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use super::ink::Mark;
use super::{fitted, fitting, left_out};
use crate::app::figures::studies::comparison::signal;
use crate::app::theme::{self, Palette};
use crate::report::figures::studies::what_if::{jitter, row_in_words};
use crate::report::figures::studies::{of_difference, of_mean, with_unit};
use crate::study::what_if::{Row, WhatIf};

/// Height of a row \[pt\].
const ROW: f32 = 22.0;

/// Draws the table over the space there is; `goal` is the measure that is shown. Returns the number of the row that was
/// clicked.
pub(in crate::app) fn what_if(ui: &mut Ui, found: &WhatIf, goal: &str) -> Option<usize> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let shown = found.measures.iter().position(|measure| measure.name == goal).unwrap_or(0);
    heads(ui, found, shown, palette);
    let mut clicked = None;
    ScrollArea::vertical().id_salt("what_if").auto_shrink(false).show(ui, |ui| {
        let drawn = fitting(ui, found.rows.len(), ROW);
        for (number, one) in found.rows.iter().enumerate().take(drawn) {
            if row(ui, found, (one, number), shown, palette).clicked() {
                clicked = Some(number);
            }
        }
        left_out(ui, found.rows.len() - drawn, palette);
    });
    clicked
}

struct Columns {
    name: f32,
    widths: [f32; 2],
    jitter: f32,
    values: [f32; 2],
    verdict: f32,
    budget: f32,
}

impl Columns {
    fn new(rect: Rect) -> Self {
        let unit = rect.width() / 100.0;
        Self {
            name: rect.left() + 4.0,
            widths: [19.0 * unit - 8.0, 15.0 * unit - 6.0],
            jitter: rect.left() + 19.0 * unit,
            values: [rect.left() + 51.0 * unit, rect.left() + 69.0 * unit],
            verdict: rect.left() + 71.0 * unit,
            budget: rect.left() + 87.0 * unit,
        }
    }
}

fn heads(ui: &mut Ui, found: &WhatIf, shown: usize, palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let columns = Columns::new(rect);
    let painter = ui.painter();
    let middle = rect.center().y;
    let measure = found.measures.get(shown).map_or_else(String::new, |one| with_unit(one.label, one.unit));
    let head = |x: f32, anchor, text: &str| {
        painter.text(pos2(x, middle), anchor, text, theme::small(), palette.soft);
    };
    head(columns.name, Align2::LEFT_CENTER, "link");
    head(columns.values[0], Align2::RIGHT_CENTER, &measure);
    head(columns.values[1], Align2::RIGHT_CENTER, "difference");
    head(columns.verdict, Align2::LEFT_CENTER, "against the first");
    head(columns.budget, Align2::LEFT_CENTER, "in budget");
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    response.on_hover_text("The links are invented, with round numbers; point at a row for what is assumed.");
}

fn row(ui: &mut Ui, found: &WhatIf, (row, number): (&Row, usize), shown: usize, palette: &Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    let (Some(value), Some(difference)) = (row.values.get(shown), row.differences.get(shown)) else { return response };
    let texts = [of_mean(*value), of_difference(difference)];
    let good = row.within_budget_seeds == found.seeds;
    let budget = format!("{} of {}", row.within_budget_seeds, found.seeds);
    response.widget_info(|| {
        let (what, jitter, words) = (row.label, jitter(row), difference.verdict.words());
        let told = format!("{what}, {jitter}: {}, {} ({words}), within budget {budget}", texts[0], texts[1]);
        WidgetInfo::labeled(Role::Button, true, told)
    });
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() || response.has_focus() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let columns = Columns::new(rect);
        let middle = rect.center().y;
        let color = if number == 0 { palette.candidate } else { palette.ink };
        fitted(painter, pos2(columns.name, middle), row.label, columns.widths[0], theme::small(), color);
        fitted(painter, pos2(columns.jitter, middle), &jitter(row), columns.widths[1], theme::small(), palette.soft);
        for (text, right) in texts.iter().zip(columns.values) {
            let font = theme::figures(theme::SMALL);
            painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
        let (mark, color) = signal(difference.verdict, palette);
        mark.draw(painter, pos2(columns.verdict + 5.0, middle), 10.0, color, palette.sheet);
        let width = columns.budget - columns.verdict - 22.0;
        let words = if number == 0 { "as given" } else { difference.verdict.words() };
        fitted(painter, pos2(columns.verdict + 16.0, middle), words, width, theme::small(), palette.ink);
        let (mark, color) = if good { (Mark::Tick, palette.good) } else { (Mark::Cross, palette.bad) };
        mark.draw(painter, pos2(columns.budget + 5.0, middle), 10.0, color, palette.sheet);
        painter.text(pos2(columns.budget + 16.0, middle), Align2::LEFT_CENTER, budget, theme::small(), palette.ink);
    }
    response.on_hover_text(format!("{}\n\nClick: the candidate takes this link.", row_in_words(found, row)))
}
