//! The part of the axis of frames that is seen: all, pan, zoom about the pointer.

use std::ops::Range;

use eframe::egui::{Rect, Response, Ui};
use serde::{Deserialize, Serialize};

use crate::app::figures::gesture::{Gesture, gesture};

/// Frames seen, a frame from its number to the next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Window {
    pub(super) from: f64,
    pub(super) to: f64,
}

/// Fewest frames seen.
const NARROWEST: f64 = 8.0;

impl Window {
    /// All frames.
    pub(super) fn all(frames: Range<usize>) -> Self {
        let from = frames.start as f64;
        Self { from, to: (frames.end as f64).max(from + 1.0) }
    }

    /// Whether it is one that drag and scroll can lead to in some run.
    pub(super) fn is_within_reason(&self) -> bool {
        self.from >= 0.0 && self.to.is_finite() && self.span() >= 1.0
    }

    pub(super) fn span(&self) -> f64 {
        self.to - self.from
    }

    /// The same, or as much of it as lies within all.
    pub(super) fn within(self, all: &Self) -> Self {
        let span = self.span().clamp(NARROWEST.min(all.span()), all.span());
        let from = self.from.clamp(all.from, all.to - span);
        Self { from, to: from + span }
    }

    /// Where a frame is on an axis.
    pub(super) fn place(&self, frame: f64, axis: Rect) -> f32 {
        axis.left() + ((frame - self.from) / self.span()) as f32 * axis.width()
    }

    /// What is at a place of the axis.
    pub(super) fn frame(&self, place: f32, axis: Rect) -> f64 {
        self.from + f64::from((place - axis.left()) / axis.width().max(1.0)) * self.span()
    }

    /// Follows drag, scroll and pinch over `axis`.
    pub(super) fn handle(&mut self, ui: &Ui, response: &Response, axis: Rect, all: &Self) {
        let Gesture { shift, zoom } = gesture(ui, response, axis);
        if shift != 0.0 {
            self.shift(shift * self.span(), all);
        }
        if let Some([factor, share]) = zoom {
            self.zoom(factor, share, all);
        }
    }

    fn shift(&mut self, by: f64, all: &Self) {
        *self = Self { from: self.from + by, to: self.to + by }.within(all);
    }

    /// Zooms so that what lies at `share` of the width stays there, as far as the ends allow.
    fn zoom(&mut self, factor: f64, share: f64, all: &Self) {
        let span = (self.span() / factor).max(NARROWEST);
        let from = self.from + share * (self.span() - span);
        *self = Self { from, to: from + span }.within(all);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zooming_keeps_what_is_under_the_pointer_and_within_the_run() {
        let all = Window::all(180..1180);
        let mut window = all;
        window.zoom(4.0, 0.5, &all);
        assert_eq!(window, Window { from: 555.0, to: 805.0 });
        window.shift(1e6, &all);
        assert_eq!(window, Window { from: 930.0, to: 1180.0 });
        window.zoom(1e-3, 0.3, &all);
        assert_eq!(window, all);
        window.zoom(1e9, 0.0, &all);
        assert_eq!(window, Window { from: 180.0, to: 188.0 });
        let edited = [[f64::NAN, 9.0], [5.0, f64::INFINITY], [9.0, 5.0], [-1.0, 9.0]];
        assert!(
            window.is_within_reason()
                && !edited.iter().any(|[from, to]| Window { from: *from, to: *to }.is_within_reason())
        );
    }

    #[test]
    fn a_run_shorter_than_the_narrowest_window_is_seen_whole() {
        let all = Window::all(5..8);
        assert_eq!(Window { from: 0.0, to: 100.0 }.within(&all), all);
    }
}
