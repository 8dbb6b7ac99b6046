//! What a fit leaves over time: a dot a frame, or a stroke from the least to the most of those that share a place.

use eframe::egui::{
    Align2, Painter, Rangef, Rect, Response, RichText, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use crate::app::figures::chart::{self, Scale};
use crate::app::figures::ink::{self, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::measured::course::{Fold, Strip};
use crate::report::figures::measured::title;
use crate::report::format::{count, number};

const LEFT: f32 = 58.0;
const LEAST_HEIGHT: f32 = 100.0;
/// Room between two frames from which on each has a dot \[pt\].
const APART: f32 = 2.5;

/// Draws a strip over the space there is.
pub(in crate::app) fn course(ui: &mut Ui, strip: &Strip) -> Response {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ink::title(ui, &format!("{} over time", title(strip.role)));
        let text = format!("{}, frame by frame in the order of the file", strip.against);
        ui.label(RichText::new(text).font(theme::small()).color(palette.soft));
    });
    if ink::is_on_paper(ui) {
        ui.label(RichText::new(&strip.told).font(theme::small()).color(palette.ink));
    }
    if !strip.intra.is_empty() {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 5.0;
            let (rect, _) = ui.allocate_exact_size(vec2(11.0, 12.0), Sense::hover());
            triangle(ui.painter(), rect.center(), palette);
            ui.label(RichText::new(strip.intra_told).font(theme::small()).color(palette.ink));
        });
    }
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, strip.told.clone()));
    if ui.is_rect_visible(rect) {
        paint(ui.painter(), rect, strip, palette);
        readout(ui, rect, strip, &response);
    }
    response
}

fn plot_of(rect: Rect) -> Rect {
    let (min, max) = (rect.min + vec2(LEFT, 8.0), rect.max - vec2(10.0, chart::BELOW));
    Rect::from_min_max(min, max)
}

fn x_of(plot: Rect, strip: &Strip) -> Scale {
    Scale::linear(-0.5, strip.frames as f64 - 0.5, plot.left(), plot.right())
}

fn paint(painter: &Painter, rect: Rect, strip: &Strip, palette: &Palette) {
    let plot = plot_of(rect);
    let Some([low, high]) = strip.ends() else { return };
    let margin = ((high - low) * 0.05).max(1e-9);
    let y = Scale::linear(low.min(0.0) - margin, high.max(0.0) + margin, plot.bottom(), plot.top());
    let x = x_of(plot, strip);
    let ticks = y.ticks(28.0);
    for value in &ticks.values {
        chart::rule(painter, plot, y.place(*value), &number(*value, ticks.decimals), palette);
    }
    let (from, to, mean) = strip.worst;
    let worst = Rect::from_x_y_ranges(x.place(from as f64 - 0.5)..=x.place(to as f64 + 0.5), plot.y_range());
    let mut plate = Plate::new(painter);
    plate.engrave(worst, palette.doubt);
    plate.outline(worst.expand2(vec2(1.0, 0.0)), palette.doubt);
    plate.draw(painter);
    for start in &strip.starts {
        painter.vline(x.place(*start as f64 - 0.5), plot.y_range(), Stroke::new(1.0, palette.faint));
    }
    painter.hline(plot.x_range(), y.place(0.0), Stroke::new(1.2, palette.soft));
    folds(painter, plot, [&x, &y], strip, palette);
    thirds(painter, plot, &y, strip, palette);
    chart::x_ticks(painter, plot, &x, palette);
    let name =
        format!("Frame; upright lines where a run begins; worst stretch marked ({} {})", number(mean, 3), strip.unit);
    let name = if ink::width(painter, &name, theme::small()) < plot.width() { name } else { "Frame".to_owned() };
    chart::name_below(painter, plot, &name, palette);
    let corner = pos2(rect.left(), rect.top() - 2.0);
    painter.text(corner, Align2::LEFT_TOP, strip.unit, theme::small(), palette.soft);
}

fn folds(painter: &Painter, plot: Rect, [x, y]: [&Scale; 2], strip: &Strip, palette: &Palette) {
    let middle = |fold: &Fold| x.place((fold.from + fold.to) as f64 / 2.0);
    if strip.single() && plot.width() / strip.frames.max(1) as f32 >= APART {
        let dots = strip
            .folds
            .iter()
            .map(|fold| Shape::circle_filled(pos2(middle(fold), y.place(fold.mean)), 1.6, palette.baseline));
        painter.extend(dots);
        intra(painter, [x, y], strip, palette);
        return;
    }
    let mut plate = Plate::new(painter);
    for fold in &strip.folds {
        let (left, right) = (x.place(fold.from as f64 - 0.5), x.place(fold.to as f64 + 0.5));
        let tall = |low: f64, high: f64| Rangef::new(y.place(high) - 1.0, y.place(low) + 1.0);
        let right = right.max(left + 1.6);
        plate.fill(Rect::from_x_y_ranges(left..=right, tall(fold.least, fold.most)), palette.baseline);
    }
    plate.draw(painter);
    intra(painter, [x, y], strip, palette);
}

/// Intra frames as open triangles; of those that share a place, the most and the least, joined by a line.
fn intra(painter: &Painter, [x, y]: [&Scale; 2], strip: &Strip, palette: &Palette) {
    for fold in &strip.intra {
        let at = x.place((fold.from + fold.to) as f64 / 2.0);
        let [least, most] = [fold.least, fold.most].map(|value| y.place(value));
        if least - most > 2.0 {
            painter.vline(at, Rangef::new(most, least), Stroke::new(1.0, palette.ink));
            triangle(painter, pos2(at, least), palette);
        }
        triangle(painter, pos2(at, most), palette);
    }
}

fn triangle(painter: &Painter, center: eframe::egui::Pos2, palette: &Palette) {
    let corners = [vec2(0.0, -4.5), vec2(4.2, 3.0), vec2(-4.2, 3.0)].map(|corner| center + corner);
    painter.add(Shape::convex_polygon(corners.to_vec(), palette.sheet, Stroke::new(1.2, palette.ink)));
}

/// Means of the first and last third as lines with their numbers.
fn thirds(painter: &Painter, plot: Rect, y: &Scale, strip: &Strip, palette: &Palette) {
    let third = plot.width() / 3.0;
    for (at, mean) in [plot.left(), plot.right() - third].into_iter().zip(strip.thirds) {
        let height = y.place(mean);
        let span = [pos2(at, height), pos2(at + third, height)];
        painter.line_segment(span, Stroke::new(4.0, palette.sheet));
        painter.line_segment(span, Stroke::new(2.0, palette.candidate));
        let text = format!("mean {} {}", number(mean, 3), strip.unit);
        let middle = pos2(at + third / 2.0, plot.top());
        ink::text_on(painter, middle, Align2::CENTER_TOP, text, theme::small(), [palette.ink, palette.sheet]);
    }
}

fn readout(ui: &Ui, rect: Rect, strip: &Strip, response: &Response) {
    let plot = plot_of(rect);
    let Some(pointer) = response.hover_pos().filter(|at| plot.contains(*at)) else { return };
    let frame = x_of(plot, strip).value(pointer.x).round().max(0.0) as usize;
    let here = |folds: &[Fold]| folds.get(folds.partition_point(|fold| fold.to < frame)).copied();
    let [others, intra] = [here(&strip.folds), here(&strip.intra)];
    let within = |fold: &Fold| fold.from <= frame && frame <= fold.to;
    let intra = intra.filter(within);
    // A frame of its own is one kind; where frames share a place both may be there.
    let Some(fold) = others.filter(within).or(intra).or(others) else { return };
    ui.painter().vline(pointer.x, plot.y_range(), Stroke::new(1.0, Palette::current(ui).soft));
    let told = if fold.from == fold.to {
        let kind = if intra == Some(fold) { ", intra" } else { "" };
        format!("Frame {}{kind}: {} {}", fold.from, number(fold.mean, 3), strip.unit)
    } else {
        let frames = count((fold.to - fold.from + 1) as u64);
        let [least, mean, most] = [fold.least, fold.mean, fold.most].map(|value| number(value, 3));
        format!("Frames {} to {} ({frames}): {least} to {most} {}, mean {mean}", fold.from, fold.to, strip.unit)
    };
    response.clone().on_hover_text_at_pointer(told);
}
