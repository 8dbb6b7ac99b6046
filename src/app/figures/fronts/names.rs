//! What stands over, on and under the panels in words: designs, fronts, refreshes, gaps, and the legend.

use eframe::egui::{Align2, Painter, Rangef, Stroke, pos2, vec2};

use super::{ABOVE, LEFT, SAMPLE, SPACE, Sheet, gap, stroke};
use crate::app::figures::chart;
use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::fronts::{Course, Front};
use crate::report::format::ms;

/// How far above a panel its names stand, and how far beyond its right edge they may \[pt\].
const UP: f32 = 7.0;
const BEYOND: f32 = 12.0;
/// Space beside a name \[pt\].
const BESIDE_NAME: f32 = 4.0;
/// How far the nearest end of a name may be from its line \[pt\].
const FAR: f32 = 90.0;

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

    /// Names of the fronts, each over the top of its own, and of latch, vsync and light over their lines: as near to them as
    /// they can stand beside each other and behind what is `taken`, with a stroke to the line.
    pub(super) fn name_lines(&self, painter: &Painter, side: Side, course: &Course, taken: Rangef, palette: &Palette) {
        let panel = self.panels[side.index()];
        let mut lines = self.lines(course);
        let span = Rangef::new(taken.max + BESIDE_NAME, panel.right() + BEYOND);
        let middles = near(&mut lines, span, |name| ink::width(painter, name, theme::small()));
        for (line, middle) in lines.iter().zip(middles).filter(|(line, _)| line.come) {
            let at = pos2(middle, panel.top() - UP);
            let colors = [palette.soft, palette.sheet];
            let name = ink::text_on(painter, at, Align2::CENTER_BOTTOM, line.name, theme::small(), colors);
            let under = line.at.clamp(name.left() + 2.0, name.right() - 2.0);
            let way = [pos2(line.at, panel.top()), pos2(under, panel.top() - UP + 1.0)];
            painter.line_segment(way, Stroke::new(1.0, palette.soft));
        }
    }

    /// The lines that have a name over their panel, from left to right.
    fn lines(&self, course: &Course) -> Vec<Line> {
        const NAMES: [&str; 3] = ["latch", "vsync", "light"];
        let mut lines = Vec::new();
        let last = course.strips.last().filter(|_| self.names_fronts());
        for (front, strip) in Front::ALL.into_iter().filter_map(|front| Some((front, last?))) {
            if let (Some(whole_ns), Some(top_ns)) = (course.whole_ns(front), strip.passed_ns[front as usize]) {
                lines.push(Line { at: self.place(top_ns), name: front.name(), come: self.passed(whole_ns) });
            }
        }
        for (ns, name) in course.shown_ns.into_iter().flatten().zip(NAMES) {
            lines.push(Line { at: self.place(ns), name, come: self.passed(ns) });
        }
        lines.sort_by(|one, two| one.at.total_cmp(&two.at));
        lines
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

/// A line with a name.
struct Line {
    at: f32,
    name: &'static str,
    /// Whether time has come to it.
    come: bool,
}

/// Where the middles of the names of lines are. A line whose name would come too far from it, and one for which there is no
/// room, is left out.
fn near(lines: &mut Vec<Line>, span: Rangef, width: impl Fn(&str) -> f32) -> Vec<f32> {
    loop {
        let at: Vec<f32> = lines.iter().map(|line| line.at).collect();
        let wide: Vec<f32> = lines.iter().map(|line| width(line.name)).collect();
        let middles = chart::spread(&at, &wide, span);
        let far = |place: usize, middle: f32| (middle - at[place]).abs() - wide[place] / 2.0;
        let gone = match &middles {
            Some(middles) => {
                let far = middles.iter().enumerate().map(|(place, middle)| (place, far(place, *middle)));
                far.max_by(|one, two| one.1.total_cmp(&two.1)).filter(|(_, far)| *far > FAR).map(|(place, _)| place)
            }
            None => Some(0),
        };
        match (gone, middles) {
            (None, middles) => return middles.unwrap_or_default(),
            (Some(gone), _) => drop(lines.remove(gone)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(of: &[(f32, &'static str)]) -> Vec<Line> {
        of.iter().map(|(at, name)| Line { at: *at, name, come: true }).collect()
    }

    /// As if every letter were 10 wide.
    fn near_by(of: &[(f32, &'static str)], span: [f32; 2]) -> Vec<(&'static str, f32)> {
        let mut lines = lines(of);
        let middles = near(&mut lines, Rangef::new(span[0], span[1]), |name| 10.0 * name.len() as f32);
        lines.iter().map(|line| line.name).zip(middles).collect()
    }

    #[test]
    fn names_of_lines_that_are_close_give_way_to_each_other() {
        let of = [(200.0, "encoded"), (206.0, "arrived"), (400.0, "decoded")];
        let apart = [("encoded", 163.0), ("arrived", 243.0), ("decoded", 400.0)];
        assert_eq!(near_by(&of, [0.0, 500.0]), apart);
        let pushed = [("encoded", 205.0), ("arrived", 285.0), ("decoded", 400.0)];
        assert_eq!(near_by(&of, [170.0, 500.0]), pushed, "none begins left of the span");
        let far = [("encoded", 305.0), ("decoded", 400.0)];
        assert_eq!(near_by(&of, [270.0, 500.0]), far, "one would be too far from its line");
        assert_eq!(near_by(&of[..2], [150.0, 230.0]), [("arrived", 195.0)], "no room for both");
    }
}
