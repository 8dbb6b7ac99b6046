//! The same design over other links and more or less jitter, as one table.

use eframe::egui::{Align, Align2, Color32, Painter, Response, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use super::cells::{self, Head};
use super::ink::Mark;
use super::{fitting, left_out};
use crate::app::figures::studies::comparison::signal;
use crate::app::theme::{self, Palette};
use crate::report::figures::studies::what_if::{jitter, row_in_words, verdict};
use crate::report::figures::studies::{decimals_of, of_difference_to, of_mean_to, with_unit};
use crate::report::format::{NOTHING, number};
use crate::study::luck::{Difference, Mean};
use crate::study::what_if::{Row, WhatIf};

/// Least and greatest space between two columns, and space that a mark takes before its words \[pt\].
const APART: (f32, f32) = (12.0, 36.0);
const MARK: f32 = 16.0;
/// Least width of a column of numbers, with which what heads it stays within few lines \[pt\].
const NUMBERS: f32 = 84.0;
const JITTER: &str = "jitter, ms";
const DIFFERENCE: &str = "difference";
const VERDICT: &str = "against the first";
const BUDGET: &str = "in budget";

/// Draws the table over the space there is; `goal` is the measure that is shown. Returns the number of the row that was
/// clicked.
pub(in crate::app) fn what_if(ui: &mut Ui, found: &WhatIf, goal: &str) -> Option<usize> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let shown = found.measures.iter().position(|measure| measure.name == goal).unwrap_or(0);
    let told = Told::all(found, shown);
    let columns = Columns::new(ui, &told);
    let measure = found.measures.get(shown).map_or_else(String::new, |one| with_unit(one.label, one.for_people().unit));
    heads(ui, &columns, &measure, palette);
    let mut clicked = None;
    ScrollArea::vertical().id_salt("what_if").auto_shrink(false).show(ui, |ui| {
        let heights: Vec<f32> = told.iter().map(|one| columns.height(ui.painter(), one)).collect();
        let drawn = fitting(ui, &heights);
        for (number, (one, height)) in told.iter().zip(heights).enumerate().take(drawn) {
            if row(ui, found, (one, number), (&columns, height), palette).clicked() {
                clicked = Some(number);
            }
        }
        left_out(ui, told.len() - drawn, palette);
    });
    clicked
}

/// A row as text.
struct Told<'a> {
    row: &'a Row,
    difference: Difference,
    /// Jitter, value and difference.
    numbers: [String; 3],
    verdict: &'static str,
    /// Whether every seed is within budget, and how many are.
    good: bool,
    budget: String,
}

impl<'a> Told<'a> {
    /// All rows, each column with as many decimals as that of its values asks for which asks for most.
    fn all(found: &'a WhatIf, shown: usize) -> Vec<Self> {
        let factor = found.measures.get(shown).map_or(1.0, |measure| measure.for_people().factor);
        let rows: Vec<_> = found
            .rows
            .iter()
            .filter_map(|row| {
                Some((row, row.values.get(shown)?.times(factor), row.differences.get(shown)?.times(factor)))
            })
            .collect();
        let decimals = [
            decimals_of(rows.iter().map(|(row, ..)| (Some(row.jitter_ms), None))),
            decimals_of(rows.iter().map(|(_, value, _)| (value.mean, value.half_width))),
            decimals_of(rows.iter().map(|(.., difference)| (difference.mean, difference.half_width))),
        ];
        let told = |(place, (row, value, difference)): (usize, (&'a Row, Mean, Difference))| Self {
            row,
            difference,
            numbers: [
                number(row.jitter_ms, decimals[0]),
                of_mean_to(value, decimals[1]),
                // The first row is what the others are held against.
                if place == 0 { NOTHING.to_owned() } else { of_difference_to(&difference, decimals[2]) },
            ],
            verdict: verdict(place, &difference),
            good: row.within_budget_seeds == found.seeds,
            budget: format!("{} of {}", row.within_budget_seeds, found.seeds),
        };
        rows.into_iter().enumerate().map(told).collect()
    }
}

/// Where the columns stand, from the left edge: links, right edges of jitter, value and difference, verdict, budget.
struct Columns {
    link: f32,
    link_width: f32,
    widths: [f32; 3],
    numbers: [f32; 3],
    verdict: f32,
    verdict_width: f32,
    budget: f32,
    budget_width: f32,
}

impl Columns {
    /// Numbers are never cut; links and verdicts share what is left.
    fn new(ui: &Ui, told: &[Told<'_>]) -> Self {
        let painter = ui.painter();
        let heads = [JITTER, "", DIFFERENCE];
        let widths: [f32; 3] = std::array::from_fn(|column| {
            let numbers = cells::widest_number(painter, told.iter().map(|one| one.numbers[column].as_str()));
            numbers.max(if column == 1 { NUMBERS } else { cells::widest(painter, [heads[column]]) })
        });
        let budget_width = cells::widest(painter, told.iter().map(|one| one.budget.as_str()).chain([BUDGET]));
        let taken = 8.0 + 2.0 * MARK + budget_width + widths.iter().sum::<f32>() + 5.0 * APART.0;
        let room = ui.available_width() - taken;
        let link = cells::widest(painter, told.iter().map(|one| one.row.label));
        let verdict = cells::widest(painter, told.iter().map(|one| one.verdict).chain([VERDICT]));
        let [link_width, verdict_width] = cells::shares(room, [link, verdict]);
        let apart = (APART.0 + (room - link_width - verdict_width) / 5.0).min(APART.1);
        let mut right = 4.0 + link_width;
        let numbers = widths.map(|width| {
            right += apart + width;
            right
        });
        let verdict = right + apart;
        let budget = verdict + MARK + verdict_width + apart;
        Self { link: 4.0, link_width, widths, numbers, verdict, verdict_width, budget, budget_width }
    }

    fn height(&self, painter: &Painter, told: &Told<'_>) -> f32 {
        let words = [(told.row.label, self.link_width), (told.verdict, self.verdict_width)];
        cells::height(&words.map(|(text, width)| cells::words(painter, text, width, Color32::PLACEHOLDER)))
    }
}

fn heads(ui: &mut Ui, columns: &Columns, measure: &str, palette: &Palette) {
    let left = ui.max_rect().left();
    let painter = ui.painter();
    let head = |x: f32, align, text: &str, width: f32| Head::new(painter, (left + x, align), text, width, palette);
    let heads = [
        head(columns.link, Align::Min, "link", columns.link_width),
        head(columns.numbers[0], Align::Max, JITTER, columns.widths[0]),
        head(columns.numbers[1], Align::Max, measure, columns.widths[1]),
        head(columns.numbers[2], Align::Max, DIFFERENCE, columns.widths[2]),
        head(columns.verdict, Align::Min, VERDICT, MARK + columns.verdict_width),
        head(columns.budget, Align::Min, BUDGET, MARK + columns.budget_width),
    ];
    let size = vec2(ui.available_width(), Head::height(&heads));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter();
    Head::draw_all(&heads, painter, rect.bottom());
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    response.on_hover_text("The links are invented, with round numbers; point at a row for what is assumed.");
}

fn row(
    ui: &mut Ui,
    found: &WhatIf,
    (told, place): (&Told<'_>, usize),
    (columns, height): (&Columns, f32),
    palette: &Palette,
) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    let Told { row, difference, numbers, verdict, good, budget } = told;
    response.widget_info(|| {
        let (what, jitter) = (row.label, jitter(row));
        let told = format!("{what}, {jitter}: {}, {} ({verdict}), within budget {budget}", numbers[1], numbers[2]);
        WidgetInfo::labeled(Role::Button, true, told)
    });
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() || response.has_focus() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let at = |x: f32| pos2(rect.left() + x, rect.center().y);
        let color = if place == 0 { palette.candidate } else { palette.ink };
        cells::put(painter, at(columns.link), cells::words(painter, row.label, columns.link_width, color));
        for (text, right) in numbers.iter().zip(columns.numbers) {
            let font = theme::figures(theme::SMALL);
            painter.text(at(right), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
        let (mark, color) = signal(difference.verdict, palette);
        mark.draw(painter, at(columns.verdict + 5.0), 10.0, color, palette.sheet);
        let words = cells::words(painter, verdict, columns.verdict_width, palette.ink);
        cells::put(painter, at(columns.verdict + MARK), words);
        let (mark, color) = if *good { (Mark::Tick, palette.good) } else { (Mark::Cross, palette.bad) };
        mark.draw(painter, at(columns.budget + 5.0), 10.0, color, palette.sheet);
        painter.text(at(columns.budget + MARK), Align2::LEFT_CENTER, budget, theme::small(), palette.ink);
    }
    response.on_hover_text(format!("{}\n\nClick: the candidate takes this link.", row_in_words(found, row)))
}
