//! A measure over two parameters, with the borders that cross it.

mod legend;
#[cfg(test)]
mod tests;

use eframe::egui::{
    Align2, Color32, EventFilter, Key, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

use super::ink::{self, Mark, Plate};
use crate::app::figures::chart;
use crate::app::theme::{self, Palette};
use crate::report::figures::studies::map::{Failure, Grid};
use crate::report::figures::studies::{plain, with_unit};
use crate::scenario::Scenario;
use crate::scenario::parameters::Parameter;
use crate::study::map::Border;
use legend::Legend;

/// Room left of the plot, above it, and right of it with the scale of colours \[pt\].
const LEFT: f32 = 92.0;
const ABOVE: f32 = 22.0;
const RIGHT: f32 = 84.0;
/// Width of the scale of colours \[pt\].
const SCALE: f32 = 14.0;
/// Bands of the scale of colours.
const STEPS: usize = 48;
/// Least height \[pt\].
const LEAST: f32 = 140.0;
/// Space between two labels across, and distance of two up \[pt\].
const APART: [f32; 2] = [10.0, 17.0];
/// Width of a border that is drawn through, and of one in dashes \[pt\].
const THROUGH: f32 = 3.5;
const DASHED: f32 = 2.0;
/// Distance of the lines across cells that fail \[pt\].
const HATCHING: f32 = 9.0;

/// Draws the map over the space there is. Returns the cell that was clicked or stepped to; `candidate` has the cell that is
/// marked as today's.
pub(in crate::app) fn map(ui: &mut Ui, grid: &Grid, candidate: &Scenario) -> Option<[usize; 2]> {
    let palette = Palette::current(ui);
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let legend = Legend::of(ui.painter(), grid, rect.width() - LEFT);
    let plot = Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + ABOVE),
        pos2(rect.right() - RIGHT, rect.bottom() - chart::BELOW - legend.height()),
    );
    let today = grid.now(candidate);
    let asked = asked(ui, &response, plot, grid, today);
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(grid)));
    if ui.is_rect_visible(rect) && plot.is_positive() {
        let painter = ui.painter();
        let range = grid.range();
        cells(painter, plot, grid, range, palette);
        axes(painter, plot, grid, palette);
        colours(painter, plot, range, grid, palette);
        colour_name(painter, plot, grid, palette);
        legend.draw(painter, pos2(plot.left(), rect.bottom() - legend.height()), palette);
        if let Some(whole) = &grid.whole {
            borders(painter, plot, grid, &whole.borders, palette);
        }
        marks(painter, plot, grid, candidate, palette);
    }
    if let Some(cell) = response.hover_pos().and_then(|at| cell_at(plot, grid, at)) {
        response.on_hover_text_at_pointer(format!("{}\n\nClick: the candidate takes both values.", grid.told(cell)));
    }
    asked
}

fn in_words(grid: &Grid) -> String {
    let [width, height] = grid.size();
    let best = grid.best_in_words().map_or_else(String::new, |best| format!(", {best}"));
    let [across, up] = grid.parameters.map(Parameter::full_label);
    let come = grid.come();
    format!("Map of {} over {across} and {up}, {come} of {} cells{best}", grid.measure.label, width * height)
}

/// The place of a cell, the first at the left and at the bottom.
fn place(plot: Rect, grid: &Grid, [x, y]: [usize; 2]) -> Rect {
    let [width, height] = grid.size().map(|count| count as f32);
    let at = |x: f32, y: f32| pos2(plot.left() + plot.width() * x / width, plot.bottom() - plot.height() * y / height);
    Rect::from_two_pos(at(x as f32, y as f32), at(x as f32 + 1.0, y as f32 + 1.0))
}

fn cell_at(plot: Rect, grid: &Grid, at: Pos2) -> Option<[usize; 2]> {
    if !plot.contains(at) {
        return None;
    }
    let [width, height] = grid.size();
    let x = ((at.x - plot.left()) / plot.width() * width as f32) as usize;
    let y = ((plot.bottom() - at.y) / plot.height() * height as f32) as usize;
    Some([x.min(width.checked_sub(1)?), y.min(height.checked_sub(1)?)])
}

fn asked(ui: &Ui, response: &Response, plot: Rect, grid: &Grid, today: Option<[usize; 2]>) -> Option<[usize; 2]> {
    if response.clicked() {
        response.request_focus();
        return response.interact_pointer_pos().and_then(|at| cell_at(plot, grid, at));
    }
    if !response.has_focus() {
        return None;
    }
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let steps = ui.input(|input| {
        let of = |more, less| input.num_presses(more) as isize - input.num_presses(less) as isize;
        [of(Key::ArrowRight, Key::ArrowLeft), of(Key::ArrowUp, Key::ArrowDown)]
    });
    let size = grid.size();
    let from = today.unwrap_or([0, 0]);
    let next = [0, 1].map(|axis| from[axis].saturating_add_signed(steps[axis]).min(size[axis].saturating_sub(1)));
    (steps != [0, 0] && Some(next) != today).then_some(next)
}

/// The colour of a share from the least to the greatest value: cividis, made to look alike with and without full colour
/// vision (Nunez, Anderton and Renslow, PLOS ONE 13, 2018).
fn colour(share: f64) -> Color32 {
    let colorous::Color { r, g, b } = colorous::CIVIDIS.eval_continuous(share.clamp(0.0, 1.0));
    Color32::from_rgb(r, g, b)
}

fn share_of(value: f64, [low, high]: [f64; 2]) -> f64 {
    if high > low { (value - low) / (high - low) } else { 0.5 }
}

/// Text and lines that can be told from a colour: dark on light, light on dark.
fn against(color: Color32) -> Color32 {
    let [r, g, b] = [color.r(), color.g(), color.b()].map(f32::from);
    // Luma of Rec. 601.
    if 0.299 * r + 0.587 * g + 0.114 * b > 120.0 {
        Color32::from_black_alpha(120)
    } else {
        Color32::from_white_alpha(110)
    }
}

fn cells(painter: &Painter, plot: Rect, grid: &Grid, range: Option<[f64; 2]>, palette: &Palette) {
    let mut plate = Plate::new(painter);
    let mut failing = Vec::new();
    let [width, height] = grid.size();
    for (x, y) in (0..width * height).map(|at| (at % width, at / width)) {
        let Some(cell) = grid.at(x, y) else { continue };
        let rect = place(plot, grid, [x, y]);
        let filled = cell.value.zip(range).map(|(value, range)| colour(share_of(value, range)));
        if let Some(color) = filled {
            plate.fill(rect, color);
        }
        if let Some(failure) = Failure::of(cell) {
            failing.push((rect, failure, filled.map_or(palette.soft, against)));
        }
    }
    plate.draw(painter);
    for (rect, failure, color) in failing {
        pattern(painter, rect, failure, color, palette);
    }
    painter.rect_stroke(plot, 0.0, Stroke::new(1.0, palette.soft), StrokeKind::Outside);
}

/// How a cell fails, as a pattern over it: lines one way, lines both ways, or a mark where there is nothing.
fn pattern(painter: &Painter, rect: Rect, failure: Failure, color: Color32, palette: &Palette) {
    let ways: &[bool] = match failure {
        Failure::OverBudget => &[true],
        Failure::Unsteady => &[true, false],
        Failure::Nothing | Failure::Refused => {
            let size = (rect.width().min(rect.height()) * 0.5).clamp(3.0, 9.0);
            let mark = if failure == Failure::Refused { Mark::Dash } else { Mark::Cross };
            return mark.draw(painter, rect.center(), size, palette.soft, palette.sheet);
        }
    };
    for [from, to] in ways.iter().flat_map(|rises| ink::hatching(rect, HATCHING, *rises)) {
        painter.line_segment([from, to], Stroke::new(1.0, color));
    }
}

/// The least step from label to label across with which they do not touch: as many are named as fit, evenly.
fn step(wide: impl Fn(usize) -> f32, count: usize, apart: f32) -> usize {
    let fits = |step: &usize| {
        let shown: Vec<usize> = (0..count).step_by(*step).collect();
        let touch = |pair: &[usize]| f32::midpoint(wide(pair[0]), wide(pair[1])) + APART[0] > *step as f32 * apart;
        !shown.windows(2).any(touch)
    };
    (1..count).find(fits).unwrap_or(count.max(1))
}

fn axes(painter: &Painter, plot: Rect, grid: &Grid, palette: &Palette) {
    let text = |axis: usize, at: usize| {
        let value = &grid.values[axis][at];
        value.as_f64().map_or_else(|| grid.parameters[axis].format(value), short)
    };
    let [across, up] = grid.size();
    let wide = |at: usize| ink::width(painter, &text(0, at), theme::small());
    for at in (0..across).step_by(step(wide, across, plot.width() / across.max(1) as f32)) {
        let x = place(plot, grid, [at, 0]).center().x;
        chart::tick_below(painter, pos2(x, plot.bottom()), &text(0, at), palette);
    }
    let high = plot.height() / up.max(1) as f32;
    for at in (0..up).step_by((APART[1] / high).ceil().max(1.0) as usize) {
        let at_left = pos2(plot.left() - 6.0, place(plot, grid, [0, at]).center().y);
        let stroke = Stroke::new(1.0, palette.soft);
        painter.line_segment([at_left + vec2(2.0, 0.0), at_left + vec2(6.0, 0.0)], stroke);
        painter.text(at_left, Align2::RIGHT_CENTER, text(1, at), theme::small(), palette.soft);
    }
    let name = |axis: usize| {
        let parameter = grid.parameters[axis];
        with_unit(&parameter.full_label(), parameter.numeric().map_or("", |numeric| numeric.unit.symbol))
    };
    chart::name_below(painter, plot, &name(0), palette);
    let corner = pos2(plot.left() - LEFT + 4.0, plot.top() - 12.0);
    painter.text(corner, Align2::LEFT_CENTER, format!("up: {}", name(1)), theme::small(), palette.soft);
}

/// A number with as many digits as fit beside an axis.
fn short(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 100.0 || value.fract() == 0.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    };
    crate::report::format::number(value, decimals)
}

/// The scale of colours at the right.
fn colours(painter: &Painter, plot: Rect, range: Option<[f64; 2]>, grid: &Grid, palette: &Palette) {
    let Some([low, high]) = range else { return };
    let beyond = grid.reaches_beyond(high);
    let bar =
        Rect::from_min_max(pos2(plot.right() + 14.0, plot.top()), pos2(plot.right() + 14.0 + SCALE, plot.bottom()));
    let mut plate = Plate::new(painter);
    for step in 0..STEPS {
        let (bottom, top) = (step as f32 / STEPS as f32, (step + 1) as f32 / STEPS as f32);
        let at = |share: f32| bar.bottom() - bar.height() * share;
        let band = Rect::from_min_max(pos2(bar.left(), at(top)), pos2(bar.right(), at(bottom)));
        plate.fill(band, colour((step as f64 + 0.5) / STEPS as f64));
    }
    plate.draw(painter);
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let at = pos2(bar.right() + 5.0, bar.bottom() - bar.height() * share as f32);
        let anchor = if share <= 0.0 {
            Align2::LEFT_BOTTOM
        } else if share >= 1.0 {
            Align2::LEFT_TOP
        } else {
            Align2::LEFT_CENTER
        };
        painter.text(
            at,
            anchor,
            format!(
                "{}{}",
                if beyond && share >= 1.0 { "≥ " } else { "" },
                plain((low + (high - low) * share) * grid.measure.for_people().factor)
            ),
            theme::small(),
            palette.soft,
        );
    }
}

fn colour_name(painter: &Painter, plot: Rect, grid: &Grid, palette: &Palette) {
    let text = format!("colour: {}", with_unit(grid.measure.label, grid.measure.for_people().unit));
    let at = pos2(plot.right() + RIGHT - 4.0, plot.top() - 12.0);
    painter.text(at, Align2::RIGHT_CENTER, text, theme::small(), palette.soft);
}

/// The best cell and the candidate's, or the one nearest to it.
fn marks(painter: &Painter, plot: Rect, grid: &Grid, candidate: &Scenario, palette: &Palette) {
    let mark = |cell: [usize; 2], text: &str| {
        let rect = place(plot, grid, cell);
        painter.rect_stroke(rect, 1.0, Stroke::new(3.5, palette.sheet), StrokeKind::Outside);
        painter.rect_stroke(rect, 1.0, Stroke::new(1.5, palette.ink), StrokeKind::Outside);
        let left = rect.center().x > plot.center().x;
        let (x, anchor) =
            if left { (rect.left() - 7.0, Align2::RIGHT_CENTER) } else { (rect.right() + 7.0, Align2::LEFT_CENTER) };
        ink::text_on(painter, pos2(x, rect.center().y), anchor, text, theme::small(), [palette.ink, palette.sheet]);
    };
    let best = grid.whole.as_ref().and_then(|map| map.best);
    let today = grid.near(candidate);
    match (best, today) {
        (Some(best), Some((today, exact))) if best == today => {
            mark(best, if exact { "candidate, best" } else { "best, candidate about here" });
        }
        (best, today) => {
            if let Some(best) = best {
                mark(best, "best");
            }
            if let Some((today, exact)) = today {
                mark(today, if exact { "candidate" } else { "candidate about here" });
            }
        }
    }
}

/// How a border is drawn: its colour, and its dashes where it has some.
fn manner(name: &str, palette: &Palette) -> (Color32, Option<[f32; 2]>) {
    match name {
        "budget" => (palette.budget, None),
        "budget_pose_to_photon" => (palette.budget, Some([3.0, 3.0])),
        "break_even" => (palette.ink, None),
        "level" => (palette.doubt, Some([10.0, 3.0])),
        "load_encoder" => (palette.bad, None),
        "load_link" => (palette.bad, Some([8.0, 4.0])),
        _ => (palette.bad, Some([2.0, 3.0])),
    }
}

fn borders(painter: &Painter, plot: Rect, grid: &Grid, borders: &[Border], palette: &Palette) {
    let [width, height] = grid.size().map(|count| count as f32);
    let at = |[x, y]: [f64; 2]| {
        let share = |place: f64, count: f32| (place as f32 + 0.5) / count;
        pos2(plot.left() + plot.width() * share(x, width), plot.bottom() - plot.height() * share(y, height))
    };
    let clipped = painter.with_clip_rect(plot.intersect(painter.clip_rect()));
    // Grounds first, then lines drawn through, then dashes on them: of borders that fall on each other all are seen.
    let (dashed, through): (Vec<&Border>, Vec<&Border>) =
        borders.iter().partition(|border| manner(border.name, palette).1.is_some());
    let ground = |border: &Border| {
        for line in &border.lines {
            let line = line.iter().copied().map(at).collect();
            clipped.add(Shape::line(line, Stroke::new(THROUGH + 2.0, palette.sheet)));
        }
    };
    borders.iter().for_each(ground);
    for border in through.into_iter().chain(dashed) {
        let (color, dashes) = manner(border.name, palette);
        for line in &border.lines {
            let line: Vec<Pos2> = line.iter().copied().map(at).collect();
            stroke(&clipped, &line, (color, dashes), palette);
        }
    }
}

/// A border's line, or its sample: dashes have their own ground between them.
fn stroke(painter: &Painter, line: &[Pos2], (color, dashes): (Color32, Option<[f32; 2]>), palette: &Palette) {
    match dashes {
        None => {
            painter.add(Shape::line(line.to_vec(), Stroke::new(THROUGH, color)));
        }
        Some([dash, gap]) => {
            painter.add(Shape::line(line.to_vec(), Stroke::new(DASHED, palette.sheet)));
            painter.extend(Shape::dashed_line(line, Stroke::new(DASHED, color), dash, gap));
        }
    }
}
