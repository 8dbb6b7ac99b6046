//! A target split among those who answer for a piece of it.

use eframe::egui::{Align, Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::cells::{self, Head};
use super::ink::Plate;
use crate::app::figures::title::is_on_paper;
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::studies::split::{Times, times};
use crate::study::split::{Share, Split};

/// Least and greatest height of a row \[pt\].
const ROW: (f32, f32) = (18.0, 30.0);
/// Width of the names and of a number \[pt\].
const NAME: f32 = 160.0;
const NUMBER: f32 = 76.0;

/// Draws a row a team over the space there is. Returns whether its means are to become the candidate's allowances.
pub(in crate::app) fn split(ui: &mut Ui, found: &Split) -> bool {
    let palette = Palette::current(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let taken = !is_on_paper(ui) && {
        let button = ui.button("Take the means as allowances");
        button.on_hover_text("The candidate allows every team what it may take on average").clicked()
    };
    heads(ui, palette);
    let rows = found.shares.len() as f32 + 1.0;
    let height = (ui.available_height() / rows).clamp(ROW.0, ROW.1);
    let ends = found.shares.iter().flat_map(|share| [share.at_quantile_ms.mean, share.may_take_ms]);
    let full = ends.flatten().fold(0.1, f64::max);
    let (shown, all) = times(found);
    for (share, times) in found.shares.iter().zip(&shown) {
        row(ui, share, times, (full, height), palette);
    }
    total(ui, &all, height, palette);
    taken
}

struct Columns {
    bars: [f32; 2],
    numbers: [f32; 4],
}

impl Columns {
    fn new(rect: Rect) -> Self {
        let right = rect.right();
        let numbers = [3.0, 2.0, 1.0, 0.0].map(|from_right| right - NUMBER * from_right);
        Self { bars: [rect.left() + NAME, numbers[0] - NUMBER - 4.0], numbers }
    }
}

fn heads(ui: &mut Ui, palette: &Palette) {
    let columns = Columns::new(ui.available_rect_before_wrap());
    let painter = ui.painter();
    let head = |at, text: &str, width| Head::new(painter, at, text, width, palette);
    let mut heads = vec![head((ui.max_rect().left() + 4.0, Align::Min), "team, ms", NAME)];
    let bars = columns.bars[1] - columns.bars[0];
    if bars > 0.0 {
        heads.push(head((columns.bars[0], Align::Min), "outlined: takes; solid: may take", bars));
    }
    for (text, right) in ["takes", "may take", "change", "may take\non average"].into_iter().zip(columns.numbers) {
        heads.push(head((right, Align::Max), text, NUMBER));
    }
    let size = vec2(ui.available_width(), Head::height(&heads));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    Head::draw_all(&heads, ui.painter(), rect.bottom());
    ui.painter().hline(rect.x_range(), rect.bottom(), (1.0, palette.rule));
    response.on_hover_text(
        "Takes: at the quantile, outlined. May take: at the quantile, solid; these sum to the target. May take on average: \
         what its mean may be if it varies as it does. What the display sets takes no share.",
    );
}

fn row(ui: &mut Ui, share: &Share, texts: &Times, (full, height): (f64, f32), palette: &Palette) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let now = share.at_quantile_ms.mean;
    response.widget_info(|| {
        let told =
            format!("{}: takes {} ms, may take {} ms, on average {} ms", share.label, texts[0], texts[1], texts[3]);
        WidgetInfo::labeled(Role::Label, true, told)
    });
    if !ui.is_rect_visible(rect) {
        return;
    }
    let columns = Columns::new(rect);
    let painter = ui.painter();
    let middle = rect.center().y;
    let color = if share.fixed { palette.soft } else { palette.ink };
    let name = if share.fixed { format!("{} (display)", share.label) } else { share.label.to_owned() };
    cells::put(painter, pos2(rect.left() + 4.0, middle), cells::words(painter, &name, NAME - 10.0, color));
    let area = Rect::from_x_y_ranges(columns.bars[0]..=columns.bars[1], rect.y_range().shrink(2.5));
    if area.is_positive() {
        let end = |value: Option<f64>| area.left() + area.width() * (value.unwrap_or(0.0) / full) as f32;
        let mut plate = Plate::new(painter);
        let halves = [(area.top(), area.center().y), (area.center().y, area.bottom())];
        for (side, (value, (top, bottom))) in
            Side::BOTH.into_iter().zip([now, share.may_take_ms].into_iter().zip(halves))
        {
            let bar = Rect::from_min_max(pos2(area.left(), top), pos2(end(value), bottom));
            plate.side(bar, side, palette);
        }
        plate.draw(painter);
    }
    for (text, right) in texts.iter().zip(columns.numbers) {
        let font = theme::figures(theme::SMALL);
        painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, font, color);
    }
}

fn total(ui: &mut Ui, all: &Times, height: f32, palette: &Palette) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let painter = ui.painter();
    painter.hline(rect.x_range(), rect.top(), Stroke::new(1.0, palette.soft));
    let middle = rect.center().y;
    painter.text(pos2(rect.left() + 4.0, middle), Align2::LEFT_CENTER, "Pose to photon", theme::small(), palette.ink);
    let columns = Columns::new(rect);
    for (text, right) in all.iter().zip(columns.numbers) {
        let font = theme::figures(theme::SMALL);
        painter.text(pos2(right, middle), Align2::RIGHT_CENTER, text, font, palette.ink);
    }
}
