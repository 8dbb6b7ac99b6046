//! What became of frames and refreshes: a table with bars, baseline above candidate in every row.

use eframe::egui::{Align2, Color32, Painter, Rect, Response, Role, Sense, Ui, WidgetInfo, pos2, vec2};

use super::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::outcomes::{Outcome, Outcomes, Sort};
use crate::report::format::{count, maybe_ms, share};

const ROW: f32 = 36.0;
const COUNT: f32 = 58.0;
const SHARE: f32 = 62.0;

/// Draws both tables over the width there is.
pub fn outcomes(ui: &mut Ui, outcomes: &Outcomes, names: &[String; 2]) {
    let palette = Palette::current(ui);
    ink::heading(ui, "Outcomes", names);
    ui.spacing_mut().item_spacing.y = 1.0;
    let worst = scale(outcomes);
    caption(ui, "Frames", &outcomes.frame_totals, worst, palette);
    table(ui, &outcomes.frames, worst, palette);
    ui.add_space(6.0);
    caption(ui, "Refreshes", &outcomes.refresh_totals, worst, palette);
    table(ui, &outcomes.refreshes, worst, palette);
    ui.add_space(4.0);
    figures_row(ui, "Longest freeze", &outcomes.longest_freeze_ms.map(maybe_ms), palette);
    figures_row(ui, "Delivered", &outcomes.delivered.map(|part| part.map_or_else(|| "–".to_owned(), share)), palette);
}

/// The bars' full length: the greatest share of what is not as wanted, at least one per cent. What is as wanted would
/// dwarf the rest, so it is told by its numbers alone.
fn scale(outcomes: &Outcomes) -> f64 {
    let rows = outcomes.frames.iter().chain(&outcomes.refreshes).filter(|row| row.sort != Sort::Good);
    rows.flat_map(|row| row.shares).fold(0.01, f64::max)
}

fn caption(ui: &mut Ui, what: &str, totals: &[u64; 2], full: f64, palette: &Palette) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    let painter = ui.painter();
    let same = totals[0] == totals[1];
    let all = if same { count(totals[0]) } else { format!("{} and {}", count(totals[0]), count(totals[1])) };
    painter.text(
        rect.left_center(),
        Align2::LEFT_CENTER,
        format!("{what}, {all} counted"),
        theme::small(),
        palette.soft,
    );
    let note = format!("full bar {}", share(full));
    painter.text(rect.right_center(), Align2::RIGHT_CENTER, note, theme::small(), palette.soft);
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
}

fn table(ui: &mut Ui, rows: &[Outcome], full: f64, palette: &Palette) {
    for row in rows.iter().filter(|row| !row.quiet()) {
        spoken(ui, row, full, palette);
    }
    let quiet: Vec<&str> = rows.iter().filter(|row| row.quiet()).map(|row| row.name).collect();
    if !quiet.is_empty() {
        let text = format!("None: {}", quiet.join(", ").to_lowercase());
        ui.add(
            eframe::egui::Label::new(eframe::egui::RichText::new(text).font(theme::small()).color(palette.soft)).wrap(),
        );
    }
}

fn spoken(ui: &mut Ui, row: &Outcome, full: f64, palette: &Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let words = || {
        let [before, after] = [0, 1].map(|side| format!("{} ({})", count(row.counts[side]), share(row.shares[side])));
        format!("{}: baseline {before}, candidate {after}", row.name)
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words()));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        let (mark, color) = form(row.sort, palette);
        if let Some(mark) = mark {
            mark.draw(painter, pos2(rect.left() + 6.0, rect.center().y), 10.0, color, palette.sheet);
        }
        painter.text(
            pos2(rect.left() + 18.0, rect.center().y),
            Align2::LEFT_CENTER,
            row.name,
            theme::small(),
            palette.ink,
        );
        let name_width = (rect.width() * 0.34).clamp(120.0, 190.0);
        for side in Side::BOTH {
            side_of(painter, rect.with_min_x(rect.left() + name_width), row, side, full, palette);
        }
        painter.hline(rect.x_range(), rect.bottom(), (1.0, theme::blend(palette.sheet, palette.rule, 0.6)));
    }
    response.on_hover_text(format!("{}\n{}", row.meaning, words()))
}

/// Half a row: bar, count and share of one design.
fn side_of(painter: &Painter, rect: Rect, row: &Outcome, side: Side, full: f64, palette: &Palette) {
    let middle = rect.top() + ROW * if side == Side::Baseline { 0.29 } else { 0.71 };
    let numbers = rect.right();
    let value = row.shares[side.index()];
    let color = if row.counts[side.index()] == 0 { palette.soft } else { palette.ink };
    let write = |x: f32, text: String| {
        painter.text(pos2(x, middle), Align2::RIGHT_CENTER, text, theme::figures(theme::SMALL), color);
    };
    write(numbers, share(value));
    write(numbers - SHARE, count(row.counts[side.index()]));
    let room = rect.width() - COUNT - SHARE - 10.0;
    if row.sort == Sort::Good || value == 0.0 || room < 8.0 {
        return;
    }
    let length = (room * (value / full) as f32).max(2.0);
    let bar = Rect::from_min_size(pos2(rect.left(), middle - 5.0), vec2(length, 10.0));
    let mut plate = Plate::new(painter);
    plate.side(bar, side, palette);
    plate.draw(painter);
}

const fn form(sort: Sort, palette: &Palette) -> (Option<Mark>, Color32) {
    match sort {
        Sort::Good => (Some(Mark::Tick), palette.good),
        Sort::Late => (Some(Mark::Triangle), palette.doubt),
        Sort::Lost => (Some(Mark::Cross), palette.bad),
        Sort::Plain => (Some(Mark::Dash), palette.soft),
    }
}

fn figures_row(ui: &mut Ui, name: &str, values: &[String; 2], palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Label, true, format!("{name}: baseline {}, candidate {}", values[0], values[1]))
    });
    let painter = ui.painter();
    painter.text(rect.left_center(), Align2::LEFT_CENTER, name, theme::small(), palette.ink);
    let mut x = rect.right();
    for side in [Side::Candidate, Side::Baseline] {
        let text = &values[side.index()];
        let font = theme::figures(theme::SMALL);
        let taken = painter.text(pos2(x, rect.center().y), Align2::RIGHT_CENTER, text, font, palette.ink);
        let mark = pos2(taken.left() - 12.0, rect.center().y);
        Mark::of(side).draw(painter, mark, 9.0, palette.side(side), palette.sheet);
        x = taken.left() - 28.0;
    }
}
