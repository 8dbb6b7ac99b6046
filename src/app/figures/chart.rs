//! A plotting area: values to places on screen, and axes with round numbers.

use eframe::egui::{Align2, Painter, Pos2, Rangef, Rect, Stroke, pos2};

use crate::app::theme::{self, Palette};
use crate::report::figures::axis::{Ticks, decades, ticks};
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

/// Space under a plot for tick labels and the axis' name, and for the labels alone \[pt\].
pub(super) const BELOW: f32 = 36.0;
pub(super) const TICKS: f32 = 20.0;

/// A horizontal axis under `plot`: ticks, numbers, and its name with the unit below them.
pub(super) fn x_axis(painter: &Painter, plot: Rect, x: &Scale, name: &str, palette: &Palette) {
    x_ticks(painter, plot, x, palette);
    name_below(painter, plot, name, palette);
}

/// Its line, ticks and numbers.
pub(super) fn x_ticks(painter: &Painter, plot: Rect, x: &Scale, palette: &Palette) {
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, palette.soft));
    let ticks = x.ticks(56.0);
    for value in &ticks.values {
        let label = number(*value, ticks.decimals);
        tick_below(painter, pos2(x.place(*value), plot.bottom()), &label, palette);
    }
}

/// The same without its name; the unit stands before the first number.
pub(super) fn x_ticks_alone(painter: &Painter, plot: Rect, x: &Scale, unit: &str, palette: &Palette) {
    x_ticks(painter, plot, x, palette);
    let before = pos2(plot.left() - 8.0, plot.bottom() + 4.0);
    painter.text(before, Align2::RIGHT_TOP, unit, theme::small(), palette.soft);
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

/// Rules at the powers of ten up to 1 of an axis of shares, labelled in per cent without decimals they do not need.
pub(super) fn decade_rules(painter: &Painter, plot: Rect, y: &Scale, palette: &Palette) {
    for decade in decades(y.values[0], 1.0) {
        let decimals = (-(100.0 * decade).log10().round()).max(0.0) as usize;
        rule(painter, plot, y.place(decade), &format!("{} %", number(100.0 * decade, decimals)), palette);
    }
}

/// Space between two words beside each other, at least \[pt\].
const APART: f32 = 10.0;

/// Where the middle of a word is that stands over a line and does not begin left of `from`. None where it would come away from
/// its line.
pub(super) fn over_line(line: f32, wide: f32, from: f32) -> Option<f32> {
    let middle = line.max(from + wide / 2.0);
    (middle - line <= wide / 2.0 + APART).then_some(middle)
}

/// Where the middles of two words are that stand over a line each, the second right of the first: pushed from each other where
/// they would touch, none beginning left of `from`. None where one would come away from its line.
pub(super) fn over_lines(lines: [f32; 2], wide: [f32; 2], from: f32) -> Option<[f32; 2]> {
    let halves = wide.map(|wide| wide / 2.0);
    let lacking = (halves[0] + halves[1] + APART - (lines[1] - lines[0])).max(0.0);
    let first = (lines[0] - lacking / 2.0).max(from + halves[0]);
    let second = lines[1].max(first + halves[0] + APART + halves[1]);
    let middles = [first, second];
    (0..2).all(|word| (middles[word] - lines[word]).abs() <= halves[word] + APART).then_some(middles)
}

/// Where the middles of words are that stand over a line each, in the order of their lines: so far apart that they do not touch,
/// within a span, and else as near to their lines as can be, by least squares. None where there is not room for all.
///
/// With what words and spaces take off, this is an increasing sequence nearest to a given one: neighbours that are out of order
/// are pooled (Ayer, Brunk, Ewing, Reid and Silverman, Annals of Mathematical Statistics 26, 1955); bounds cut it off.
pub(super) fn spread(lines: &[f32], wide: &[f32], span: Rangef) -> Option<Vec<f32>> {
    let (Some(first), Some(last)) = (wide.first(), wide.last()) else { return Some(Vec::new()) };
    let mut offsets = vec![0.0];
    for pair in wide.windows(2) {
        offsets.push(offsets.last()? + f32::midpoint(pair[0], pair[1]) + APART);
    }
    let low = span.min + first / 2.0;
    let high = span.max - last / 2.0 - offsets.last()?;
    if high < low {
        return None;
    }
    // Sum and number of what is pooled.
    let mut pools: Vec<(f32, usize)> = Vec::new();
    let mean = |pool: &(f32, usize)| pool.0 / pool.1 as f32;
    for (line, offset) in lines.iter().zip(&offsets) {
        let mut pool = (line - offset, 1);
        while let Some(before) = pools.pop_if(|before| mean(before) > mean(&pool)) {
            pool = (pool.0 + before.0, pool.1 + before.1);
        }
        pools.push(pool);
    }
    let places = pools.iter().flat_map(|pool| std::iter::repeat_n(mean(pool).clamp(low, high), pool.1));
    Some(places.zip(offsets).map(|(place, offset)| place + offset).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_over_lines_that_are_close_are_pushed_from_each_other() {
        let wide = [30.0, 32.0];
        assert_eq!(over_lines([100.0, 160.0], wide, 0.0), Some([100.0, 160.0]), "room enough");
        assert_eq!(over_lines([100.0, 121.0], wide, 0.0), Some([90.0, 131.0]), "twenty are lacking");
        assert_eq!(over_lines([100.0, 121.0], wide, 80.0), Some([95.0, 136.0]), "the first can give less");
        assert_eq!(over_lines([100.0, 121.0], wide, 112.0), None, "the first would begin beyond its line");
        assert_eq!(over_line(100.0, 30.0, 80.0), Some(100.0), "room enough");
        assert_eq!(over_line(100.0, 30.0, 110.0), Some(125.0), "it begins as near as it can");
        assert_eq!(over_line(100.0, 30.0, 111.0), None, "its line would be too far from it");
    }

    #[test]
    fn words_over_lines_are_spread_as_little_as_can_be() {
        let span = Rangef::new(0.0, 200.0);
        let wide = [20.0, 30.0, 20.0];
        assert_eq!(spread(&[20.0, 100.0, 160.0], &wide, span), Some(vec![20.0, 100.0, 160.0]), "room enough");
        assert_eq!(spread(&[90.0, 100.0, 190.0], &wide, span), Some(vec![77.5, 112.5, 190.0]), "both give way");
        assert_eq!(spread(&[2.0, 4.0, 199.0], &wide, span), Some(vec![10.0, 45.0, 190.0]), "none leaves the span");
        assert_eq!(spread(&[100.0, 100.0, 100.0], &wide, Rangef::new(60.0, 150.0)), Some(vec![70.0, 105.0, 140.0]));
        assert_eq!(spread(&[100.0, 100.0, 100.0], &wide, Rangef::new(60.0, 149.0)), None);
        assert_eq!(spread(&[], &[], span), Some(vec![]));
    }
}
