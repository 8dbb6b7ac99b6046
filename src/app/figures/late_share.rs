//! The share of late frames against the lead, both designs on one plot, with the leads used and the share asked for.

use eframe::egui::{Align2, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::chart::{self, Scale};
use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::late_share::{LateShares, Needs, NoCurve};
use crate::report::format::{exact_ms, ms, share};
use crate::time::ns_to_ms;

const LEFT: f32 = 56.0;
const LEAST_HEIGHT: f32 = 150.0;
/// Height of a line of words above the plot \[pt\].
const LINE: f32 = 18.0;

/// Draws both curves over the space there is.
pub fn late_share(ui: &mut Ui, figure: &LateShares, names: &[String; 2]) -> Response {
    ui.horizontal(|ui| ink::title(ui, "Late share against lead"));
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(figure, names)));
    if ui.is_rect_visible(rect) {
        let palette = Palette::current(ui);
        let painter = ui.painter();
        for side in Side::BOTH {
            legend(painter, rect, side, figure, &names[side.index()], palette);
        }
        let plot = Rect::from_min_max(
            pos2(rect.left() + LEFT, rect.top() + 2.0 * LINE + 8.0),
            pos2(rect.right() - 10.0, rect.bottom() - chart::BELOW),
        );
        if let Some((x, y)) = scales(figure, plot) {
            paint(painter, plot, (&x, &y), figure, palette);
            readout(ui, plot, (&x, &y), figure, names, &response);
        } else {
            painter.text(plot.center(), Align2::CENTER_CENTER, "No curve", theme::text(), palette.soft);
        }
    }
    response
}

fn scales(figure: &LateShares, plot: Rect) -> Option<(Scale, Scale)> {
    let [low, high] = figure.range_ns?.map(ns_to_ms);
    let margin = ((high - low) * 0.06).max(0.2);
    let x = Scale::linear((low - margin).max(0.0), high + margin, plot.left(), plot.right());
    Some((x, Scale::logarithmic(figure.least_share() * 0.8, 1.0, plot.bottom(), plot.top())))
}

/// A design, its lead, and how many of its frames are late at it.
fn legend(painter: &Painter, rect: Rect, side: Side, figure: &LateShares, name: &str, palette: &Palette) {
    let middle = rect.top() + LINE * (side.index() as f32 + 0.5);
    let at = pos2(rect.left() + 6.0, middle);
    Mark::of(side).draw(painter, at, 9.0, palette.side(side), palette.sheet);
    let texts = legend_texts(&figure.sides[side.index()], name);
    let room = rect.right() - at.x - 10.0;
    let fits = |text: &&String| ink::width(painter, text, theme::small()) <= room;
    if let Some(text) = texts.iter().find(fits).or(texts.last()) {
        painter.text(at + vec2(9.0, 0.0), Align2::LEFT_CENTER, text, theme::small(), palette.ink);
    }
}

/// What a design comes to, from the longest way to say it to the shortest.
fn legend_texts(needs: &Result<Needs, NoCurve>, name: &str) -> Vec<String> {
    let needs = match needs {
        Ok(needs) => needs,
        Err(why) => return vec![format!("{name}: no curve, {}", why.words()), format!("{name}: no curve")],
    };
    let plain = format!("lead {}: {} late", ms(ns_to_ms(needs.used_ns)), share(needs.late(needs.used_ns)));
    let medium = format!("{name}, {plain}");
    let mut long = medium.clone();
    if needs.never > 0 {
        long = format!("{long}; {} never get ready: no lead helps", share(needs.floor()));
    }
    if !needs.steady {
        return vec![
            format!("{long}; not steady, so it hangs on the length of the run"),
            format!("{name}, not steady"),
        ];
    }
    let same = needs.same_below_ns().map(|ns| format!("{long}; Newest and OnTarget differ from {}", ms(ns_to_ms(ns))));
    same.into_iter().chain([long, medium, plain]).collect()
}

fn paint(painter: &Painter, plot: Rect, (x, y): (&Scale, &Scale), figure: &LateShares, palette: &Palette) {
    chart::decade_rules(painter, plot, y, palette);
    chart::x_axis(painter, plot, x, "lead, ms", palette);
    for side in Side::BOTH {
        let Ok(needs) = &figure.sides[side.index()] else { continue };
        let stroke = Stroke::new(2.0, palette.side(side));
        let path = path(painter, plot, (x, y), needs);
        match side {
            Side::Baseline => painter.extend(Shape::dashed_line(&path, stroke, 6.0, 3.5)),
            Side::Candidate => {
                painter.add(Shape::line(path, stroke));
            }
        }
    }
    asked(painter, plot, y, figure, palette);
    for side in Side::BOTH {
        let Ok(needs) = &figure.sides[side.index()] else { continue };
        let late = needs.late(needs.used_ns);
        let at = pos2(x.place(ns_to_ms(needs.used_ns)), y.place(late.max(y.values[0])));
        painter.vline(at.x, at.y..=plot.bottom(), Stroke::new(1.0, palette.side(side)));
        Mark::of(side).draw(painter, at, 10.0, palette.side(side), palette.sheet);
    }
}

/// The curve, a step a pixel: what happens within one pixel is a fall within it. Where no frame is late it ends.
fn path(painter: &Painter, plot: Rect, (x, y): (&Scale, &Scale), needs: &Needs) -> Vec<Pos2> {
    let pixel = 1.0 / painter.pixels_per_point();
    let columns = (plot.width() / pixel).ceil() as usize;
    let mut path: Vec<Pos2> = Vec::with_capacity(columns + 1);
    for column in 0..=columns {
        let place = (plot.left() + column as f32 * pixel).min(plot.right());
        let late = needs.late((x.value(place) * 1e6).round() as i64);
        let height = if late > 0.0 { y.place(late) } else { plot.bottom() };
        if let Some(last) = path.last().filter(|last| (last.y - height).abs() > 0.01) {
            path.push(pos2(place, last.y));
        } else if let [.., before, last] = path.as_mut_slice()
            && (before.y - last.y).abs() <= 0.01
        {
            // Level stretches are one line.
            last.x = place;
            continue;
        }
        path.push(pos2(place, height));
        if late <= 0.0 {
            break;
        }
    }
    path
}

/// The shares that leads were tuned to, as a line across with its number.
fn asked(painter: &Painter, plot: Rect, y: &Scale, figure: &LateShares, palette: &Palette) {
    let mut drawn: Option<f64> = None;
    for side in [Side::Candidate, Side::Baseline] {
        let Some(share_asked) = figure.sides[side.index()].as_ref().ok().and_then(|needs| needs.asked) else {
            continue;
        };
        if drawn.replace(share_asked) == Some(share_asked) {
            continue;
        }
        let at = y.place(share_asked);
        if !plot.y_range().contains(at) {
            continue;
        }
        let stroke = Stroke::new(2.0, palette.budget);
        ink::dashed(painter, pos2(plot.left(), at), pos2(plot.right(), at), stroke, [2.0, 4.0]);
        let text = format!("asked {}", share(share_asked));
        let place = pos2(plot.right() - 4.0, at - 2.0);
        painter.text(place, Align2::RIGHT_BOTTOM, text, theme::small(), palette.ink);
    }
}

/// What a design would come to at the lead under the pointer.
fn readout(
    ui: &Ui,
    plot: Rect,
    (x, y): (&Scale, &Scale),
    figure: &LateShares,
    names: &[String; 2],
    response: &Response,
) {
    let Some(pointer) = response.hover_pos() else { return };
    if !plot.x_range().contains(pointer.x) {
        response.clone().on_hover_text_at_pointer(all_told(figure, names));
        return;
    }
    let palette = Palette::current(ui);
    ui.painter().vline(pointer.x, plot.y_range(), Stroke::new(1.0, palette.soft));
    let lead_ns = (x.value(pointer.x) * 1e6).round() as i64;
    let mut lines = vec![format!("Lead {}", exact_ms(lead_ns))];
    for side in Side::BOTH {
        let name = &names[side.index()];
        match &figure.sides[side.index()] {
            Err(why) => lines.push(format!("{name}: no curve, {}", why.words())),
            Ok(needs) => {
                let late = needs.late(lead_ns);
                let at = pos2(pointer.x, y.place(late.max(y.values[0])));
                Mark::of(side).draw(ui.painter(), at, 7.0, palette.side(side), palette.sheet);
                lines.push(format!("{name}: {}", at_lead(needs, lead_ns)));
            }
        }
    }
    response.clone().on_hover_text_at_pointer(lines.join("\n"));
}

/// Late and early frames at a lead.
fn at_lead(needs: &Needs, lead_ns: i64) -> String {
    let late = format!("{} late", share(needs.late(lead_ns)));
    match needs.early(lead_ns) {
        early if early > 0.0 => {
            format!("{late}, {} a whole refresh early: Newest shows those early, OnTarget holds them", share(early))
        }
        _ => format!("{late}; Newest and OnTarget show the same"),
    }
}

/// Everything that belongs to no one lead.
fn all_told(figure: &LateShares, names: &[String; 2]) -> String {
    let mut lines =
        vec!["Share of frames not ready at the latch of their refresh, if the lead were another".to_owned()];
    for side in Side::BOTH {
        let name = &names[side.index()];
        let needs = match &figure.sides[side.index()] {
            Ok(needs) => needs,
            Err(why) => {
                lines.push(format!("{name}: no curve, {}", why.words()));
                continue;
            }
        };
        lines.push(format!("{name}: lead {}: {}", exact_ms(needs.used_ns), at_lead(needs, needs.used_ns)));
        lines.extend(
            needs
                .same_below_ns()
                .map(|ns| format!("  Newest and OnTarget show the same at leads below {}", exact_ms(ns))),
        );
        if needs.never > 0 {
            lines.push(format!("  {} never get ready: no lead helps", share(needs.floor())));
        }
        if needs.closes {
            lines.push("  Another lead would meet other closures of the link, of the same law".to_owned());
        }
        if !needs.steady {
            lines.push("  Not steady: the longer the run, the more frames are late".to_owned());
        }
    }
    lines.join("\n")
}

/// What is to be seen, in words.
fn in_words(figure: &LateShares, names: &[String; 2]) -> String {
    let of = |side: Side| {
        let texts = legend_texts(&figure.sides[side.index()], &names[side.index()]);
        texts.into_iter().next().unwrap_or_default()
    };
    format!("Late share against lead. {}. {}", of(Side::Baseline), of(Side::Candidate))
}
