//! The critical path as a thread through the lanes: cased so that it is seen over every ground, drawn through where the
//! frame was worked on, beaded where it waited, with a knot where one server hands over to the next.

use eframe::egui::{Painter, Pos2, Rect, Shape, Stroke, StrokeKind, pos2, vec2};

use super::paint::Sheet;
use crate::app::theme::Palette;
use crate::report::figures::Side;
use crate::report::figures::lanes::{CriticalPath, Lanes, Leg};

const THREAD: f32 = 1.5;
/// Casing at both sides of the thread together, at least and at most, as a share of the row's height \[pt\].
const CASING: (f32, f32, f32) = (1.0, 3.0, 0.2);
const KNOT: f32 = 6.0;
/// Distance of the beads \[pt\].
const BEADS: f32 = 6.0;

/// Draws the path of one side, up to an instant where one is given, with a bead there: solid while somebody works on the
/// frame, open while it waits. `place` gives where an instant is.
pub(super) fn draw(
    painter: &Painter,
    sheet: &Sheet,
    lanes: &Lanes,
    (side, until_ns): (Side, Option<i64>),
    path: &CriticalPath,
    place: impl Fn(i64) -> f32,
    palette: &Palette,
) {
    let ends = |leg: &Leg| {
        let rows = lanes.lane(leg.stage).rows.len();
        let y = sheet.row(side, leg.stage, leg.row, rows).center().y;
        let end_ns = until_ns.map_or(leg.end_ns, |until_ns| until_ns.min(leg.end_ns));
        [leg.start_ns, end_ns].map(|ns| pos2(place(ns), y))
    };
    let casing = |leg: &Leg| {
        let rows = lanes.lane(leg.stage).rows.len();
        let height = sheet.row(side, leg.stage, leg.row, rows).height();
        Stroke::new(THREAD + (height * CASING.2).clamp(CASING.0, CASING.1), palette.sheet)
    };
    let come = |leg: &&Leg| until_ns.is_none_or(|until_ns| leg.start_ns <= until_ns);
    for leg in path.legs.iter().filter(come) {
        painter.line_segment(ends(leg), casing(leg));
    }
    let thread = Stroke::new(THREAD, palette.ink);
    let mut before: Option<(&Leg, Pos2)> = None;
    for leg in path.legs.iter().filter(come) {
        let [from, to] = ends(leg);
        if leg.waits() {
            painter.extend(Shape::dotted_line(&[from, to], palette.ink, BEADS, THREAD));
        } else {
            painter.line_segment([from, to], thread);
        }
        if let Some((left, at)) = before {
            painter.line_segment([at, from], thread);
            if left.stage != leg.stage {
                let knot = Rect::from_center_size(from, vec2(KNOT, KNOT));
                painter.rect(knot, 0.0, palette.sheet, Stroke::new(1.5, palette.ink), StrokeKind::Inside);
            }
        }
        before = Some((leg, to));
    }
    if let Some((leg, at)) = before.filter(|(leg, _)| until_ns.is_some_and(|until_ns| until_ns < leg.end_ns)) {
        let fill = if leg.waits() { palette.sheet } else { palette.ink };
        painter.circle(at, KNOT * 0.8, fill, Stroke::new(2.0, palette.ink));
    }
}
