//! One measure against one parameter.

mod notes;

use std::fmt::Write as _;

use eframe::egui::{
    Align2, EventFilter, Key, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::ink::{self, Mark};
use super::upward;
use crate::app::figures::chart::{self, Scale};
use crate::app::theme::{self, Palette};
use crate::report::figures::axis::decades;
use crate::report::figures::studies::sweep::Chart;
use crate::report::figures::studies::{of_mean, plain, with_unit};
use crate::report::figures::{BUDGET, Side};
use crate::report::format::number;
use crate::scenario::Scenario;
use notes::Note;

/// Room left of the plot, above it and right of it \[pt\].
const LEFT: f32 = 52.0;
const ABOVE: f32 = 22.0;
const RIGHT: f32 = 16.0;
/// Least height \[pt\].
const LEAST: f32 = 140.0;
/// Least distance of two labels of a logarithmic axis \[pt\].
const APART: f32 = 34.0;

/// Draws the chart over the space there is. Returns the number of the value that was clicked or stepped to; `candidate` has
/// the value that is marked as today's.
pub(in crate::app) fn sweep(ui: &mut Ui, data: &Chart, candidate: &Scenario) -> Option<usize> {
    let palette = Palette::current(ui);
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let plot = Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + ABOVE),
        pos2(rect.right() - RIGHT, rect.bottom() - chart::BELOW),
    );
    let across = data.across();
    let x = x_scale(data, &across, plot);
    let today = data.now(candidate);
    let asked = asked(ui, &response, &x, &across, today);
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(data)));
    if ui.is_rect_visible(rect) && plot.is_positive() {
        let y = y_scale(data, plot);
        let painter = ui.painter();
        axes(painter, plot, (&x, &y), data, palette);
        let named = limit(painter, plot, &y, limit_of(data, candidate), palette);
        let notes = findings(painter, plot, (&x, &y), data, &across, palette);
        for side in Side::BOTH {
            curve(painter, plot, (&x, &y), data, &across, side, palette);
        }
        let curves = (0..data.designs).map(|design| way((&x, &y), data, &across, design));
        notes::draw(painter, plot, notes, (named, curves.collect()), palette);
        mark_today(painter, plot, &x, today.and_then(|now| across.get(now)), palette);
        legend(painter, plot, data, palette);
    }
    hover(&response, &x, data, &across);
    asked
}

/// Number of a scenario in a sweep: the candidate comes first.
const fn design(side: Side) -> usize {
    match side {
        Side::Candidate => 0,
        Side::Baseline => 1,
    }
}

fn in_words(data: &Chart) -> String {
    let come = data.points.iter().filter(|point| point.iter().all(Option::is_some)).count();
    let measure = data.drawn_with_unit();
    let what = data.parameter.full_label();
    let best = data.best_in_words(0).map_or_else(String::new, |best| format!(", candidate {best}"));
    let alike = data.alike_in_words().map_or_else(String::new, |alike| format!("; {alike}"));
    let untuned = data.untuned_in_words().map_or_else(String::new, |untuned| format!("; {untuned}"));
    format!("{measure} against {what}, {come} of {} values{best}{untuned}{alike}", data.values.len())
}

/// The value nearest to a place across.
fn nearest(x: &Scale, across: &[f64], place: f32) -> Option<usize> {
    let far = |value: &f64| (x.place(*value) - place).abs();
    (0..across.len()).min_by(|a, b| far(&across[*a]).total_cmp(&far(&across[*b])))
}

fn asked(ui: &Ui, response: &Response, x: &Scale, across: &[f64], today: Option<usize>) -> Option<usize> {
    if response.clicked() {
        response.request_focus();
        return response.interact_pointer_pos().and_then(|at| nearest(x, across, at.x));
    }
    if !response.has_focus() {
        return None;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let steps =
        ui.input(|input| input.num_presses(Key::ArrowRight) as isize - input.num_presses(Key::ArrowLeft) as isize);
    let last = across.len().checked_sub(1)?;
    let next = today.unwrap_or(0).saturating_add_signed(steps).min(last);
    (steps != 0 && Some(next) != today).then_some(next)
}

fn x_scale(data: &Chart, across: &[f64], plot: Rect) -> Scale {
    let (low, high) = across
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)));
    let (low, high) = if low < high { (low, high) } else { (low - 0.5, low + 0.5) };
    if data.logarithmic && data.numeric() && low > 0.0 {
        let margin = (high / low).powf(0.02);
        Scale::logarithmic(low / margin, high * margin, plot.left(), plot.right())
    } else {
        let margin = (high - low) * 0.02;
        Scale::linear(low - margin, high + margin, plot.left(), plot.right())
    }
}

fn y_scale(data: &Chart, plot: Rect) -> Scale {
    let means = (0..data.values.len()).flat_map(|value| (0..data.designs).map(move |design| (value, design)));
    upward(means.filter_map(|(value, design)| data.mean(value, design).mean).collect(), plot)
}

fn axes(painter: &Painter, plot: Rect, (x, y): (&Scale, &Scale), data: &Chart, palette: &Palette) {
    let ticks = y.ticks(34.0);
    for value in &ticks.values {
        chart::rule(painter, plot, y.place(*value), &number(*value, ticks.decimals), palette);
    }
    if !data.numeric() {
        painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, palette.soft));
        for (place, value) in data.values.iter().enumerate() {
            let at = pos2(x.place(place as f64), plot.bottom());
            chart::tick_below(painter, at, &data.parameter.format(value), palette);
        }
    } else if x.logarithmic {
        logarithmic_ticks(painter, plot, x, palette);
    } else {
        chart::x_ticks(painter, plot, x, palette);
    }
    let unit = data.parameter.numeric().map_or("", |numeric| numeric.unit.symbol);
    chart::name_below(painter, plot, &with_unit(&data.parameter.full_label(), unit), palette);
}

/// The budget's limit of the measure that is drawn, as the candidate has it.
fn limit_of(data: &Chart, candidate: &Scenario) -> Option<f64> {
    let budget = &candidate.budget;
    let latency = format!("pose_to_photon_ms.p{:.0}", 100.0 * budget.quantile);
    match data.drawn().name {
        "budget_ms" => Some(budget.pose_to_photon_ms),
        "missed_pct" => Some(budget.missed_pct),
        "load" => Some(budget.load_pct),
        name if name == latency => Some(budget.pose_to_photon_ms),
        _ => None,
    }
}

/// The budget's limit as a dotted line, where it is in view; gives the place of its name.
fn limit(painter: &Painter, plot: Rect, y: &Scale, limit: Option<f64>, palette: &Palette) -> Option<Rect> {
    let limit = limit?;
    let at = Some(y.place(limit)).filter(|at| plot.y_range().contains(*at))?;
    let stroke = Stroke::new(2.0, palette.budget);
    ink::dashed(painter, pos2(plot.left(), at), pos2(plot.right(), at), stroke, [2.0, 4.0]);
    let place = pos2(plot.right() - 4.0, at - 2.0);
    let colors = [palette.ink, palette.sheet];
    let text = format!("{BUDGET} {}", number(limit, 1));
    Some(ink::text_on(painter, place, Align2::RIGHT_BOTTOM, text, theme::small(), colors))
}

/// 1, 2 and 5 times the powers of ten, as many as there is room for.
pub(super) fn logarithmic_ticks(painter: &Painter, plot: Rect, x: &Scale, palette: &Palette) {
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, palette.soft));
    let [low, high] = x.values;
    let mut last = f32::NEG_INFINITY;
    let values = decades(low / 10.0, high).into_iter().flat_map(|power| [1.0, 2.0, 5.0].map(|factor| factor * power));
    for value in values.filter(|value| (low..=high).contains(value)) {
        let at = x.place(value);
        if at - last >= APART {
            let decimals = (-value.log10().floor()).max(0.0) as usize;
            chart::tick_below(painter, pos2(at, plot.bottom()), &number(value, decimals), palette);
            last = at;
        }
    }
}

/// Where the values of a design are.
fn way((x, y): (&Scale, &Scale), data: &Chart, across: &[f64], design: usize) -> Vec<Pos2> {
    let at = |(number, value): (usize, &f64)| Some(pos2(x.place(*value), y.place(data.mean(number, design).mean?)));
    across.iter().enumerate().filter_map(at).collect()
}

/// Plateau, best count by arithmetic and cliffs; gives the words for each.
fn findings(
    painter: &Painter,
    plot: Rect,
    (x, y): (&Scale, &Scale),
    data: &Chart,
    across: &[f64],
    palette: &Palette,
) -> Vec<Note> {
    let mut notes = Vec::new();
    let mut note = |at: f32, text: &str, color| notes.push(Note { at, text: text.to_owned(), color });
    for (number, side) in data.sides.iter().enumerate() {
        let name = if number == 0 { "candidate" } else { "baseline" };
        let other = data.sides.get(1 - number.min(1)).and_then(|other| other.cliff);
        let name = if side.cliff == other { "both" } else { name };
        if let (0, Some([first, last])) = (number, side.plateau.filter(|[first, last]| first < last)) {
            let band = Rect::from_x_y_ranges(x.place(across[first])..=x.place(across[last]), plot.y_range());
            painter.rect_filled(band, 0.0, theme::blend(palette.sheet, palette.good, 0.12));
            painter.hline(band.x_range(), plot.bottom() - 1.5, Stroke::new(3.0, palette.good));
        }
        if let (0, Some([first, _])) = (number, side.plateau.filter(|[first, last]| first < last)) {
            let at = x.place(across[first]);
            note(at, "as good as the best", palette.soft);
        }
        if let Some(cliff) = side.cliff.filter(|_| number == 0 || name != "both") {
            let at = x.place(cliff.value);
            painter.vline(at, plot.y_range(), Stroke::new(1.5, palette.bad));
            let where_to = if cliff.upward { "above" } else { "below" };
            note(at, &format!("{name}: more work than can be done {where_to} {}", plain(cliff.value)), palette.ink);
        }
        if let (0, Some(closed)) = (number, side.closed_form) {
            let at = x.place(closed.slices);
            let [top, bottom] = [plot.top(), plot.bottom()].map(|height| pos2(at, height));
            ink::dashed(painter, top, bottom, Stroke::new(1.0, palette.soft), [2.0, 3.0]);
            note(at, &format!("n* = {} by arithmetic, one frame alone", plain(closed.slices)), palette.soft);
        }
        if let Some(best) = side.best
            && let Some(value) = data.mean(best, number).mean
        {
            let at = pos2(x.place(across[best]), y.place(value));
            painter.circle_stroke(at, 7.0, Stroke::new(1.5, palette.good));
        }
    }
    notes
}

fn curve(
    painter: &Painter,
    plot: Rect,
    (x, y): (&Scale, &Scale),
    data: &Chart,
    across: &[f64],
    side: Side,
    palette: &Palette,
) {
    let painter = painter.with_clip_rect(plot.expand(4.0).intersect(painter.clip_rect()));
    let color = palette.side(side);
    let stroke = Stroke::new(if side == Side::Candidate { 2.0 } else { 1.5 }, color);
    let mut path: Vec<Pos2> = Vec::new();
    let mut marks = Vec::new();
    let flush = |path: &mut Vec<Pos2>| {
        let done = std::mem::take(path);
        if side == Side::Candidate {
            painter.add(Shape::line(done, stroke));
        } else {
            painter.extend(Shape::dashed_line(&done, stroke, 6.0, 3.0));
        }
    };
    for (number, value) in across.iter().enumerate() {
        let come = data.points[number].get(design(side)).is_some_and(Option::is_some);
        let mean = data.mean(number, design(side));
        if let Some(middle) = mean.mean {
            let at = pos2(x.place(*value), y.place(middle));
            if let Some(half) = mean.half_width {
                let ends = [middle - half, middle + half].map(|end| pos2(at.x, y.place(end)));
                painter.line_segment(ends, Stroke::new(1.0, color));
            }
            path.push(at);
            marks.push(at);
        } else if come {
            // Nothing to measure there: the line ends.
            flush(&mut path);
            let at = pos2(x.place(*value), plot.bottom() - 8.0);
            Mark::Cross.draw(&painter, at, 8.0, palette.bad, palette.sheet);
        }
    }
    if data.numeric() {
        flush(&mut path);
    }
    let size = if marks.len() > 40 { 5.0 } else { 7.0 };
    for at in marks {
        Mark::of(side).draw(&painter, at, size, color, palette.sheet);
    }
}

/// A triangle under the value that the candidate has.
fn mark_today(painter: &Painter, plot: Rect, x: &Scale, today: Option<&f64>, palette: &Palette) {
    let Some(value) = today else { return };
    let at = pos2(x.place(*value), plot.bottom() - 5.0);
    Mark::Triangle.draw(painter, at, 11.0, palette.candidate, palette.sheet);
}

/// The measure, and which line is whose.
fn legend(painter: &Painter, plot: Rect, data: &Chart, palette: &Palette) {
    let middle = plot.top() - 12.0;
    let measure = data.drawn_with_unit();
    let mut left = painter
        .text(pos2(plot.left() - LEFT + 4.0, middle), Align2::LEFT_CENTER, measure, theme::small(), palette.ink)
        .right()
        + 20.0;
    for (side, name) in [(Side::Candidate, "candidate"), (Side::Baseline, "baseline")] {
        if design(side) < data.designs {
            Mark::of(side).draw(painter, pos2(left, middle), 9.0, palette.side(side), palette.sheet);
            let at = pos2(left + 9.0, middle);
            left = painter.text(at, Align2::LEFT_CENTER, name, theme::small(), palette.soft).right() + 18.0;
        }
    }
}

fn hover(response: &Response, x: &Scale, data: &Chart, across: &[f64]) {
    let Some(number) = response.hover_pos().and_then(|at| nearest(x, across, at.x)) else { return };
    let mut text = format!("{} {}", data.parameter.full_label(), data.parameter.format(&data.values[number]));
    for (design, name) in ["candidate", "baseline"].into_iter().enumerate().take(data.designs) {
        let Some(at) = data.points[number].get(design).and_then(Option::as_ref) else { continue };
        let _ = write!(text, "\n\n{name}");
        if at.steady == Some(false) {
            text.push_str(", not steady at some seed");
        }
        if at.untuned {
            text.push_str(", no lead could be tuned");
        }
        for (measure, mean) in data.measures.iter().zip(&at.values) {
            let shown = measure.for_people();
            let _ = write!(text, "\n{}: {}", with_unit(measure.label, shown.unit), of_mean(mean.times(shown.factor)));
        }
    }
    response.clone().on_hover_text_at_pointer(format!("{text}\n\nClick: the candidate takes this value."));
}
