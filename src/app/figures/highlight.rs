//! Parts of a figure that keep their strength while the others fade: told by form, an outline and a pointer, not by
//! colour alone.
//!
//! What is highlighted travels in the stack of `Ui`s, so that a figure that knows no parts need not know of it.

use std::sync::Arc;

use eframe::egui::{Color32, Painter, Rect, Shape, Stroke, StrokeKind, Ui, UiStackInfo, pos2, vec2};

use super::title;
use crate::app::theme::{self, Palette};
use crate::talk::Highlight;

/// The tag that carries a [`Highlight`] to the figure within.
const TAG: &str = "highlight";
/// Rows so close to each other have one outline \[pt\].
const NEIGHBOURS: f32 = 4.0;
/// How far an outline reaches beyond the row on either side \[pt\].
const AROUND: f32 = 5.0;
/// How much of a part that fades is left.
const LEFT: f32 = 0.25;

/// Marks a `Ui` as one that is only looked at, and in which parts of figures are highlighted.
pub(in crate::app) fn highlighting(highlight: Highlight) -> UiStackInfo {
    title::on_paper().with_tag_value(TAG, Arc::new(highlight))
}

/// What is highlighted where `ui` draws.
pub(super) fn highlight(ui: &Ui) -> Highlight {
    let found = ui.stack().iter().find_map(|ui| ui.tags().get_downcast::<Arc<Highlight>>(TAG).cloned());
    found.map_or_else(Highlight::default, |highlight| (*highlight).clone())
}

/// Lets what was drawn in a place fade.
fn fade(painter: &Painter, place: Rect, palette: &Palette) {
    painter.rect_filled(place, 0.0, palette.sheet.gamma_multiply(1.0 - LEFT));
}

/// A colour as it is where it fades.
pub(super) fn faded(color: Color32, palette: &Palette) -> Color32 {
    theme::blend(palette.sheet, color, LEFT)
}

/// Rows of which some are highlighted: the others fade, neighbours that are get one outline.
pub(super) struct Rows<'a> {
    painter: &'a Painter,
    palette: &'a Palette,
    fades: bool,
    marked: Vec<Rect>,
}

impl<'a> Rows<'a> {
    /// No rows yet.
    pub(super) fn new(painter: &'a Painter, highlight: &Highlight, palette: &'a Palette) -> Self {
        Self { painter, palette, fades: highlight.fades(), marked: Vec::new() }
    }

    /// A row that was drawn, below those before it.
    pub(super) fn add(&mut self, place: Rect, highlighted: bool) {
        if !self.fades {
            return;
        }
        if !highlighted {
            return fade(self.painter, place, self.palette);
        }
        match self.marked.last_mut() {
            Some(last) if (place.top() - last.bottom()).abs() <= NEIGHBOURS => *last = last.union(place),
            _ => self.marked.push(place),
        }
    }

    /// Outlines what is highlighted, with a pointer beside it.
    pub(super) fn mark(&self) {
        for place in &self.marked {
            let place = place.expand2(vec2(AROUND, 0.0));
            self.painter.rect_stroke(place, 2.0, Stroke::new(1.5, self.palette.ink), StrokeKind::Middle);
            let (left, middle) = (place.left() - 1.0, place.center().y);
            let corners = vec![pos2(left - 8.0, middle - 6.0), pos2(left, middle), pos2(left - 8.0, middle + 6.0)];
            self.painter.add(Shape::convex_polygon(corners, self.palette.ink, Stroke::NONE));
        }
    }
}
