//! What stands over, on and under the panels in words: designs, fronts, refreshes, gaps, and the legend.

use eframe::egui::{Align2, Painter, Pos2, Rangef, pos2, vec2};

use super::{ABOVE, LEFT, SAMPLE, SPACE, Sheet, gap, stroke};
use crate::app::figures::chart;
use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::fronts::{Course, Front};
use crate::report::format::ms;

/// How far above a panel its names stand \[pt\].
const UP: f32 = 6.0;
/// Space beside a name \[pt\].
const BESIDE_NAME: f32 = 4.0;

impl Sheet {
    /// Which stroke is which front, below the axis.
    pub(super) fn legend(&self, painter: &Painter, palette: &Palette) {
        let [left, right] = [self.panels[1].left() - LEFT, self.panels[1].right() + 14.0];
        let wide = |of: fn(Front) -> &'static str| {
            let words = Front::ALL.map(|front| SAMPLE + SPACE[0] + ink::width(painter, of(front), theme::small()));
            words.into_iter().sum::<f32>() + 3.0 * SPACE[1]
        };
        // What is done before the front, where its name is too long.
        let word = if wide(Front::name) <= right - left { Front::name } else { Front::gap };
        let mut x = (f32::midpoint(left, right) - wide(word) / 2.0).max(left);
        let y = self.panels[1].bottom() + 28.0;
        for front in Front::ALL {
            stroke(painter, &[pos2(x, y), pos2(x + SAMPLE, y)], front, palette.ink);
            let at = pos2(x + SAMPLE + SPACE[0], y);
            x = painter.text(at, Align2::LEFT_CENTER, word(front), theme::small(), palette.soft).right() + SPACE[1];
        }
    }

    /// The design's name over its panel; gives what it took of the row of names.
    pub(super) fn name(
        &self,
        painter: &Painter,
        side: Side,
        name: &str,
        course: Option<&Course>,
        palette: &Palette,
    ) -> Rangef {
        let panel = self.panels[side.index()];
        let at = pos2(panel.left() + 8.0, panel.top() - ABOVE / 2.0);
        Mark::of(side).draw(painter, at, 11.0, palette.side(side), palette.sheet);
        let taken = painter.text(at + vec2(11.0, 0.0), Align2::LEFT_CENTER, name, theme::text(), palette.ink);
        if course.is_none_or(|course| course.ready_ns.is_none()) {
            let text = "this frame did not get ready";
            painter.text(panel.center(), Align2::CENTER_CENTER, text, theme::small(), palette.soft);
        }
        Rangef::new(panel.left(), taken.right() + 4.0)
    }

    /// Names of latch, vsync and light over their lines.
    pub(super) fn name_verticals(
        &self,
        painter: &Painter,
        side: Side,
        course: &Course,
        taken: &mut Vec<Rangef>,
        palette: &Palette,
    ) {
        const NAMES: [&str; 3] = ["latch", "vsync", "light"];
        let Some(shown) = course.shown_ns else { return };
        let panel = self.panels[side.index()];
        let wide = NAMES.map(|name| ink::width(painter, name, theme::small()));
        let mut middles = shown.map(|ns| self.place(ns));
        middles[2] = middles[2].min(panel.right() + 12.0 - wide[2] / 2.0);
        let come = shown.map(|ns| self.passed(ns));
        if come[1] {
            // A hair beyond, so that it does not touch what is taken.
            let from = taken.iter().map(|taken| taken.max + BESIDE_NAME + 0.5).fold(panel.left(), f32::max);
            if let Some([latch, vsync]) = chart::over_lines([middles[0], middles[1]], [wide[0], wide[1]], from) {
                (middles[0], middles[1]) = (latch, vsync);
            }
        }
        for name in [2, 1, 0].into_iter().filter(|name| come[*name]) {
            label(painter, pos2(middles[name] - wide[name] / 2.0, panel.top() - UP), NAMES[name], taken, palette);
        }
    }

    /// Names of the fronts, each beside the top of its own: those of the first two end there, those of the others begin.
    pub(super) fn name_fronts(
        &self,
        painter: &Painter,
        side: Side,
        course: &Course,
        taken: &mut Vec<Rangef>,
        palette: &Palette,
    ) {
        let panel = self.panels[side.index()];
        for front in Front::ALL {
            let stairs = self.stairs(side, &course.strips, front, true);
            let Some(top) = stairs.last().filter(|top| top.y <= panel.top() + 1.0) else { continue };
            let before = taken.iter().map(|taken| taken.max + BESIDE_NAME + 0.5).fold(panel.left(), f32::max);
            let left = match front {
                // Pushed to the right of what stands before, as far as it is over its line.
                Front::Rendered | Front::Encoded => {
                    (top.x - ink::width(painter, front.name(), theme::small())).max(before.min(top.x))
                }
                Front::Arrived => top.x,
                // The line of what is gained comes down there.
                Front::Decoded => top.x.max(course.ready_ns.map_or(top.x, |ns| self.place(ns))) + BESIDE_NAME,
            };
            label(painter, pos2(left, panel.top() - UP), front.name(), taken, palette);
        }
    }

    /// What happens between two fronts and how long a row of the picture is there, where there is room to say it.
    pub(super) fn gap_names(&self, painter: &Painter, side: Side, course: &Course, palette: &Palette) {
        let Some(middle) = course.strips.get(course.strips.len() / 2) else { return };
        for front in Front::ALL {
            let (Some([from, to]), Some(mean)) = (gap(middle, front), course.gap_ns(front)) else { continue };
            if !self.passed(to) {
                continue;
            }
            let text = format!("{} {}", front.gap(), ms(mean / 1e6));
            let wide = ink::width(painter, &text, theme::small());
            let [left, right] = [from, to].map(|ns| self.place(ns));
            if right - left < wide + 14.0 {
                continue;
            }
            let share = f64::midpoint(middle.rows[0], middle.rows[1]);
            let at = pos2(f32::midpoint(left, right), self.height(side, share));
            ink::text_on(painter, at, Align2::CENTER_CENTER, text, theme::small(), [palette.ink, palette.sheet]);
        }
    }
}

/// A name in the row over a panel, where nothing else stands yet.
fn label(painter: &Painter, left_bottom: Pos2, text: &str, taken: &mut Vec<Rangef>, palette: &Palette) {
    let wide = ink::width(painter, text, theme::small());
    let place = Rangef::new(left_bottom.x - BESIDE_NAME, left_bottom.x + wide + BESIDE_NAME);
    if taken.iter().all(|other| !other.intersects(place)) {
        painter.text(left_bottom, Align2::LEFT_BOTTOM, text, theme::small(), palette.soft);
        taken.push(place);
    }
}
