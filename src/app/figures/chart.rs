//! A plotting area: values to places on screen, and axes with round numbers.

use eframe::egui::{Align2, Painter, Pos2, Rangef, Rect, Stroke, pos2};

use crate::app::theme::{self, Palette};
use crate::report::figures::axis::{Ticks, ticks};
use crate::report::format::number;

/// A straight or logarithmic scale from values to points on screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Values at both ends.
    pub(super) values: [f64; 2],
    /// Where they are on screen.
    pub(super) places: Rangef,
    /// Whether equal ratios are equally far apart.
    pub(super) logarithmic: bool,
}

impl Scale {
    pub(super) const fn linear(low: f64, high: f64, from: f32, to: f32) -> Self {
        Self { values: [low, high], places: Rangef { min: from, max: to }, logarithmic: false }
    }

    pub(super) const fn logarithmic(low: f64, high: f64, from: f32, to: f32) -> Self {
        Self { values: [low, high], places: Rangef { min: from, max: to }, logarithmic: true }
    }

    fn inner(&self, value: f64) -> f64 {
        if self.logarithmic { value.max(f64::MIN_POSITIVE).ln() } else { value }
    }

    /// Where a value is.
    pub(super) fn place(&self, value: f64) -> f32 {
        let [low, high] = self.values.map(|end| self.inner(end));
        let share = (self.inner(value) - low) / (high - low);
        self.places.min + (self.places.max - self.places.min) * share as f32
    }

    /// The value at a place.
    pub(super) fn value(&self, place: f32) -> f64 {
        let share = f64::from((place - self.places.min) / (self.places.max - self.places.min));
        let [low, high] = self.values.map(|end| self.inner(end));
        let inner = low + (high - low) * share;
        if self.logarithmic { inner.exp() } else { inner }
    }

    /// Round numbers about `apart` points from each other.
    pub(super) fn ticks(&self, apart: f32) -> Ticks {
        let length = (self.places.max - self.places.min).abs();
        ticks(self.values[0], self.values[1], (length / apart).max(1.0) as usize)
    }
}

/// Space under a plot for tick labels and the axis' name \[pt\].
pub(super) const BELOW: f32 = 36.0;

/// A horizontal axis under `plot`: ticks, numbers, and its name with the unit below them.
pub(super) fn x_axis(painter: &Painter, plot: Rect, x: &Scale, name: &str, palette: &Palette) {
    x_ticks(painter, plot, x, palette);
    name_below(painter, plot, name, palette);
}

/// The same without its name.
pub(super) fn x_ticks(painter: &Painter, plot: Rect, x: &Scale, palette: &Palette) {
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, palette.soft));
    let ticks = x.ticks(56.0);
    for value in &ticks.values {
        let label = number(*value, ticks.decimals);
        tick_below(painter, pos2(x.place(*value), plot.bottom()), &label, palette);
    }
}

/// One tick with its label.
pub(super) fn tick_below(painter: &Painter, at: Pos2, label: &str, palette: &Palette) {
    painter.vline(at.x, Rangef::new(at.y, at.y + 4.0), Stroke::new(1.0, palette.soft));
    painter.text(at + eframe::egui::vec2(0.0, 4.0), Align2::CENTER_TOP, label, theme::small(), palette.soft);
}

/// The name of a horizontal axis, with its unit.
pub(super) fn name_below(painter: &Painter, plot: Rect, name: &str, palette: &Palette) {
    let at = pos2(plot.center().x, plot.bottom() + 20.0);
    painter.text(at, Align2::CENTER_TOP, name, theme::small(), palette.soft);
}

/// A horizontal rule at a value, with its label left of the plot.
pub(super) fn rule(painter: &Painter, plot: Rect, y: f32, label: &str, palette: &Palette) {
    painter.hline(plot.x_range(), y, Stroke::new(1.0, palette.rule));
    painter.text(pos2(plot.left() - 6.0, y), Align2::RIGHT_CENTER, label, theme::small(), palette.soft);
}
