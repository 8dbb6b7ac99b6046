//! The refreshes as a thin band, from low and quiet to high and loud: new, repeat, compositor miss, miss.

use eframe::egui::{Color32, Painter, Rangef, Rect, Stroke, StrokeKind};

use super::window::Window;
use crate::app::figures::ink::Plate;
use crate::app::theme::{self, Palette};
use crate::engine::RefreshKind;
use crate::report::figures::Side;
use crate::report::figures::run_strip::{RefreshFold, Strip};

/// One place on the axis: where it is on screen, and what the refreshes there show.
struct Cell {
    across: Rangef,
    fold: RefreshFold,
}

/// Draws the refreshes of a design over their band.
pub(super) fn paint(painter: &Painter, band: Rect, strip: &Strip, (side, window): (Side, &Window), palette: &Palette) {
    let mut plate = Plate::new(painter);
    plate.fill(band, theme::blend(palette.sheet, palette.ink, 0.05));
    let cells = cells(painter, band, strip, window);
    for kind in [RefreshKind::New, RefreshKind::Repeat, RefreshKind::ComposeMiss, RefreshKind::Miss] {
        let ([from, to], color) = form(kind, side, palette);
        let heights = band.top() + from * band.height()..=band.top() + to * band.height();
        let mut put = |across: Rangef| plate.fill(Rect::from_x_y_ranges(across, heights.clone()), color);
        // Neighbours are one rectangle: most of a run is quiet.
        let mut run: Option<Rangef> = None;
        for cell in cells.iter().filter(|cell| cell.fold.of(kind) > 0) {
            match &mut run {
                Some(run) if cell.across.min - run.max < 0.25 => run.max = cell.across.max,
                run => {
                    if let Some(done) = run.replace(cell.across) {
                        put(done);
                    }
                }
            }
        }
        if let Some(done) = run {
            put(done);
        }
    }
    plate.draw(painter);
    freeze(painter, strip, band, window, palette);
}

/// Share of the band's height, from the top, and colour of a kind.
fn form(kind: RefreshKind, side: Side, palette: &Palette) -> ([f32; 2], Color32) {
    match kind {
        RefreshKind::None => ([1.0, 1.0], palette.sheet),
        RefreshKind::New => ([0.75, 1.0], theme::blend(palette.sheet, palette.side(side), 0.55)),
        RefreshKind::Repeat => ([0.45, 0.75], palette.soft),
        RefreshKind::ComposeMiss => ([0.0, 0.4], palette.doubt),
        RefreshKind::Miss => ([0.0, 1.0], palette.bad),
    }
}

/// All places of the axis with what they fold, a pixel each or a refresh each, whichever is wider.
fn cells(painter: &Painter, band: Rect, strip: &Strip, window: &Window) -> Vec<Cell> {
    let pixel = 1.0 / painter.pixels_per_point();
    let seen = strip.refreshes_in(window.from..window.to);
    let columns = (band.width() / pixel).ceil().max(1.0) as usize;
    if seen.len() < columns {
        let usual = window.span() / seen.len().max(1) as f64;
        let cell = |place: usize| {
            let beat = &strip.refreshes[place];
            let next = strip.refreshes.get(place + 1).map_or(beat.at + usual, |next| next.at);
            let [left, right] = [beat.at, next].map(|at| window.place(at, band));
            let gap = if right - left > 4.0 { 1.0 } else { 0.0 };
            let across = Rangef::new(left.max(band.left()), (right - gap).min(band.right()));
            Cell { across, fold: strip.fold_refreshes(place..place + 1) }
        };
        // The one before may last into the window.
        return (seen.start.saturating_sub(1)..seen.end).map(cell).filter(|cell| cell.across.span() > 0.0).collect();
    }
    let mut first = seen.start;
    let cell = |column: usize| {
        let left = band.left() + column as f32 * pixel;
        let across = Rangef::new(left, (left + pixel).min(band.right()));
        let last = column + 1 == columns;
        let end = if last { seen.end } else { strip.refreshes_until(first, window.frame(left + pixel, band)) };
        let fold = strip.fold_refreshes(first..end);
        first = end;
        Cell { across, fold }
    };
    (0..columns).map(cell).collect()
}

/// The longest freeze: a frame around its refreshes.
fn freeze(painter: &Painter, strip: &Strip, band: Rect, window: &Window, palette: &Palette) {
    let Some(freeze) = strip.freeze else { return };
    let at = |place: usize| strip.refreshes.get(place).map(|beat| window.place(beat.at, band));
    let Some(left) = at(freeze.first) else { return };
    let right = at(freeze.first + freeze.refreshes).unwrap_or(band.right());
    if right < band.left() || left > band.right() {
        return;
    }
    let (left, right) = (left.max(band.left()), right.min(band.right()).max(left + 3.0));
    let frame = Rect::from_x_y_ranges(left - 1.0..=right + 1.0, band.y_range().expand(1.0));
    painter.rect_stroke(frame, 1.0, Stroke::new(1.5, palette.ink), StrokeKind::Middle);
}
