//! The slice-count curve with its handle.

mod labels;

use eframe::egui::{
    Align2, EventFilter, Key, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    accesskit, pos2, vec2,
};

use super::chart::{self, Scale};
use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::curve::{Curve, CurvePoint};
use crate::report::format::{NOTHING, maybe_ms, ms, number, of, share};

const LEFT: f32 = 44.0;
const ABOVE: f32 = 26.0;
const LEAST_HEIGHT: f32 = 150.0;
/// Room for the names of the lines before the first count.
const NAMES: f32 = 36.0;
/// What the figure has right of its plot.
const RIGHT: f32 = 14.0;

/// What was done to the handle.
#[derive(Debug)]
pub struct Handle {
    /// The figure's response; a drag lasts from `drag_started` to `drag_stopped`.
    pub response: Response,
    /// The slice count asked for, where it is another than the one shown.
    pub asked: Option<u32>,
}

/// Draws the curve over the space there is. `today` is the candidate's slice count; it can be dragged, clicked, stepped with
/// the arrow keys or set through accessibility, from 1 to `most`.
pub fn slice_curve(ui: &mut Ui, curve: &Curve, today: u32, most: u32) -> Handle {
    heading(ui, curve);
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
    let (rect, mut response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    let plot = Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + ABOVE),
        pos2(rect.right() - RIGHT, rect.bottom() - chart::BELOW),
    );
    let x = x_scale(plot, most);
    let asked = asked(ui, &response, &x, today, most.max(1));
    speak(ui, &response, curve, today, most);
    if asked.is_some() {
        response.mark_changed();
    }
    if ui.is_rect_visible(rect) {
        paint(ui, plot, &x, curve, asked.unwrap_or(today), &response);
    }
    hover(&response, plot, &x, curve, most);
    Handle { response, asked }
}

/// From so far below 1 that the names of the lines stand between the axis and the first count, to the most slices.
fn x_scale(plot: Rect, most: u32) -> Scale {
    let high = f64::from(most.max(2)) * 1.06;
    let part = f64::from((NAMES / plot.width().max(1.0)).min(0.5));
    // 1, whose logarithm is 0, lies that part of the way from the low end to the high one.
    let low = (-part / (1.0 - part) * high.ln()).exp();
    Scale::logarithmic(low, high, plot.left(), plot.right())
}

fn heading(ui: &mut Ui, curve: &Curve) {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ink::title(ui, "Slice count");
        let text = match (curve.best(), curve.complete()) {
            _ if curve.next.is_some() => curve.next.map_or_else(String::new, coming_in_words),
            (_, false) => format!("{} of {} points", curve.points().len(), curve.expected),
            (Some(best), true) => plateau_in_words(curve, best),
            (None, true) => "no count is steady".to_owned(),
        };
        ui.label(eframe::egui::RichText::new(text).font(theme::small()).color(palette.soft));
    });
}

/// How far the curve has come that will take this one's place.
fn coming_in_words((come, all): (usize, usize)) -> String {
    if all == 0 { "of before the change, computing".to_owned() } else { format!("computing {come} of {all}") }
}

fn plateau_in_words(curve: &Curve, best: &CurvePoint) -> String {
    match curve.plateau() {
        Some((first, last)) if first < last => format!("best {}, as good from {first} to {last}", best.slices),
        _ => format!("best {}", best.slices),
    }
}

/// The count asked for by pointer, keys or accessibility.
fn asked(ui: &Ui, response: &Response, x: &Scale, today: u32, most: u32) -> Option<u32> {
    let clamp = |count: f64| count.round().clamp(1.0, f64::from(most)) as u32;
    let mut count = today;
    if (response.dragged() || response.clicked())
        && let Some(pointer) = response.interact_pointer_pos()
    {
        count = clamp(x.value(pointer.x));
    }
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let mut steps = 0;
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        ui.input(|input| {
            steps += input.num_presses(Key::ArrowRight) as i64 - input.num_presses(Key::ArrowLeft) as i64;
            if input.key_pressed(Key::Home) {
                count = 1;
            }
            if input.key_pressed(Key::End) {
                count = most;
            }
        });
    }
    ui.input(|input| {
        let number = |action| input.num_accesskit_action_requests(response.id, action) as i64;
        steps += number(accesskit::Action::Increment) - number(accesskit::Action::Decrement);
        for request in input.accesskit_action_requests(response.id, accesskit::Action::SetValue) {
            if let Some(accesskit::ActionData::NumericValue(value)) = request.data {
                count = clamp(value);
            }
        }
    });
    let count = (i64::from(count) + steps).clamp(1, i64::from(most)) as u32;
    (count != today).then_some(count)
}

fn speak(ui: &Ui, response: &Response, curve: &Curve, today: u32, most: u32) {
    response.widget_info(|| {
        let best = curve.best().map_or_else(String::new, |best| format!(", best {}", best.slices));
        let here = curve.at(today).map_or_else(String::new, |point| format!(", {}", in_words(point)));
        let when = if curve.next.is_some() { " before the change" } else { "" };
        WidgetInfo::slider(true, f64::from(today), format!("Slice count{when}{here}{best}"))
    });
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_min_numeric_value(1.0);
        node.set_max_numeric_value(f64::from(most));
        node.set_numeric_value_step(1.0);
        for action in [accesskit::Action::SetValue, accesskit::Action::Increment, accesskit::Action::Decrement] {
            node.add_action(action);
        }
    });
}

fn in_words(point: &CurvePoint) -> String {
    if point.steady && point.overloaded() {
        format!("median {}, p99 {}, overloaded: frames are dropped", maybe_ms(point.p50_ms), maybe_ms(point.p99_ms))
    } else if point.steady {
        format!("median {}, p99 {}", maybe_ms(point.p50_ms), maybe_ms(point.p99_ms))
    } else {
        "not steady".to_owned()
    }
}

fn paint(ui: &Ui, plot: Rect, x: &Scale, curve: &Curve, today: u32, response: &Response) {
    let current = Palette::current(ui);
    let faded = faded(current);
    let palette = if curve.next.is_some() { &faded } else { current };
    let painter = ui.painter();
    let y = y_scale(curve, today, plot);
    let ticks = y.ticks(34.0);
    for value in &ticks.values {
        chart::rule(painter, plot, y.place(*value), &number(*value, ticks.decimals), palette);
    }
    counts_axis(painter, plot, x, palette);
    plateau(painter, plot, x, curve, palette);
    let overloaded = overloaded(painter, plot, x, curve, palette);
    let limit = budget(painter, plot, &y, curve, palette);
    let below = |point: &CurvePoint| point.p50_ms;
    let above = |point: &CurvePoint| point.p99_ms;
    let clipped = painter.with_clip_rect(plot.expand(3.0).intersect(painter.clip_rect()));
    line(&clipped, (x, &y), curve, below, Stroke::new(1.5, palette.candidate), true);
    line(&clipped, (x, &y), curve, above, Stroke::new(2.0, palette.candidate), false);
    line_names(painter, plot, (x, &y), curve, palette);
    best(painter, (x, &y), curve, palette);
    handle(painter, plot, (x, &y), curve, today, response, palette);
    let mut labels = labels::Labels::new(plot, (x, &y), curve, today);
    if let Some((text, at)) = limit {
        labels.along(painter, &text, at, palette);
    }
    if let Some(ground) = overloaded {
        labels.within(ui, "overloaded", ground, palette);
    }
}

/// Colours of a curve that belongs to an earlier scenario.
fn faded(palette: &Palette) -> Palette {
    let gray = theme::blend(palette.sheet, palette.soft, 0.55);
    Palette { candidate: gray, good: palette.faint, doubt: palette.faint, ..*palette }
}

/// From the least value to where the comparison ends: the worse of whole frame, today's count and the budget. What is
/// beyond leaves the plot at its top.
fn y_scale(curve: &Curve, today: u32, plot: Rect) -> Scale {
    let (low, high) = curve.range_ms().unwrap_or((0.0, 1.0));
    let anchors = [curve.at(1), curve.at(today), curve.best()].into_iter().flatten().filter_map(|point| point.p99_ms);
    let near = anchors.chain(curve.budget_ms.filter(|limit| *limit < high)).fold(low + 2.0, f64::max);
    let margin = (near - low) * 0.12;
    Scale::linear(low - margin, high.min(near + (near - low) * 0.25) + margin, plot.bottom(), plot.top())
}

fn counts_axis(painter: &Painter, plot: Rect, x: &Scale, palette: &Palette) {
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, palette.soft));
    let mut count = 1;
    while f64::from(count) <= x.values[1] {
        chart::tick_below(painter, pos2(x.place(f64::from(count)), plot.bottom()), &count.to_string(), palette);
        count *= 2;
    }
    chart::name_below(painter, plot, "slices a frame; pose to photon in ms", palette);
}

/// The counts that are as good as the best, as a band on the axis.
fn plateau(painter: &Painter, plot: Rect, x: &Scale, curve: &Curve, palette: &Palette) {
    if let Some((first, last)) = curve.plateau().filter(|_| curve.complete()) {
        let band =
            Rect::from_x_y_ranges(x.place(f64::from(first) - 0.15)..=x.place(f64::from(last) + 0.15), plot.y_range());
        painter.rect_filled(band, 0.0, theme::blend(palette.sheet, palette.good, 0.12));
        let foot = Rect::from_min_max(pos2(band.left(), plot.bottom() - 3.0), band.max);
        painter.rect_filled(foot, 0.0, palette.good);
    }
}

/// The budget's line; gives its label and its height.
fn budget(painter: &Painter, plot: Rect, y: &Scale, curve: &Curve, palette: &Palette) -> Option<(String, f32)> {
    let limit = curve.budget_ms?;
    let at = y.place(limit);
    if !plot.y_range().contains(at) {
        return None;
    }
    let stroke = Stroke::new(2.0, palette.budget);
    ink::dashed(painter, pos2(plot.left(), at), pos2(plot.right(), at), stroke, [2.0, 4.0]);
    Some((format!("budget {}", ms(limit)), at))
}

/// Counts at which a server is offered more than it can do, from the first on: a tinted ground, and a cross where the run
/// did not settle. Gives the ground.
fn overloaded(painter: &Painter, plot: Rect, x: &Scale, curve: &Curve, palette: &Palette) -> Option<Rect> {
    let border = curve.border()?;
    let ground = Rect::from_min_max(pos2(x.place(border).max(plot.left()), plot.top()), plot.max);
    painter.rect_filled(ground, 0.0, theme::blend(palette.sheet, palette.doubt, 0.14));
    for point in curve.points().iter().filter(|point| !point.steady) {
        let at = pos2(x.place(f64::from(point.slices)), plot.bottom() - 10.0);
        Mark::Cross.draw(painter, at, 9.0, palette.bad, palette.sheet);
    }
    Some(ground)
}

/// One quantile over the counts; not drawn across counts that have none.
fn line(
    painter: &Painter,
    (x, y): (&Scale, &Scale),
    curve: &Curve,
    value: impl Fn(&CurvePoint) -> Option<f64>,
    stroke: Stroke,
    dotted: bool,
) {
    let mut path: Vec<Pos2> = Vec::new();
    let flush = |path: &mut Vec<Pos2>| {
        let done = std::mem::take(path);
        if dotted {
            painter.extend(Shape::dashed_line(&done, stroke, 5.0, 3.0));
        } else {
            painter.add(Shape::line(done, stroke));
        }
    };
    for point in curve.points() {
        if let Some(found) = value(point) {
            let at = pos2(x.place(f64::from(point.slices)), y.place(found));
            painter.circle_filled(at, 2.5, stroke.color);
            path.push(at);
        } else {
            flush(&mut path);
        }
    }
    flush(&mut path);
}

/// Names of the two lines, left of their first points and apart from each other.
fn line_names(painter: &Painter, plot: Rect, (x, y): (&Scale, &Scale), curve: &Curve, palette: &Palette) {
    let Some(point) = curve.points().iter().find(|point| point.p50_ms.is_some()) else { return };
    let [Some(p50), Some(p99)] = [point.p50_ms, point.p99_ms] else { return };
    let (low, high) = (y.place(p50), y.place(p99));
    let apart = ((14.0 - (low - high)) / 2.0).max(0.0);
    for (name, height) in [("p99", high - apart), ("p50", low + apart)] {
        let place = pos2(x.place(f64::from(point.slices)) - 6.0, height.clamp(plot.top() + 8.0, plot.bottom() - 8.0));
        painter.text(place, Align2::RIGHT_CENTER, name, theme::small(), palette.ink);
    }
}

/// The best count: a ring about its point.
fn best(painter: &Painter, (x, y): (&Scale, &Scale), curve: &Curve, palette: &Palette) {
    let Some((point, p99)) = curve.best().and_then(|point| Some((point, point.p99_ms?))) else { return };
    let at = pos2(x.place(f64::from(point.slices)), y.place(p99));
    painter.circle_stroke(at, 7.0, Stroke::new(2.0, palette.good));
}

/// Today's count: a line through the plot, a knob above it that can be taken.
fn handle(
    painter: &Painter,
    plot: Rect,
    (x, y): (&Scale, &Scale),
    curve: &Curve,
    today: u32,
    response: &Response,
    palette: &Palette,
) {
    let at = x.place(f64::from(today));
    let taken = response.dragged() || response.has_focus();
    painter.line_segment([pos2(at, plot.top() - 6.0), pos2(at, plot.bottom())], Stroke::new(2.0, palette.ink));
    let text = painter.layout_no_wrap(today.to_string(), theme::figures(theme::SMALL), palette.sheet);
    let size = vec2(text.size().x + 26.0, 22.0);
    let centre =
        pos2(at.clamp(plot.left() - LEFT + size.x / 2.0, plot.right() + 14.0 - size.x / 2.0), plot.top() - 14.0);
    let knob = Rect::from_center_size(centre, size);
    painter.rect_filled(knob, 11.0, palette.ink);
    if taken || response.hovered() {
        painter.rect_stroke(knob.expand(3.0), 13.0, Stroke::new(2.0, palette.candidate), StrokeKind::Outside);
    }
    painter.galley(knob.center() - text.size() / 2.0, text, palette.sheet);
    for (side, direction) in [(knob.left() + 6.0, -1.0), (knob.right() - 6.0, 1.0)] {
        let tip = pos2(side + direction * 2.5, knob.center().y);
        let corners = vec![tip, tip + vec2(-direction * 5.0, -4.0), tip + vec2(-direction * 5.0, 4.0)];
        painter.add(Shape::convex_polygon(corners, palette.sheet, Stroke::NONE));
    }
    if let Some(point) = curve.at(today) {
        for value in [point.p50_ms, point.p99_ms].into_iter().flatten() {
            Mark::Disc.draw(painter, pos2(at, y.place(value)), 9.0, palette.candidate, palette.sheet);
        }
        beside_knob(painter, plot, knob, point, curve.next.is_some(), palette);
    }
}

/// What today's count gives, or gave before the change, beside the knob: as much as there is room for.
fn beside_knob(painter: &Painter, plot: Rect, knob: Rect, point: &CurvePoint, before: bool, palette: &Palette) {
    let (when, color) = if before { ("was ", palette.soft) } else { ("", palette.ink) };
    let texts = match (point.p50_ms, point.p99_ms) {
        (Some(p50), Some(p99)) => {
            let [p50, p99] = [p50, p99].map(|value| number(value, 1));
            [format!("{when}p50 {p50}  p99 {p99} ms"), format!("{when}p99 {p99}")]
        }
        _ => [format!("{when}not steady"), String::new()],
    };
    let font = theme::figures(theme::SMALL);
    let right = plot.right() + RIGHT - (knob.right() + 8.0);
    let left = knob.left() - 8.0 - (plot.left() - LEFT);
    for text in texts {
        let wide = ink::width(painter, &text, font.clone());
        let place = if wide <= right {
            Some((knob.right() + 8.0, Align2::LEFT_CENTER))
        } else {
            (wide <= left).then_some((knob.left() - 8.0, Align2::RIGHT_CENTER))
        };
        if let Some((x, anchor)) = place {
            painter.text(pos2(x, knob.center().y), anchor, text, font, color);
            return;
        }
    }
}

fn hover(response: &Response, plot: Rect, x: &Scale, curve: &Curve, most: u32) {
    let Some(pointer) = response.hover_pos().filter(|at| plot.expand2(vec2(8.0, ABOVE)).contains(*at)) else { return };
    let count = x.value(pointer.x).round().clamp(1.0, f64::from(most)) as u32;
    let slices = of(u64::from(count), "slice");
    let text = curve.at(count).map_or_else(
        || format!("{slices}: {NOTHING}"),
        |point| {
            let lead = point.lead_ms.map_or_else(String::new, |lead| format!("\nlead {}", ms(lead)));
            format!(
                "{slices}: {}{lead}\nbusiest server {} loaded",
                in_words(point),
                point.load.map_or_else(|| NOTHING.to_owned(), share)
            )
        },
    );
    let when = if curve.next.is_some() { "Before the change, " } else { "" };
    response
        .clone()
        .on_hover_text_at_pointer(format!("{when}{text}\nDrag, click or use the arrow keys to change the count."));
}
