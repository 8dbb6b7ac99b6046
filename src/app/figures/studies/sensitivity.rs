//! What a tenth of every parameter does to a measure, ranked.

use eframe::egui::{
    Align2, Label, Painter, Rect, Response, RichText, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::ink::Plate;
use super::{fitted, fitting, left_out};
use crate::app::theme::{self, Palette};
use crate::measure::Better;
use crate::report::figures::studies::sensitivity::{in_words, reach, steps, value};
use crate::report::figures::studies::{signed, with_unit};
use crate::study::luck::Verdict;
use crate::study::sensitivity::{Row, Sensitivity, Turn};

/// Height of a row \[pt\].
const ROW: f32 = 26.0;
/// Greatest and least width of the names, and width of the numbers \[pt\].
const NAME: (f32, f32) = (300.0, 150.0);
const NUMBER: f32 = 112.0;

/// Draws the bars over the space there is. Returns the path of the parameter that was clicked.
pub(in crate::app) fn sensitivity(ui: &mut Ui, found: &Sensitivity) -> Option<&'static str> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    heads(ui, found, palette);
    let full = reach(found);
    let mut clicked = None;
    ScrollArea::vertical().id_salt("sensitivity").auto_shrink(false).show(ui, |ui| {
        let matter: Vec<&Row> = found.rows.iter().filter(|row| row.matters).collect();
        let drawn = fitting(ui, matter.len(), ROW);
        for one in &matter[..drawn] {
            if row(ui, one, found, full, palette).clicked() {
                clicked = Some(one.path);
            }
        }
        if drawn < matter.len() {
            left_out(ui, matter.len() - drawn, palette);
            return;
        }
        ui.add_space(8.0);
        let quiet: Vec<&str> = found.rows.iter().filter(|row| !row.matters).map(|row| row.label.as_str()).collect();
        list(ui, "Do not matter beyond luck", &quiet, palette);
        list(ui, "Are 0, so a tenth of them is nothing", &found.zero, palette);
    });
    clicked
}

fn list(ui: &mut Ui, name: &str, items: &[&str], palette: &Palette) {
    if !items.is_empty() {
        let text = format!("{name} ({}): {}.", items.len(), items.join(", "));
        ui.add(Label::new(RichText::new(text).font(theme::small()).color(palette.soft)).wrap());
        ui.add_space(4.0);
    }
}

struct Columns {
    name: f32,
    name_width: f32,
    bars: [f32; 2],
    numbers: [f32; 2],
}

impl Columns {
    fn new(rect: Rect) -> Self {
        let name_width = (rect.width() * 0.3).clamp(NAME.1, NAME.0);
        let right = rect.right() - 2.0 * NUMBER - 12.0;
        Self {
            name: rect.left() + 4.0,
            name_width: name_width - 10.0,
            bars: [rect.left() + name_width, right - 8.0],
            numbers: [right + NUMBER, right + 2.0 * NUMBER],
        }
    }
}

fn heads(ui: &mut Ui, found: &Sensitivity, palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    let columns = Columns::new(rect);
    let middle = rect.center().y;
    let painter = ui.painter();
    let head = |x: f32, anchor, text: &str| {
        painter.text(pos2(x, middle), anchor, text, theme::small(), palette.soft);
    };
    let measure = format!("change of {}", with_unit(found.measure.label, found.measure.unit));
    let middle_of_bars = f32::midpoint(columns.bars[0], columns.bars[1]);
    head(columns.name, Align2::LEFT_CENTER, "parameter, its value");
    head(middle_of_bars, Align2::CENTER_CENTER, &measure);
    head(columns.numbers[0], Align2::RIGHT_CENTER, "tenth/step less");
    head(columns.numbers[1], Align2::RIGHT_CENTER, "tenth/step more");
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    response.on_hover_text(
        "Upper bar, outlined: the parameter a tenth less. Lower bar, solid: a tenth more. Whole numbers are turned by a \
         whole step instead, to the values in brackets. Green makes the measure better, vermilion worse; the fine line is \
         the 95 % interval.",
    );
}

fn row(ui: &mut Ui, row: &Row, found: &Sensitivity, full: f64, palette: &Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    let words = in_words(row, found.measure.unit);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &words));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() || response.has_focus() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let columns = Columns::new(rect);
        let middle = rect.center().y;
        let parts = [row.label.clone(), value(row.value), row.unit.to_owned(), steps(row)];
        let name = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
        fitted(painter, pos2(columns.name, middle), &name, columns.name_width, theme::small(), palette.ink);
        let area = Rect::from_x_y_ranges(columns.bars[0]..=columns.bars[1], rect.y_range().shrink(3.0));
        painter.vline(area.center().x, rect.y_range(), Stroke::new(1.0, palette.soft));
        let turns = [(&row.less, true), (&row.more, false)];
        for (turn, upper) in turns {
            if let Some(turn) = turn {
                bar(painter, area, turn, (found.measure.better, upper), full, palette);
            }
        }
        for ((turn, _), right) in turns.into_iter().zip(columns.numbers) {
            let text = turn.as_ref().and_then(|turn| turn.change.mean).map_or_else(|| "–".to_owned(), signed);
            let font = theme::figures(theme::SMALL);
            painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
    }
    response.on_hover_text(format!("{}\n\nClick: bring the parameter into view.", words.replace("; ", "\n")))
}

fn bar(painter: &Painter, area: Rect, turn: &Turn, (better, upper): (Better, bool), full: f64, palette: &Palette) {
    let Some(change) = turn.change.mean else { return };
    let zero = area.center().x;
    let at = |value: f64| zero + area.width() / 2.0 * (value / full) as f32;
    let (top, bottom) =
        if upper { (area.top(), area.center().y - 1.0) } else { (area.center().y + 1.0, area.bottom()) };
    let rect = Rect::from_two_pos(pos2(zero, top), pos2(at(change), bottom));
    let color = match turn.change.verdict {
        Verdict::Better => palette.good,
        Verdict::Worse => palette.bad,
        _ if better == Better::Neither => palette.candidate,
        _ => palette.faint,
    };
    let mut plate = Plate::new(painter);
    if upper {
        plate.fill(rect, theme::blend(palette.sheet, color, 0.25));
        plate.outline(rect, color);
    } else {
        plate.fill(rect, color);
    }
    plate.draw(painter);
    if let Some(half) = turn.change.half_width {
        let middle = f32::midpoint(top, bottom);
        let line = Stroke::new(1.0, palette.ink);
        whisker(painter, [at(change - half), at(change + half)], middle, line);
    }
}

fn whisker(painter: &Painter, [from, to]: [f32; 2], y: f32, line: Stroke) {
    painter.line_segment([pos2(from, y), pos2(to, y)], line);
    for end in [from, to] {
        painter.line_segment([pos2(end, y - 2.5), pos2(end, y + 2.5)], line);
    }
}
