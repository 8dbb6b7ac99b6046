//! The legend of a map, below its axis: which line is which border, and how cells fail. On the map itself borders lie close to
//! each other, so that words on one would cover the others.

use eframe::egui::{Align2, Painter, Pos2, Rect, Stroke, StrokeKind, pos2, vec2};

use super::{manner, pattern, stroke};
use crate::app::figures::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::studies::map::{Failure, Grid};

/// Height of a row, size of a sample, space behind it and behind its words \[pt\].
const ROW: f32 = 18.0;
const SAMPLE: [f32; 2] = [26.0, 13.0];
const BEHIND: [f32; 2] = [5.0, 16.0];

/// What an entry is of.
#[derive(Debug, Clone, Copy)]
enum What {
    Border(&'static str),
    Failure(Failure),
}

/// Entries in rows.
pub(super) struct Legend {
    /// Each with its words and its place: left end and row.
    entries: Vec<(What, &'static str, [f32; 2])>,
    height: f32,
}

impl Legend {
    /// The entries of a map, as many in a row as there is room for.
    pub(super) fn of(painter: &Painter, grid: &Grid, width: f32) -> Self {
        let borders = grid.whole.iter().flat_map(|map| &map.borders).filter(|border| !border.lines.is_empty());
        let borders = borders.map(|border| (What::Border(border.name), border.label));
        let failures = grid.failures().into_iter().map(|failure| (What::Failure(failure), failure.name()));
        let (mut left, mut top) = (0.0, 0.0);
        let mut entries = Vec::new();
        for (what, words) in borders.chain(failures) {
            let wide = SAMPLE[0] + BEHIND[0] + ink::width(painter, words, theme::small());
            if left > 0.0 && left + wide > width {
                (left, top) = (0.0, top + ROW);
            }
            entries.push((what, words, [left, top]));
            left += wide + BEHIND[1];
        }
        let height = if entries.is_empty() { 0.0 } else { top + ROW };
        Self { entries, height }
    }

    /// The height that it takes \[pt\].
    pub(super) const fn height(&self) -> f32 {
        self.height
    }

    /// Draws it from a corner on.
    pub(super) fn draw(&self, painter: &Painter, corner: Pos2, palette: &Palette) {
        for (what, words, place) in &self.entries {
            let left = corner + vec2(place[0], place[1] + ROW / 2.0 + 1.0);
            let sample = Rect::from_center_size(left + vec2(SAMPLE[0] / 2.0, 0.0), SAMPLE.into());
            match what {
                What::Border(name) => {
                    stroke(painter, &[sample.left_center(), sample.right_center()], manner(name, palette), palette);
                }
                What::Failure(failure) => {
                    painter.rect_stroke(sample, 0.0, Stroke::new(1.0, palette.soft), StrokeKind::Inside);
                    pattern(painter, sample, *failure, palette.soft, palette);
                }
            }
            let at = pos2(sample.right() + BEHIND[0], left.y);
            painter.text(at, Align2::LEFT_CENTER, *words, theme::small(), palette.soft);
        }
    }
}
