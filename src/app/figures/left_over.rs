//! What late correction leaves: rotation, parallax and guard band against the motion that they come from.

mod table;

use eframe::egui::{
    Align2, Painter, Pos2, Rangef, Rect, Response, RichText, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use serde::{Deserialize, Serialize};

use super::chart::{self, Scale};
use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::measure::Angle;
use crate::report::figures::Side;
use crate::report::figures::left_over::{LeftOvers, Panel, Rank, What};
use crate::report::format::{NOTHING, number};

/// Width from which a panel can stand beside others, and the space between two.
const PANEL: f32 = 260.0;
const GAP: f32 = 28.0;
const LEAST_HEIGHT: f32 = 170.0;
/// Height from which there is room for the sentence of caution.
const WITH_CAUTION: f32 = 240.0;
const CAUTION_HEIGHT: f32 = 20.0;
const CAUTION: &str = "What people feel of it is for tests with people.";
/// Room for the numbers left and right of a plot.
const LEFT: f32 = 40.0;
const RIGHT: f32 = 40.0;
/// Points of a curve.
const POINTS: usize = 33;

/// Which panel is drawn where there is room for one, and at which quantile of the ages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct LeftOverView {
    /// The panel.
    pub what: What,
    /// The quantile.
    pub rank: Rank,
}

impl LeftOverView {
    /// Draws all panels over the space there is, or the chosen one where they do not fit beside each other.
    pub fn show(&mut self, ui: &mut Ui, figure: &LeftOvers, names: &[String; 2]) -> Response {
        let room = ui.available_width();
        let all = room >= 3.0 * PANEL + 2.0 * GAP;
        self.switches(ui, all);
        let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
        let (mut rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, self.in_words(figure, names)));
        if !ui.is_rect_visible(rect) {
            return response;
        }
        if rect.height() >= WITH_CAUTION {
            rect.max.y -= CAUTION_HEIGHT;
            let palette = Palette::current(ui);
            let at = pos2(rect.left(), rect.bottom() + CAUTION_HEIGHT);
            ui.painter().text(at, Align2::LEFT_BOTTOM, CAUTION, theme::small(), palette.soft);
        }
        if all {
            let width = (rect.width() - 2.0 * GAP) / 3.0;
            for what in What::ALL {
                let left = rect.left() + what as usize as f32 * (width + GAP);
                self.panel(
                    ui,
                    Rect::from_x_y_ranges(left..=left + width, rect.y_range()),
                    figure,
                    what,
                    names,
                    &response,
                );
            }
        } else {
            self.panel(ui, rect, figure, self.what, names, &response);
        }
        response
    }

    fn switches(&mut self, ui: &mut Ui, all: bool) {
        let small = |text: &str| RichText::new(text).font(theme::small());
        ui.horizontal(|ui| {
            ink::title(ui, "Late correction").on_hover_text(CAUTION);
            if ink::is_on_paper(ui) {
                ui.label(small(self.rank.name()).color(Palette::current(ui).soft));
                return;
            }
            ui.spacing_mut().item_spacing.x = 3.0;
            ui.add_space(6.0);
            for rank in Rank::ALL {
                let of = format!("At the {} of the pose's ages", rank.name());
                ui.selectable_value(&mut self.rank, rank, small(rank.name())).on_hover_text(of);
            }
        });
        if !all {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 3.0;
                for what in What::ALL {
                    ui.selectable_value(&mut self.what, what, small(what.name())).on_hover_text(what.meaning());
                }
            });
        }
    }

    fn panel(self, ui: &Ui, rect: Rect, figure: &LeftOvers, what: What, names: &[String; 2], response: &Response) {
        let palette = Palette::current(ui);
        let painter = ui.painter();
        let panel = figure.panel(what);
        let below = table::paint(painter, rect, (figure, panel, self.rank), names, palette);
        let right = figure.px_per_deg().map_or(12.0, |_| RIGHT);
        let plot = Rect::from_min_max(
            pos2(rect.left() + LEFT, below + 12.0),
            pos2(rect.right() - right, rect.bottom() - chart::BELOW),
        );
        let Some(highest) = panel.highest_deg(&figure.sides, self.rank).filter(|deg| *deg > 0.0) else {
            painter.text(plot.center(), Align2::CENTER_CENTER, "Nothing to measure", theme::text(), palette.soft);
            return;
        };
        let sheet = Sheet {
            plot,
            x: Scale::linear(0.0, panel.most, plot.left(), plot.right()),
            y: Scale::linear(0.0, highest * 1.05, plot.bottom(), plot.top()),
            panel,
            figure,
            rank: self.rank,
        };
        sheet.axes(painter, palette);
        sheet.curves(painter, palette);
        sheet.here(painter, palette);
        sheet.hover(ui, names, response);
    }

    /// What is to be seen, in words.
    fn in_words(self, figure: &LeftOvers, names: &[String; 2]) -> String {
        let of = |what: What| {
            let panel = figure.panel(what);
            let told = Side::BOTH.map(|side| {
                let [without, with] = panel.here(&figure.sides[side.index()], self.rank).map(in_short);
                let name = &names[side.index()];
                if what == What::Rotation {
                    format!("{name} {without} without correction, {with} with it")
                } else {
                    format!("{name} {without}")
                }
            });
            format!("{}: {}", what.name(), told.join("; "))
        };
        format!("Left over at {} of the ages. {}", self.rank.name(), What::ALL.map(of).join(". "))
    }
}

/// An angle in degrees and pixels.
fn in_short(angle: Option<Angle>) -> String {
    angle.map_or_else(|| NOTHING.to_owned(), |angle| format!("{}° {} px", number(angle.deg, 3), number(angle.px, 1)))
}

/// Where everything of a panel is.
struct Sheet<'a> {
    plot: Rect,
    x: Scale,
    y: Scale,
    panel: &'a Panel,
    figure: &'a LeftOvers,
    rank: Rank,
}

impl Sheet<'_> {
    /// Degrees on the left, pixels on the right where they are the same for both, the motion below.
    fn axes(&self, painter: &Painter, palette: &Palette) {
        let plot = self.plot;
        let ticks = self.y.ticks(34.0);
        for value in &ticks.values {
            chart::rule(painter, plot, self.y.place(*value), &format!("{}°", number(*value, ticks.decimals)), palette);
        }
        if let Some(px_per_deg) = self.figure.px_per_deg() {
            let pixels = Scale::linear(0.0, self.y.values[1] * px_per_deg, plot.bottom(), plot.top());
            let ticks = pixels.ticks(34.0);
            for value in &ticks.values {
                let y = pixels.place(*value);
                painter.hline(Rangef::new(plot.right(), plot.right() + 4.0), y, Stroke::new(1.0, palette.soft));
                let at = pos2(plot.right() + 7.0, y);
                // The unit stands above the last number of the motion, which reaches below it.
                let (label, anchor) = if *value > 0.0 {
                    (number(*value, ticks.decimals), Align2::LEFT_CENTER)
                } else {
                    ("px".to_owned(), Align2::LEFT_BOTTOM)
                };
                painter.text(at, anchor, label, theme::small(), palette.soft);
            }
        }
        let name = format!("{}, {}", self.panel.against.name(), self.panel.against.unit());
        chart::x_axis(painter, plot, &self.x, &name, palette);
    }

    fn path(&self, side: Side, corrected: usize) -> Option<Vec<Pos2>> {
        let ages = &self.figure.sides[side.index()];
        let last = POINTS - 1;
        let point = |step: usize| {
            let value = self.panel.most * step as f64 / last as f64;
            let angle = self.panel.left(ages, self.rank, value)[corrected]?;
            Some(pos2(self.x.place(value), self.y.place(angle.deg)))
        };
        (0..POINTS).map(point).collect()
    }

    /// Without correction thin, with it thick; the baseline dashed.
    fn curves(&self, painter: &Painter, palette: &Palette) {
        let mut tops: [Vec<Vec<Pos2>>; 2] = [Vec::new(), Vec::new()];
        for (corrected, width) in [1.5, 3.0].into_iter().enumerate() {
            for side in [Side::Candidate, Side::Baseline] {
                let Some(path) = self.path(side, corrected) else { continue };
                let stroke = Stroke::new(width, palette.side(side));
                match side {
                    Side::Candidate => {
                        painter.add(Shape::line(path.clone(), stroke));
                    }
                    Side::Baseline => painter.extend(Shape::dashed_line(&path, stroke, 6.0, 4.0)),
                }
                tops[corrected].push(path);
            }
        }
        if self.panel.what == What::Rotation {
            self.names(painter, &tops, palette);
        }
    }

    /// Which curves are which, above the upper one of each kind.
    fn names(&self, painter: &Painter, paths: &[Vec<Vec<Pos2>>; 2], palette: &Palette) {
        let upper = |of: &[Vec<Pos2>], at: usize| of.iter().map(|path| path[at]).min_by(|a, b| a.y.total_cmp(&b.y));
        let colors = [palette.ink, palette.sheet];
        let (short, long) = (["without", "with"], ["without correction", "with correction"]);
        let wide = ink::width(painter, long[0], theme::small());
        let texts = if wide < self.plot.width() * 0.5 { long } else { short };
        if let Some(at) = upper(&paths[0], POINTS * 7 / 10) {
            let at = pos2(at.x - 6.0, at.y.max(self.plot.top() + 16.0));
            ink::text_on(painter, at, Align2::RIGHT_BOTTOM, texts[0], theme::small(), colors);
        }
        if let Some(at) = upper(&paths[1], POINTS - 1) {
            let at = at - vec2(4.0, 4.0);
            ink::text_on(painter, at, Align2::RIGHT_BOTTOM, texts[1], theme::small(), colors);
        }
    }

    /// The motion that the scenarios name, and what it leaves.
    fn here(&self, painter: &Painter, palette: &Palette) {
        for side in Side::BOTH {
            let ages = &self.figure.sides[side.index()];
            let x = self.x.place(self.panel.against.of(&ages.motion));
            painter.vline(x, self.plot.y_range(), Stroke::new(1.0, palette.soft));
        }
        for side in Side::BOTH {
            let ages = &self.figure.sides[side.index()];
            let x = self.x.place(self.panel.against.of(&ages.motion));
            for angle in self.panel.here(ages, self.rank).into_iter().flatten() {
                let at = pos2(x, self.y.place(angle.deg));
                Mark::of(side).draw(painter, at, 9.0, palette.side(side), palette.sheet);
            }
        }
    }

    /// What is left over at the motion under the pointer.
    fn hover(&self, ui: &Ui, names: &[String; 2], response: &Response) {
        let Some(pointer) = response.hover_pos().filter(|at| self.plot.expand(4.0).contains(*at)) else { return };
        let value = self.x.value(pointer.x).clamp(0.0, self.panel.most);
        ui.painter().vline(pointer.x, self.plot.y_range(), Stroke::new(1.0, Palette::current(ui).soft));
        response.clone().on_hover_text_at_pointer(self.told(value, names));
    }

    fn told(&self, value: f64, names: &[String; 2]) -> String {
        let Panel { what, against, .. } = self.panel;
        let decimals = if self.panel.most < 20.0 { 2 } else { 0 };
        let mut lines =
            vec![format!("{} at {} {} {}", what.name(), against.name(), number(value, decimals), against.unit())];
        let kinds: &[&str] =
            if *what == What::Rotation { &[", without correction", ", with correction"] } else { &[""] };
        for side in Side::BOTH {
            let ages = &self.figure.sides[side.index()];
            let found = Rank::ALL.map(|rank| self.panel.left(ages, rank, value));
            for (kind, text) in kinds.iter().enumerate() {
                let [median, p99] = found.map(|angles| in_short(angles[kind]));
                lines.push(format!("{}{text}: p50 {median}, p99 {p99}", names[side.index()]));
            }
            if ages.motion.predict && *what != What::GuardBand && against.unit().ends_with("/s") {
                lines.push(format!("{} is predicted: of speed it leaves nothing", names[side.index()]));
            }
        }
        lines.push(what.meaning().to_owned());
        lines.push(CAUTION.to_owned());
        lines.join("\n")
    }
}
