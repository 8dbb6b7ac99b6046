//! Loads and headroom: offered load of every server as a bar against what it can do, the busy share as a line below it.

use eframe::egui::{Align2, Painter, Rangef, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::chart::Scale;
use super::highlight;
use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::lanes::Stage;
use crate::report::figures::loads::{Loads, Row};
use crate::report::figures::{BUDGET, Side};
use crate::report::format::{NOTHING, number, with_unit};
use crate::report::words;

/// Height of a line of words above the bars, and of the axis below them \[pt\].
const LINE: f32 = 18.0;
const BELOW: f32 = 20.0;
/// Height of a server's row \[pt\].
const ROW: Rangef = Rangef { min: 22.0, max: 56.0 };
/// Width of the names and of a column of numbers \[pt\].
const NAME: f32 = 64.0;
const COLUMN: f32 = 60.0;

/// Draws the loads over the space there is. Gives the stage of the server that was clicked.
pub fn loads(ui: &mut Ui, loads: &Loads, names: &[String; 2]) -> Option<Stage> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    ui.horizontal(|ui| ink::title(ui, "Loads and headroom"));
    ui.add_space(2.0);
    for side in Side::BOTH {
        words(ui, loads, side, &names[side.index()], palette);
    }
    ui.add_space(2.0);
    let room = ui.available_height() - BELOW;
    let height = (room / loads.rows.len() as f32).clamp(ROW.min, ROW.max).floor();
    let highlight = highlight::highlight(ui);
    let painter = ui.painter().clone();
    let mut rows = highlight::Rows::new(&painter, &highlight, palette);
    let mut clicked = None;
    let mut all: Option<Rect> = None;
    for row in &loads.rows {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
        all = Some(all.map_or(rect, |all| all.union(rect)));
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, in_words(row)));
        if ui.is_rect_visible(rect) {
            server(ui, rect, row, &scale(loads, rect), &response, palette);
            rows.add(rect, highlight.stage(row.stage));
        }
        if response.clicked() {
            clicked = Some(row.stage);
        }
        response.on_hover_text(told(row, names));
    }
    rows.mark();
    let (axis, _) = ui.allocate_exact_size(vec2(ui.available_width(), BELOW), Sense::hover());
    if let Some(all) = all.filter(|all| ui.is_rect_visible(all.union(axis))) {
        let x = scale(loads, all);
        let left = limits(ui.painter(), all, &x, loads.limit, palette);
        legend(ui.painter(), axis, left - x.places.min, &x, palette);
    }
    clicked
}

/// From nothing to what a server can do, or to the greatest load.
fn scale(loads: &Loads, rect: Rect) -> Scale {
    let greatest = loads.greatest().max(1.0) * 1.05;
    Scale::linear(0.0, greatest, rect.left() + NAME, rect.right() - 2.0 * COLUMN - 4.0)
}

/// The bottleneck and the headroom of a design; everything that they mean under the pointer.
fn words(ui: &mut Ui, loads: &Loads, side: Side, name: &str, palette: &Palette) {
    let left = &loads.sides[side.index()];
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), LINE), Sense::hover());
    let short = left.in_short();
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("{name}: {short}")));
    if ui.is_rect_visible(rect) {
        let at = pos2(rect.left() + 6.0, rect.center().y);
        Mark::of(side).draw(ui.painter(), at, 9.0, palette.side(side), palette.sheet);
        let at = at + vec2(9.0, 0.0);
        let long = left.overloads.first().map(|why| format!("{name}: {short}. {why}"));
        let texts = long.into_iter().chain([format!("{name}: {short}"), short.clone()]);
        // What does not fit is under the pointer.
        let bare = left.bottleneck.map_or_else(String::new, |(server, load)| {
            let headroom = with_unit(left.headroom_ms, 1, "ms");
            format!("{} {}, headroom {headroom}", words::server(server), percent(Some(load)))
        });
        let room = rect.right() - at.x;
        let fits = |text: &String| ink::width(ui.painter(), text, theme::small()) <= room;
        let text = texts.into_iter().find(fits).unwrap_or(bare);
        ui.painter().text(at, Align2::LEFT_CENTER, text, theme::small(), palette.ink);
    }
    let mut lines = vec![format!("{name}: {short}")];
    lines.extend(left.headroom_meaning());
    lines.extend(left.overloads.iter().cloned());
    response.on_hover_text(lines.join("\n"));
}

/// One server: its name, both designs' bars with the busy line below, and the offered loads in numbers.
fn server(ui: &Ui, rect: Rect, row: &Row, x: &Scale, response: &Response, palette: &Palette) {
    let painter = ui.painter();
    if response.hovered() || response.has_focus() {
        painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
    }
    let name = pos2(rect.left(), rect.center().y);
    painter.text(name, Align2::LEFT_CENTER, row.server.label(), theme::small(), palette.ink);
    let mut plate = Plate::new(painter);
    let half = (rect.height() - 4.0) / 2.0;
    for side in Side::BOTH {
        let index = side.index();
        let top = rect.top() + 2.0 + index as f32 * half;
        let bar = (half * 0.62).max(4.0);
        if let Some(offered) = row.offered[index].filter(|offered| *offered > 0.0) {
            let right = x.place(offered).max(x.places.min + 1.0);
            plate.side(Rect::from_x_y_ranges(x.places.min..=right, top..=top + bar), side, palette);
        }
        if let Some(busy) = row.busy[index].filter(|busy| *busy > 0.0) {
            let (right, line) = (x.place(busy), top + bar + 2.0);
            let color = palette.side(side);
            plate.fill(Rect::from_x_y_ranges(x.places.min..=right, line..=line + 1.0), color);
            // A stop at its end, across bar and line.
            plate.fill(Rect::from_x_y_ranges(right - 1.0..=right + 1.0, line - 2.0..=line + 2.0), color);
        }
        let right = rect.right() - if side == Side::Baseline { COLUMN } else { 0.0 };
        let over = row.offered[index].is_some_and(|offered| offered > 1.0);
        let color = if over { palette.bad } else { palette.ink };
        let text = percent(row.offered[index]);
        let at = pos2(right, rect.center().y);
        let taken = painter.text(at, Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), color);
        if over && taken.width() < COLUMN - 12.0 {
            Mark::Cross.draw(painter, pos2(taken.left() - 6.0, at.y), 7.0, palette.bad, palette.sheet);
        }
    }
    plate.draw(painter);
}

/// Which design's numbers stand where, and where `room` allows what bar and line are.
fn legend(painter: &Painter, axis: Rect, room: f32, x: &Scale, palette: &Palette) {
    for side in Side::BOTH {
        let right = axis.right() - if side == Side::Baseline { COLUMN } else { 0.0 };
        let at = pos2(right - 8.0, axis.center().y);
        Mark::of(side).draw(painter, at, 9.0, palette.side(side), palette.sheet);
    }
    let text = "bar: offered, line: busy";
    if ink::width(painter, text, theme::small()) + 12.0 < room {
        let at = pos2(x.places.min, axis.top() + 2.0);
        painter.text(at, Align2::LEFT_TOP, text, theme::small(), palette.soft);
    }
}

/// What a server can do and what the budget allows, as lines through all rows with their numbers below; gives where those
/// begin.
fn limits(painter: &Painter, all: Rect, x: &Scale, limit: f64, palette: &Palette) -> f32 {
    painter.vline(x.place(0.0), all.y_range(), Stroke::new(1.0, palette.soft));
    painter.vline(x.place(1.0), all.y_range(), Stroke::new(1.5, palette.ink));
    let top = all.bottom() + 2.0;
    let full = painter.text(pos2(x.place(1.0) + 3.0, top), Align2::RIGHT_TOP, "100 %", theme::small(), palette.ink);
    let at = x.place(limit);
    if at > x.places.max {
        return full.left();
    }
    ink::dashed(painter, pos2(at, all.top()), pos2(at, all.bottom()), Stroke::new(2.0, palette.budget), [2.0, 4.0]);
    let text = format!("{BUDGET} {}", percent(Some(limit)));
    let wide = ink::width(painter, &text, theme::small());
    // Beside the other number, on the side where the line is.
    let left = if limit > 1.0 {
        (at - wide / 2.0).max(full.right() + 6.0)
    } else {
        (at - wide / 2.0).min(full.left() - 6.0 - wide)
    };
    painter.text(pos2(left, top), Align2::LEFT_TOP, text, theme::small(), palette.soft);
    left.min(full.left())
}

fn percent(part: Option<f64>) -> String {
    let Some(percent) = part.map(|part| 100.0 * part) else { return NOTHING.to_owned() };
    // Near the edge whole numbers would say 100 %.
    let decimals = usize::from((percent - 100.0).abs() < 5.0 || percent < 9.95);
    format!("{} %", number(percent, decimals))
}

/// A server for those who do not see it.
fn in_words(row: &Row) -> String {
    let [before, after] = row.offered.map(percent);
    format!("{} load: baseline {before}, candidate {after}", row.server.label())
}

/// The exact values of a server.
fn told(row: &Row, names: &[String; 2]) -> String {
    let exact = |part: Option<f64>| with_unit(part.map(|part| 100.0 * part), 2, "%");
    let mut lines = vec![row.server.label().to_owned()];
    for side in Side::BOTH {
        let (offered, busy) = (row.offered[side.index()], row.busy[side.index()]);
        lines.push(format!("{}: offered {}, busy {}", names[side.index()], exact(offered), exact(busy)));
    }
    lines.push("Offered: the mean work of a frame over the time there is for it.".to_owned());
    lines.push("Busy: the share of the time it was at work, waiting for a closed link to open included.".to_owned());
    lines.push("Click for its parameters".to_owned());
    lines.join("\n")
}
