//! Labels within the plot, where they cover neither curves nor handle nor each other.

use eframe::egui::{Align2, Painter, Pos2, Rect, Ui, Vec2, pos2, vec2};

use crate::app::figures::chart::Scale;
use crate::app::figures::ink;
use crate::app::figures::verdict::flag;
use crate::app::theme::{self, Palette};
use crate::report::figures::curve::{Curve, CurvePoint};

/// Distance that a label keeps from what is drawn \[pt\].
const CLEAR: f32 = 4.0;
/// How finely places are tried and lines are followed \[pt\].
const STEP: f32 = 6.0;

/// Where labels may stand.
pub(super) struct Labels {
    plot: Rect,
    /// Where the first count is: left of it stand the names of the lines.
    first: f32,
    /// Points of what is drawn.
    drawn: Vec<Pos2>,
    /// Labels that are there.
    taken: Vec<Rect>,
}

impl Labels {
    pub(super) fn new(plot: Rect, (x, y): (&Scale, &Scale), curve: &Curve, today: u32) -> Self {
        let mut drawn = Vec::new();
        for value in [(|point: &CurvePoint| point.p50_ms) as fn(&CurvePoint) -> Option<f64>, |point| point.p99_ms] {
            let places = curve.points().iter().map(|point| Some((point.slices, value(point)?)));
            let places: Vec<Option<Pos2>> =
                places.map(|known| known.map(|(count, ms)| pos2(x.place(f64::from(count)), y.place(ms)))).collect();
            for pair in places.windows(2) {
                if let [Some(from), Some(to)] = pair {
                    follow(&mut drawn, *from, *to);
                }
            }
            drawn.extend(places.into_iter().flatten());
        }
        let at = x.place(f64::from(today));
        follow(&mut drawn, pos2(at, plot.top()), pos2(at, plot.bottom()));
        if let Some((best, p99)) = curve.best().and_then(|best| Some((best.slices, best.p99_ms?))) {
            let centre = pos2(x.place(f64::from(best)), y.place(p99));
            drawn.extend([vec2(7.0, 0.0), vec2(-7.0, 0.0), vec2(0.0, 7.0), vec2(0.0, -7.0)].map(|away| centre + away));
        }
        for point in curve.points().iter().filter(|point| !point.steady) {
            drawn.push(pos2(x.place(f64::from(point.slices)), plot.bottom() - 10.0));
        }
        Self { plot, first: x.place(1.0), drawn, taken: Vec::new() }
    }

    fn is_free(&self, rect: Rect) -> bool {
        let wide = rect.expand(CLEAR);
        self.plot.contains_rect(rect)
            && self.drawn.iter().all(|at| !wide.contains(*at))
            && self.taken.iter().all(|other| !wide.intersects(*other))
    }

    /// A label above or below a level line, as far to the right as it is clear.
    pub(super) fn along(&mut self, painter: &Painter, text: &str, at: f32, palette: &Palette) {
        let size = size(painter, text);
        let right = self.plot.right() - 4.0;
        let heights = [at - 2.0 - size.y, at + 2.0];
        let mut places = steps(right - size.x, self.first).flat_map(|x| heights.map(|y| pos2(x, y)));
        let place = places.find(|min| self.is_free(Rect::from_min_size(*min, size)));
        let min = place.unwrap_or_else(|| pos2(right - size.x, at - 2.0 - size.y));
        let colors = [palette.ink, palette.sheet];
        if place.is_some() {
            painter.text(min, Align2::LEFT_TOP, text, theme::small(), palette.ink);
        } else {
            ink::text_on(painter, min, Align2::LEFT_TOP, text, theme::small(), colors);
        }
        self.taken.push(Rect::from_min_size(min, size));
        // The line itself, for what comes after.
        follow(&mut self.drawn, pos2(self.plot.left(), at), pos2(self.plot.right(), at));
    }

    /// A flag within a ground, or reaching out of it to the left, as low as it is clear.
    pub(super) fn within(&mut self, ui: &Ui, text: &str, ground: Rect, palette: &Palette) {
        let size = size(ui.painter(), text);
        let right = ground.right() - 6.0 - size.x;
        let low = ground.bottom() - 16.0 - size.y;
        let mut places =
            steps(right, ground.left().min(right)).flat_map(|x| steps(low, ground.top()).map(move |y| pos2(x, y)));
        let min = places.find(|min| self.is_free(Rect::from_min_size(*min, size))).unwrap_or_else(|| pos2(right, low));
        flag(ui, min, Align2::LEFT_TOP, text, palette);
        self.taken.push(Rect::from_min_size(min, size));
    }
}

fn size(painter: &Painter, text: &str) -> Vec2 {
    painter.layout_no_wrap(text.to_owned(), theme::small(), eframe::egui::Color32::PLACEHOLDER).size()
}

/// From one value down to another.
fn steps(from: f32, to: f32) -> impl Iterator<Item = f32> {
    let count = ((from - to) / STEP).floor().max(0.0) as u32;
    (0..=count).map(move |step| from - step as f32 * STEP)
}

/// Points along a line.
fn follow(points: &mut Vec<Pos2>, from: Pos2, to: Pos2) {
    let count = ((to - from).length() / STEP).ceil().clamp(1.0, 1000.0) as u32;
    points.extend((0..=count).map(|step| from.lerp(to, step as f32 / count as f32)));
}
