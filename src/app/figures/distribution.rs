//! How a measure is spread: histograms, cumulative shares, tails.

use eframe::egui::{
    Align2, Painter, Pos2, Rangef, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::chart::{self, Scale};
use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::axis::decades;
use crate::report::figures::distribution::{Histograms, Measure, QUANTILES};
use crate::report::format::{count, maybe_ms, ms, number, share, with_unit};

/// How the samples are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    /// Share of the samples in every bin.
    #[default]
    Histogram,
    /// Share of the samples up to a value.
    Cumulative,
    /// Share of the samples later than a value, logarithmic.
    Tail,
}

impl Form {
    /// All, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::Histogram, Self::Cumulative, Self::Tail];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Histogram => "Histogram",
            Self::Cumulative => "Cumulative",
            Self::Tail => "Tail",
        }
    }
}

/// Which measure is drawn, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DistributionView {
    /// What is spread.
    pub measure: Measure,
    /// How it is drawn.
    pub form: Form,
}

const LEFT: f32 = 52.0;
const LEAST_HEIGHT: f32 = 150.0;
/// Height of the two lines above the plot and of the names of the stems.
const NAMES: f32 = 58.0;

impl DistributionView {
    /// Draws the chosen one of `figures`, in the order of [`Measure::ALL`], over the space there is.
    pub fn show(&mut self, ui: &mut Ui, figures: &[Histograms; 3], names: &[String; 2]) -> Response {
        self.switches(ui);
        let figure = &figures[self.measure as usize];
        let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(figure, names)));
        if ui.is_rect_visible(rect) {
            self.paint(ui, rect, figure, names);
            self.readout(ui, rect, figure, names, &response);
        }
        response
    }

    /// What is spread on the first line, how it is drawn on the second.
    fn switches(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            ink::title(ui, "Distribution");
            ui.spacing_mut().item_spacing.x = 3.0;
            ui.add_space(6.0);
            for form in Form::ALL {
                ui.selectable_value(&mut self.form, form, small(form.name()));
            }
        });
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 3.0;
            for measure in Measure::ALL {
                ui.selectable_value(&mut self.measure, measure, small(measure.name())).on_hover_text(measure.meaning());
            }
        });
    }

    fn paint(self, ui: &Ui, rect: Rect, figure: &Histograms, names: &[String; 2]) {
        let palette = Palette::current(ui);
        let plot = plot_of(rect);
        if figure.is_empty() {
            ui.painter().text(plot.center(), Align2::CENTER_CENTER, "Nothing to measure", theme::text(), palette.soft);
            return;
        }
        let x = self.x_scale(plot, figure);
        let painter = ui.painter();
        match self.form {
            Form::Histogram => histogram(painter, plot, &x, figure, palette),
            Form::Cumulative | Form::Tail => self.curves(painter, plot, &x, figure, palette),
        }
        quantiles(painter, plot, &x, figure, palette);
        budget(painter, plot, &x, figure, palette);
        legend(painter, rect, figure, names, palette);
        chart::x_ticks(painter, plot, &x, palette);
        let outside = if self.form == Form::Histogram { beyond(figure) } else { None };
        names_below(painter, plot, &format!("{}, ms", figure.measure.name()), outside, palette);
    }

    /// Histograms show the body; the other forms show up to the last sample.
    fn x_scale(self, plot: Rect, figure: &Histograms) -> Scale {
        let limit = figure.limit_ms.unwrap_or(figure.first_ms);
        let (mut low, mut high) = (figure.first_ms, figure.last_ms());
        if self.form == Form::Tail {
            let last = figure.sides.iter().filter_map(|side| side.ends_ms).map(|ends| ends.1).fold(high, f64::max);
            high = last;
        }
        // The budget is drawn where it is near; far away it would squeeze the rest.
        let span = high - low;
        if limit > low - span && limit < high + span {
            low = low.min(limit);
            high = high.max(limit);
        }
        let margin = ((high - low) * 0.03).max(figure.bin_ms);
        Scale::linear(low - margin, high + margin, plot.left(), plot.right())
    }

    fn y_scale(self, plot: Rect, figure: &Histograms) -> Scale {
        match self.form {
            Form::Histogram => Scale::linear(0.0, figure.highest_share() * 1.06, plot.bottom(), plot.top()),
            Form::Cumulative => Scale::linear(0.0, 1.0, plot.bottom(), plot.top()),
            Form::Tail => Scale::logarithmic(least_share(figure), 1.0, plot.bottom(), plot.top()),
        }
    }

    fn curves(self, painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms, palette: &Palette) {
        let y = self.y_scale(plot, figure);
        if self.form == Form::Tail {
            for decade in decades(y.values[0], 1.0) {
                chart::rule(painter, plot, y.place(decade), &decade_label(decade), palette);
            }
        } else {
            for part in [0.0, 0.25, 0.5, 0.75, 1.0] {
                chart::rule(painter, plot, y.place(part), &format!("{} %", number(100.0 * part, 0)), palette);
            }
        }
        let clipped = painter.with_clip_rect(plot.expand(1.0).intersect(painter.clip_rect()));
        for side in Side::BOTH {
            let least = y.values[0] / 2.0;
            let height = |later: f64| y.place(if self.form == Form::Tail { later.max(least) } else { 1.0 - later });
            let mut path: Vec<Pos2> = Vec::with_capacity(2 * figure.sides[side.index()].later.len() + 1);
            let mut before = 1.0;
            for (value, later) in &figure.sides[side.index()].later {
                let at = x.place(*value);
                path.push(pos2(at, height(before)));
                path.push(pos2(at, height(*later)));
                before = *later;
            }
            let stroke = Stroke::new(2.0, palette.side(side));
            match side {
                Side::Baseline => clipped.extend(Shape::dashed_line(&path, stroke, 6.0, 3.5)),
                Side::Candidate => {
                    clipped.add(Shape::line(path, stroke));
                }
            }
        }
    }

    /// Values under the pointer.
    fn readout(self, ui: &Ui, rect: Rect, figure: &Histograms, names: &[String; 2], response: &Response) {
        let plot = plot_of(rect);
        let Some(pointer) = response.hover_pos().filter(|at| plot.contains(*at)) else { return };
        let palette = Palette::current(ui);
        let at_ms = self.x_scale(plot, figure).value(pointer.x);
        ui.painter().vline(pointer.x, plot.y_range(), Stroke::new(1.0, palette.soft));
        let mut lines = vec![format!("{} {}", figure.measure.name(), ms(at_ms))];
        for side in Side::BOTH {
            let of = &figure.sides[side.index()];
            let name = &names[side.index()];
            if let Some(later) = of.share_later(at_ms) {
                let bin = ((at_ms - figure.first_ms) / figure.bin_ms).floor();
                let here = (bin >= 0.0).then(|| of.bins.get(bin as usize)).flatten().copied().unwrap_or(0);
                lines.push(format!(
                    "{name}: {} later, {} {} in this bin of {}",
                    share(later),
                    count(u64::from(here)),
                    figure.measure.sample(),
                    with_unit(Some(figure.bin_ms), 2, "ms")
                ));
            }
        }
        response.clone().on_hover_text_at_pointer(lines.join("\n"));
    }
}

fn small(text: &str) -> eframe::egui::RichText {
    eframe::egui::RichText::new(text).font(theme::small())
}

fn plot_of(rect: Rect) -> Rect {
    Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + NAMES),
        pos2(rect.right() - 10.0, rect.bottom() - chart::BELOW),
    )
}

/// The smallest share that the tail shows: one sample of the longer run.
fn least_share(figure: &Histograms) -> f64 {
    let most = figure.sides.iter().map(|side| side.total).max().unwrap_or(1).max(10);
    1.0 / f64::from(most)
}

/// A power of ten as per cent, without decimals it does not need.
fn decade_label(decade: f64) -> String {
    let decimals = (-(100.0 * decade).log10().round()).max(0.0) as usize;
    format!("{} %", number(100.0 * decade, decimals))
}

/// Candidate solid below, baseline engraved and outlined over it: both are seen where they overlap.
fn histogram(painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms, palette: &Palette) {
    let y = Scale::linear(0.0, figure.highest_share() * 1.06, plot.bottom(), plot.top());
    let ticks = y.ticks(40.0);
    for value in &ticks.values {
        let decimals = usize::from(ticks.step * 100.0 < 0.995);
        chart::rule(painter, plot, y.place(*value), &format!("{} %", number(100.0 * value, decimals)), palette);
    }
    let mut plate = Plate::new(painter);
    for side in [Side::Candidate, Side::Baseline] {
        let of = &figure.sides[side.index()];
        let mut before = plot.bottom();
        for (bin, found) in of.bins.iter().enumerate() {
            let left = x.place(figure.first_ms + bin as f64 * figure.bin_ms);
            let right = x.place(figure.first_ms + (bin + 1) as f64 * figure.bin_ms);
            let top = y.place(f64::from(*found) / f64::from(of.total.max(1)));
            bar(&mut plate, Rect::from_min_max(pos2(left, top), pos2(right, plot.bottom())), before, side, palette);
            before = top;
        }
        let right = x.place(figure.last_ms());
        if side == Side::Baseline && before < plot.bottom() - 0.5 {
            plate.fill(Rect::from_min_max(pos2(right, before), pos2(right + 1.0, plot.bottom())), palette.baseline);
        }
    }
    plate.draw(painter);
}

/// One bin; the baseline's outline joins that of the bin before, whose top is `before`.
fn bar(plate: &mut Plate, rect: Rect, before: f32, side: Side, palette: &Palette) {
    let empty = rect.height() < 0.5;
    match side {
        Side::Candidate if empty => {}
        Side::Candidate => plate.fill(rect, palette.candidate),
        Side::Baseline => {
            if !empty {
                plate.engrave(rect, theme::blend(palette.sheet, palette.baseline, 0.55));
                plate.fill(Rect::from_min_max(rect.min, pos2(rect.right(), rect.top() + 1.5)), palette.baseline);
            }
            let (low, high) = (before.max(rect.top()), before.min(rect.top()));
            if low - high > 0.5 {
                plate.fill(Rect::from_min_max(pos2(rect.left(), high), pos2(rect.left() + 1.0, low)), palette.baseline);
            }
        }
    }
}

/// The axis' name, and at its end how many samples lie beyond the bins.
fn names_below(painter: &Painter, plot: Rect, name: &str, beyond: Option<String>, palette: &Palette) {
    let Some(beyond) = beyond else {
        chart::name_below(painter, plot, name, palette);
        return;
    };
    let right = plot.right_bottom() + vec2(0.0, 20.0);
    let taken = painter.text(right, Align2::RIGHT_TOP, beyond, theme::small(), palette.soft);
    let wide = ink::width(painter, name, theme::small());
    let left = (plot.center().x - wide / 2.0).min(taken.left() - 12.0 - wide);
    painter.text(pos2(left, right.y), Align2::LEFT_TOP, name, theme::small(), palette.soft);
}

/// How many samples lie outside the bins.
fn beyond(figure: &Histograms) -> Option<String> {
    let [before, after] = [0, 1].map(|side| figure.sides[side].beyond);
    (before + after > 0).then(|| format!("later: {before} and {after}"))
}

/// The budget's limit as a dotted line with its number, on the side where the next stem is farther away.
fn budget(painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms, palette: &Palette) {
    let Some(limit) = figure.limit_ms else { return };
    let at = x.place(limit);
    if !plot.x_range().contains(at) {
        return;
    }
    let stroke = Stroke::new(2.0, palette.budget);
    ink::dashed(painter, pos2(at, plot.top()), pos2(at, plot.bottom()), stroke, [2.0, 4.0]);
    let stems = figure.sides.iter().flat_map(|side| side.quantiles_ms).flatten().map(|value| x.place(value) - at);
    let ends = [plot.left() - at, plot.right() - at];
    let [left, right] = stems.chain(ends).fold([f32::NEG_INFINITY, f32::INFINITY], |[left, right], away| {
        if away < 0.0 { [left.max(away), right] } else { [left, right.min(away)] }
    });
    let text = format!("budget {}", ms(limit));
    let wide = ink::width(painter, &text, theme::small()) + 10.0;
    let to_left = (-left > right || at + wide > plot.right()) && at - wide > plot.left();
    let (anchor, shift) = if to_left { (Align2::RIGHT_TOP, -6.0) } else { (Align2::LEFT_TOP, 6.0) };
    let place = pos2(at + shift, plot.top() + 2.0);
    ink::text_on(painter, place, anchor, text, theme::small(), [palette.ink, palette.sheet]);
}

/// Marks p50, p95 and p99 of both by stems; the median's carries the mark of its design. Names stand above the plot where
/// there is room: the medians' first, then p99, then p95.
fn quantiles(painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms, palette: &Palette) {
    let mut taken: Vec<Rangef> = Vec::new();
    for index in [0, 2, 1] {
        for side in Side::BOTH {
            let Some(value) = figure.sides[side.index()].quantiles_ms[index] else { continue };
            let at = x.place(value);
            if !plot.x_range().contains(at) {
                continue;
            }
            stem(painter, at, plot.y_range(), side, palette);
            let name = QUANTILES[index].0;
            let half = ink::width(painter, name, theme::small()) / 2.0 + 2.0;
            let room = Rangef::new(at - half, at + half);
            if taken.iter().all(|other| other.max < room.min || room.max < other.min) {
                painter.text(pos2(at, plot.top() - 8.0), Align2::CENTER_BOTTOM, name, theme::small(), palette.soft);
                taken.push(room);
            }
        }
    }
    for side in Side::BOTH {
        let median = figure.sides[side.index()].quantiles_ms[0].map(|value| x.place(value));
        if let Some(at) = median.filter(|at| plot.x_range().contains(*at)) {
            Mark::of(side).draw(painter, pos2(at, plot.top() - 1.0), 9.0, palette.side(side), palette.sheet);
        }
    }
}

/// A thin line with a bare margin, so that it is seen on bars of its own colour.
fn stem(painter: &Painter, x: f32, y: Rangef, side: Side, palette: &Palette) {
    painter.vline(x, y, Stroke::new(3.0, palette.sheet));
    let stroke = Stroke::new(1.2, palette.side(side));
    match side {
        Side::Baseline => ink::dashed(painter, pos2(x, y.min), pos2(x, y.max), stroke, [4.0, 3.0]),
        Side::Candidate => {
            painter.vline(x, y, stroke);
        }
    }
}

/// Which design is which, and its quantiles, in two lines above the plot.
fn legend(painter: &Painter, rect: Rect, figure: &Histograms, names: &[String; 2], palette: &Palette) {
    let wide = names.iter().map(|name| ink::width(painter, name, theme::small())).fold(0.0, f32::max);
    for side in Side::BOTH {
        let middle = rect.top() + 8.0 + 17.0 * side.index() as f32;
        let at = pos2(rect.left() + 6.0, middle);
        Mark::of(side).draw(painter, at, 9.0, palette.side(side), palette.sheet);
        let name = &names[side.index()];
        painter.text(at + vec2(12.0, 0.0), Align2::LEFT_CENTER, name, theme::small(), palette.ink);
        let values = figure.sides[side.index()].quantiles_ms;
        let parts =
            QUANTILES.iter().zip(values).map(|((name, _), value)| format!("{name} {}", with_unit(value, 1, "")));
        let text = match (values, figure.sides[side.index()].total) {
            ([None, None, None], 0) => "nothing to measure".to_owned(),
            ([None, None, None], _) => "not steady".to_owned(),
            _ => format!("{} ms", parts.collect::<Vec<_>>().join("  ")),
        };
        painter.text(at + vec2(wide + 24.0, 0.0), Align2::LEFT_CENTER, text, theme::figures(theme::SMALL), palette.ink);
    }
}

fn in_words(figure: &Histograms, names: &[String; 2]) -> String {
    let [before, after] = [0, 1].map(|side| {
        let [p50, p95, p99] = figure.sides[side].quantiles_ms.map(maybe_ms);
        format!("{} p50 {p50}, p95 {p95}, p99 {p99}", names[side])
    });
    format!("{} of {before}; {after}", figure.measure.name())
}
