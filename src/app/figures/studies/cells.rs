//! Cells of the studies' tables: words that go on in a second line where one has no room, and how the room is shared.

use std::sync::Arc;

use eframe::egui::text::LayoutJob;
use eframe::egui::{Align, Color32, Galley, Painter, Pos2, vec2};

use super::ink;
use crate::app::theme::{self, Palette};

/// Least height of a row, and space above and below its words together \[pt\].
pub(super) const ROW: f32 = 22.0;
const AROUND: f32 = 5.0;
/// So much wider than its widest word a column is, that none is broken by rounding \[pt\].
const HAIR: f32 = 1.0;

/// Widths of columns that would like to be so wide: as wide as they like where there is room for all, else those that ask for
/// little get it and the others share what is left.
pub(super) fn shares<const N: usize>(room: f32, wanted: [f32; N]) -> [f32; N] {
    let mut order: [usize; N] = std::array::from_fn(|column| column);
    order.sort_by(|one, two| wanted[*one].total_cmp(&wanted[*two]));
    let (mut widths, mut left) = ([0.0; N], room.max(0.0));
    for (place, column) in order.into_iter().enumerate() {
        widths[column] = wanted[column].min(left / (N - place) as f32);
        left -= widths[column];
    }
    widths
}

/// The width of the widest of some texts \[pt\].
pub(super) fn widest<'a>(painter: &Painter, texts: impl IntoIterator<Item = &'a str>) -> f32 {
    HAIR + texts.into_iter().map(|text| ink::width(painter, text, theme::small()).ceil()).fold(0.0, f32::max)
}

/// The same of numbers in columns \[pt\].
pub(super) fn widest_number<'a>(painter: &Painter, texts: impl IntoIterator<Item = &'a str>) -> f32 {
    let font = || theme::figures(theme::SMALL);
    texts.into_iter().map(|text| ink::width(painter, text, font()).ceil()).fold(0.0, f32::max)
}

/// Small words, wrapped to a width.
pub(super) fn words(painter: &Painter, text: &str, width: f32, color: Color32) -> Arc<Galley> {
    painter.layout(text.to_owned(), theme::small(), color, width.max(1.0))
}

/// Draws words from their left edge on the middle of a row.
pub(super) fn put(painter: &Painter, left_middle: Pos2, words: Arc<Galley>) {
    let at = left_middle - vec2(0.0, words.size().y / 2.0);
    painter.galley(at, words, Color32::PLACEHOLDER);
}

/// The height of a row with such words in it \[pt\].
pub(super) fn height<'a>(words: impl IntoIterator<Item = &'a Arc<Galley>>) -> f32 {
    words.into_iter().map(|words| words.size().y + AROUND).fold(ROW, f32::max)
}

/// What heads a column: its words, wrapped to the column's width, at its left edge, its middle or its right edge.
pub(super) struct Head {
    at: f32,
    words: Arc<Galley>,
}

impl Head {
    pub(super) fn new(painter: &Painter, (at, align): (f32, Align), text: &str, width: f32, palette: &Palette) -> Self {
        let mut job = LayoutJob::simple(text.to_owned(), theme::small(), palette.soft, width.max(1.0));
        job.halign = align;
        Self { at, words: painter.layout_job(job) }
    }

    /// The height of a row with these heads \[pt\].
    pub(super) fn height(heads: &[Self]) -> f32 {
        height(heads.iter().map(|head| &head.words))
    }

    /// Draws heads with their last lines beside each other above the bottom of their row.
    pub(super) fn draw_all(heads: &[Self], painter: &Painter, bottom: f32) {
        for Self { at, words } in heads {
            let at = Pos2::new(*at, bottom - AROUND / 2.0 - words.size().y);
            painter.galley(at, Arc::clone(words), Color32::PLACEHOLDER);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn room_is_shared_so_that_little_is_given_in_full() {
        assert_eq!(shares(100.0, [30.0, 40.0]).to_vec(), vec![30.0, 40.0], "room for both");
        assert_eq!(shares(100.0, [30.0, 90.0]).to_vec(), vec![30.0, 70.0], "what asks for little gets it");
        assert_eq!(shares(100.0, [80.0, 90.0]).to_vec(), vec![50.0, 50.0]);
        assert_eq!(shares(90.0, [20.0, 80.0, 60.0]).to_vec(), vec![20.0, 35.0, 35.0]);
        assert_eq!(shares(-5.0, [20.0]).to_vec(), vec![0.0]);
    }
}
