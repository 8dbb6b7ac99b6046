//! The studies: what they are asked on a line, and what they found below it.

mod cells;
mod comparison;
mod desk;
mod map;
mod picker;
mod search;
mod sensitivity;
mod split;
mod sweep;
mod what_if;

pub(in crate::app) use comparison::comparison;
pub(in crate::app) use desk::{Desk, Press, desk};
pub(in crate::app) use map::map;
pub(in crate::app) use search::search;
pub(in crate::app) use sensitivity::sensitivity;
pub(in crate::app) use split::split;
pub(in crate::app) use sweep::sweep;
pub(in crate::app) use what_if::what_if;

use eframe::egui::{Rect, RichText, Ui, pos2};

use super::chart::Scale;
use super::ink;
use super::title::is_on_paper;
use crate::app::theme::{self, Palette};
use crate::report::figures::axis::ends_within;
use crate::report::format::of;

/// What the studies remember between frames.
#[derive(Debug, Clone, Default)]
pub struct StudyViews {
    /// Whether every measure of a comparison is listed.
    pub(in crate::app) all_measures: bool,
}

/// Height of the line that says how much of a table is left out \[pt\].
const LEFT_OUT: f32 = 20.0;

/// How many rows of a table with rows of such heights are drawn: in a picture, where nothing scrolls, as many whole ones as
/// there is room for above the line of [`left_out`]; otherwise all.
fn fitting(ui: &Ui, heights: &[f32]) -> usize {
    let room = ui.available_height();
    if !is_on_paper(ui) || heights.iter().sum::<f32>() <= room {
        return heights.len();
    }
    let mut bottom = 0.0;
    let fits = |height: &&f32| {
        bottom += **height;
        bottom <= room - LEFT_OUT
    };
    heights.iter().take_while(fits).count()
}

/// Says how many rows a picture has no room for.
fn left_out(ui: &mut Ui, rows: usize, palette: &Palette) {
    if rows > 0 {
        let text =
            format!("and {} more: in a higher picture, or in this figure's table (.csv)", of(rows as u64, "row"));
        ui.label(RichText::new(text).font(theme::small()).color(palette.soft));
    }
}

/// The scale of a measure, upward; where a few values are far above the rest, they leave the plot at its top.
fn upward(values: Vec<f64>, plot: Rect) -> Scale {
    let Some([low, high]) = ends_within(values, 0.75, 4.0) else {
        return Scale::linear(0.0, 1.0, plot.bottom(), plot.top());
    };
    let span = (high - low).max(0.02 * high.abs()).max(1e-6);
    Scale::linear(low - 0.08 * span, low + 1.1 * span, plot.bottom(), plot.top())
}

/// What stands where nothing was found yet.
pub(in crate::app) fn nothing(ui: &Ui, text: &str) {
    let palette = Palette::current(ui);
    let space = ui.available_rect_before_wrap();
    let font = theme::text();
    let galley = ui.painter().layout(text.to_owned(), font, palette.soft, (space.width() - 40.0).clamp(80.0, 520.0));
    let at =
        pos2(space.center().x - galley.size().x / 2.0, (space.top() + space.height() * 0.3).max(space.top() + 8.0));
    ui.painter().galley(at, galley, palette.soft);
}
