//! What lies under the pointer: exact values of its frames or refreshes, and which frame a click brings into the lanes.

use eframe::egui::{Rect, Response, Ui};

use super::paint::{Sheet, frame_them};
use super::window::Window;
use crate::app::theme::Palette;
use crate::report::figures::Side;
use crate::report::figures::run_strip::{Strips, frames_in_words};
use crate::report::format::{count, ms, of};

/// Tells what is under the pointer. Gives the frame that a click there brings into the lanes.
pub(super) fn hover(
    ui: &Ui,
    sheet: &Sheet,
    strips: &Strips,
    names: &[String; 2],
    window: &Window,
    response: &Response,
) -> Option<usize> {
    let pointer = response.hover_pos().or_else(|| response.interact_pointer_pos())?;
    let side = Side::BOTH.into_iter().find(|side| sheet.sides[side.index()].all().contains(pointer))?;
    let strip = &strips.sides[side.index()];
    let places = sheet.sides[side.index()];
    let palette = Palette::current(ui);
    let pixel = 1.0 / ui.painter().pixels_per_point();
    let axis = sheet.axis();
    if pointer.y >= places.refreshes.top() - 1.0 {
        let from = window.frame(pointer.x, axis);
        let to = window.frame(pointer.x + pixel, axis);
        let mut found = strip.refreshes_in(from..to);
        if found.is_empty() {
            // None begins here: the one that lasts.
            found = found.start.checked_sub(1)?..found.start;
        }
        let mut lines = vec![names[side.index()].clone()];
        let worst = strip.worst_refresh(found.clone());
        let freeze = strip.freeze.filter(|freeze| {
            worst.is_some_and(|place| (freeze.first..freeze.first + freeze.refreshes).contains(&place))
        });
        lines.extend(strip.refreshes_told(found));
        lines.extend(freeze.map(|freeze| {
            format!("in the longest freeze: {}, {}", of(freeze.refreshes as u64, "refresh"), ms(freeze.length_ms))
        }));
        let frame = worst.and_then(|place| strip.frame_of(place));
        lines.extend(frame.map(|frame| format!("Click for frame {} in the lanes", count(frame as u64))));
        response.clone().on_hover_text_at_pointer(lines.join("\n"));
        return frame;
    }
    let frames = sheet.frames_at(pointer.x, window, pixel);
    let borders = [frames.start, frames.end].map(|frame| window.place(frame as f64, axis));
    frame_them(ui.painter(), Rect::from_x_y_ranges(borders[0]..=borders[1], places.latency.y_range()), palette);
    let mut lines = vec![frames_in_words(&frames)];
    for side in Side::BOTH {
        lines.push(format!("{}: {}", names[side.index()], strips.sides[side.index()].told(frames.clone())));
    }
    let frame = strip.worst(frames.clone());
    lines.extend(frame.map(|frame| {
        let why = strip.worst_in_words(frame).filter(|_| frames.len() > 1);
        let why = why.map_or_else(String::new, |why| format!(", {why}"));
        format!("Click for frame {} in the lanes{why}", count(frame as u64))
    }));
    response.clone().on_hover_text_at_pointer(lines.join("\n"));
    frame
}
