//! What became of frames and refreshes: a table, baseline beside candidate, with bars for what is not as wanted.

mod slide;

use eframe::egui::{
    Align2, Color32, Label, Painter, Rect, Response, RichText, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2,
};

pub use slide::outcomes_slide;

use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::outcomes::{Outcome, Outcomes, Sort};
use crate::report::format::{NOTHING, count, maybe_ms, share};

/// Height of a row where there is room, and the least.
const ROW: (f32, f32) = (22.0, 17.0);
/// Height of a caption.
const CAPTION: f32 = 19.0;
/// Least height of the words that name what befell no one.
const QUIET: f32 = 17.0;
/// Width of a share, the least of a count, and the space before each.
const SHARE: f32 = 50.0;
const COUNT: f32 = 28.0;
const SPACE: f32 = 9.0;
/// Room of a mark before its name.
const MARK: f32 = 16.0;
/// Width of the names.
const NAME: f32 = 156.0;
/// Least length of a full bar between names and numbers.
const LEAST_BAR: f32 = 60.0;

/// Draws both tables over the width there is.
pub fn outcomes(ui: &mut Ui, outcomes: &Outcomes, names: &[String; 2]) {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let quiet = [&outcomes.frames, &outcomes.refreshes].map(|rows| quiet_in_words(rows));
    // Wrapped as beside a bar that scrolls, so that it is as high with one as without.
    let width = ui.available_width() - ui.spacing().scroll.allocated_width();
    let high = |text: &String| ui.painter().layout(text.clone(), theme::small(), palette.soft, width).size().y;
    let besides = 2.0 * CAPTION + quiet.iter().flatten().map(|text| high(text).max(QUIET)).sum::<f32>();
    let rows = spoken_rows(outcomes) as f32;
    let row = row_height(ui.available_height() - HEAD - besides, rows);
    let mut columns = Columns::new(ui, outcomes);
    if rows * row + besides > ui.available_height() - HEAD {
        columns.right -= ui.spacing().scroll.allocated_width();
    }
    heads(ui, names, &columns, palette);
    let table = Table { columns, full: scale(outcomes), row, quiet, palette };
    ScrollArea::vertical().id_salt("outcomes").auto_shrink(false).show(ui, |ui| table.show(ui, outcomes));
}

/// Height of the title's line.
const HEAD: f32 = 24.0;

/// What the tables share: where the columns are, a full bar, the height of a row.
struct Table<'a> {
    columns: Columns,
    full: f64,
    row: f32,
    /// What befell no frame, and no refresh.
    quiet: [Option<String>; 2],
    palette: &'a Palette,
}

/// Which numbers there is room for, and how wide they are.
#[derive(Debug, Clone, Copy)]
struct Columns {
    /// Width of a count; none: shares alone.
    count: Option<f32>,
    /// Right edge of the tables.
    right: f32,
    /// Room for names.
    names: f32,
    /// Space between one design's numbers and the other's.
    apart: f32,
}

impl Columns {
    fn new(ui: &Ui, outcomes: &Outcomes) -> Self {
        let font = theme::figures(theme::SMALL);
        let totals = outcomes.frame_totals.iter().chain(&outcomes.refresh_totals);
        let widest = totals.map(|total| ink::width(ui.painter(), &count(*total), font.clone())).fold(COUNT, f32::max);
        let rows = outcomes.frames.iter().chain(&outcomes.refreshes).filter(|row| !row.quiet());
        let longest = rows.map(|row| ink::width(ui.painter(), short(row.name), theme::small())).fold(0.0, f32::max);
        let width = ui.available_width();
        let mut columns = Self { count: Some(widest), right: ui.max_rect().left() + width, names: 0.0, apart: SPACE };
        if width - 2.0 * columns.numbers() - MARK < longest {
            columns.count = None;
        }
        // What the names leave keeps the designs' numbers apart.
        let left = (width - 2.0 * columns.numbers() - MARK - longest) / 2.0;
        columns.apart += left.clamp(0.0, 1.5 * SPACE);
        columns.names = width - 2.0 * columns.numbers() - MARK;
        columns
    }

    /// Width of one design's numbers.
    fn numbers(&self) -> f32 {
        self.apart + SHARE + self.count.map_or(0.0, |count| SPACE + count)
    }

    /// Right edge of a design's numbers.
    fn of(&self, side: Side) -> f32 {
        self.right - if side == Side::Baseline { self.numbers() } else { 0.0 }
    }
}

/// A name as short as a narrow column wants it.
fn short(name: &'static str) -> &'static str {
    match name {
        "Dropped before encode" => "Dropped, encode",
        "Dropped before link" => "Dropped, link",
        "Dropped before decode" => "Dropped, decode",
        "In flight at the end" => "In flight",
        "Compositor too slow" => "Compose too slow",
        other => other,
    }
}

/// Rows are as high as lets all of them be seen, if that can be.
fn row_height(room: f32, rows: f32) -> f32 {
    (room / rows).floor().clamp(ROW.1, ROW.0)
}

/// What befell no one, in words; places where frames are dropped share the word.
fn quiet_in_words(rows: &[Outcome]) -> Option<String> {
    const DROPPED: &str = "dropped before ";
    let names: Vec<String> = rows.iter().filter(|row| row.quiet()).map(|row| row.name.to_lowercase()).collect();
    let places: Vec<&str> = names.iter().filter_map(|name| name.strip_prefix(DROPPED)).collect();
    let dropped = match places.split_last() {
        Some((last, before)) if !before.is_empty() => Some(format!("{DROPPED}{} or {last}", before.join(", "))),
        _ => None,
    };
    let mut told: Vec<&str> = Vec::new();
    for name in &names {
        match dropped.as_deref().filter(|_| name.starts_with(DROPPED)) {
            Some(dropped) if told.last() == Some(&dropped) => {}
            Some(dropped) => told.push(dropped),
            None => told.push(name),
        }
    }
    (!told.is_empty()).then(|| format!("None: {}", told.join(", ")))
}

/// Rows that are told in full: what befell someone, the longest freeze, what was delivered and what was repaired.
fn spoken_rows(outcomes: &Outcomes) -> usize {
    let spoken = |rows: &[Outcome]| rows.iter().filter(|row| !row.quiet()).count();
    spoken(&outcomes.frames) + spoken(&outcomes.refreshes) + 2 + usize::from(outcomes.repaired_in_words().is_some())
}

/// The bars' full length: the greatest share of what is not as wanted, at least one per cent. What is as wanted would
/// dwarf the rest, so it is told by its numbers alone.
fn scale(outcomes: &Outcomes) -> f64 {
    let rows = outcomes.frames.iter().chain(&outcomes.refreshes).filter(|row| row.sort != Sort::Good);
    rows.flat_map(|row| row.shares).fold(0.01, f64::max)
}

/// The title, and which design's numbers stand where: beside it where there is room.
fn heads(ui: &mut Ui, names: &[String; 2], columns: &Columns, palette: &Palette) {
    let wide = ui.available_width();
    let title = ui.horizontal(|ui| ink::title(ui, "Outcomes")).inner;
    let mut row = Rect::from_min_size(pos2(ui.max_rect().left(), title.rect.top()), vec2(wide, title.rect.height()));
    let first = ink::width(ui.painter(), &names[0], theme::small()) + 18.0;
    if columns.of(Side::Baseline) - first < title.rect.right() {
        row = ui.allocate_exact_size(vec2(wide, 20.0), Sense::hover()).0;
    }
    let painter = ui.painter();
    let room = columns.numbers() - 18.0;
    for side in Side::BOTH {
        let at = pos2(columns.of(side), row.center().y);
        let name = &names[side.index()];
        // Where a name has no room beside the other, its mark stands for it.
        let fits = side == Side::Baseline || ink::width(painter, name, theme::small()) <= room;
        let left =
            if fits { painter.text(at, Align2::RIGHT_CENTER, name, theme::small(), palette.ink).left() } else { at.x };
        Mark::of(side).draw(painter, pos2(left - 9.0, at.y), 9.0, palette.side(side), palette.sheet);
    }
}

impl Table<'_> {
    fn show(&self, ui: &mut Ui, outcomes: &Outcomes) {
        self.caption(ui, "Frames", &outcomes.frame_totals);
        self.rows(ui, &outcomes.frames, self.quiet[0].as_deref());
        self.caption(ui, "Refreshes", &outcomes.refresh_totals);
        self.rows(ui, &outcomes.refreshes, self.quiet[1].as_deref());
        self.figures(ui, "Longest freeze", &outcomes.longest_freeze_ms.map(maybe_ms));
        let delivered = outcomes.delivered.map(|part| part.map_or_else(|| NOTHING.to_owned(), share));
        self.figures(ui, "Frames shown", &delivered);
        if let Some(repaired) = outcomes.repaired_in_words() {
            self.figures(ui, "Slices repaired in time", &repaired);
        }
    }

    fn caption(&self, ui: &mut Ui, what: &str, totals: &[u64; 2]) {
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), CAPTION), Sense::hover());
        let (painter, soft) = (ui.painter(), self.palette.soft);
        painter.text(rect.left_center(), Align2::LEFT_CENTER, what, theme::small(), soft);
        for side in Side::BOTH {
            let right = self.columns.of(side) - self.columns.count.map_or(0.0, |_| SHARE + SPACE);
            let text = count(totals[side.index()]);
            let at = pos2(right, rect.center().y);
            painter.text(at, Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), soft);
        }
        painter.hline(rect.x_range(), rect.bottom(), (1.0, self.palette.rule));
    }

    /// Rows that befell someone, and the others in few quiet words.
    fn rows(&self, ui: &mut Ui, rows: &[Outcome], quiet: Option<&str>) {
        for row in rows.iter().filter(|row| !row.quiet()) {
            self.spoken(ui, row);
        }
        if let Some(text) = quiet {
            ui.add(Label::new(RichText::new(text).font(theme::small()).color(self.palette.soft)).wrap());
        }
    }

    fn spoken(&self, ui: &mut Ui, row: &Outcome) -> Response {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), self.row), Sense::hover());
        let words = || {
            let [baseline, candidate] =
                [0, 1].map(|side| format!("{} ({})", count(row.counts[side]), share(row.shares[side])));
            format!("{}: baseline {baseline}, candidate {candidate}", row.name)
        };
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words()));
        if ui.is_rect_visible(rect) {
            let painter = ui.painter();
            let (mark, color) = form(row.sort, self.palette);
            mark.draw(painter, pos2(rect.left() + 5.0, rect.center().y), 9.0, color, self.palette.sheet);
            let whole = ink::width(painter, row.name, theme::small()) <= self.columns.names;
            let name = if whole { row.name } else { short(row.name) };
            let at = pos2(rect.left() + MARK, rect.center().y);
            painter.text(at, Align2::LEFT_CENTER, name, theme::small(), self.palette.ink);
            let between = self.between(rect);
            for side in Side::BOTH {
                self.numbers(painter, rect, row, side, between.is_none());
            }
            if row.sort != Sort::Good {
                self.bars(painter, rect, row, between);
            }
        }
        response.on_hover_text(format!("{}\n{}\nA full bar is {}.", row.meaning, words(), share(self.full)))
    }

    /// Count and share of one design.
    fn numbers(&self, painter: &Painter, rect: Rect, row: &Outcome, side: Side, bar_below: bool) {
        let found = row.counts[side.index()];
        let color = if found == 0 { self.palette.soft } else { self.palette.ink };
        let middle = rect.center().y - if bar_below { 2.0 } else { 0.0 };
        let put = |right: f32, text: String| {
            let at = pos2(right, middle);
            painter.text(at, Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), color);
        };
        let right = self.columns.of(side);
        put(right, share(row.shares[side.index()]));
        if self.columns.count.is_some() {
            put(right - SHARE - SPACE, count(found));
        }
    }

    /// From where to where bars can be drawn between names and numbers, if there is room.
    fn between(&self, rect: Rect) -> Option<[f32; 2]> {
        let left = rect.left() + NAME;
        let right = self.columns.of(Side::Baseline) - self.columns.numbers();
        (right - left >= LEAST_BAR).then_some([left, right])
    }

    /// Both designs' bars: one above the other between name and numbers, or each below its own numbers.
    fn bars(&self, painter: &Painter, rect: Rect, row: &Outcome, between: Option<[f32; 2]>) {
        let mut plate = Plate::new(painter);
        for side in Side::BOTH {
            let value = row.shares[side.index()];
            if value > 0.0 {
                let (corner, room, height) = if let Some([left, right]) = between {
                    let top = rect.center().y - if side == Side::Baseline { 8.0 } else { -1.0 };
                    (pos2(left, top), right - left, 7.0)
                } else {
                    let room = self.columns.numbers() - self.columns.apart;
                    (pos2(self.columns.of(side) - room, rect.bottom() - 4.0), room, 3.0)
                };
                let length = (room * (value / self.full) as f32).max(2.0);
                plate.side(Rect::from_min_size(corner, vec2(length, height)), side, self.palette);
            }
        }
        plate.draw(painter);
    }

    fn figures(&self, ui: &mut Ui, name: &str, values: &[String; 2]) {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), self.row), Sense::hover());
        response.widget_info(|| {
            WidgetInfo::labeled(Role::Label, true, format!("{name}: baseline {}, candidate {}", values[0], values[1]))
        });
        let painter = ui.painter();
        painter.text(rect.left_center(), Align2::LEFT_CENTER, name, theme::small(), self.palette.ink);
        for side in Side::BOTH {
            let at = pos2(self.columns.of(side), rect.center().y);
            let text = &values[side.index()];
            painter.text(at, Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), self.palette.ink);
        }
    }
}

const fn form(sort: Sort, palette: &Palette) -> (Mark, Color32) {
    match sort {
        Sort::Good => (Mark::Tick, palette.good),
        Sort::Late => (Mark::Triangle, palette.doubt),
        Sort::Lost => (Mark::Cross, palette.bad),
        Sort::Plain => (Mark::Dash, palette.soft),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_befell_no_one_is_told_in_few_words() {
        let row = |name, count| Outcome { name, meaning: "", sort: Sort::Lost, counts: [0, count], shares: [0.0; 2] };
        let names = ["Skipped", "Dropped before encode", "Dropped before link", "Dropped before decode", "Lost"];
        let told = |gone: &[&str]| {
            let rows: Vec<Outcome> = names.map(|name| row(name, u64::from(gone.contains(&name)))).into();
            quiet_in_words(&rows)
        };
        assert_eq!(told(&[]).unwrap(), "None: skipped, dropped before encode, link or decode, lost");
        assert_eq!(told(&["Dropped before link"]).unwrap(), "None: skipped, dropped before encode or decode, lost");
        let one = told(&["Dropped before link", "Dropped before decode", "Lost"]).unwrap();
        assert_eq!(one, "None: skipped, dropped before encode");
        assert_eq!(told(&names), None);
    }
}
