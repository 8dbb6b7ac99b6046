//! Outcomes for a room: the whole of frames and refreshes as a bar a design, what is not as wanted told by pattern and word.

use eframe::egui::{
    Align2, Color32, Painter, Rangef, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{form, short};
use crate::app::figures::ink::Mark;
use crate::app::figures::ink::{self, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::outcomes::{Outcome, Outcomes, Sort};
use crate::report::format::{NOTHING, maybe_ms, share};

/// Height of a caption, and of the row of words below a bar.
const CAPTION: f32 = 24.0;
const WORDS: f32 = 20.0;
/// Room for names at the left and for the share as wanted at the right.
const NAME: f32 = 170.0;
const SHARE: f32 = 112.0;
/// A share that is not nothing is seen \[pt\].
const LEAST: f32 = 4.0;
/// Distance of the lines of a pattern \[pt\].
const HATCH: f32 = 6.0;
/// Order along a bar.
const SORTS: [Sort; 4] = [Sort::Good, Sort::Late, Sort::Plain, Sort::Lost];

/// Draws it over the space there is.
pub fn outcomes_slide(ui: &mut Ui, outcomes: &Outcomes, names: &[String; 2]) -> Response {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| ink::title(ui, "Outcomes: what became of every frame and every refresh"));
    let (rect, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(outcomes, names)));
    let (upper, lower) = rect.split_top_bottom_at_fraction(0.5);
    let sheet = Sheet { painter: ui.painter(), palette, names };
    let delivered = outcomes.delivered.map(|part| part.map_or_else(|| NOTHING.to_owned(), share));
    sheet.group(upper, "Frames, shown on time", &sheet.both("delivered", &delivered), &outcomes.frames);
    let freezes = outcomes.longest_freeze_ms.map(maybe_ms);
    sheet.group(lower, "Refreshes, with a new frame", &sheet.both("longest freeze", &freezes), &outcomes.refreshes);
    response
}

struct Sheet<'a> {
    painter: &'a Painter,
    palette: &'a Palette,
    names: &'a [String; 2],
}

impl Sheet<'_> {
    fn both(&self, what: &str, values: &[String; 2]) -> String {
        if values[0] == values[1] {
            return format!("{what} {} with both", values[1]);
        }
        format!("{what}: {} {}, {} {}", self.names[0], values[0], self.names[1], values[1])
    }

    /// A caption with a remark, and a bar for each design.
    fn group(&self, rect: Rect, caption: &str, remark: &str, rows: &[Outcome]) {
        let Self { painter, palette, .. } = *self;
        let middle = rect.top() + CAPTION / 2.0;
        let at = pos2(rect.left(), middle);
        let taken = painter.text(at, Align2::LEFT_CENTER, caption, theme::text(), palette.ink);
        if ink::width(painter, remark, theme::small()) < rect.right() - taken.right() - 20.0 {
            painter.text(pos2(rect.right(), middle), Align2::RIGHT_CENTER, remark, theme::small(), palette.soft);
        }
        let room = (rect.height() - CAPTION - 6.0) / 2.0;
        for side in Side::BOTH {
            let top = rect.top() + CAPTION + side.index() as f32 * room;
            let high = (room - WORDS - 6.0).max(8.0);
            let bar = Rect::from_min_max(pos2(rect.left() + NAME, top), pos2(rect.right() - SHARE, top + high));
            self.design(bar, rect, side, rows);
        }
    }

    fn design(&self, bar: Rect, rect: Rect, side: Side, rows: &[Outcome]) {
        let Self { painter, palette, names } = *self;
        let middle = bar.center().y;
        Mark::of(side).draw(painter, pos2(rect.left() + 8.0, middle), 13.0, palette.side(side), palette.sheet);
        let name = &names[side.index()];
        let large = ink::width(painter, name, theme::title()) <= NAME - 28.0;
        let font = if large { theme::title() } else { theme::small() };
        let cut = painter.with_clip_rect(Rect::from_x_y_ranges(rect.left()..=bar.left() - 6.0, rect.y_range()));
        cut.text(pos2(rect.left() + 22.0, middle), Align2::LEFT_CENTER, name, font, palette.ink);
        let of = |sort: Sort| {
            let rows = rows.iter().filter(move |row| row.sort == sort);
            rows.map(|row| row.shares[side.index()]).sum::<f64>()
        };
        let wanted = share(of(Sort::Good));
        let font = theme::title_face(if bar.height() >= 24.0 { theme::LARGE } else { theme::TITLE });
        painter.text(pos2(rect.right(), middle), Align2::RIGHT_CENTER, wanted, font, palette.ink);
        let shares = SORTS.map(of);
        for (sort, place) in SORTS.into_iter().zip(places(bar.x_range(), shares)) {
            if place.span() > 0.0 {
                self.part(Rect::from_x_y_ranges(place, bar.y_range()), sort, side);
            }
        }
        self.words(bar, side, rows);
    }

    /// A part of a bar in the pattern of its sort: as wanted in the manner of the design, late in one hatch, lost in two.
    fn part(&self, rect: Rect, sort: Sort, side: Side) {
        let Self { painter, palette, .. } = *self;
        let (_, color) = form(sort, palette);
        if sort == Sort::Good {
            let mut plate = Plate::new(painter);
            plate.side(rect, side, palette);
            plate.draw(painter);
            return;
        }
        painter.rect(rect, 0.0, palette.sheet, Stroke::new(1.0, color), StrokeKind::Inside);
        if sort == Sort::Plain {
            return;
        }
        let inside = painter.with_clip_rect(rect.shrink(0.5));
        hatch(&inside, rect, color, 1.0);
        if sort == Sort::Lost {
            hatch(&inside, rect, color, -1.0);
        }
    }

    /// What is not as wanted, in words with marks, below the end of the bar.
    fn words(&self, bar: Rect, side: Side, rows: &[Outcome]) {
        let Self { painter, palette, .. } = *self;
        let mut right = bar.right();
        let middle = bar.bottom() + 3.0 + WORDS / 2.0;
        let mut told: Vec<&Outcome> =
            rows.iter().filter(|row| row.sort != Sort::Good && row.counts[side.index()] > 0).collect();
        if told.is_empty() {
            painter.text(pos2(right, middle), Align2::RIGHT_CENTER, "nothing else", theme::small(), palette.soft);
        }
        // The greatest stand nearest to the end; what finds no room is in the table.
        told.sort_by(|one, two| two.shares[side.index()].total_cmp(&one.shares[side.index()]));
        for row in told {
            let text = format!("{} {}", short(row.name), share(row.shares[side.index()]));
            if right - ink::width(painter, &text, theme::small()) - 24.0 < bar.left() {
                break;
            }
            let taken = painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, theme::small(), palette.ink);
            let (mark, color) = form(row.sort, palette);
            mark.draw(painter, pos2(taken.left() - 9.0, middle), 10.0, color, palette.sheet);
            right = taken.left() - 30.0;
        }
    }
}

/// Where the parts of a bar are; what is more than nothing is wide enough to be seen, at the cost of the first.
fn places(bar: Rangef, shares: [f64; 4]) -> [Rangef; 4] {
    let wide = shares.map(|share| if share > 0.0 { (bar.span() * share as f32).max(LEAST) } else { 0.0 });
    let rest: f32 = wide[1..].iter().sum();
    let first = if shares[0] > 0.0 { (bar.span() - rest).max(0.0) } else { 0.0 };
    let mut left = bar.min;
    [first, wide[1], wide[2], wide[3]].map(|wide| {
        let place = Rangef::new(left, (left + wide).min(bar.max));
        left = place.max;
        place
    })
}

/// Slanted lines across a rectangle.
fn hatch(painter: &Painter, rect: Rect, color: Color32, slope: f32) {
    let high = rect.height();
    let mut left = rect.left() - high;
    while left < rect.right() + high {
        let (from, to) = (pos2(left, rect.bottom()), pos2(left, rect.bottom()) + vec2(high, -high));
        let mirrored = |x: f32| if slope > 0.0 { x } else { rect.left() + rect.right() - x };
        let line = [from, to].map(|at| pos2(mirrored(at.x), at.y));
        painter.line_segment(line, Stroke::new(1.5, color));
        left += HATCH;
    }
}

/// What is to be seen, in words.
fn in_words(outcomes: &Outcomes, names: &[String; 2]) -> String {
    let told = |side: Side| {
        let rows = outcomes.frames.iter().chain(&outcomes.refreshes).filter(|row| !row.quiet());
        let rows = rows.map(|row| format!("{} {}", row.name, share(row.shares[side.index()])));
        format!("{}: {}", names[side.index()], rows.collect::<Vec<_>>().join(", "))
    };
    format!("Outcomes. {}. {}", told(Side::Baseline), told(Side::Candidate))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_seen_and_the_parts_fill_the_bar() {
        let bar = Rangef::new(100.0, 1100.0);
        let parts = places(bar, [0.9985, 0.001, 0.0, 0.0005]);
        for (part, wide) in parts[1..].iter().zip([LEAST, 0.0, LEAST]) {
            assert!((part.span() - wide).abs() < 1e-3, "{part:?}");
        }
        assert!((parts[0].min - bar.min).abs() < 1e-3 && (parts[3].max - bar.max).abs() < 1e-3, "{parts:?}");
        let parts = places(bar, [0.0, 0.0, 0.0, 1.0]);
        assert!(parts[0].span() < 1e-3 && (parts[3].span() - bar.span()).abs() < 1e-3, "{parts:?}");
    }
}
