//! Baseline against candidate, measure by measure.

use eframe::egui::{Align, Align2, Color32, Painter, Rect, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use super::cells::{self, Head};
use super::{StudyViews, fitting, left_out};
use crate::app::figures::ink::{Mark, is_on_paper};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::studies::{of_difference, of_mean, verdict, with_unit};
use crate::study::compare::{Comparison, Row};
use crate::study::luck::{Difference, Mean, Verdict};

/// Least and greatest space between two columns, and space that a mark takes before its words \[pt\].
const APART: (f32, f32) = (14.0, 36.0);
const MARK: f32 = 16.0;
/// Least width of the names: that of the switch over them \[pt\].
const NAME: f32 = 128.0;
/// To this width verdicts give way before names do \[pt\].
const LEAST_VERDICT: f32 = 116.0;
/// Names of the columns of values.
const VALUES: [&str; 3] = ["baseline", "candidate", "difference"];
const VERDICT: &str = "verdict on the candidate";

/// Draws the table over the space there is.
pub(in crate::app) fn comparison(ui: &mut Ui, comparison: &Comparison, views: &mut StudyViews) {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let shown = comparison.rows.iter().filter(|row| row.main || views.all_measures);
    let told: Vec<Told<'_>> = shown.filter_map(Told::of).collect();
    let columns = Columns::new(ui, &told);
    heads(ui, &columns, views, palette);
    ScrollArea::vertical().id_salt("comparison").auto_shrink(false).show(ui, |ui| {
        let heights: Vec<f32> = told.iter().map(|one| columns.height(ui.painter(), one)).collect();
        let drawn = fitting(ui, &heights);
        for (one, height) in told.iter().zip(heights).take(drawn) {
            row(ui, one, &columns, height, palette);
        }
        left_out(ui, told.len() - drawn, palette);
    });
}

/// A row as text.
struct Told<'a> {
    row: &'a Row,
    difference: &'a Difference,
    label: String,
    values: [String; 3],
    verdict: String,
}

impl<'a> Told<'a> {
    fn of(row: &'a Row) -> Option<Self> {
        let ([baseline, candidate, ..], [difference, ..]) = (&row.values[..], &row.differences[..]) else {
            return None;
        };
        let shown = row.for_people();
        let value = |mean: &Mean| of_mean(mean.times(shown.factor));
        Some(Self {
            row,
            difference,
            label: with_unit(row.label, shown.unit),
            values: [value(baseline), value(candidate), of_difference(&difference.times(shown.factor))],
            verdict: verdict(difference),
        })
    }
}

/// Where the columns stand, from the left edge: the names, right edges of the values, the verdict.
struct Columns {
    name: f32,
    name_width: f32,
    values: [f32; 3],
    verdict: f32,
    verdict_width: f32,
}

impl Columns {
    /// Values are never cut; names and verdicts share what is left.
    fn new(ui: &Ui, told: &[Told<'_>]) -> Self {
        let painter = ui.painter();
        let widths: [f32; 3] = std::array::from_fn(|value| {
            let numbers = cells::widest_number(painter, told.iter().map(|one| one.values[value].as_str()));
            numbers.max(MARK + cells::widest(painter, [VALUES[value]]))
        });
        let room = ui.available_width() - 8.0 - MARK - widths.iter().sum::<f32>() - 4.0 * APART.0;
        let name = cells::widest(painter, told.iter().map(|one| one.label.as_str())).max(NAME);
        let verdicts = told.iter().map(|one| one.verdict.as_str()).chain([VERDICT]);
        // Few verdicts are long: they give way before names do.
        let verdict = cells::widest(painter, verdicts);
        let [name_width, _] = cells::shares(room, [name, verdict.min(LEAST_VERDICT)]);
        let verdict_width = verdict.min(room - name_width);
        let apart = (APART.0 + (room - name_width - verdict_width) / 4.0).min(APART.1);
        let mut right = 4.0 + name_width;
        let values = widths.map(|width| {
            right += apart + width;
            right
        });
        Self { name: 4.0, name_width, values, verdict: right + apart, verdict_width }
    }

    fn height(&self, painter: &Painter, told: &Told<'_>) -> f32 {
        let words = [(&told.label, self.name_width), (&told.verdict, self.verdict_width)];
        cells::height(&words.map(|(text, width)| cells::words(painter, text, width, Color32::PLACEHOLDER)))
    }
}

fn heads(ui: &mut Ui, columns: &Columns, views: &mut StudyViews, palette: &Palette) {
    let left = ui.max_rect().left();
    let verdict = (left + columns.verdict, Align::Min);
    let verdict = Head::new(ui.painter(), verdict, VERDICT, MARK + columns.verdict_width, palette);
    let heads = [verdict];
    let size = vec2(ui.available_width(), Head::height(&heads));
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let middle = rect.bottom() - cells::ROW / 2.0;
    let painter = ui.painter();
    for (place, (right, text)) in columns.values.into_iter().zip(VALUES).enumerate() {
        let at = pos2(left + right, middle);
        let place_of = painter.text(at, Align2::RIGHT_CENTER, text, theme::small(), palette.soft);
        if let Some(&side) = Side::BOTH.get(place) {
            let at = pos2(place_of.left() - 10.0, middle);
            Mark::of(side).draw(painter, at, 10.0, palette.side(side), palette.sheet);
        }
    }
    Head::draw_all(&heads, painter, rect.bottom());
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    if is_on_paper(ui) {
        return;
    }
    let place = Rect::from_min_max(
        pos2(left + columns.name, rect.bottom() - cells::ROW),
        pos2(left + columns.name + columns.name_width, rect.bottom()),
    );
    let all = eframe::egui::Checkbox::new(&mut views.all_measures, "All measures");
    theme::outlined(ui, |ui| ui.put(place, all)).on_hover_text("List every measure, not the main ones alone");
}

fn row(ui: &mut Ui, told: &Told<'_>, columns: &Columns, height: f32, palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let Told { row, difference, label, values, verdict } = told;
    response.widget_info(|| {
        let [baseline, candidate, change] = values;
        let told = format!("{label}: baseline {baseline}, candidate {candidate}, difference {change}: {verdict}");
        WidgetInfo::labeled(Role::Label, true, told)
    });
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let at = |x: f32| pos2(rect.left() + x, rect.center().y);
        cells::put(painter, at(columns.name), cells::words(painter, label, columns.name_width, palette.ink));
        for (text, right) in values.iter().zip(columns.values) {
            let font = theme::figures(theme::SMALL);
            painter.text(at(right), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
        let (mark, color) = signal(difference.verdict, palette);
        mark.draw(painter, at(columns.verdict + 5.0), 10.0, color, palette.sheet);
        let words = cells::words(painter, verdict, columns.verdict_width, palette.ink);
        cells::put(painter, at(columns.verdict + MARK), words);
    }
    let seeds = difference.seeds_to_tell.map_or_else(String::new, |seeds| format!("\n{seeds} seeds would tell."));
    response.on_hover_text(format!(
        "{label}\nDifference {}, ± half its 95 % interval, paired by seed: {verdict}.{seeds}\n{}",
        values[2], row.measure
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
