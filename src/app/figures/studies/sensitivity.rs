//! What a tenth of every parameter does to a measure, ranked.

use eframe::egui::{
    Align, Align2, Color32, Label, Painter, Rect, Response, RichText, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

use super::cells::{self, Head};
use super::ink::Plate;
use super::{fitting, left_out};
use crate::app::theme::{self, Palette};
use crate::measure::Better;
use crate::report::figures::studies::sensitivity::{in_words, reach, steps, value};
use crate::report::figures::studies::{decimals_of, signed_to, with_unit};
use crate::report::format::NOTHING;
use crate::study::luck::Verdict;
use crate::study::sensitivity::{Row, Sensitivity, Turn};

/// Least height of a row, with room for both bars \[pt\].
const ROW: f32 = 26.0;
/// Greatest and least width of the names, least width of the numbers and space between two columns \[pt\].
const NAME: (f32, f32) = (300.0, 150.0);
const NUMBER: f32 = 76.0;
const APART: f32 = 14.0;

/// Draws the bars over the space there is. Returns the path of the parameter that was clicked.
pub(in crate::app) fn sensitivity(ui: &mut Ui, found: &Sensitivity) -> Option<&'static str> {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let told = Told::all(found);
    let columns = Columns::new(ui, &told);
    heads(ui, found, &columns, palette);
    let full = reach(found);
    let mut clicked = None;
    ScrollArea::vertical().id_salt("sensitivity").auto_shrink(false).show(ui, |ui| {
        let heights: Vec<f32> = told.iter().map(|one| columns.height(ui.painter(), one)).collect();
        let drawn = fitting(ui, &heights);
        for (one, height) in told.iter().zip(heights).take(drawn) {
            if row(ui, one, (found, full), (&columns, height), palette).clicked() {
                clicked = Some(one.row.path);
            }
        }
        if drawn < told.len() {
            left_out(ui, told.len() - drawn, palette);
            return;
        }
        ui.add_space(8.0);
        let quiet: Vec<&str> = found.rows.iter().filter(|row| !row.matters).map(|row| row.label.as_str()).collect();
        list(ui, "Do not matter beyond luck", &quiet, palette);
        list(ui, "Are 0, so a tenth of them is nothing", &found.zero, palette);
    });
    clicked
}

fn list(ui: &mut Ui, name: &str, items: &[&str], palette: &Palette) {
    if !items.is_empty() {
        let text = format!("{name} ({}): {}.", items.len(), items.join(", "));
        ui.add(Label::new(RichText::new(text).font(theme::small()).color(palette.soft)).wrap());
        ui.add_space(4.0);
    }
}

/// A row as text.
struct Told<'a> {
    row: &'a Row,
    name: String,
    /// The changes at less and at more.
    changes: [String; 2],
}

impl<'a> Told<'a> {
    /// The rows that matter; all changes have as many decimals as that asks for which asks for most.
    fn all(found: &'a Sensitivity) -> Vec<Self> {
        let factor = found.measure.for_people().factor;
        let change = |turn: &Option<Turn>| turn.as_ref().and_then(|turn| turn.change.times(factor).mean);
        let matter: Vec<&Row> = found.rows.iter().filter(|row| row.matters).collect();
        let changes = matter.iter().flat_map(|row| [change(&row.less), change(&row.more)]);
        let decimals = decimals_of(changes.map(|change| (change, None)));
        let told = |row: &'a Row| {
            let parts = [row.label.clone(), value(row.value), row.unit.to_owned(), steps(row)];
            let name = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
            let text = |change: Option<f64>| change.map_or_else(|| NOTHING.to_owned(), |one| signed_to(one, decimals));
            Self { row, name, changes: [&row.less, &row.more].map(|turn| text(change(turn))) }
        };
        matter.into_iter().map(told).collect()
    }
}

/// Where the columns stand, from the left edge: the names, the bars, right edges of the numbers.
struct Columns {
    name: f32,
    name_width: f32,
    bars: [f32; 2],
    numbers: [f32; 2],
    number_width: f32,
}

impl Columns {
    fn new(ui: &Ui, told: &[Told<'_>]) -> Self {
        let width = ui.available_width();
        let name_width = (width * 0.3).clamp(NAME.1, NAME.0);
        let numbers = told.iter().flat_map(|one| one.changes.each_ref()).map(String::as_str);
        let number_width = cells::widest_number(ui.painter(), numbers).max(NUMBER);
        let right = width - 12.0;
        let less = right - number_width - APART;
        Self {
            name: 4.0,
            name_width: name_width - 10.0,
            bars: [name_width, less - number_width - APART],
            numbers: [less, right],
            number_width,
        }
    }

    fn height(&self, painter: &Painter, told: &Told<'_>) -> f32 {
        cells::height([&cells::words(painter, &told.name, self.name_width, Color32::PLACEHOLDER)]).max(ROW)
    }
}

fn heads(ui: &mut Ui, found: &Sensitivity, columns: &Columns, palette: &Palette) {
    let left = ui.max_rect().left();
    let painter = ui.painter();
    let head = |x: f32, align, text: &str, width: f32| Head::new(painter, (left + x, align), text, width, palette);
    let measure = with_unit(found.measure.label, found.measure.for_people().unit);
    let measure = format!("change of {measure}\noutlined: less, solid: more");
    let bars = columns.bars;
    let heads = [
        head(columns.name, Align::Min, "parameter, its value", columns.name_width),
        head(f32::midpoint(bars[0], bars[1]), Align::Center, &measure, bars[1] - bars[0]),
        head(columns.numbers[0], Align::Max, "a tenth or\na step less", columns.number_width),
        head(columns.numbers[1], Align::Max, "a tenth or\na step more", columns.number_width),
    ];
    let size = vec2(ui.available_width(), Head::height(&heads));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter();
    Head::draw_all(&heads, painter, rect.bottom());
    painter.hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    response.on_hover_text(
        "Upper bar, outlined: the parameter a tenth less. Lower bar, solid: a tenth more. Whole numbers are turned by a \
         whole step instead, to the values in brackets. Green makes the measure better, vermilion worse; the fine line is \
         the 95 % interval.",
    );
}

fn row(
    ui: &mut Ui,
    told: &Told<'_>,
    (found, full): (&Sensitivity, f64),
    (columns, height): (&Columns, f32),
    palette: &Palette,
) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    let row = told.row;
    let words = in_words(row, found.measure.for_people());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &words));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if response.hovered() || response.has_focus() {
            painter.rect_filled(rect, 2.0, theme::blend(palette.sheet, palette.ink, 0.07));
        }
        let at = |x: f32| pos2(rect.left() + x, rect.center().y);
        cells::put(painter, at(columns.name), cells::words(painter, &told.name, columns.name_width, palette.ink));
        let [from, to] = columns.bars.map(|x| rect.left() + x);
        let area = Rect::from_x_y_ranges(from..=to, rect.y_range()).shrink2(vec2(0.0, (height - ROW) / 2.0 + 3.0));
        painter.vline(area.center().x, rect.y_range(), Stroke::new(1.0, palette.soft));
        for (turn, upper) in [(&row.less, true), (&row.more, false)] {
            if let Some(turn) = turn {
                bar(painter, area, turn, (found.measure.better, upper), full, palette);
            }
        }
        for (text, right) in told.changes.iter().zip(columns.numbers) {
            let font = theme::figures(theme::SMALL);
            painter.text(at(right), Align2::RIGHT_CENTER, text, font, palette.ink);
        }
    }
    response.on_hover_text(format!("{}\n\nClick: bring the parameter into view.", words.replace("; ", "\n")))
}

fn bar(painter: &Painter, area: Rect, turn: &Turn, (better, upper): (Better, bool), full: f64, palette: &Palette) {
    let Some(change) = turn.change.mean else { return };
    let zero = area.center().x;
    let at = |value: f64| zero + area.width() / 2.0 * (value / full) as f32;
    let (top, bottom) =
        if upper { (area.top(), area.center().y - 1.0) } else { (area.center().y + 1.0, area.bottom()) };
    let rect = Rect::from_two_pos(pos2(zero, top), pos2(at(change), bottom));
    let color = match turn.change.verdict {
        Verdict::Better => palette.good,
        Verdict::Worse => palette.bad,
        _ if better == Better::Neither => palette.candidate,
        _ => palette.faint,
    };
    let mut plate = Plate::new(painter);
    if upper {
        plate.fill(rect, theme::blend(palette.sheet, color, 0.25));
        plate.outline(rect, color);
    } else {
        plate.fill(rect, color);
    }
    plate.draw(painter);
    if let Some(half) = turn.change.half_width {
        let middle = f32::midpoint(top, bottom);
        let line = Stroke::new(1.0, palette.ink);
        whisker(painter, [at(change - half), at(change + half)], middle, line);
    }
}

fn whisker(painter: &Painter, [from, to]: [f32; 2], y: f32, line: Stroke) {
    painter.line_segment([pos2(from, y), pos2(to, y)], line);
    for end in [from, to] {
        painter.line_segment([pos2(end, y - 2.5), pos2(end, y + 2.5)], line);
    }
}
