//! Baseline against candidate, measure by measure.

use eframe::egui::{Align2, Color32, Rect, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use super::{StudyViews, fitted, fitting, left_out};
use crate::app::figures::ink::{Mark, is_on_paper};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::studies::{of_difference, of_mean, verdict, with_unit};
use crate::study::compare::{Comparison, Row};
use crate::study::luck::Verdict;

/// Height of a row \[pt\].
const ROW: f32 = 22.0;
/// Width of a value with its interval \[pt\].
const VALUE: f32 = 122.0;
/// Greatest and least width of the names \[pt\].
const NAME: (f32, f32) = (230.0, 120.0);

/// Draws the table over the space there is.
pub(in crate::app) fn comparison(ui: &mut Ui, comparison: &Comparison, views: &mut StudyViews) {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    heads(ui, views, palette);
    ScrollArea::vertical().id_salt("comparison").auto_shrink(false).show(ui, |ui| {
        let shown: Vec<&Row> = comparison.rows.iter().filter(|row| row.main || views.all_measures).collect();
        let drawn = fitting(ui, shown.len(), ROW);
        shown[..drawn].iter().for_each(|one| row(ui, one, palette));
        left_out(ui, shown.len() - drawn, palette);
    });
}

/// Where the columns stand: left edge of the names, right edges of the values, left edge of the verdict.
struct Columns {
    name: f32,
    name_width: f32,
    values: [f32; 3],
    verdict: f32,
}

impl Columns {
    fn new(rect: Rect) -> Self {
        let name_width = (rect.width() * 0.22).clamp(NAME.1, NAME.0);
        let value = VALUE.min((rect.width() - name_width) / 4.2);
        let first = rect.left() + name_width + value;
        Self {
            name: rect.left() + 4.0,
            name_width: name_width - 8.0,
            values: [first, first + value, first + 2.0 * value],
            verdict: first + 2.0 * value + 16.0,
        }
    }
}

fn heads(ui: &mut Ui, views: &mut StudyViews, palette: &Palette) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let columns = Columns::new(rect);
    let middle = rect.center().y;
    let painter = ui.painter();
    let head = |right: f32, text: &str| {
        painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, theme::small(), palette.soft)
    };
    for (side, right, text) in
        [(Side::Baseline, columns.values[0], "baseline"), (Side::Candidate, columns.values[1], "candidate")]
    {
        let place = head(right, text);
        let at = pos2(place.left() - 10.0, middle);
        Mark::of(side).draw(painter, at, 10.0, palette.side(side), palette.sheet);
    }
    head(columns.values[2], "difference");
    let left = pos2(columns.verdict, middle);
    painter.text(left, Align2::LEFT_CENTER, "verdict on the candidate", theme::small(), palette.soft);
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    if is_on_paper(ui) {
        return;
    }
    let place = Rect::from_min_max(rect.min, pos2(columns.name + columns.name_width, rect.bottom()));
    let all = eframe::egui::Checkbox::new(&mut views.all_measures, "All measures");
    ui.put(place, all).on_hover_text("List every measure, not the main ones alone");
}

fn row(ui: &mut Ui, row: &Row, palette: &Palette) {
    let ([baseline, candidate, ..], [difference, ..]) = (&row.values[..], &row.differences[..]) else { return };
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let words = verdict(difference);
    let texts = [of_mean(*baseline), of_mean(*candidate), of_difference(difference)];
    let label = with_unit(row.label, row.unit);
    response.widget_info(|| {
        let [baseline, candidate, change] = &texts;
        let told = format!("{label}: baseline {baseline}, candidate {candidate}, difference {change}: {words}");
        WidgetInfo::labeled(Role::Label, true, told)
    });
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let columns = Columns::new(rect);
        let middle = rect.center().y;
        fitted(painter, pos2(columns.name, middle), &label, columns.name_width, theme::small(), palette.ink);
        for (text, right) in texts.iter().zip(columns.values) {
            let font = theme::figures(theme::SMALL);
            painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
        let (mark, color) = signal(difference.verdict, palette);
        mark.draw(painter, pos2(columns.verdict + 5.0, middle), 10.0, color, palette.sheet);
        let width = rect.right() - columns.verdict - 18.0;
        fitted(painter, pos2(columns.verdict + 16.0, middle), &words, width, theme::small(), palette.ink);
    }
    let seeds = difference.seeds_to_tell.map_or_else(String::new, |seeds| format!("\n{seeds} seeds would tell."));
    response.on_hover_text(format!(
        "{label}\nDifference {}, ± half its 95 % interval, paired by seed: {words}.{seeds}\n{}",
        texts[2], row.measure
    ));
}

/// The form and the colour of a verdict.
pub(super) const fn signal(verdict: Verdict, palette: &Palette) -> (Mark, Color32) {
    match verdict {
        Verdict::Better => (Mark::Tick, palette.good),
        Verdict::Worse => (Mark::Triangle, palette.bad),
        Verdict::More | Verdict::Less => (Mark::Disc, palette.soft),
        Verdict::Unclear => (Mark::Dash, palette.doubt),
        Verdict::Same | Verdict::NotMeasured => (Mark::Dash, palette.faint),
    }
}
