//! Bars: how much of the level's limits, and of the least bits per pixel, each design uses.

use eframe::egui::{Align2, Painter, Rect, Response, Stroke, Ui, pos2, vec2};

use crate::app::figures::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::eye::{Bar, Eyes, Limits, Needed, Used};
use crate::report::format::{NOTHING, number, share, with_unit};

/// Height of a line of text.
const LINE: f32 = 17.0;
/// Height of what is said of the levels.
pub(super) const LEVELS: f32 = 2.0 * LINE;
/// Height of a limit with both designs' bars: the least and the greatest.
const ROW: (f32, f32) = (27.0, 42.0);
/// Width of the names, of the shares, and of the numbers behind them.
const NAME: f32 = 92.0;
const SHARE: f32 = 66.0;
const NUMBERS: f32 = 178.0;
/// Least length of the bars.
const BAR: f32 = 60.0;

/// Where the columns are.
struct Columns {
    bars: [f32; 2],
    shares: f32,
    numbers: Option<f32>,
}

impl Columns {
    fn new(rect: Rect) -> Self {
        let left = rect.left() + NAME;
        let numbers = (rect.width() >= NAME + BAR + SHARE + NUMBERS + 20.0).then_some(rect.right());
        let shares = rect.right() - numbers.map_or(0.0, |_| NUMBERS);
        Self { bars: [left, (shares - SHARE - 4.0).max(left + 10.0)], shares, numbers }
    }
}

/// Draws the levels needed and a row for each limit.
pub(super) fn paint(ui: &Ui, rect: Rect, eyes: &Eyes, names: &[String; 2], response: &Response) {
    let palette = Palette::current(ui);
    let painter = ui.painter();
    let limits = &eyes.limits;
    levels(painter, rect, limits, names, palette);
    let top = rect.top() + 2.0 * LINE + 6.0;
    let rows = limits.bars.len() as f32;
    let height = ((rect.bottom() - top) / rows).clamp(ROW.0, ROW.1).floor();
    let columns = Columns::new(rect);
    let pointer = response.hover_pos();
    for (place, bar) in limits.bars.iter().enumerate() {
        let row =
            Rect::from_x_y_ranges(rect.x_range(), top + place as f32 * height..=top + (place + 1) as f32 * height);
        paint_bar(painter, row, &columns, bar, palette);
        if pointer.is_some_and(|at| row.contains(at)) {
            response.clone().on_hover_text_at_pointer(told(bar, limits, names));
        }
    }
}

/// The level that each design needs, and whether the budget allows it.
pub(super) fn levels(painter: &Painter, rect: Rect, limits: &Limits, names: &[String; 2], palette: &Palette) {
    for side in Side::BOTH {
        let middle = rect.top() + (side.index() as f32 + 0.5) * LINE;
        let color = palette.side(side);
        Mark::of(side).draw(painter, pos2(rect.left() + 5.0, middle), 9.0, color, palette.sheet);
        let Some(needed) = &limits.needed[side.index()] else { continue };
        let level = needed.in_words();
        let long = format!("{}: {level}, up to {} allowed", names[side.index()], needed.allowed);
        let short = format!("{level} of {}", needed.allowed);
        let room = rect.width() - 14.0 - 20.0;
        let text = if ink::width(painter, &long, theme::small()) <= room { long } else { short };
        let taken =
            painter.text(pos2(rect.left() + 14.0, middle), Align2::LEFT_CENTER, text, theme::small(), palette.ink);
        let (mark, color) = if needed.met { (Mark::Tick, palette.good) } else { (Mark::Cross, palette.bad) };
        mark.draw(painter, pos2(taken.right() + 11.0, middle), 9.0, color, palette.sheet);
    }
}

fn paint_bar(painter: &Painter, row: Rect, columns: &Columns, bar: &Bar, palette: &Palette) {
    let middle = row.center().y;
    painter.text(pos2(row.left(), middle), Align2::LEFT_CENTER, bar.name, theme::small(), palette.ink);
    let [left, right] = columns.bars;
    let shares = bar.sides.iter().flatten().map(Used::share);
    let full = shares.fold(1.12, f64::max);
    let place = |share: f64| left + (right - left) * (share / full) as f32;
    let half = (row.height() - 5.0) / 2.0;
    let mut plate = Plate::new(painter);
    for side in Side::BOTH {
        let top = row.top() + 2.0 + side.index() as f32 * (half + 1.0);
        let line = Rect::from_min_max(pos2(left, top), pos2(right, top + half));
        let Some(used) = bar.sides[side.index()] else {
            text_right(painter, pos2(columns.shares, line.center().y), NOTHING, palette);
            continue;
        };
        let high = (half - 3.0).min(12.0);
        let body = Rect::from_min_size(
            pos2(left, line.center().y - high / 2.0),
            vec2((place(used.share()) - left).max(1.0), high),
        );
        plate.side(body, side, palette);
        let taken = text_right(painter, pos2(columns.shares, line.center().y), &share(used.share()), palette);
        if !used.met {
            let at = pos2(taken.left() - 8.0, line.center().y);
            Mark::Cross.draw(painter, at, 9.0, palette.bad, palette.sheet);
        }
        if let Some(right) = columns.numbers {
            text_right(painter, pos2(right, line.center().y), &numbers(bar, side, &used), palette);
        }
    }
    plate.draw(painter);
    // The limit, over the bars that reach it.
    let at = place(1.0);
    painter.vline(at, row.y_range().shrink(1.0), Stroke::new(3.0, palette.sheet));
    ink::dashed(
        painter,
        pos2(at, row.top() + 1.0),
        pos2(at, row.bottom() - 1.0),
        Stroke::new(2.0, palette.budget),
        [2.0, 2.0],
    );
}

fn text_right(painter: &Painter, at: eframe::egui::Pos2, text: &str, palette: &Palette) -> Rect {
    painter.text(at, Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), palette.ink)
}

/// What is used of how much.
fn numbers(bar: &Bar, side: Side, used: &Used) -> String {
    let [found, limit] = [used.used, used.limit].map(|value| value / bar.scale);
    let decimals = if limit.fract() == 0.0 && found.fract() == 0.0 { 0 } else { bar.decimals };
    let [found, limit] = [found, limit].map(|value| number(value, decimals));
    if bar.at_least {
        return format!("{found}, at least {limit}");
    }
    let unit = short(bar.units[side.index()]);
    format!("{found} of {limit} {unit}").trim_end().to_owned()
}

/// Units as short as a column wants them.
fn short(unit: &str) -> &str {
    match unit {
        "M samples" => "M",
        "M samples/s" | "M macroblocks/s" => "M/s",
        "Mbit/s" => "Mb/s",
        "slices" | "macroblocks" => "",
        other => other,
    }
}

/// The exact numbers.
fn told(bar: &Bar, limits: &Limits, names: &[String; 2]) -> String {
    let mut lines = vec![bar.name.to_owned()];
    for side in Side::BOTH {
        let name = &names[side.index()];
        let unit = bar.units[side.index()];
        // Whole counts are told whole.
        let (scale, unit) = if bar.scale > 1.0 { (1.0, unit.trim_start_matches("M ")) } else { (bar.scale, unit) };
        let decimals = if bar.scale > 1.0 { 0 } else { bar.decimals };
        let Some(used) = bar.sides[side.index()] else {
            lines.push(format!("{name}: {NOTHING}"));
            continue;
        };
        let [found, limit] = [used.used, used.limit].map(|value| with_unit(Some(value / scale), decimals, unit));
        let against = if bar.at_least {
            format!("at least {limit} by the budget")
        } else {
            let level = limits.needed[side.index()].as_ref().map_or_else(String::new, Needed::in_words);
            format!("at most {limit} at {level}")
        };
        lines.push(format!("{name}: {found}, {against}: {}", share(used.share())));
    }
    lines.join("\n")
}
