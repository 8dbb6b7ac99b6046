//! The fronts of one frame: how the picture moves through the stages, baseline above candidate on one time axis.

mod names;
mod told;
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
use crate::report::format::count;
use crate::talk::Highlight;
use crate::time::ns_to_ms;
use told::{gain_in_words, in_words, told};
use words::{between, words_in};

const LEFT: f32 = 48.0;
/// Room for the names of fronts and verticals over each panel, and for the dimension between the two.
const ABOVE: f32 = 20.0;
const BETWEEN: f32 = 32.0;
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
        // Below the names, one of which may stand on what is carried down.
        self.gain(painter, fronts, palette);
        for side in Side::BOTH {
            let panel = self.panels[side.index()];
            for part in [0.0, 0.5, 1.0] {
                chart::rule(painter, panel, self.height(side, part), &percent(part), palette);
            }
            if let Some(course) = &fronts.sides[side.index()] {
                self.gaps(painter, side, course, palette);
            }
            let course = fronts.sides[side.index()].as_ref();
            let taken = self.name(painter, side, &names[side.index()], course, palette);
            if let Some(course) = course {
                self.fronts(painter, side, course, palette);
                self.verticals(painter, side, course, palette);
                self.name_lines(painter, side, course, taken, palette);
                self.gap_names(painter, side, course, palette);
            }
        }
        if let Some(until_ns) = self.until_ns {
            // Between the panels are names.
            for panel in &self.panels {
                painter.vline(self.place(until_ns), panel.y_range(), Stroke::new(1.5, palette.ink));
            }
        }
        if self.names_fronts() {
            let name = "ms since the pose; share of the picture done";
            chart::x_axis(painter, self.panels[1], &self.x, name, palette);
        } else {
            chart::x_ticks_alone(painter, self.panels[1], &self.x, "ms", palette);
            self.legend(painter, palette);
        }
    }

    fn names_fronts(&self) -> bool {
        self.panels[0].width() >= WITH_NAMES
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
    fn verticals(&self, painter: &Painter, side: Side, course: &Course, palette: &Palette) {
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
    }

    /// A staircase for each front, told apart by its stroke.
    fn fronts(&self, painter: &Painter, side: Side, course: &Course, palette: &Palette) {
        let color = palette.side(side);
        for front in Front::ALL {
            if self.until_ns.is_some() {
                let faint = theme::blend(palette.sheet, color, 0.25);
                stroke(painter, &self.stairs(side, &course.strips, front, false), front, faint);
            }
            let stairs = self.stairs(side, &course.strips, front, true);
            let color = if self.strong(front) { color } else { highlight::faded(color, palette) };
            stroke(painter, &stairs, front, color);
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

    /// The difference of the two ready times, drawn between the panels.
    fn gain(&self, painter: &Painter, fronts: &Fronts, palette: &Palette) {
        let Some(gain) = fronts.gain_ns() else { return };
        let ready = fronts.sides.each_ref().map(|side| side.as_ref().and_then(|side| side.ready_ns));
        let come = |ns: &i64| self.passed(*ns);
        let [Some(before), Some(after)] = ready.map(|ns| ns.filter(come).map(|ns| self.place(ns))) else { return };
        let [above, below] = &self.panels;
        let y = above.bottom() + BETWEEN * 0.42;
        let carried = Stroke::new(1.0, palette.ink);
        ink::dashed(painter, pos2(before, above.bottom()), pos2(before, y + 4.0), carried, [3.0, 3.0]);
        ink::dashed(painter, pos2(after, y - 4.0), pos2(after, below.top()), carried, [3.0, 3.0]);
        if (before - after).abs() > 14.0 {
            ink::dimension(painter, pos2(after, y), pos2(before, y), Stroke::new(1.5, palette.ink));
        }
        let (right, left) = (before.max(after) + 8.0, before.min(after) - 8.0);
        let wide = |text: &str| ink::width(painter, text, theme::text());
        let at_right = |text: &str| above.right() - right > wide(text);
        let at_left = |text: &str| left - above.left() + LEFT > wide(text);
        let ways = [format!("this frame: {}", gain_in_words(gain)), gain_in_words(gain)];
        let text = ways.iter().find(|text| at_right(text) || at_left(text)).unwrap_or(&ways[1]);
        let (at, anchor) =
            if at_right(text) { (pos2(right, y), Align2::LEFT_CENTER) } else { (pos2(left, y), Align2::RIGHT_CENTER) };
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

/// From when to when a strip is between a front and the one before.
fn gap(strip: &Strip, front: Front) -> Option<[i64; 2]> {
    let before = (front as usize).checked_sub(1)?;
    Some([strip.passed_ns[before]?, strip.passed_ns[front as usize]?])
}

fn percent(part: f64) -> String {
    crate::report::format::with_unit(Some(100.0 * part), 0, "%")
}
