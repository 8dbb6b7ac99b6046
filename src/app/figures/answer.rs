//! The verdict as a figure of its own: the gain from afar, its sentence and interval, the budget line by line.

use eframe::egui::text::LayoutJob;
use eframe::egui::{Align2, Color32, FontId, Painter, Rect, Response, Role, Sense, Ui, WidgetInfo, pos2};

use super::ink::{self, Mark};
use super::verdict::signal;
use crate::app::theme::{self, Palette};
use crate::report::figures::verdict::{Line, Met, Verdict};

/// Width and height from which it is drawn to be read from afar \[pt\].
const LARGE: [f32; 2] = [600.0, 300.0];
/// Height of a line of the budget: the least, the greatest, and the greatest from afar \[pt\].
const ROW: [f32; 3] = [17.0, 24.0, 40.0];

/// Sizes that hang on the space there is.
struct Sizes {
    headline: f32,
    text: f32,
    small: f32,
    /// Lines that the sentence may take.
    rows: usize,
    /// Greatest height of a line of the budget.
    row: f32,
}

/// Draws it over the space there is.
pub fn answer(ui: &mut Ui, verdict: &Verdict) -> Response {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| ink::title(ui, "Verdict"));
    let (rect, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(verdict)));
    let painter = ui.painter();
    let sizes = if rect.width() >= LARGE[0] && rect.height() >= LARGE[1] {
        Sizes { headline: 48.0, text: 18.0, small: theme::TEXT, rows: 3, row: ROW[2] }
    } else {
        Sizes { headline: theme::TITLE, text: theme::SMALL, small: theme::SMALL, rows: 3, row: ROW[1] }
    };
    let lines: Vec<&Line> = verdict.lines.iter().filter(|line| !line.piece).collect();
    let top = head(painter, rect, verdict, &sizes, palette);
    let least = lines.len() as f32 * ROW[0];
    let mut below = block(painter, rect, top, &verdict.sentence, &sizes, palette.ink);
    if !verdict.uncertainty.is_empty() {
        let small = Sizes { text: sizes.small, rows: 2, ..sizes };
        let after = block(painter, rect, below, &verdict.uncertainty, &small, palette.soft);
        // Where there is little room, the lines of the budget come first.
        if after + least <= rect.bottom() || sizes.row > ROW[1] {
            below = after;
        }
    }
    let row = ((rect.bottom() - below - 4.0) / lines.len().max(1) as f32).clamp(ROW[0], sizes.row);
    for (place, line) in lines.iter().enumerate() {
        let top = below + 4.0 + place as f32 * row;
        let place = Rect::from_x_y_ranges(rect.x_range(), top..=top + row);
        budget_line(painter, place, line, &sizes, palette);
    }
    response
}

/// Mark and gain; gives the height where they end.
fn head(painter: &Painter, rect: Rect, verdict: &Verdict, sizes: &Sizes, palette: &Palette) -> f32 {
    let (color, mark) = signal(verdict.tone, palette);
    let size = sizes.headline;
    let middle = rect.top() + 0.7 * size;
    mark.draw(painter, pos2(rect.left() + 0.4 * size, middle), 0.6 * size, color, palette.sheet);
    let at = pos2(rect.left() + size, middle);
    painter.text(at, Align2::LEFT_CENTER, &verdict.headline, theme::title_face(size), palette.ink);
    rect.top() + 1.4 * size
}

/// A wrapped text; gives the height where it ends.
fn block(painter: &Painter, rect: Rect, top: f32, text: &str, sizes: &Sizes, color: Color32) -> f32 {
    let mut job = LayoutJob::simple(text.to_owned(), FontId::proportional(sizes.text), color, rect.width());
    job.wrap.max_rows = sizes.rows;
    let galley = painter.layout_job(job);
    let below = top + galley.size().y + 4.0;
    // What would lie over the budget is left out by clipping to the figure.
    painter.with_clip_rect(rect).galley(pos2(rect.left(), top), galley, color);
    below
}

/// Mark, name, value, limit and distance, as far as they find room.
fn budget_line(painter: &Painter, rect: Rect, line: &Line, sizes: &Sizes, palette: &Palette) {
    let (color, mark) = match line.met {
        Met::Yes => (palette.good, Mark::Tick),
        Met::No => (palette.bad, Mark::Cross),
        Met::Unknown => (palette.doubt, Mark::Dash),
    };
    painter.hline(rect.x_range(), rect.top(), (1.0, palette.rule));
    let middle = rect.center().y;
    mark.draw(painter, pos2(rect.left() + 8.0, middle), 0.75 * sizes.text, color, palette.sheet);
    let font = FontId::proportional(sizes.text);
    let put = |x: f32, anchor: Align2, text: &str, color: Color32| {
        painter.text(pos2(x, middle), anchor, text, font.clone(), color)
    };
    let wide = rect.width() >= LARGE[0];
    let name = if wide { line.label } else { line.short };
    let name = put(rect.left() + 10.0 + sizes.text, Align2::LEFT_CENTER, name, palette.ink);
    let told = format!("{}, {}", line.met.word(), line.room);
    let right = if wide {
        put(rect.right(), Align2::RIGHT_CENTER, &told, palette.ink);
        put(rect.left() + 0.46 * rect.width(), Align2::RIGHT_CENTER, &line.value, palette.ink);
        put(rect.left() + 0.49 * rect.width(), Align2::LEFT_CENTER, &line.limit, palette.soft);
        return;
    } else {
        put(rect.right(), Align2::RIGHT_CENTER, &line.room, palette.soft).left()
    };
    if ink::width(painter, &line.value, font.clone()) + name.right() + 14.0 < right {
        put(right - 8.0, Align2::RIGHT_CENTER, &line.value, palette.ink);
    }
}

/// What is to be seen, in words.
fn in_words(verdict: &Verdict) -> String {
    let lines = verdict.lines.iter().filter(|line| !line.piece);
    let lines: Vec<String> =
        lines.map(|line| format!("{} {}, {}, {}", line.label, line.value, line.met.word(), line.room)).collect();
    format!("Verdict: {}. {} {} Budget: {}", verdict.headline, verdict.sentence, verdict.uncertainty, lines.join("; "))
}
