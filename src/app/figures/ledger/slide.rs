//! Exposed time for a room: one bar a design on one axis, its pieces named, and between the bars what they gain and lose.

use eframe::egui::{
    Align2, Color32, Painter, Pos2, Rangef, Rect, Response, Role, Sense, Shape, Stroke, StrokeKind, Ui, Vec2,
    WidgetInfo, pos2, vec2,
};

use super::signed;
use crate::app::figures::chart::{self, Scale};
use crate::app::figures::highlight;
use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::ledger::{Entry, Ledger};
use crate::report::format::{NOTHING, maybe_ms, number, with_unit};

/// Height of the row with a design's name, and of one with names of pieces.
const NAME: f32 = 24.0;
const OUTSIDE: f32 = 20.0;
/// Height of a bar: the least and the greatest.
const BAR: (f32, f32) = (22.0, 84.0);
/// Height of a bar from which a piece's number stands below its name.
const TWO_ROWS: f32 = 38.0;
/// A change that is worth a word \[ms\].
const CHANGE_MS: f64 = 0.25;
/// Space between names of one row.
const APART: f32 = 8.0;

/// Draws it over the space there is.
pub fn ledger_slide(ui: &mut Ui, ledger: &Ledger, names: &[String; 2]) -> Response {
    // What a talk points at are the rows of the table.
    if highlight::highlight(ui).fades() {
        super::ledger(ui, ledger, names);
        return ui.allocate_response(Vec2::ZERO, Sense::hover());
    }
    let palette = Palette::current(ui);
    ui.horizontal(|ui| ink::title(ui, "Exposed time: what the time from pose to photon goes on, mean"));
    let (rect, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(ledger, names)));
    let painter = ui.painter();
    let shown = &ledger.rounded(1);
    let longest = ledger.totals_ms.iter().flatten().copied().fold(0.0, f64::max);
    if longest <= 0.0 {
        painter.text(rect.center(), Align2::CENTER_CENTER, "Nothing to measure", theme::text(), palette.soft);
        return response;
    }
    let right = rect.right() - 120.0;
    let height = rect.height() - 2.0 * (NAME + OUTSIDE) - chart::BELOW;
    let bar = (height * 0.34).clamp(BAR.0, BAR.1);
    let sheet = Sheet {
        painter,
        palette,
        x: Scale::linear(0.0, longest, rect.left(), right),
        tops: [rect.top() + NAME + OUTSIDE, rect.bottom() - chart::BELOW - NAME - OUTSIDE - bar],
        bar,
        span: rect.x_range(),
    };
    for side in Side::BOTH {
        sheet.design(side, &names[side.index()], [ledger, shown]);
    }
    sheet.between([ledger, shown]);
    let plot = Rect::from_min_max(rect.min, pos2(right, rect.bottom() - chart::BELOW));
    chart::x_axis(painter, plot, &sheet.x, "ms since the pose, on average", palette);
    response
}

struct Sheet<'a> {
    painter: &'a Painter,
    palette: &'a Palette,
    x: Scale,
    /// Upper edges of both bars, and their height.
    tops: [f32; 2],
    bar: f32,
    span: Rangef,
}

/// A piece of a bar.
struct Segment<'a> {
    entry: &'a Entry,
    place: Rangef,
    value_ms: f64,
    /// The value as it is shown.
    shown_ms: f64,
}

/// The pieces of a design's bar, in order, by the ledger in full and as it is shown.
fn segments<'a>([ledger, shown]: [&'a Ledger; 2], side: Side, x: &Scale) -> Vec<Segment<'a>> {
    let mut from = 0.0;
    let whole = ledger.entries.iter().zip(&shown.entries).filter(|(entry, _)| !entry.part);
    whole
        .map(|(entry, shown)| {
            let value_ms = entry.values_ms[side.index()].unwrap_or(0.0);
            let place = Rangef::new(x.place(from), x.place(from + value_ms));
            from += value_ms;
            Segment { entry, place, value_ms, shown_ms: shown.values_ms[side.index()].unwrap_or(0.0) }
        })
        .collect()
}

impl Sheet<'_> {
    /// One design: its bar, its name, its sum.
    fn design(&self, side: Side, name: &str, ledgers: [&Ledger; 2]) {
        let Self { painter, palette, bar, span, .. } = *self;
        let top = self.tops[side.index()];
        let row = if side == Side::Baseline { top - OUTSIDE - NAME / 2.0 } else { top + bar + OUTSIDE + NAME / 2.0 };
        Mark::of(side).draw(painter, pos2(span.min + 8.0, row), 14.0, palette.side(side), palette.sheet);
        let cut = ink::width(painter, name, theme::title()) > span.span() - 30.0;
        let font = if cut { theme::small() } else { theme::title() };
        painter.text(pos2(span.min + 22.0, row), Align2::LEFT_CENTER, name, font, palette.ink);
        let sum = maybe_ms(ledgers[1].totals_ms[side.index()]);
        let at = pos2(span.max, top + bar / 2.0);
        painter.text(at, Align2::RIGHT_CENTER, sum, theme::title_face(theme::LARGE), palette.ink);
        let mut outside = Vec::new();
        for (place, segment) in segments(ledgers, side, &self.x).iter().enumerate() {
            if segment.value_ms <= 0.0 {
                continue;
            }
            let rect = Rect::from_x_y_ranges(segment.place, top..=top + bar);
            let color = self.fill(rect, side, place);
            if !self.inside(rect, segment, color) && segment.value_ms >= 0.05 {
                let text = format!("{} {}", segment.entry.name, number(segment.shown_ms, 1));
                outside.push((segment.place.center(), text));
            }
        }
        self.outside(side, outside);
    }

    /// A piece in the manner of its design, neighbours told apart by their shade; gives the colour of text on it.
    fn fill(&self, rect: Rect, side: Side, place: usize) -> Color32 {
        let palette = self.palette;
        let even = place.is_multiple_of(2);
        let (fill, edge, text) = match side {
            Side::Baseline => {
                let shade = if even { 0.0 } else { 0.10 };
                (theme::blend(palette.sheet, palette.baseline, shade), palette.baseline, palette.ink)
            }
            Side::Candidate => {
                let shade = if even { 1.0 } else { 0.84 };
                (theme::blend(palette.sheet, palette.candidate, shade), palette.sheet, palette.on_candidate)
            }
        };
        self.painter.rect(rect, 0.0, fill, Stroke::new(1.5, edge), StrokeKind::Middle);
        text
    }

    /// Name and number within a piece, where they find room.
    fn inside(&self, rect: Rect, segment: &Segment<'_>, color: Color32) -> bool {
        let (name, value) = (segment.entry.name, number(segment.shown_ms, 1));
        let fits = |text: &str| ink::width(self.painter, text, theme::small()) + 6.0 <= rect.width();
        let put = |at: Pos2, text: &str| {
            self.painter.text(at, Align2::CENTER_CENTER, text, theme::small(), color);
        };
        if self.bar >= TWO_ROWS && fits(name) && fits(&value) {
            put(rect.center() - vec2(0.0, 9.0), name);
            put(rect.center() + vec2(0.0, 9.0), &value);
            return true;
        }
        let line = format!("{name} {value}");
        let whole = fits(&line);
        if whole {
            put(rect.center(), &line);
        }
        whole
    }

    /// Names of pieces that are too narrow for them, in a row beside the bar.
    fn outside(&self, side: Side, texts: Vec<(f32, String)>) {
        let top = self.tops[side.index()];
        let (edge, row) = match side {
            Side::Baseline => (top, top - OUTSIDE / 2.0 - 1.0),
            Side::Candidate => (top + self.bar, top + self.bar + OUTSIDE / 2.0 + 1.0),
        };
        let toward = if side == Side::Baseline { 7.0 } else { -7.0 };
        for (center, at, text) in self.spread(texts, theme::SMALL) {
            let stroke = Stroke::new(1.0, self.palette.soft);
            self.painter.line_segment([pos2(center, edge), pos2(at, row + toward)], stroke);
            let colors = [self.palette.ink, self.palette.sheet];
            ink::text_on(self.painter, pos2(at, row), Align2::CENTER_CENTER, text, theme::small(), colors);
        }
    }

    /// Texts about their centres, pushed aside where they would lie over each other: where each belongs, where it is put.
    fn spread(&self, texts: Vec<(f32, String)>, size: f32) -> Vec<(f32, f32, String)> {
        let width = |text: &str| ink::width(self.painter, text, theme::title_face(size));
        let wide: Vec<f32> = texts.iter().map(|(_, text)| width(text)).collect();
        let mut lefts: Vec<f32> = Vec::new();
        let mut free = self.span.min;
        for ((center, _), wide) in texts.iter().zip(&wide) {
            let left = (center - wide / 2.0).max(free);
            lefts.push(left);
            free = left + wide + APART;
        }
        let mut end = self.span.max;
        for (left, wide) in lefts.iter_mut().zip(&wide).rev() {
            *left = left.min(end - wide);
            end = *left - APART;
        }
        let placed = texts.into_iter().zip(lefts.into_iter().zip(wide));
        placed.map(|((center, text), (left, wide))| (center, left + wide / 2.0, text)).collect()
    }

    /// What becomes of every piece from the one bar to the other, and of the sum.
    fn between(&self, ledgers: [&Ledger; 2]) {
        let palette = self.palette;
        let [before, after] = Side::BOTH.map(|side| segments(ledgers, side, &self.x));
        let (above, below) = (self.tops[0] + self.bar + 1.0, self.tops[1] - 1.0);
        let mut texts = Vec::new();
        for (before, after) in before.iter().zip(&after) {
            let change = after.value_ms - before.value_ms;
            let corners = vec![
                pos2(before.place.min, above),
                pos2(before.place.max, above),
                pos2(after.place.max, below),
                pos2(after.place.min, below),
            ];
            if change.abs() >= CHANGE_MS {
                let color = if change < 0.0 { palette.candidate } else { palette.bad };
                let fill = theme::blend(palette.sheet, color, 0.22);
                self.painter.add(Shape::convex_polygon(corners, fill, Stroke::new(1.0, color)));
                let center = f32::midpoint(before.place.center(), after.place.center());
                texts.push((center, format!("{} {}", before.entry.name, signed(after.shown_ms - before.shown_ms))));
            } else {
                let stroke = Stroke::new(1.0, palette.rule);
                self.painter.line_segment([corners[1], corners[2]], stroke);
            }
        }
        let middle = f32::midpoint(above, below);
        for (_, at, text) in self.spread(texts, theme::TEXT) {
            let colors = [palette.ink, palette.sheet];
            ink::text_on(self.painter, pos2(at, middle), Align2::CENTER_CENTER, text, theme::text(), colors);
        }
        if let Some(change) = ledgers[1].difference_ms() {
            let text = format!("{} ms", signed(change));
            let at = pos2(self.span.max, middle);
            self.painter.text(at, Align2::RIGHT_CENTER, text, theme::title_face(theme::LARGE), palette.ink);
        }
    }
}

/// What is to be seen, in words.
fn in_words(ledger: &Ledger, names: &[String; 2]) -> String {
    let ledger = ledger.rounded(1);
    let [baseline, candidate] = ledger.totals_ms.map(|value| with_unit(value, 1, "ms"));
    let change = ledger.difference_ms().map_or_else(|| NOTHING.to_owned(), |change| format!("{} ms", signed(change)));
    format!("Exposed time: {} {baseline}, {} {candidate}, change {change}", names[0], names[1])
}
