//! The fronts of one frame: how the picture moves through the stages, baseline above candidate on one time axis.

mod words;

use eframe::egui::{
    Align2, Color32, Painter, Pos2, Rangef, Rect, Response, RichText, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2,
    vec2,
};

use super::chart::{self, Scale};
use super::highlight;
use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::fronts::{Course, Front, Fronts, Strip};
use crate::report::figures::walk::Walk;
use crate::report::format::{count, exact_ms, ms, share};
use crate::talk::Highlight;
use crate::time::ns_to_ms;
use words::{BESIDE, between, words_in};

const LEFT: f32 = 48.0;
/// Height of the names of fronts above a panel \[pt\].
const NAMES: f32 = 16.0;
/// Room for the names of fronts and verticals over each panel, and for the dimension between the two.
const ABOVE: f32 = 20.0;
const BETWEEN: f32 = 26.0;
const LEAST_HEIGHT: f32 = 196.0;
/// Width of a panel from which the fronts are named where they are; below it a legend names them.
const WITH_NAMES: f32 = 520.0;
/// Length of a stroke in the legend, and the space behind it and between two.
const SAMPLE: f32 = 14.0;
const SPACE: [f32; 2] = [3.0, 8.0];
/// Height at the bottom of a panel that words may take \[pt\].
const LOW: f64 = 40.0;
/// How strongly the gap before each front is shaded.
const SHADES: [f32; 4] = [0.0, 0.16, 0.5, 0.3];

/// Draws the fronts over the space there is, under their designs' names; in a walk, up to an instant since the pose \[ns\].
pub fn fronts(ui: &mut Ui, fronts: &Fronts, names: &[String; 2], walk: Option<(&Walk, i64)>) -> Response {
    ui.horizontal(|ui| {
        ink::title(ui, "Fronts");
        let frame = format!("frame {}", count(fronts.frame as u64));
        let soft = Palette::current(ui).soft;
        ui.label(RichText::new(frame).font(theme::small()).color(soft));
    });
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(fronts, names)));
    let highlight = highlight::highlight(ui);
    let sheet = Sheet { highlight, ..Sheet::new(rect, fronts, walk.map(|(_, at_ns)| at_ns)) };
    if ui.is_rect_visible(rect) {
        sheet.paint(ui, fronts, names);
        sheet.outline(ui, fronts);
        if let Some((walk, at_ns)) = walk {
            sheet.stands(ui, fronts, walk, at_ns);
        }
        sheet.hover(ui, fronts, &response);
    }
    response
}

/// Where everything is.
struct Sheet {
    panels: [Rect; 2],
    x: Scale,
    /// Up to where time has come, in a walk \[ns\].
    until_ns: Option<i64>,
    /// Stages whose gaps and fronts keep their strength.
    highlight: Highlight,
}

impl Sheet {
    fn new(rect: Rect, fronts: &Fronts, until_ns: Option<i64>) -> Self {
        let left = rect.left() + LEFT;
        let right = (rect.right() - 16.0).max(left + 10.0);
        let height = ((rect.height() - 2.0 * ABOVE - BETWEEN - chart::BELOW) / 2.0).max(20.0);
        let panel = |top: f32| Rect::from_min_max(pos2(left, top), pos2(right, top + height));
        let first = panel(rect.top() + ABOVE);
        let panels = [first, panel(first.bottom() + BETWEEN + ABOVE)];
        let end_ms = ns_to_ms(fronts.end_ns()).max(1.0);
        Self { panels, x: Scale::linear(0.0, end_ms * 1.03, left, right), until_ns, highlight: Highlight::default() }
    }

    /// What the photons wait for now, in the corner of each panel.
    fn stands(&self, ui: &Ui, fronts: &Fronts, walk: &Walk, at_ns: i64) {
        let palette = Palette::current(ui);
        for side in Side::BOTH {
            let panel = self.panels[side.index()];
            let waits = walk.stand(side, at_ns).waits();
            let ground = if waits { theme::blend(palette.sheet, palette.doubt, 0.3) } else { palette.sheet };
            let colors = [palette.ink, ground];
            let text = walk.in_words(side, at_ns);
            let free = self.free(panel, fronts.sides[side.index()].as_ref());
            words_in(ui.painter(), panel.bottom() - 4.0, &free, &text, colors);
        }
    }

    /// The parts of a panel's width in which nothing is drawn at its bottom.
    fn free(&self, panel: Rect, course: Option<&Course>) -> Vec<Rangef> {
        let mut taken: Vec<Rangef> = Vec::new();
        if let Some(course) = course {
            let low = course.strips.iter().take_while(|strip| strip.rows[0] * f64::from(panel.height()) < LOW);
            let passed: Vec<f32> = low.flat_map(|strip| strip.passed_ns).flatten().map(|ns| self.place(ns)).collect();
            let ends = passed
                .iter()
                .copied()
                .fold([f32::INFINITY, f32::NEG_INFINITY], |[low, high], x| [low.min(x), high.max(x)]);
            taken.extend((ends[0] <= ends[1]).then(|| Rangef::new(ends[0], ends[1])));
            let shown = course.shown_ns.into_iter().flatten().filter(|ns| self.passed(*ns));
            taken.extend(shown.map(|ns| Rangef::point(self.place(ns))));
        }
        taken.extend(self.until_ns.map(|ns| Rangef::point(self.place(ns))));
        taken.sort_by(|one, two| one.min.total_cmp(&two.min));
        between(panel.x_range(), &taken)
    }

    /// Whether a front and the gap before it have full strength.
    fn strong(&self, front: Front) -> bool {
        !self.highlight.fades() || self.highlight.front(front)
    }

    /// Outlines the gaps before the fronts that are highlighted.
    fn outline(&self, ui: &Ui, fronts: &Fronts) {
        let stroke = Stroke::new(1.5, Palette::current(ui).ink);
        for (side, front) in Side::BOTH.into_iter().flat_map(|side| Front::ALL.map(|front| (side, front))) {
            let Some(course) = &fronts.sides[side.index()] else { continue };
            let before = (front as usize).checked_sub(1).map(|before| Front::ALL[before]);
            let Some(before) = before.filter(|_| self.highlight.fades() && self.highlight.front(front)) else {
                continue;
            };
            let mut way = self.stairs(side, &course.strips, before, true);
            let back = self.stairs(side, &course.strips, front, true);
            way.truncate(back.len());
            way.extend(back.into_iter().rev());
            ui.painter().add(Shape::closed_line(way, stroke));
        }
    }

    /// Whether time has come to an instant.
    fn passed(&self, ns: i64) -> bool {
        self.until_ns.is_none_or(|until_ns| ns <= until_ns)
    }

    fn place(&self, ns: i64) -> f32 {
        self.x.place(ns_to_ms(ns))
    }

    /// Height of a share of the picture in a panel: its top row is done first and stands at the bottom.
    fn height(&self, side: Side, share: f64) -> f32 {
        let panel = self.panels[side.index()];
        panel.bottom() - panel.height() * share as f32
    }

    fn paint(&self, ui: &Ui, fronts: &Fronts, names: &[String; 2]) {
        let palette = Palette::current(ui);
        let painter = ui.painter();
        for side in Side::BOTH {
            let panel = self.panels[side.index()];
            for part in [0.0, 0.5, 1.0] {
                chart::rule(painter, panel, self.height(side, part), &percent(part), palette);
            }
            if let Some(course) = &fronts.sides[side.index()] {
                self.gaps(painter, side, course, palette);
            }
            let course = fronts.sides[side.index()].as_ref();
            let mut taken = vec![self.name(painter, side, &names[side.index()], course, palette)];
            if let Some(course) = course {
                self.fronts(painter, side, course, &mut taken, palette);
                self.verticals(painter, side, course, &mut taken, palette);
                self.gap_names(painter, side, course, palette);
            }
        }
        if let Some(until_ns) = self.until_ns {
            let span = Rangef::new(self.panels[0].top(), self.panels[1].bottom());
            painter.vline(self.place(until_ns), span, Stroke::new(1.5, palette.ink));
        }
        self.gain(painter, fronts, palette);
        if self.names_fronts() {
            let name = "ms since the pose; share of the picture done";
            chart::x_axis(painter, self.panels[1], &self.x, name, palette);
        } else {
            chart::x_ticks(painter, self.panels[1], &self.x, palette);
            let before = self.panels[1].left_bottom() + vec2(-8.0, 4.0);
            painter.text(before, Align2::RIGHT_TOP, "ms", theme::small(), palette.soft);
            self.legend(painter, palette);
        }
    }

    fn names_fronts(&self) -> bool {
        self.panels[0].width() >= WITH_NAMES
    }

    /// Which stroke is which front, below the axis.
    fn legend(&self, painter: &Painter, palette: &Palette) {
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
    fn name(&self, painter: &Painter, side: Side, name: &str, course: Option<&Course>, palette: &Palette) -> Rangef {
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

    /// The time that each part of the picture spends between two fronts.
    fn gaps(&self, painter: &Painter, side: Side, course: &Course, palette: &Palette) {
        let mut plate = Plate::new(painter);
        for front in Front::ALL {
            for strip in &course.strips {
                let Some([from, to]) = gap(strip, front).filter(|[from, _]| self.passed(*from)) else { continue };
                let to = self.until_ns.map_or(to, |until_ns| until_ns.min(to));
                let [low, high] = strip.rows.map(|share| self.height(side, share));
                let rect = Rect::from_min_max(pos2(self.place(from), high), pos2(self.place(to), low));
                let shade = SHADES[front as usize] * if self.strong(front) { 1.0 } else { 0.25 };
                match side {
                    Side::Baseline => {
                        plate.fill(rect, theme::blend(palette.sheet, palette.baseline, shade * 0.4));
                        plate.engrave(rect, theme::blend(palette.sheet, palette.baseline, shade + 0.1));
                    }
                    Side::Candidate => plate.fill(rect, theme::blend(palette.sheet, palette.candidate, shade)),
                }
            }
        }
        plate.draw(painter);
    }

    /// Latch dashed, vsync drawn through, light with the design's mark.
    fn verticals(&self, painter: &Painter, side: Side, course: &Course, taken: &mut Vec<Rangef>, palette: &Palette) {
        let Some(shown) = course.shown_ns else { return };
        let panel = self.panels[side.index()];
        let [latch, vsync, light] = shown.map(|ns| self.place(ns));
        let stroke = Stroke::new(1.5, palette.ink);
        let [latched, synced, lit] = shown.map(|ns| self.passed(ns));
        if latched {
            ink::dashed(painter, pos2(latch, panel.top()), pos2(latch, panel.bottom()), stroke, [2.0, 3.0]);
        }
        if synced {
            painter.vline(vsync, panel.y_range(), stroke);
        }
        if lit {
            painter.vline(light, panel.y_range(), Stroke::new(1.5, palette.side(side)));
            Mark::of(side).draw(painter, pos2(light, panel.top()), 11.0, palette.side(side), palette.sheet);
        }
        for (x, text, _) in [(light, "light", lit), (vsync, "vsync", synced), (latch, "latch", latched)]
            .into_iter()
            .filter(|(.., come)| *come)
        {
            let half = ink::width(painter, text, theme::small()) / 2.0;
            let left = x.min(panel.right() + 12.0 - half) - half;
            label(painter, pos2(left, panel.top() - 6.0), text, taken, palette);
        }
    }

    /// A staircase for each front, told apart by its stroke and its name.
    fn fronts(&self, painter: &Painter, side: Side, course: &Course, taken: &mut Vec<Rangef>, palette: &Palette) {
        let panel = self.panels[side.index()];
        let color = palette.side(side);
        for front in Front::ALL {
            if self.until_ns.is_some() {
                let faint = theme::blend(palette.sheet, color, 0.25);
                stroke(painter, &self.stairs(side, &course.strips, front, false), front, faint);
            }
            let stairs = self.stairs(side, &course.strips, front, true);
            let Some(top) = stairs.last().copied() else { continue };
            let color = if self.strong(front) { color } else { highlight::faded(color, palette) };
            stroke(painter, &stairs, front, color);
            if !self.names_fronts() {
                continue;
            }
            let wide = ink::width(painter, front.name(), theme::small());
            // Encoded and arrived are close: one is named on its left, the other on its right.
            let left = if front == Front::Encoded { top.x - wide + 4.0 } else { top.x - 4.0 };
            if top.y <= panel.top() + 1.0 {
                label(painter, pos2(left, panel.top() - 2.0), front.name(), taken, palette);
            }
        }
    }

    /// The staircase of a front, as far as it has come if `so_far`.
    fn stairs(&self, side: Side, strips: &[Strip], front: Front, so_far: bool) -> Vec<Pos2> {
        let mut stairs = Vec::with_capacity(2 * strips.len());
        for strip in strips {
            let come = |ns: &i64| !so_far || self.passed(*ns);
            let Some(ns) = strip.passed_ns[front as usize].filter(come) else { break };
            let x = self.place(ns);
            stairs.extend(strip.rows.map(|share| pos2(x, self.height(side, share))));
        }
        stairs
    }

    /// What happens between two fronts and how long a row of the picture is there, where there is room to say it.
    fn gap_names(&self, painter: &Painter, side: Side, course: &Course, palette: &Palette) {
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

    /// The difference of the two ready times, drawn between the panels.
    fn gain(&self, painter: &Painter, fronts: &Fronts, palette: &Palette) {
        let Some(gain) = fronts.gain_ns() else { return };
        let ready = fronts.sides.each_ref().map(|side| side.as_ref().and_then(|side| side.ready_ns));
        let come = |ns: &i64| self.passed(*ns);
        let [Some(before), Some(after)] = ready.map(|ns| ns.filter(come).map(|ns| self.place(ns))) else { return };
        let [above, below] = &self.panels;
        let y = above.bottom() + BETWEEN * 0.5;
        let carried = Stroke::new(1.0, palette.ink);
        ink::dashed(painter, pos2(before, above.bottom()), pos2(before, y + 4.0), carried, [3.0, 3.0]);
        // Names of fronts stand above the panel; the line ends above them.
        let end = if self.names_fronts() { (below.top() - NAMES).max(y + 4.0) } else { below.top() };
        ink::dashed(painter, pos2(after, y - 4.0), pos2(after, end), carried, [3.0, 3.0]);
        if (before - after).abs() > 14.0 {
            ink::dimension(painter, pos2(after, y), pos2(before, y), Stroke::new(1.5, palette.ink));
        }
        let text = gain_in_words(gain);
        let right = before.max(after) + 8.0;
        let wide = ink::width(painter, &text, theme::text());
        // Where time has come to stands a line, which would cross it.
        let now = self.until_ns.map(|ns| self.place(ns));
        let crossed = now.is_some_and(|now| now > right - BESIDE && now < right + wide + BESIDE);
        let room = above.right() - right > wide && !crossed;
        let (at, anchor) = if room {
            (pos2(right, y), Align2::LEFT_CENTER)
        } else {
            (pos2(before.min(after) - 8.0, y), Align2::RIGHT_CENTER)
        };
        ink::text_on(painter, at, anchor, text, theme::text(), [palette.ink, palette.sheet]);
    }

    /// The strip under the pointer: when each front passed over it.
    fn hover(&self, ui: &Ui, fronts: &Fronts, response: &Response) {
        let Some(pointer) = response.hover_pos() else { return };
        let Some(side) = Side::BOTH.into_iter().find(|side| self.panels[side.index()].contains(pointer)) else {
            return;
        };
        let panel = self.panels[side.index()];
        let Some(course) = &fronts.sides[side.index()] else { return };
        let at = f64::from((panel.bottom() - pointer.y) / panel.height());
        let Some(slice) = course.strips.iter().position(|strip| at <= strip.rows[1]) else { return };
        let rows = course.strips[slice].rows.map(|share| self.height(side, share));
        let frame = Rect::from_x_y_ranges(panel.x_range(), rows[1]..=rows[0]);
        let stroke = Stroke::new(1.5, Palette::current(ui).doubt);
        ui.painter().rect_stroke(frame, 1.0, stroke, eframe::egui::StrokeKind::Inside);
        response.clone().on_hover_text_at_pointer(told(course, slice));
    }
}

/// The stroke that tells a front from the others.
fn stroke(painter: &Painter, path: &[Pos2], front: Front, color: Color32) {
    match front {
        Front::Rendered => {
            painter.add(Shape::line(path.to_vec(), Stroke::new(1.0, color)));
        }
        Front::Encoded => painter.extend(Shape::dashed_line(path, Stroke::new(1.5, color), 6.0, 3.0)),
        Front::Arrived => painter.extend(Shape::dashed_line(path, Stroke::new(1.5, color), 2.0, 2.5)),
        Front::Decoded => {
            painter.add(Shape::line(path.to_vec(), Stroke::new(2.5, color)));
        }
    }
}

/// A name in the row over a panel, where nothing else stands yet.
fn label(painter: &Painter, left_bottom: Pos2, text: &str, taken: &mut Vec<Rangef>, palette: &Palette) {
    let wide = ink::width(painter, text, theme::small());
    let place = Rangef::new(left_bottom.x - 4.0, left_bottom.x + wide + 4.0);
    if taken.iter().all(|other| !other.intersects(place)) {
        painter.text(left_bottom, Align2::LEFT_BOTTOM, text, theme::small(), palette.soft);
        taken.push(place);
    }
}

/// From when to when a strip is between a front and the one before.
fn gap(strip: &Strip, front: Front) -> Option<[i64; 2]> {
    let before = (front as usize).checked_sub(1)?;
    Some([strip.passed_ns[before]?, strip.passed_ns[front as usize]?])
}

fn percent(part: f64) -> String {
    crate::report::format::with_unit(Some(100.0 * part), 0, "%")
}

fn gain_in_words(gain_ns: i64) -> String {
    match gain_ns {
        0 => "this frame: ready at the same time".to_owned(),
        gain => format!("this frame: ready {} {}", ms(ns_to_ms(gain.abs())), if gain > 0 { "sooner" } else { "later" }),
    }
}

/// A slice and when the fronts passed over it.
fn told(course: &Course, slice: usize) -> String {
    let strip = &course.strips[slice];
    let [from, to] = strip.rows.map(share);
    let mut lines = vec![format!("Slice {} of {}, {from} to {to} of the picture", slice + 1, course.strips.len())];
    for front in Front::ALL {
        let Some(ns) = strip.passed_ns[front as usize] else {
            lines.push(format!("never {}", front.name()));
            break;
        };
        let since = gap(strip, front).map_or_else(String::new, |[from, to]| format!(", {} later", exact_ms(to - from)));
        lines.push(format!("{} at {}{since}", front.name(), exact_ms(ns)));
    }
    if let Some((ready, decoded)) = course.ready_ns.zip(strip.passed_ns[Front::Decoded as usize]) {
        lines.push(format!("then {} until the frame is ready", exact_ms(ready - decoded)));
    }
    lines.join("\n")
}

/// What is to be seen, in words.
fn in_words(fronts: &Fronts, names: &[String; 2]) -> String {
    let of = |side: Side| {
        let ready = fronts.sides[side.index()].as_ref().and_then(|course| course.ready_ns);
        let ready = ready.map_or_else(|| "not ready".to_owned(), |ns| format!("ready after {}", ms(ns_to_ms(ns))));
        format!("{} {ready}", names[side.index()])
    };
    let gain = fronts.gain_ns().map_or_else(String::new, |gain| format!("; {}", gain_in_words(gain)));
    let frame = count(fronts.frame as u64);
    format!("Fronts of frame {frame}: {}, {}{gain}", of(Side::Baseline), of(Side::Candidate))
}
