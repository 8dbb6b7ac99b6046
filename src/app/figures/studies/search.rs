//! A search: its trail at the left, what it found at the right.

use eframe::egui::{
    Align, Align2, Label, Layout, Painter, Pos2, Rect, RichText, Role, ScrollArea, Sense, Shape, Stroke, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};

use super::ink::{self, Mark};
use super::upward;
use crate::app::figures::chart::{self, Scale};
use crate::app::figures::title::is_on_paper;
use crate::app::theme::{self, Palette};
use crate::report::figures::studies::search::{Trail, held_in_words};
use crate::report::figures::studies::with_unit;
use crate::report::format::number;

/// Share of the width that the trail takes.
const TRAIL: f32 = 0.56;
/// Room left of the plot and above it \[pt\].
const LEFT: f32 = 52.0;
const ABOVE: f32 = 20.0;
/// Space between two lines of what was found \[pt\].
const BETWEEN: f32 = 3.0;
/// How far from a mark the pointer may be \[pt\].
const REACH: f32 = 12.0;

/// Draws the search over the space there is. Returns the number of the trial whose values are to be taken.
pub(in crate::app) fn search(ui: &mut Ui, trail: &Trail) -> Option<usize> {
    let palette = Palette::current(ui);
    let space = ui.available_rect_before_wrap();
    let border = space.left() + space.width() * TRAIL;
    let left = Rect::from_min_max(space.min, pos2(border, space.bottom()));
    let right = Rect::from_min_max(pos2(border + 16.0, space.top()), space.max);
    let clicked = trials(ui, trail, left, palette);
    let inside = UiBuilder::new().max_rect(right).layout(Layout::top_down(Align::Min));
    let taken = ui.scope_builder(inside, |ui| found(ui, trail, palette)).inner;
    clicked.or(taken)
}

/// Where a trial stands: by its number, or by its second measure.
fn across(trail: &Trail, number: usize) -> Option<f64> {
    match trail.second {
        Some(_) => trail.second_at(number),
        None => Some(number as f64 + 1.0),
    }
}

fn trials(ui: &mut Ui, trail: &Trail, rect: Rect, palette: &Palette) -> Option<usize> {
    let response = ui.interact(rect, ui.scope_id().with("trail"), Sense::click());
    let said = || format!("Trail of the search, {} trials, {}", trail.trials.len(), trail.told());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, said()));
    let plot = Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + ABOVE),
        pos2(rect.right() - 8.0, rect.bottom() - chart::BELOW),
    );
    if !plot.is_positive() {
        return None;
    }
    let (x, y) = scales(trail, plot);
    let painter = ui.painter();
    let ticks = y.ticks(34.0);
    for value in &ticks.values {
        chart::rule(painter, plot, y.place(*value), &number(*value, ticks.decimals), palette);
    }
    let name =
        trail.second.map_or_else(|| "trial".to_owned(), |second| with_unit(second.label, second.for_people().unit));
    chart::x_axis(painter, plot, &x, &name, palette);
    let goal = with_unit(trail.goal.label, trail.goal.for_people().unit);
    legend(painter, Rect::from_x_y_ranges(rect.x_range(), plot.top() - ABOVE..=plot.top()), &goal, palette);
    let place = |number: usize| Some(pos2(x.place(across(trail, number)?), y.place(trail.goal_at(number)?)));
    // What leaves the plot at its top stays off the words above.
    let mut ground = plot.expand(6.0);
    ground.min.y = plot.top();
    marks(&painter.with_clip_rect(ground.intersect(painter.clip_rect())), trail, place, palette);
    let near = response.hover_pos().and_then(|at| {
        let far = |number: &usize| place(*number).map_or(f32::INFINITY, |place| place.distance(at));
        (0..trail.trials.len()).min_by(|a, b| far(a).total_cmp(&far(b))).filter(|number| far(number) <= REACH)
    });
    let clicked = response.clicked();
    if let Some(number) = near {
        let text = format!("{}\n\nClick: the candidate takes these values.", trail.trial_in_words(number));
        response.on_hover_text_at_pointer(text);
    }
    near.filter(|_| clicked)
}

/// The goal, and what the marks say: in fewer words, and at last without the goal, which stands at the right too, where there
/// is less room.
fn legend(painter: &Painter, row: Rect, goal: &str, palette: &Palette) {
    /// Room of a mark before its words, and between two entries \[pt\].
    const MARK: f32 = 8.0;
    const BETWEEN: f32 = 14.0;
    let wide = |text: &str| ink::width(painter, text, theme::small());
    let ways = [(goal, LONG), (goal, SHORT), ("", SHORT)];
    let length = |(goal, words): &(&str, [&str; 3])| {
        wide(goal) + words.iter().map(|words| BETWEEN + 2.0 * MARK + 2.0 + wide(words)).sum::<f32>()
    };
    let (goal, words) = ways.into_iter().find(|way| length(way) <= row.width() - 8.0).unwrap_or(ways[2]);
    let put = |left: f32, text: &str| {
        painter.text(pos2(left, row.center().y), Align2::LEFT_CENTER, text, theme::small(), palette.soft).right()
    };
    let mut left = put(row.left() + 4.0, goal);
    let forms = [(Some(Mark::Disc), palette.candidate), (Some(Mark::Cross), palette.soft), (None, palette.good)];
    for (words, (mark, color)) in words.into_iter().zip(forms) {
        let at = pos2(left + if goal.is_empty() { 0.0 } else { BETWEEN } + MARK, row.center().y);
        match mark {
            Some(mark) => mark.draw(painter, at, 6.0, color, palette.sheet),
            None => drop(painter.circle_stroke(at, 6.0, Stroke::new(2.0, color))),
        }
        left = put(at.x + MARK + 2.0, words);
    }
}

/// What a disc, a cross and a ring say.
const LONG: [&str; 3] = ["meets every limit", "misses a limit", "best"];
const SHORT: [&str; 3] = ["met", "missed", "best"];

fn scales(trail: &Trail, plot: Rect) -> (Scale, Scale) {
    let numbers = 0..trail.trials.len();
    let xs = numbers.filter_map(|number| across(trail, number));
    let (low, high) = xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
    let (low, high) = if low < high { (low, high) } else { (0.0, 1.0) };
    let margin = 0.03 * (high - low);
    let x = Scale::linear(low - margin, high + margin, plot.left(), plot.right());
    (x, upward((0..trail.trials.len()).filter_map(|number| trail.goal_at(number)).collect(), plot))
}

fn marks(painter: &Painter, trail: &Trail, place: impl Fn(usize) -> Option<Pos2>, palette: &Palette) {
    for (number, trial) in trail.trials.iter().enumerate() {
        let Some(at) = place(number) else { continue };
        let (mark, size, color) =
            if trial.met { (Mark::Disc, 6.0, palette.candidate) } else { (Mark::Cross, 6.0, palette.soft) };
        mark.draw(painter, at, size, color, palette.sheet);
    }
    if let Some(whole) = &trail.whole {
        let front: Vec<Pos2> = whole.front.iter().filter_map(|&number| place(number)).collect();
        for at in &front {
            painter.circle_stroke(*at, 5.5, Stroke::new(1.5, palette.ink));
        }
        painter.add(Shape::line(front, Stroke::new(1.0, palette.ink)));
    }
    if let Some(at) = trail.best().and_then(place) {
        painter.circle_stroke(at, 8.0, Stroke::new(2.0, palette.good));
    }
}

/// What was found; whether the best is to be taken.
fn found(ui: &mut Ui, trail: &Trail, palette: &Palette) -> Option<usize> {
    let best = trail.best()?;
    let mut taken = None;
    ScrollArea::vertical().id_salt("search").auto_shrink(false).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = BETWEEN;
        // Lines of words are as high as they are.
        ui.spacing_mut().interact_size.y = 0.0;
        let small = |text: String| RichText::new(text).font(theme::small());
        let met = trail.whole.as_ref().is_none_or(|whole| whole.met);
        let name = if met { "Take this scenario" } else { "Take the nearest" };
        if !is_on_paper(ui)
            && ui.button(RichText::new(name).strong()).on_hover_text("The candidate takes these values").clicked()
        {
            taken = Some(best);
        }
        if !met {
            let text = "Nothing meets every limit. What comes nearest:".to_owned();
            ui.add(Label::new(small(text).color(ui.visuals().error_fg_color)).wrap());
        }
        let mut lines = vec![format!("{}: {}", trail.goal.label, trail.goal_of(best))];
        lines.extend(trail.values_in_words(best).into_iter().map(|(name, value)| format!("{name} {value}")));
        for line in lines {
            ui.add(Label::new(small(line).color(palette.ink)).wrap());
        }
        for held in trail.whole.iter().flat_map(|whole| &whole.held) {
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(12.0, 16.0), Sense::hover());
                let (mark, color) = if held.met { (Mark::Tick, palette.good) } else { (Mark::Cross, palette.bad) };
                mark.draw(ui.painter(), rect.center(), 10.0, color, palette.sheet);
                let words = Label::new(small(held_in_words(held)).color(palette.ink)).wrap();
                ui.vertical(|ui| ui.add(words));
            });
        }
        if let Some(text) = trail.confirmed_in_words() {
            ui.add(Label::new(small(text).color(palette.soft)).wrap());
        }
    });
    taken
}
