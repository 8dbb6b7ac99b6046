//! Numbers, ways and colours as attributes.

use eframe::egui::epaint::{ColorMode, PathStroke};
use eframe::egui::{Color32, Pos2, Stroke};

/// A coordinate to the hundredth of a point, without zeros at its end.
pub(super) fn number(value: f32) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Both coordinates of a point.
pub(super) fn point(at: Pos2) -> String {
    format!("{} {}", number(at.x), number(at.y))
}

/// The way along points.
pub(super) fn line(points: &[Pos2], closed: bool) -> String {
    let steps = points.iter().enumerate().map(|(place, at)| {
        let step = if place == 0 { "M" } else { "L" };
        format!("{step}{}", point(*at))
    });
    steps.chain(closed.then(|| "z".to_owned())).collect()
}

/// A fill.
pub(super) fn fill(color: Color32) -> String {
    if color.a() == 0 {
        return " fill=\"none\"".to_owned();
    }
    format!(" fill=\"{}\"{}", hex(color), opacity("fill-opacity", color))
}

/// A pen; one that leaves no trace is nothing.
pub(super) fn stroke(pen: Stroke) -> String {
    if pen.is_empty() {
        return String::new();
    }
    let width = number(pen.width);
    format!(" stroke=\"{}\" stroke-width=\"{width}\"{}", hex(pen.color), opacity("stroke-opacity", pen.color))
}

/// The pen of a path. No figure has one whose colour changes along its way.
pub(super) fn solid(stroke: &PathStroke) -> Stroke {
    match stroke.color {
        ColorMode::Solid(color) => Stroke::new(stroke.width, color),
        ColorMode::UV(_) => Stroke::new(stroke.width, Color32::GRAY),
    }
}

fn hex(color: Color32) -> String {
    let [red, green, blue, _] = color.to_srgba_unmultiplied();
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn opacity(name: &str, color: Color32) -> String {
    if color.is_opaque() {
        return String::new();
    }
    format!(" {name}=\"{}\"", number(f32::from(color.a()) / 255.0))
}
