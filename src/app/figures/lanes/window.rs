//! The window of time that is seen: fit, pan, zoom about the pointer.

use eframe::egui::{Key, Rect, Response, Ui};

use serde::{Deserialize, Serialize};

use crate::app::figures::gesture::{Gesture, gesture};
use crate::report::figures::lanes::{LanesPair, Way};

/// Time seen, from the frame's pose \[ns\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Window {
    pub(super) from_ns: f64,
    pub(super) to_ns: f64,
}

/// A fitting window ends at a multiple of this, so that it rests while a slider moves \[ns\].
const STEP_NS: f64 = 5e6;
/// Room for words beyond the last photons \[pt\].
const WORDS: f32 = 184.0;
/// Narrowest and widest window \[ns\].
const NARROWEST_NS: f64 = 2e4;
const WIDEST_NS: f64 = 1e13;
/// Factor of a key that zooms.
const KEY_ZOOM: f64 = 1.25;
/// Share of the window that a key moves it by.
const KEY_SHIFT: f64 = 0.1;

impl Window {
    /// The window that holds both ways of a frame over so many points, with room for the gain in words.
    pub(super) fn fitting(lanes: &LanesPair, frame: usize, width: f32) -> Self {
        let end = |way: &Way| Some(way.to_ns()? - way.from_ns?);
        let ends = lanes.sides.iter().filter_map(|side| side.ways.get(frame).and_then(end));
        let last = ends.max().unwrap_or(30_000_000) as f64;
        let room = f64::from(1.0 - (WORDS / width.max(2.0 * WORDS)));
        let to_ns = (last / room / STEP_NS).ceil() * STEP_NS;
        Self { from_ns: -to_ns * 0.03, to_ns }
    }

    /// Whether it is one that drag and scroll can lead to.
    pub(super) fn is_within_reason(&self) -> bool {
        let bounds = [self.from_ns, self.to_ns].iter().all(|bound| bound.abs() <= 10.0 * WIDEST_NS);
        bounds && self.span() >= NARROWEST_NS / 2.0 && self.span() <= 2.0 * WIDEST_NS
    }

    fn span(&self) -> f64 {
        self.to_ns - self.from_ns
    }

    /// Follows drag, scroll and pinch over `area`.
    pub(super) fn handle(&mut self, ui: &Ui, response: &Response, area: Rect) {
        let Gesture { shift, zoom } = gesture(ui, response, area);
        if shift != 0.0 {
            self.shift(shift * self.span());
        }
        if let Some([factor, share]) = zoom {
            self.zoom(factor, share);
        }
    }

    /// Follows plus, minus, and Shift with the arrows, while the lanes have the focus.
    pub(super) fn keys(&mut self, ui: &Ui, response: &Response) {
        if !response.has_focus() {
            return;
        }
        let (commanded, shifted) = ui.input(|input| (input.modifiers.command, input.modifiers.shift));
        let pressed = |keys: &[Key]| !commanded && ui.input(|input| keys.iter().any(|key| input.key_pressed(*key)));
        if pressed(&[Key::Plus, Key::Equals]) {
            self.zoom(KEY_ZOOM, 0.5);
        } else if pressed(&[Key::Minus]) {
            self.zoom(1.0 / KEY_ZOOM, 0.5);
        } else if shifted && pressed(&[Key::ArrowRight]) {
            self.shift(KEY_SHIFT * self.span());
        } else if shifted && pressed(&[Key::ArrowLeft]) {
            self.shift(-KEY_SHIFT * self.span());
        }
    }

    fn shift(&mut self, by_ns: f64) {
        self.from_ns += by_ns;
        self.to_ns += by_ns;
    }

    /// Zooms so that what lies at `share` of the width stays there.
    pub(super) fn zoom(&mut self, factor: f64, share: f64) {
        let span = (self.span() / factor).clamp(NARROWEST_NS, WIDEST_NS);
        let still = self.from_ns + share * self.span();
        self.from_ns = still - share * span;
        self.to_ns = self.from_ns + span;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zooming_keeps_what_is_under_the_pointer() {
        let mut window = Window { from_ns: 0.0, to_ns: 40e6 };
        window.zoom(2.0, 0.25);
        assert_eq!(window, Window { from_ns: 5e6, to_ns: 25e6 });
        window.zoom(1e9, 0.0);
        assert!((window.span() - NARROWEST_NS).abs() < 1e-3);
    }
}
