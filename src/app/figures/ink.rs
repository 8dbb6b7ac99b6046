//! Strokes that the figures share: the two ways to fill, marks of form, text on its ground.

use eframe::egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};

pub(super) use super::title::{is_on_paper, title};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;

/// Distance of the lines that engrave the baseline's areas \[pt\].
const ENGRAVING: f32 = 4.0;

/// Collects rectangles on whole pixels in one mesh.
pub(super) struct Plate {
    mesh: Mesh,
    pixel: f32,
}

impl Plate {
    pub(super) fn new(painter: &Painter) -> Self {
        Self { mesh: Mesh::default(), pixel: 1.0 / painter.pixels_per_point() }
    }

    fn snap(&self, value: f32) -> f32 {
        (value / self.pixel).round() * self.pixel
    }

    fn snapped(&self, rect: Rect) -> Rect {
        let min = pos2(self.snap(rect.left()), self.snap(rect.top()));
        let max = pos2(self.snap(rect.right()), self.snap(rect.bottom()));
        // What is narrower than a pixel is still seen.
        Rect::from_min_max(min, pos2(max.x.max(min.x + self.pixel), max.y.max(min.y + self.pixel)))
    }

    /// A filled rectangle.
    pub(super) fn fill(&mut self, rect: Rect, color: Color32) {
        let rect = self.snapped(rect);
        self.mesh.add_colored_rect(rect, color);
    }

    /// An outline of one point, within the rectangle.
    pub(super) fn outline(&mut self, rect: Rect, color: Color32) {
        let rect = self.snapped(rect);
        let line = (self.pixel.max(1.0)).min(rect.width()).min(rect.height());
        let edges = [
            Rect::from_min_max(rect.min, pos2(rect.right(), rect.top() + line)),
            Rect::from_min_max(pos2(rect.left(), rect.bottom() - line), rect.max),
            Rect::from_min_max(rect.min, pos2(rect.left() + line, rect.bottom())),
            Rect::from_min_max(pos2(rect.right() - line, rect.top()), rect.max),
        ];
        for edge in edges {
            self.mesh.add_colored_rect(edge, color);
        }
    }

    /// Fine level lines across the rectangle, on heights that neighbours share.
    pub(super) fn engrave(&mut self, rect: Rect, color: Color32) {
        let rect = self.snapped(rect);
        let mut y = (rect.top() / ENGRAVING).ceil() * ENGRAVING;
        while y + self.pixel <= rect.bottom() {
            let top = self.snap(y);
            self.mesh.add_colored_rect(
                Rect::from_min_max(pos2(rect.left(), top), pos2(rect.right(), top + self.pixel)),
                color,
            );
            y += ENGRAVING;
        }
    }

    /// A rectangle in the manner of a design: the baseline's outlined and engraved, the candidate's solid.
    pub(super) fn side(&mut self, rect: Rect, side: Side, palette: &Palette) {
        match side {
            Side::Baseline => {
                self.fill(rect, palette.sheet);
                self.engrave(rect, theme::blend(palette.sheet, palette.baseline, 0.45));
                self.outline(rect, palette.baseline);
            }
            Side::Candidate => self.fill(rect, palette.candidate),
        }
    }

    pub(super) fn draw(self, painter: &Painter) {
        if !self.mesh.is_empty() {
            painter.add(Shape::mesh(self.mesh));
        }
    }
}

/// Marks that tell by form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    /// The baseline.
    Ring,
    /// The candidate.
    Disc,
    /// As wanted.
    Tick,
    /// Gone, or not met.
    Cross,
    /// Late.
    Triangle,
    /// Nothing known.
    Dash,
}

impl Mark {
    pub(super) const fn of(side: Side) -> Self {
        match side {
            Side::Baseline => Self::Ring,
            Side::Candidate => Self::Disc,
        }
    }

    /// Draws the mark in a square of side `size` about `center`.
    pub(super) fn draw(self, painter: &Painter, center: Pos2, size: f32, color: Color32, ground: Color32) {
        let half = size / 2.0;
        let at = |x: f32, y: f32| center + vec2(x, y) * half;
        let stroke = Stroke::new((size / 6.0).max(1.5), color);
        match self {
            Self::Ring => {
                painter.circle(center, half * 0.85, ground, stroke);
            }
            Self::Disc => {
                painter.circle_filled(center, half, color);
            }
            Self::Tick => {
                painter.add(Shape::line(vec![at(-0.8, 0.05), at(-0.2, 0.65), at(0.85, -0.65)], stroke));
            }
            Self::Cross => {
                painter.line_segment([at(-0.7, -0.7), at(0.7, 0.7)], stroke);
                painter.line_segment([at(-0.7, 0.7), at(0.7, -0.7)], stroke);
            }
            Self::Triangle => {
                let corners = vec![at(0.0, -0.85), at(0.95, 0.8), at(-0.95, 0.8)];
                painter.add(Shape::convex_polygon(corners, color, Stroke::NONE));
            }
            Self::Dash => {
                painter.line_segment([at(-0.7, 0.0), at(0.7, 0.0)], stroke);
            }
        }
    }
}

/// Lines across a rectangle that rise to the right, or fall, so far from each other along the horizontal; at places that
/// neighbours share, so that they go on from one to the next.
pub(super) fn hatching(rect: Rect, apart: f32, rises: bool) -> Vec<[Pos2; 2]> {
    // A line is where x + y, or x - y, is a whole number of distances.
    let sign = if rises { 1.0 } else { -1.0 };
    let ends = [rect.top(), rect.bottom()].map(|y| [rect.left() + sign * y, rect.right() + sign * y]);
    let low = ends.as_flattened().iter().copied().fold(f32::INFINITY, f32::min);
    let high = ends.as_flattened().iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let numbers = (low / apart).ceil() as i64..=(high / apart).floor() as i64;
    let line = |number: i64| {
        let sum = number as f32 * apart;
        let x_at = |y: f32| sum - sign * y;
        let from = x_at(rect.top()).clamp(rect.left(), rect.right());
        let to = x_at(rect.bottom()).clamp(rect.left(), rect.right());
        [from, to].map(|x| pos2(x, sign * (sum - x)))
    };
    numbers.map(line).filter(|[from, to]| (*from - *to).length() > 0.5).collect()
}

/// Text whose ground is wiped first, so that lines below do not cross it; gives the place it took.
pub(super) fn text_on(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: impl Into<String>,
    font: FontId,
    [color, ground]: [Color32; 2],
) -> Rect {
    let galley = painter.layout_no_wrap(text.into(), font, color);
    let rect = anchor.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, ground);
    painter.galley(rect.min, galley, color);
    rect
}

/// Width of a text \[pt\].
pub(super) fn width(painter: &Painter, text: &str, font: FontId) -> f32 {
    painter.layout_no_wrap(text.to_owned(), font, Color32::PLACEHOLDER).size().x
}

/// A line of dashes.
pub(super) fn dashed(painter: &Painter, from: Pos2, to: Pos2, stroke: Stroke, [dash, gap]: [f32; 2]) {
    painter.extend(Shape::dashed_line(&[from, to], stroke, dash, gap));
}

/// A dimension line with heads at both ends.
pub(super) fn dimension(painter: &Painter, from: Pos2, to: Pos2, stroke: Stroke) {
    painter.line_segment([from, to], stroke);
    let along = (to - from).normalized() * 6.0;
    let across = Vec2::new(-along.y, along.x) * 0.5;
    if (to - from).length() > 14.0 {
        for (end, inward) in [(from, along), (to, -along)] {
            painter.line_segment([end, end + inward + across], stroke);
            painter.line_segment([end, end + inward - across], stroke);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_stays_within_and_goes_on_in_the_neighbour() {
        let [left, right] = [0.0, 30.0].map(|x| Rect::from_min_size(pos2(10.0 + x, 20.0), vec2(30.0, 17.0)));
        for rises in [true, false] {
            let lines = hatching(left, 8.0, rises);
            assert!(lines.len() >= 5, "{} lines", lines.len());
            for [from, to] in &lines {
                assert!(left.expand(0.01).contains(*from) && left.expand(0.01).contains(*to), "{from:?} {to:?}");
                let fall = (to.y - from.y) / (to.x - from.x);
                assert!((fall - if rises { -1.0 } else { 1.0 }).abs() < 1e-3, "{fall}");
            }
            let at_border = |lines: &[[Pos2; 2]]| -> Vec<i32> {
                let ends = lines.as_flattened().iter().filter(|end| (end.x - 40.0).abs() < 1e-3);
                let mut ends: Vec<i32> = ends.map(|end| end.y.round() as i32).collect();
                ends.sort_unstable();
                ends
            };
            let border = at_border(&lines);
            assert!(!border.is_empty());
            assert_eq!(at_border(&hatching(right, 8.0, rises)), border);
        }
    }
}
