//! Drawing of the strips.

use std::ops::Range;

use eframe::egui::{Align2, Color32, Painter, Rangef, Rect, Stroke, Ui, pos2, vec2};

use super::refreshes;
use super::window::Window;
use crate::app::figures::chart::{self, Scale};
use crate::app::figures::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::axis::ticks;
use crate::report::figures::run_strip::{Fold, Outcome, Strip, Strips};
use crate::report::format::{count, ms, number};

const LEFT: f32 = 44.0;
const RIGHT: f32 = 8.0;
/// Height of a design's name with its counts, of its marks, of its refreshes, and between the designs \[pt\].
const NAME: f32 = 18.0;
const MARKS: f32 = 11.0;
const REFRESHES: f32 = 12.0;
const BETWEEN: f32 = 4.0;
/// Below the strips: numbers of frames.
const BELOW: f32 = 22.0;
/// A mark is drawn in its form where it has so much room, and as a line where marks crowd \[pt\].
const GLYPH: f32 = 8.0;

/// The marked outcomes, the worst last: it is drawn over the others.
const MARKED: [Outcome; 4] = [Outcome::InFlight, Outcome::Late, Outcome::Superseded, Outcome::Failed];

/// Where the parts of one design are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Places {
    name: Rect,
    marks: Rect,
    pub(super) latency: Rect,
    pub(super) refreshes: Rect,
}

impl Places {
    /// Everything that belongs to its frames and refreshes.
    pub(super) fn all(&self) -> Rect {
        self.marks.union(self.refreshes)
    }
}

/// Where everything is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sheet {
    rect: Rect,
    pub(super) sides: [Places; 2],
}

/// One place on the axis: where it is on screen, and the frames that share it.
struct Cell {
    across: Rangef,
    fold: Fold,
}

impl Sheet {
    pub(super) fn new(rect: Rect) -> Self {
        let height = (rect.height() - BELOW - BETWEEN) / 2.0;
        let sides = Side::BOTH.map(|side| {
            let top = rect.top() + side.index() as f32 * (height + BETWEEN);
            let across = rect.left() + LEFT..=rect.right() - RIGHT;
            let row = |from: f32, to: f32| Rect::from_x_y_ranges(across.clone(), from..=to.max(from + 1.0));
            let bottom = top + height;
            Places {
                name: Rect::from_x_y_ranges(rect.left()..=rect.right() - RIGHT, top..=top + NAME),
                marks: row(top + NAME, top + NAME + MARKS),
                latency: row(top + NAME + MARKS + 1.0, bottom - REFRESHES - 3.0),
                refreshes: row(bottom - REFRESHES, bottom),
            }
        });
        Self { rect, sides }
    }

    /// The axis of frames.
    pub(super) fn axis(&self) -> Rect {
        self.sides[0].latency
    }

    /// The frames at a place of the axis: those that begin within its pixel, or the one that it lies in.
    pub(super) fn frames_at(&self, x: f32, window: &Window, pixel: f32) -> Range<usize> {
        let axis = self.axis();
        let column = ((x - axis.left()) / pixel).floor();
        let begin = |column: f32| window.frame(axis.left() + column * pixel, axis).ceil().max(0.0) as usize;
        let frames = begin(column)..begin(column + 1.0);
        if frames.is_empty() {
            let one = window.frame(x, axis).floor().max(0.0) as usize;
            return one..one + 1;
        }
        frames
    }

    /// The vertical scale that both designs share.
    fn scale(&self, strips: &Strips, side: Side) -> Option<Scale> {
        let [low, high] = reach(strips)?;
        let panel = self.sides[side.index()].latency;
        Some(Scale::linear(low, high, panel.bottom(), panel.top()))
    }

    pub(super) fn paint(&self, ui: &Ui, strips: &Strips, names: &[String; 2], window: &Window, looked_at: usize) {
        let palette = Palette::current(ui);
        let painter = ui.painter();
        for side in Side::BOTH {
            let strip = &strips.sides[side.index()];
            self.name(painter, strip, side, &names[side.index()], palette);
            let cells = self.cells(painter, strip, window);
            self.looked_at(painter, side, window, looked_at, palette);
            if let Some(scale) = self.scale(strips, side) {
                self.latencies(painter, strips, side, &cells, &scale, palette);
            } else {
                let at = self.sides[side.index()].latency.center();
                painter.text(at, Align2::CENTER_CENTER, "No frame was shown", theme::small(), palette.soft);
            }
            marks(painter, self.sides[side.index()].marks, &cells, palette);
            refreshes::paint(painter, self.sides[side.index()].refreshes, strip, (side, window), palette);
        }
        self.numbers(painter, window, palette);
    }

    /// The design, how many frames are marked and how, and the longest freeze.
    fn name(&self, painter: &Painter, strip: &Strip, side: Side, name: &str, palette: &Palette) {
        let row = self.sides[side.index()].name;
        let middle = row.center().y;
        Mark::of(side).draw(painter, pos2(row.left() + 6.0, middle), 10.0, palette.side(side), palette.sheet);
        let left = pos2(row.left() + 15.0, middle);
        let mut taken = painter.text(left, Align2::LEFT_CENTER, name, theme::small(), palette.ink).right();
        let mut room = row.right();
        if let Some(freeze) = strip.freeze {
            let text = format!("freeze {}", ms(freeze.length_ms));
            let at = pos2(row.right(), middle);
            room = painter.text(at, Align2::RIGHT_CENTER, text, theme::small(), palette.soft).left() - 20.0;
            let frame = Rect::from_center_size(pos2(room + 12.0, middle), vec2(4.0, 12.0));
            painter.rect_stroke(frame, 1.0, Stroke::new(1.5, palette.ink), eframe::egui::StrokeKind::Middle);
        }
        let fold = &strip.total;
        for outcome in [Outcome::Late, Outcome::Superseded, Outcome::Failed, Outcome::InFlight] {
            let found = fold.of(outcome);
            let text = format!("{} {}", count(u64::from(found)), outcome.name());
            let wide = ink::width(painter, &text, theme::small());
            if found == 0 || taken + 26.0 + wide > room {
                continue;
            }
            glyph(painter, outcome, pos2(taken + 16.0, middle), 9.0, palette);
            let at = pos2(taken + 24.0, middle);
            taken = painter.text(at, Align2::LEFT_CENTER, text, theme::small(), palette.soft).right();
        }
    }

    /// All places of the axis with what they fold, a pixel each or a frame each, whichever is wider.
    fn cells(&self, painter: &Painter, strip: &Strip, window: &Window) -> Vec<Cell> {
        let axis = self.axis();
        let pixel = 1.0 / painter.pixels_per_point();
        let columns = (axis.width() / pixel).ceil().max(1.0) as usize;
        if window.span() < columns as f64 {
            let seen = window.from.floor() as usize..window.to.ceil() as usize;
            let cell = |frame: usize| {
                let across = [frame, frame + 1].map(|frame| window.place(frame as f64, axis));
                let across = Rangef::new(across[0].max(axis.left()), across[1].min(axis.right()));
                Cell { across, fold: strip.fold(frame..frame + 1) }
            };
            return seen.map(cell).collect();
        }
        let border = |column: usize| axis.left() + column as f32 * pixel;
        let begin = |column: usize| window.frame(border(column), axis).ceil().max(0.0) as usize;
        let cell = |column: usize| {
            let end = if column + 1 == columns { window.to.ceil() as usize } else { begin(column + 1) };
            let across = Rangef::new(border(column), border(column + 1).min(axis.right()));
            Cell { across, fold: strip.fold(begin(column)..end) }
        };
        (0..columns).map(cell).collect()
    }

    /// The band from least to greatest latency, and the mean in it.
    fn latencies(&self, painter: &Painter, strips: &Strips, side: Side, cells: &[Cell], y: &Scale, palette: &Palette) {
        let panel = self.sides[side.index()].latency;
        let apart = 26.0;
        let found = ticks(y.values[0], y.values[1], ((panel.height() / apart) as usize).max(1));
        for value in &found.values {
            chart::rule(painter, panel, y.place(*value), &number(*value, found.decimals), palette);
        }
        let mut plate = Plate::new(painter);
        let color = palette.side(side);
        let tint = theme::blend(palette.sheet, color, 0.4);
        let height = |ns: f64| y.place(ns / 1e6).clamp(panel.top(), panel.bottom());
        for cell in cells {
            let (Some([least, greatest]), Some(mean)) = (cell.fold.ends_ns, cell.fold.mean_ns()) else { continue };
            let (top, bottom, mean) = (height(greatest as f64), height(least as f64), height(mean));
            if bottom - top > 1.0 {
                plate.fill(Rect::from_x_y_ranges(cell.across, top - 0.5..=bottom + 0.5), tint);
                // The ends are firm, so that a lone frame far out is not lost.
                plate.fill(Rect::from_x_y_ranges(cell.across, top - 0.5..=top + 0.5), color);
            }
            plate.fill(Rect::from_x_y_ranges(cell.across, mean - 1.0..=mean + 1.0), color);
        }
        plate.draw(painter);
        let at = y.place(strips.limit_ms);
        if panel.y_range().contains(at) {
            let stroke = Stroke::new(2.0, palette.budget);
            ink::dashed(painter, pos2(panel.left(), at), pos2(panel.right(), at), stroke, [2.0, 4.0]);
        }
    }

    /// The frame that the lanes look at, as a line through everything.
    fn looked_at(&self, painter: &Painter, side: Side, window: &Window, frame: usize, palette: &Palette) {
        let at = window.place(frame as f64 + 0.5, self.axis());
        if self.axis().x_range().contains(at) {
            let places = self.sides[side.index()].all();
            let color = theme::blend(palette.sheet, palette.ink, 0.55);
            painter.vline(at, places.y_range(), Stroke::new(1.0, color));
        }
    }

    /// Numbers of frames under everything, the word at their end.
    fn numbers(&self, painter: &Painter, window: &Window, palette: &Palette) {
        let axis = self.axis();
        let top = self.sides[1].refreshes.bottom() + 2.0;
        let word =
            painter.text(pos2(self.rect.left(), top + 4.0), Align2::LEFT_TOP, "frame", theme::small(), palette.soft);
        let most = ((axis.width() / 90.0) as usize).max(1);
        // Frames have whole numbers.
        for value in ticks(window.from, window.to, most).values.iter().filter(|value| value.fract().abs() < 1e-6) {
            let at = window.place(*value, axis);
            let text = count(value.max(0.0).round() as u64);
            let half = ink::width(painter, &text, theme::small()) / 2.0;
            if at - half > word.right() + 4.0 && at + half < self.rect.right() {
                chart::tick_below(painter, pos2(at, top), &text, palette);
            }
        }
    }
}

/// How an outcome is marked.
fn look(outcome: Outcome, palette: &Palette) -> (Option<Mark>, Color32, [f32; 2]) {
    // As a line: late below, superseded above, gone all over.
    match outcome {
        Outcome::OnTime => (None, palette.soft, [0.0, 0.0]),
        Outcome::Late => (Some(Mark::Triangle), palette.doubt, [0.55, 1.0]),
        Outcome::Superseded => (Some(Mark::Ring), palette.soft, [0.0, 0.45]),
        Outcome::Failed => (Some(Mark::Cross), palette.bad, [0.0, 1.0]),
        Outcome::InFlight => (Some(Mark::Dash), palette.soft, [0.4, 0.6]),
    }
}

fn glyph(painter: &Painter, outcome: Outcome, at: eframe::egui::Pos2, size: f32, palette: &Palette) {
    if let (Some(mark), color, _) = look(outcome, palette) {
        mark.draw(painter, at, size, color, palette.sheet);
    }
}

/// Marks over the band: in their form where they stand alone, as lines where they crowd.
fn marks(painter: &Painter, row: Rect, cells: &[Cell], palette: &Palette) {
    let marked: Vec<(&Cell, Outcome)> = cells
        .iter()
        .filter_map(|cell| {
            let worst = MARKED.into_iter().rev().find(|outcome| cell.fold.of(*outcome) > 0)?;
            Some((cell, worst))
        })
        .collect();
    let centre = |place: usize| marked.get(place).map(|(cell, _)| cell.across.center());
    let mut plate = Plate::new(painter);
    for (place, (cell, worst)) in marked.iter().enumerate() {
        let here = cell.across.center();
        let before = place.checked_sub(1).and_then(centre).is_none_or(|other| here - other >= GLYPH);
        let after = centre(place + 1).is_none_or(|other| other - here >= GLYPH);
        if before && after {
            glyph(painter, *worst, pos2(here, row.center().y), GLYPH, palette);
            continue;
        }
        for outcome in MARKED.into_iter().filter(|outcome| cell.fold.of(*outcome) > 0) {
            let (_, color, [from, to]) = look(outcome, palette);
            let across = Rangef::new(cell.across.min, cell.across.max.min(cell.across.min + 3.0));
            let span = row.top() + from * row.height()..=row.top() + to * row.height();
            plate.fill(Rect::from_x_y_ranges(across, span), color);
        }
    }
    plate.draw(painter);
}

/// The frames under the pointer, framed in a design's panel.
pub(super) fn frame_them(painter: &Painter, rect: Rect, palette: &Palette) {
    let wide = rect.width().max(3.0);
    let rect = Rect::from_center_size(rect.center(), vec2(wide, rect.height()));
    painter.rect_stroke(rect, 1.0, Stroke::new(1.0, palette.ink), eframe::egui::StrokeKind::Outside);
}

/// Least and greatest latency that there is room for \[ms\].
pub(super) fn reach(strips: &Strips) -> Option<[f64; 2]> {
    let [low, high] = strips.range_ms?;
    let limit = strips.limit_ms;
    let span = (high - low).max(1.0);
    // The budget is drawn where it is near; far away it would squeeze the rest.
    let near = limit > low - span && limit < high + span;
    let (low, high) = if near { (low.min(limit), high.max(limit)) } else { (low, high) };
    let margin = ((high - low) * 0.06).max(0.05);
    Some([low - margin, high + margin])
}
