//! Exposed time as a ledger: what each piece of the way takes, baseline beside candidate, against its allowance.

mod slide;

use eframe::egui::{
    Align2, Color32, FontId, Painter, Rangef, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

pub use slide::ledger_slide;

use super::highlight;
use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::lanes::Stage;
use crate::report::figures::ledger::{Entry, Ledger};
use crate::report::format::{self, NOTHING, number, with_unit};

/// Height of a row, at least and at most \[pt\].
const ROW: Rangef = Rangef { min: 17.0, max: 26.0 };
/// Height of the heads.
const HEAD: f32 = 22.0;
/// Width of a column of numbers, and of that of the allowance with its mark.
const COLUMN: f32 = 50.0;
const ALLOWANCE: f32 = 64.0;
/// Least width of the names.
const NAME: f32 = 118.0;
/// Least length of the bars.
const BAR: f32 = 60.0;

/// Which columns there is room for, and where they are.
#[derive(Debug, Clone, Copy)]
struct Columns {
    name: f32,
    bars: Option<[f32; 2]>,
    /// Right edges of baseline, candidate and difference.
    values: [f32; 3],
    allowance: Option<f32>,
    hidden: Option<[f32; 2]>,
}

impl Columns {
    fn new(row: Rect) -> Self {
        let room = row.width() - NAME - 3.0 * COLUMN;
        let allowance = (room >= ALLOWANCE).then_some(row.right());
        let hidden = (room >= ALLOWANCE + 2.0 * COLUMN + 16.0).then_some([row.right() - COLUMN, row.right()]);
        let taken = hidden.map_or(0.0, |_| 2.0 * COLUMN + 16.0);
        let allowance = allowance.map(|right| right - taken);
        let end = row.right() - taken - allowance.map_or(0.0, |_| ALLOWANCE);
        let values = [end - 2.0 * COLUMN, end - COLUMN, end];
        let left = row.left() + NAME;
        let to = values[0] - COLUMN;
        Self { name: row.left(), bars: (to - left >= BAR).then_some([left, to]), values, allowance, hidden }
    }
}

/// Draws the ledger over the space there is; where that is little, parts are told with the entry above them. Gives the
/// stage of the entry that was clicked.
pub fn ledger(ui: &mut Ui, ledger: &Ledger, names: &[String; 2]) -> Option<Stage> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    heads(ui, names, palette);
    let room = ui.available_height();
    let all = ledger.entries.len() + 1;
    let shown = ledger.rounded(1);
    let parts = all as f32 * ROW.min <= room;
    let lines = if parts { all } else { ledger.entries.iter().filter(|entry| !entry.part).count() + 1 };
    let height = (room / lines as f32).clamp(ROW.min, ROW.max).floor();
    let full = ledger.entries.iter().flat_map(|entry| entry.values_ms).flatten().fold(0.1, f64::max);
    let highlight = highlight::highlight(ui);
    let (strong, painter) = (highlight.entries(ledger), ui.painter().clone());
    let mut rows = highlight::Rows::new(&painter, &highlight, palette);
    let mut clicked = None;
    for (place, entry) in ledger.entries.iter().enumerate().filter(|(_, entry)| parts || !entry.part) {
        let response = row(ui, (entry, &shown.entries[place]), height, full, palette);
        rows.add(response.rect, strong[place]);
        if response.clicked() {
            clicked = Some(entry.stage);
        }
        response.on_hover_text(told(entry, &ledger.entries[place + 1..]));
    }
    rows.mark();
    total(ui, ledger, &shown, height, palette);
    clicked
}

/// The title, and what stands in which column: beside it where there is room.
fn heads(ui: &mut Ui, names: &[String; 2], palette: &Palette) {
    let wide = ui.available_width();
    let title = ui.horizontal(|ui| ink::title(ui, "Exposed time, ms")).inner.rect;
    let beside = Rect::from_min_size(pos2(ui.max_rect().left(), title.top()), vec2(wide, title.height()));
    let first = Columns::new(beside).values[0] - 16.0;
    let (rect, response) = if first > title.right() {
        let seen = beside.with_min_x(first);
        (beside, ui.interact(seen, ui.scope_id().with("heads"), Sense::hover()))
    } else {
        ui.allocate_exact_size(vec2(wide, HEAD), Sense::hover())
    };
    let columns = Columns::new(rect);
    let painter = ui.painter();
    let middle = rect.center().y;
    for side in Side::BOTH {
        let color = palette.side(side);
        let at = |right: f32| pos2(right - 6.0, middle);
        Mark::of(side).draw(painter, at(columns.values[side.index()]), 10.0, color, palette.sheet);
        if let Some(hidden) = columns.hidden {
            Mark::of(side).draw(painter, at(hidden[side.index()]), 10.0, color, palette.sheet);
        }
    }
    let head = |right: f32, text: &str| {
        painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, theme::small(), palette.soft);
    };
    head(columns.values[2], "change");
    if let Some(right) = columns.allowance {
        head(right, "allowed");
    }
    if let Some([right, _]) = columns.hidden {
        head(right - 18.0, "hidden");
    }
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    let [baseline, candidate] = names;
    response.on_hover_text(format!(
        "Mean time from pose to photon by what it went on: ring {baseline}, disc {candidate}.\nHidden: work of the same \
         kind that went on behind other work and cost the wearer nothing.\nAllowed: by the candidate's budget."
    ));
}

/// An entry, its bars in full and its numbers as they are shown.
fn row(ui: &mut Ui, (entry, shown): (&Entry, &Entry), height: f32, full: f64, palette: &Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, in_words(shown)));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() || response.has_focus() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let columns = Columns::new(rect);
        let (indent, color) = if entry.part { (14.0, palette.soft) } else { (0.0, palette.ink) };
        let name = pos2(columns.name + indent, rect.center().y);
        painter.text(name, Align2::LEFT_CENTER, entry.name, theme::small(), color);
        if let Some([left, right]) = columns.bars {
            let area = Rect::from_x_y_ranges(left + indent..=right, rect.y_range().shrink(3.5));
            bars(painter, area, entry, full, palette);
        }
        numbers(painter, rect, &columns, (shown.values_ms, shown.difference_ms(), shown.hidden_ms), color);
        if let (Some(right), Some(allowed)) = (columns.allowance, entry.allowance_ms) {
            allowance(painter, pos2(right, rect.center().y), allowed, entry.met, palette);
        }
    }
    response
}

type Values = ([Option<f64>; 2], Option<f64>, [Option<f64>; 2]);

/// The numbers of a row.
fn numbers(painter: &Painter, rect: Rect, columns: &Columns, (values, change, hidden): Values, color: Color32) {
    let put = |right: f32, text: String| {
        painter.text(pos2(right, rect.center().y), Align2::RIGHT_CENTER, text, face(), color);
    };
    let plain = |value: Option<f64>| value.map_or_else(|| NOTHING.to_owned(), |value| number(value, 1));
    put(columns.values[0], plain(values[0]));
    put(columns.values[1], plain(values[1]));
    put(columns.values[2], change.map_or_else(|| NOTHING.to_owned(), signed));
    for (side, value) in hidden.into_iter().enumerate() {
        if let (Some(rights), Some(value)) = (columns.hidden, value) {
            put(rights[side], number(value, 1));
        }
    }
}

fn face() -> FontId {
    theme::figures(theme::SMALL)
}

/// A change with its sign; none where it rounds to nothing.
fn signed(change_ms: f64) -> String {
    format::signed(change_ms, number(change_ms, 1))
}

/// What is allowed, with a mark whether it is kept to.
fn allowance(painter: &Painter, right: eframe::egui::Pos2, allowed: f64, met: Option<bool>, palette: &Palette) {
    let taken = painter.text(right, Align2::RIGHT_CENTER, number(allowed, 1), face(), palette.ink);
    let (mark, color) = match met {
        Some(true) => (Mark::Tick, palette.good),
        Some(false) => (Mark::Cross, palette.bad),
        None => (Mark::Dash, palette.doubt),
    };
    mark.draw(painter, pos2(taken.left() - 9.0, right.y), 9.0, color, palette.sheet);
}

/// Both designs' times as lengths, one below the other.
fn bars(painter: &Painter, area: Rect, entry: &Entry, full: f64, palette: &Palette) {
    let mut plate = Plate::new(painter);
    let height = area.height() / 2.0;
    for side in Side::BOTH {
        let Some(value) = entry.values_ms[side.index()].filter(|value| *value > 0.0) else { continue };
        let top = area.top() + side.index() as f32 * height;
        let length = (value / full) as f32 * area.width();
        let rect = Rect::from_min_size(pos2(area.left(), top), vec2(length.max(1.0), height - 1.0));
        match (side, entry.part) {
            (_, false) => plate.side(rect, side, palette),
            (Side::Baseline, true) => plate.outline(rect, theme::blend(palette.sheet, palette.baseline, 0.6)),
            (Side::Candidate, true) => plate.fill(rect, theme::blend(palette.sheet, palette.candidate, 0.6)),
        }
    }
    plate.draw(painter);
}

/// The sums: the mean pose to photon.
fn total(ui: &mut Ui, ledger: &Ledger, shown: &Ledger, height: f32, palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let exact = |value| with_unit(value, 3, "ms");
    let [baseline, candidate] = ledger.totals_ms.map(exact);
    let words = format!("Pose to photon, mean: baseline {baseline}, candidate {candidate}");
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words.clone()));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        let columns = Columns::new(rect);
        painter.hline(rect.x_range(), rect.top() + 1.0, Stroke::new(1.5, palette.ink));
        let name = pos2(columns.name, rect.center().y);
        painter.text(name, Align2::LEFT_CENTER, "Pose to photon", theme::text(), palette.ink);
        let values = (shown.totals_ms, shown.difference_ms(), [None; 2]);
        numbers(painter, rect, &columns, values, palette.ink);
        if let Some(right) = columns.allowance {
            let at = pos2(right, rect.center().y);
            painter.text(at, Align2::RIGHT_CENTER, number(ledger.allowance_ms, 1), face(), palette.ink);
        }
    }
    response.on_hover_text(format!("{words}.\nThe entries above add up to it."));
}

/// An entry for those who do not see it.
fn in_words(entry: &Entry) -> String {
    let [baseline, candidate] = entry.values_ms.map(|value| with_unit(value, 1, "ms"));
    let allowed = entry.allowance_ms.map(|allowed| {
        let kept = match entry.met {
            Some(true) => "kept",
            Some(false) => "exceeded",
            None => "not known",
        };
        format!(", allowed {} {kept}", with_unit(Some(allowed), 1, "ms"))
    });
    format!("{}: baseline {baseline}, candidate {candidate}{}", entry.name, allowed.unwrap_or_default())
}

/// The exact values of an entry, and those of its parts, which come first in `below`.
fn told(entry: &Entry, below: &[Entry]) -> String {
    let exact = |value| with_unit(value, 3, "ms");
    let [baseline, candidate] = entry.values_ms.map(exact);
    let mut lines = vec![entry.name.to_owned(), format!("baseline {baseline}, candidate {candidate}")];
    lines.extend(entry.difference_ms().map(|change| format!("change {}", exact(Some(change)))));
    lines.extend(entry.allowance_ms.map(|allowed| format!("allowed {}", exact(Some(allowed)))));
    if entry.hidden_ms.iter().any(Option::is_some) {
        let [baseline, candidate] = entry.hidden_ms.map(exact);
        lines.push(format!("hidden: baseline {baseline}, candidate {candidate}"));
    }
    for part in below.iter().take_while(|part| part.part && !entry.part) {
        let [baseline, candidate] = part.values_ms.map(exact);
        lines.push(format!("{}: {baseline}, {candidate}", part.name));
    }
    lines.push("Click for its parameters".to_owned());
    lines.join("\n")
}
