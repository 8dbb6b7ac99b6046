//! How a measure is spread: histograms, cumulative shares, tails.

mod names;

use eframe::egui::{
    Align2, Painter, Pos2, Rangef, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use serde::{Deserialize, Serialize};

use super::chart::{self, Scale};
use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
pub use crate::report::figures::distribution::Form;
use crate::report::figures::distribution::{Histograms, Measure, QUANTILES};
use crate::report::format::{count, maybe_ms, ms, number, share, with_unit};
use names::{NameRow, UPPER, budget, wants_a_row};

/// Which measure is drawn, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DistributionView {
    /// What is spread.
    pub measure: Measure,
    /// How it is drawn.
    pub form: Form,
}

const LEFT: f32 = 52.0;
pub(super) const LEAST_HEIGHT: f32 = 150.0;
/// Height of the two lines above the plot and of the names of the stems.
const NAMES: f32 = 58.0;
/// Least height of the plot below a second row of names \[pt\].
const BELOW_TWO: f32 = 60.0;

impl DistributionView {
    /// Draws the chosen one of `figures`, in the order of [`Measure::ALL`], over the space there is.
    pub fn show(&mut self, ui: &mut Ui, figures: &[Histograms; 3], names: &[String; 2]) -> Response {
        self.switches(ui);
        let figure = &figures[self.measure as usize];
        let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(figure, names)));
        if ui.is_rect_visible(rect) {
            let axis = format!("{}, ms", figure.measure.name());
            let look = Look { form: self.form, names, axis: &axis, samples: figure.measure.sample(), unit: " ms" };
            look.paint(ui, rect, figure);
            self.readout(ui, rect, figure, names, &response);
        }
        response
    }

    /// What is spread on the first line, how it is drawn on the second.
    fn switches(&mut self, ui: &mut Ui) {
        if ink::is_on_paper(ui) {
            ui.horizontal(|ui| {
                ink::title(ui, "Distribution");
                let text = format!("{}, {}", self.measure.name(), self.form.name().to_lowercase());
                ui.label(small(&text).color(Palette::current(ui).soft));
            });
            ui.label(small(self.measure.meaning()).color(Palette::current(ui).soft));
            return;
        }
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

    /// Values under the pointer.
    fn readout(self, ui: &Ui, rect: Rect, figure: &Histograms, names: &[String; 2], response: &Response) {
        let plot = plot_of(rect);
        let Some(pointer) = response.hover_pos().filter(|at| plot.contains(*at)) else { return };
        let palette = Palette::current(ui);
        let at_ms = x_scale(self.form, plot, figure).value(pointer.x);
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

/// How two spreads are drawn, whatever is spread.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look<'a> {
    /// The form.
    pub(super) form: Form,
    /// What both are called.
    pub(super) names: &'a [String; 2],
    /// Name of the axis, with its unit.
    pub(super) axis: &'a str,
    /// What one sample is, in the plural.
    pub(super) samples: &'a str,
    /// The unit behind quantiles.
    pub(super) unit: &'a str,
}

impl Look<'_> {
    /// Draws them over the space given.
    pub(super) fn paint<M>(self, ui: &Ui, rect: Rect, figure: &Histograms<M>) {
        let palette = Palette::current(ui);
        let plot = plot_of(rect);
        if figure.is_empty() {
            ui.painter().text(plot.center(), Align2::CENTER_CENTER, "Nothing to measure", theme::text(), palette.soft);
            return;
        }
        let x = x_scale(self.form, plot, figure);
        let painter = ui.painter();
        // Times lie where they did: the second row takes of the height alone.
        let row = medians(painter, plot, &x, figure, palette);
        let upper = plot.height() - UPPER >= BELOW_TWO && wants_a_row(&x, figure, &row);
        let plot = if upper { plot.with_min_y(plot.top() + UPPER) } else { plot };
        match self.form {
            Form::Histogram => histogram(painter, plot, &x, figure, palette),
            Form::Cumulative | Form::Tail => curves(self.form, painter, plot, &x, figure, palette),
        }
        marks(painter, plot, &x, figure, upper, palette);
        legend(painter, rect, figure, self.names, self.unit, palette);
        chart::x_ticks(painter, plot, &x, palette);
        let outside = if self.form == Form::Histogram { beyond(figure, self.samples) } else { None };
        names_below(painter, plot, self.axis, outside, palette);
    }
}

/// Histograms show the body; the other forms show up to the last sample.
pub(super) fn x_scale<M>(form: Form, plot: Rect, figure: &Histograms<M>) -> Scale {
    let limit = figure.limit_ms.unwrap_or(figure.first_ms);
    let (mut low, mut high) = (figure.first_ms, figure.last_ms());
    if form == Form::Tail {
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

fn y_scale<M>(form: Form, plot: Rect, figure: &Histograms<M>) -> Scale {
    match form {
        Form::Histogram => Scale::linear(0.0, figure.highest_share() * 1.06, plot.bottom(), plot.top()),
        Form::Cumulative => Scale::linear(0.0, 1.0, plot.bottom(), plot.top()),
        Form::Tail => Scale::logarithmic(least_share(figure), 1.0, plot.bottom(), plot.top()),
    }
}

fn curves<M>(form: Form, painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms<M>, palette: &Palette) {
    let y = y_scale(form, plot, figure);
    if form == Form::Tail {
        chart::decade_rules(painter, plot, &y, palette);
    } else {
        for part in [0.0, 0.25, 0.5, 0.75, 1.0] {
            chart::rule(painter, plot, y.place(part), &format!("{} %", number(100.0 * part, 0)), palette);
        }
    }
    let clipped = painter.with_clip_rect(plot.expand(1.0).intersect(painter.clip_rect()));
    for side in Side::BOTH {
        let least = y.values[0] / 2.0;
        let height = |later: f64| y.place(if form == Form::Tail { later.max(least) } else { 1.0 - later });
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

fn small(text: &str) -> eframe::egui::RichText {
    eframe::egui::RichText::new(text).font(theme::small())
}

pub(super) fn plot_of(rect: Rect) -> Rect {
    Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + NAMES),
        pos2(rect.right() - 10.0, rect.bottom() - chart::BELOW),
    )
}

/// The smallest share that the tail shows: one sample of the longer run.
fn least_share<M>(figure: &Histograms<M>) -> f64 {
    let most = figure.sides.iter().map(|side| side.total).max().unwrap_or(1).max(10);
    1.0 / f64::from(most)
}

/// Candidate solid below, baseline engraved and outlined over it: both are seen where they overlap.
fn histogram<M>(painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms<M>, palette: &Palette) {
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

/// The axis' name, and at its end how many samples lie beyond the bins, where there is room for both.
fn names_below(painter: &Painter, plot: Rect, name: &str, beyond: Option<String>, palette: &Palette) {
    let wide = ink::width(painter, name, theme::small());
    let room = plot.width() + LEFT - wide - 24.0;
    let Some(beyond) = beyond.filter(|text| ink::width(painter, text, theme::small()) <= room) else {
        chart::name_below(painter, plot, name, palette);
        return;
    };
    let right = plot.right_bottom() + vec2(0.0, 20.0);
    let taken = painter.text(right, Align2::RIGHT_TOP, beyond, theme::small(), palette.soft);
    let left = plot.left().min(taken.left() - 24.0 - wide);
    painter.text(pos2(left, right.y), Align2::LEFT_TOP, name, theme::small(), palette.soft);
}

/// How many samples lie right of the bins.
fn beyond<M>(figure: &Histograms<M>, samples: &str) -> Option<String> {
    let [before, after] = [0, 1].map(|side| figure.sides[side].beyond);
    (before + after > 0).then(|| format!("beyond the right edge: {before} and {after} {samples}"))
}

/// Where a quantile of each design is, where it is seen.
fn places<M>(plot: Rect, x: &Scale, figure: &Histograms<M>, index: usize) -> Vec<(Side, f32)> {
    let place = |side: Side| {
        let at = x.place(figure.sides[side.index()].quantiles_ms[index]?);
        plot.x_range().contains(at).then_some((side, at))
    };
    Side::BOTH.into_iter().filter_map(place).collect()
}

/// The row of names with those of the medians.
fn medians<'a, M>(
    painter: &'a Painter,
    plot: Rect,
    x: &Scale,
    figure: &Histograms<M>,
    palette: &'a Palette,
) -> NameRow<'a> {
    let mut row = NameRow { painter, plot, taken: Vec::new(), upper: None, palette };
    for (_, at) in places(plot, x, figure, 0) {
        row.centred(QUANTILES[0].0, at);
    }
    row
}

/// What is marked along the axis, and the names above the plot: the medians first, then the budget, which has a row of its
/// own if `upper`, p99, p95; each where there is room.
fn marks<M>(painter: &Painter, plot: Rect, x: &Scale, figure: &Histograms<M>, upper: bool, palette: &Palette) {
    for index in [1, 2, 0] {
        for (side, at) in places(plot, x, figure, index) {
            stem(painter, at, plot.y_range(), side, palette);
        }
    }
    for (side, at) in places(plot, x, figure, 0) {
        Mark::of(side).draw(painter, pos2(at, plot.top() - 1.0), 9.0, palette.side(side), palette.sheet);
    }
    let mut row = medians(painter, plot, x, figure, palette);
    let late: Vec<f32> = places(plot, x, figure, 2).into_iter().map(|(_, at)| at).collect();
    budget(x, figure, &mut row, &late, upper);
    for index in [2, 1] {
        for (_, at) in places(plot, x, figure, index) {
            row.centred(QUANTILES[index].0, at);
        }
    }
    row.draw();
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

/// Which design is which, and its quantiles, in two lines above the plot; as many of them as there is room for.
fn legend<M>(
    painter: &Painter,
    rect: Rect,
    figure: &Histograms<M>,
    names: &[String; 2],
    unit: &str,
    palette: &Palette,
) {
    let wide = names.iter().map(|name| ink::width(painter, name, theme::small())).fold(0.0, f32::max);
    let font = theme::figures(theme::SMALL);
    let left = rect.left() + 18.0 + wide + 12.0;
    let fits = |text: &str| left + ink::width(painter, text, font.clone()) <= rect.right();
    let told = |which: &[usize], between: &str, unit: &str| {
        figure.sides.each_ref().map(|side| quantiles_in_words(side.quantiles_ms, side.total, which, between, unit))
    };
    let ways =
        [told(&[0, 1, 2], "  ", unit), told(&[0, 1, 2], "  ", ""), told(&[0, 1, 2], " ", ""), told(&[0, 2], "  ", "")];
    let texts = ways.iter().find(|texts| texts.iter().all(|text| fits(text))).unwrap_or(&ways[3]);
    for side in Side::BOTH {
        let middle = rect.top() + 8.0 + 17.0 * side.index() as f32;
        let at = pos2(rect.left() + 6.0, middle);
        Mark::of(side).draw(painter, at, 9.0, palette.side(side), palette.sheet);
        let name = &names[side.index()];
        painter.text(at + vec2(12.0, 0.0), Align2::LEFT_CENTER, name, theme::small(), palette.ink);
        painter.text(pos2(left, middle), Align2::LEFT_CENTER, &texts[side.index()], font.clone(), palette.ink);
    }
}

/// Some of the quantiles, or why there are none.
fn quantiles_in_words(values: [Option<f64>; 3], total: u32, which: &[usize], between: &str, unit: &str) -> String {
    match (values, total) {
        ([None, None, None], 0) => "nothing to measure".to_owned(),
        ([None, None, None], _) => "not steady".to_owned(),
        _ => {
            let parts =
                which.iter().map(|index| format!("{} {}", QUANTILES[*index].0, with_unit(values[*index], 1, "")));
            format!("{}{unit}", parts.collect::<Vec<_>>().join(between))
        }
    }
}

fn in_words(figure: &Histograms, names: &[String; 2]) -> String {
    let [before, after] = [0, 1].map(|side| {
        let [p50, p95, p99] = figure.sides[side].quantiles_ms.map(maybe_ms);
        format!("{} p50 {p50}, p95 {p95}, p99 {p99}", names[side])
    });
    format!("{} of {before}; {after}", figure.measure.name())
}
