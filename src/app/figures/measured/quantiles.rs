//! Quantiles side by side, with how far they lie apart as a number and as a bar about nought.

use eframe::egui::{
    Align2, Painter, Pos2, Rangef, Rect, RichText, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::calibrate::Difference;
use crate::report::figures::measured::quantiles::{Block, Quantiles, Standing, in_per_cent, standing};
use crate::report::figures::measured::title;
use crate::report::format::number;

/// Height of a row \[pt\].
const ROW: f32 = 19.0;
/// Height of a block's heading, and room below a block \[pt\].
const HEAD: f32 = 22.0;
const BELOW: f32 = 6.0;
/// Right edges of the columns from the left \[pt\].
const EDGES: [f32; 4] = [34.0, 178.0, 252.0, 318.0];

/// Draws the quantiles over the space there is; more of them scroll.
pub(in crate::app) fn quantiles(ui: &mut Ui, figure: &Quantiles, largest: &str, basis: &str) {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ink::title(ui, "Quantiles");
        ui.label(
            RichText::new("tick: within luck, triangle: beyond it, dash: not known")
                .font(theme::small())
                .color(palette.soft),
        );
    });
    if ink::is_on_paper(ui) {
        ui.label(RichText::new(basis).font(theme::small()).color(palette.soft));
        ui.label(RichText::new(largest).font(theme::text()).color(palette.ink));
    }
    let most = figure.blocks.iter().flat_map(|block| &block.rows).map(reach).fold(0.02, f64::max).min(1.0);
    let on_paper = ink::is_on_paper(ui);
    let show = |ui: &mut Ui| {
        let blocks = figure.blocks.len().max(1);
        // On paper, what does not fit below each other stands beside.
        let high = block_height(figure.blocks.first());
        let columns = if on_paper && high * blocks as f32 > ui.available_height() { 2 } else { 1 };
        let width = (ui.available_width() - 16.0 * (columns - 1) as f32) / columns as f32;
        let rows = blocks.div_ceil(columns);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), high * rows as f32), Sense::hover());
        for (place, shown) in figure.blocks.iter().enumerate() {
            let (column, row) = (place / rows, place % rows);
            let corner = rect.min + vec2((width + 16.0) * column as f32, high * row as f32);
            block(ui, Rect::from_min_size(corner, vec2(width, high)), shown, most, palette);
        }
    };
    if on_paper {
        show(ui);
    } else {
        ScrollArea::vertical().id_salt("quantiles").auto_shrink(false).show(ui, show);
    }
}

fn block_height(block: Option<&Block>) -> f32 {
    HEAD + ROW * block.map_or(4, |block| block.rows.len()) as f32 + BELOW
}

fn reach(row: &Difference) -> f64 {
    row.relative.map_or(0.0, f64::abs)
}

fn block(ui: &Ui, rect: Rect, block: &Block, most: f64, palette: &Palette) {
    let painter = ui.painter();
    let name = format!("{}, {}", title(block.role), block.unit);
    let head = rect.top() + HEAD / 2.0;
    let small = theme::small();
    painter.text(pos2(rect.left(), head), Align2::LEFT_CENTER, name, small.clone(), palette.ink);
    for (edge, name) in EDGES.iter().zip(["", "measured", "simulated", "apart"]).skip(1) {
        painter.text(pos2(rect.left() + edge, head), Align2::RIGHT_CENTER, name, small.clone(), palette.soft);
    }
    painter.hline(rect.x_range(), rect.top() + HEAD - 1.0, Stroke::new(1.0, palette.rule));
    for (place, row) in block.rows.iter().enumerate() {
        let top = rect.top() + HEAD + ROW * place as f32;
        let line = Rect::from_min_size(pos2(rect.left(), top), vec2(rect.width(), ROW));
        row_line(painter, line, row, most, palette);
        let response = ui.interact(line, ui.scope_id().with((block.role.name(), place)), Sense::hover());
        let told = in_words(block, row);
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, told.clone()));
        response.on_hover_text(told);
    }
}

fn row_line(painter: &Painter, line: Rect, row: &Difference, most: f64, palette: &Palette) {
    let middle = line.center().y;
    let [relative, _] = in_per_cent(row);
    let decimals = decimals(row.measured);
    let name = format!("p{}", number(row.quantile * 100.0, 0));
    let texts = [name, number(row.measured, decimals), number(row.simulated, decimals), relative];
    for ((text, edge), place) in texts.into_iter().zip(EDGES).zip(0..) {
        let (x, anchor) =
            if place == 0 { (line.left(), Align2::LEFT_CENTER) } else { (line.left() + edge, Align2::RIGHT_CENTER) };
        painter.text(pos2(x, middle), anchor, text, theme::figures(theme::SMALL), palette.ink);
    }
    let state = standing(row);
    let mark = match state {
        Standing::WithinLuck => (Mark::Tick, palette.good),
        Standing::Apart => (Mark::Triangle, palette.doubt),
        Standing::NotKnown => (Mark::Dash, palette.soft),
    };
    mark.0.draw(painter, pos2(line.left() + EDGES[3] + 16.0, middle), 9.0, mark.1, palette.sheet);
    let left = line.left() + EDGES[3] + 30.0;
    if line.right() - left < 60.0 {
        return;
    }
    bar(painter, Rangef::new(left, line.right() - 4.0), middle, row, most, palette);
}

/// The difference as a disc on a line about nought, its interval as a dash.
fn bar(painter: &Painter, x: Rangef, y: f32, row: &Difference, most: f64, palette: &Palette) {
    let zero = x.center();
    let half = x.span() / 2.0 - 4.0;
    let place = |share: f64| zero + (share / most).clamp(-1.0, 1.0) as f32 * half;
    painter.vline(zero, Rangef::new(y - ROW / 2.0, y + ROW / 2.0), Stroke::new(1.0, palette.faint));
    if let Some([low, high]) = row.relative_ci95 {
        painter.line_segment([pos2(place(low), y), pos2(place(high), y)], Stroke::new(2.0, palette.soft));
    }
    if let Some(relative) = row.relative {
        painter.circle_filled(Pos2::new(place(relative), y), 4.0, palette.candidate);
    }
}

/// Decimals that tell values of that size apart to a tenth of a per cent.
fn decimals(value: f64) -> usize {
    (2.0 - value.abs().max(1e-6).log10().floor()).clamp(0.0, 5.0) as usize
}

fn in_words(block: &Block, row: &Difference) -> String {
    let decimals = decimals(row.measured);
    let [relative, interval] = in_per_cent(row);
    let within = if interval.is_empty() { String::new() } else { format!(", 95 % interval {interval} %") };
    format!(
        "{} p{}: measured {} {unit}, simulated {} {unit}, {relative} apart{within}: {}",
        title(block.role),
        number(row.quantile * 100.0, 0),
        number(row.measured, decimals),
        number(row.simulated, decimals),
        standing(row).name(),
        unit = block.unit
    )
}
