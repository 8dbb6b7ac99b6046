//! What became of frames and refreshes: a table, baseline beside candidate, with bars for what is not as wanted.

use eframe::egui::{
    Align2, Color32, Label, Painter, Rect, Response, RichText, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2,
};

use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::outcomes::{Outcome, Outcomes, Sort};
use crate::report::format::{NOTHING, count, maybe_ms, share};

/// Height of a row where there is room, and the least.
const ROW: (f32, f32) = (22.0, 18.0);
/// Height of a caption.
const CAPTION: f32 = 20.0;
/// Height of the line that names what befell no one.
const QUIET: f32 = 17.0;
/// Width of a count and of a share.
const COUNT: f32 = 48.0;
const SHARE: f32 = 62.0;
/// Width of one design's numbers.
const NUMBERS: f32 = COUNT + SHARE;
/// Width of the names.
const NAME: f32 = 150.0;
/// Least length of a full bar between names and numbers.
const LEAST_BAR: f32 = 60.0;

/// Draws both tables over the width there is.
pub fn outcomes(ui: &mut Ui, outcomes: &Outcomes, names: &[String; 2]) {
    let palette = Palette::current(ui);
    let full = scale(outcomes);
    ui.spacing_mut().item_spacing.y = 0.0;
    columns(ui, names, palette);
    let row = row_height(ui.available_height(), outcomes);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| tables(ui, outcomes, (full, row), palette));
}

/// Rows are as high as lets all of them be seen, if that can be.
fn row_height(room: f32, outcomes: &Outcomes) -> f32 {
    let spoken = |rows: &[Outcome]| rows.iter().filter(|row| !row.quiet()).count();
    let rows = spoken(&outcomes.frames) + spoken(&outcomes.refreshes) + 2;
    ((room - 2.0 * (CAPTION + QUIET)) / rows as f32).floor().clamp(ROW.1, ROW.0)
}

fn tables(ui: &mut Ui, outcomes: &Outcomes, (full, row): (f64, f32), palette: &Palette) {
    caption(ui, "Frames", &outcomes.frame_totals, palette);
    table(ui, &outcomes.frames, (full, row), palette);
    caption(ui, "Refreshes", &outcomes.refresh_totals, palette);
    table(ui, &outcomes.refreshes, (full, row), palette);
    figures_row(ui, "Longest freeze", &outcomes.longest_freeze_ms.map(maybe_ms), row, palette);
    let delivered = outcomes.delivered.map(|part| part.map_or_else(|| NOTHING.to_owned(), share));
    figures_row(ui, "Frames delivered", &delivered, row, palette);
}

/// The bars' full length: the greatest share of what is not as wanted, at least one per cent. What is as wanted would
/// dwarf the rest, so it is told by its numbers alone.
fn scale(outcomes: &Outcomes) -> f64 {
    let rows = outcomes.frames.iter().chain(&outcomes.refreshes).filter(|row| row.sort != Sort::Good);
    rows.flat_map(|row| row.shares).fold(0.01, f64::max)
}

/// Right edge of a design's numbers.
fn numbers_of(rect: Rect, side: Side) -> f32 {
    rect.right() - if side == Side::Baseline { NUMBERS + 8.0 } else { 0.0 }
}

/// The title, and which design's numbers stand where: beside it where there is room.
fn columns(ui: &mut Ui, names: &[String; 2], palette: &Palette) {
    let wide = ui.available_width();
    let title = ui.horizontal(|ui| ink::title(ui, "Outcomes")).inner;
    let mut row = Rect::from_min_size(pos2(ui.max_rect().left(), title.rect.top()), vec2(wide, title.rect.height()));
    if wide - 2.0 * NUMBERS - 8.0 < title.rect.width() {
        row = ui.allocate_exact_size(vec2(wide, 20.0), Sense::hover()).0;
    }
    let painter = ui.painter();
    for side in Side::BOTH {
        let at = pos2(numbers_of(row, side), row.center().y);
        let taken = painter.text(at, Align2::RIGHT_CENTER, &names[side.index()], theme::small(), palette.ink);
        let mark = pos2(taken.left() - 9.0, at.y);
        Mark::of(side).draw(painter, mark, 9.0, palette.side(side), palette.sheet);
    }
}

fn caption(ui: &mut Ui, what: &str, totals: &[u64; 2], palette: &Palette) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), CAPTION), Sense::hover());
    let painter = ui.painter();
    painter.text(rect.left_center(), Align2::LEFT_CENTER, what, theme::small(), palette.soft);
    for side in Side::BOTH {
        let at = pos2(numbers_of(rect, side) - SHARE, rect.center().y);
        painter.text(at, Align2::RIGHT_CENTER, count(totals[side.index()]), theme::figures(theme::SMALL), palette.soft);
    }
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
}

/// Rows that befell someone, and the others in one quiet line.
fn table(ui: &mut Ui, rows: &[Outcome], scale: (f64, f32), palette: &Palette) {
    for row in rows.iter().filter(|row| !row.quiet()) {
        spoken(ui, row, scale, palette);
    }
    let quiet: Vec<&str> = rows.iter().filter(|row| row.quiet()).map(|row| row.name).collect();
    if !quiet.is_empty() {
        let text = format!("None: {}", quiet.join(", ").to_lowercase());
        ui.add(Label::new(RichText::new(text).font(theme::small()).color(palette.soft)).truncate());
    }
}

fn spoken(ui: &mut Ui, row: &Outcome, (full, height): (f64, f32), palette: &Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let words = || {
        let [before, after] = [0, 1].map(|side| format!("{} ({})", count(row.counts[side]), share(row.shares[side])));
        format!("{}: baseline {before}, candidate {after}", row.name)
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words()));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        let (mark, color) = form(row.sort, palette);
        mark.draw(painter, pos2(rect.left() + 5.0, rect.center().y), 9.0, color, palette.sheet);
        let name = pos2(rect.left() + 16.0, rect.center().y);
        painter.text(name, Align2::LEFT_CENTER, row.name, theme::small(), palette.ink);
        for side in Side::BOTH {
            numbers(painter, rect, row, side, palette);
        }
        if row.sort != Sort::Good {
            bars(painter, rect, row, full, palette);
        }
    }
    response.on_hover_text(format!("{}\n{}\nA full bar is {}.", row.meaning, words(), share(full)))
}

/// Count and share of one design.
fn numbers(painter: &Painter, rect: Rect, row: &Outcome, side: Side, palette: &Palette) {
    let found = row.counts[side.index()];
    let color = if found == 0 { palette.soft } else { palette.ink };
    let right = numbers_of(rect, side);
    let middle = rect.center().y - 1.0;
    for (x, text) in [(right, share(row.shares[side.index()])), (right - SHARE, count(found))] {
        painter.text(pos2(x, middle), Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), color);
    }
}

/// Both designs' bars: one above the other between name and numbers, or each below its own numbers where that is narrow.
fn bars(painter: &Painter, rect: Rect, row: &Outcome, full: f64, palette: &Palette) {
    let left = rect.left() + NAME;
    let between = rect.right() - 2.0 * NUMBERS - 16.0 - left;
    let mut plate = Plate::new(painter);
    for side in Side::BOTH {
        let value = row.shares[side.index()];
        if value > 0.0 {
            let (corner, room, height) = if between >= LEAST_BAR {
                let top = rect.center().y - if side == Side::Baseline { 8.0 } else { -1.0 };
                (pos2(left, top), between, 7.0)
            } else {
                (pos2(numbers_of(rect, side) - NUMBERS + 4.0, rect.bottom() - 5.0), NUMBERS - 4.0, 4.0)
            };
            let length = (room * (value / full) as f32).max(2.0);
            plate.side(Rect::from_min_size(corner, vec2(length, height)), side, palette);
        }
    }
    plate.draw(painter);
}

const fn form(sort: Sort, palette: &Palette) -> (Mark, Color32) {
    match sort {
        Sort::Good => (Mark::Tick, palette.good),
        Sort::Late => (Mark::Triangle, palette.doubt),
        Sort::Lost => (Mark::Cross, palette.bad),
        Sort::Plain => (Mark::Dash, palette.soft),
    }
}

fn figures_row(ui: &mut Ui, name: &str, values: &[String; 2], height: f32, palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Label, true, format!("{name}: baseline {}, candidate {}", values[0], values[1]))
    });
    let painter = ui.painter();
    painter.text(rect.left_center(), Align2::LEFT_CENTER, name, theme::small(), palette.ink);
    for side in Side::BOTH {
        let at = pos2(numbers_of(rect, side), rect.center().y);
        painter.text(at, Align2::RIGHT_CENTER, &values[side.index()], theme::figures(theme::SMALL), palette.ink);
    }
}
