//! Names above the plot: of quantiles, and of the budget.

use eframe::egui::{Align2, Color32, Painter, Rangef, Rect, Stroke, pos2};

use super::LEFT;
use crate::app::figures::chart::Scale;
use crate::app::figures::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::BUDGET;
use crate::report::figures::distribution::Histograms;
use crate::report::format::ms;

/// Height of the row above the names, for the budget where it finds no place among them \[pt\].
pub(super) const UPPER: f32 = 16.0;

/// Names above the plot that keep apart from each other.
pub(super) struct NameRow<'a> {
    pub(super) painter: &'a Painter,
    pub(super) plot: Rect,
    pub(super) taken: Vec<Name>,
    /// The budget's name on a row of its own, where there is one.
    pub(super) upper: Option<Name>,
    pub(super) palette: &'a Palette,
}

/// A name above the plot, and the room that it takes.
pub(super) struct Name {
    text: String,
    room: Rangef,
    color: Color32,
}

impl NameRow<'_> {
    /// Space between two names.
    const APART: f32 = 10.0;

    fn about(&self, text: &str, at: f32) -> Rangef {
        let half = ink::width(self.painter, text, theme::small()) / 2.0;
        Rangef::new(at - half, at + half)
    }

    fn is_free(&self, room: Rangef) -> bool {
        self.taken.iter().all(|other| Self::apart(other.room, room))
    }

    fn apart(a: Rangef, b: Rangef) -> bool {
        a.max + Self::APART <= b.min || b.max + Self::APART <= a.min
    }

    /// A name about its place, if nothing else stands there.
    pub(super) fn centred(&mut self, text: &str, at: f32) {
        let room = self.about(text, at);
        if self.is_free(room) {
            self.put(text, room, self.palette.soft);
        }
    }

    fn put(&mut self, text: &str, room: Rangef, color: Color32) {
        self.taken.push(Name { text: text.to_owned(), room, color });
    }

    /// The same where others stand in the way: they give way, since the legend has their numbers.
    fn put_first(&mut self, text: &str, room: Rangef, color: Color32) {
        self.taken.retain(|other| Self::apart(other.room, room));
        self.put(text, room, color);
    }

    pub(super) fn draw(self) {
        let rows = self.taken.into_iter().map(|name| (name, 8.0)).chain(self.upper.map(|name| (name, 8.0 + UPPER)));
        for (Name { text, room, color }, up) in rows {
            let at = pos2(room.center(), self.plot.top() - up);
            ink::text_on(self.painter, at, Align2::CENTER_BOTTOM, text, theme::small(), [color, self.palette.sheet]);
        }
    }
}

/// Where the budget's number stands in the row of names: clear of them, as near as there is room, best where it also leaves
/// the names at `late` theirs; none where there is no such place.
fn place(row: &NameRow<'_>, text: &str, at: f32, late: &[f32]) -> Option<Rangef> {
    let half = ink::width(row.painter, text, theme::small()) / 2.0;
    let within = |room: &Rangef| room.min >= row.plot.left() - LEFT && room.max <= row.plot.right() + 10.0;
    let shifts = (0..=8).flat_map(|step| [1.0, -1.0].map(|way| way * half * step as f32 / 8.0));
    let places: Vec<Rangef> =
        shifts.map(|shift| row.about(text, at + shift)).filter(|room| within(room) && row.is_free(*room)).collect();
    let spares = |room: &&Rangef| late.iter().all(|other| (room.center() - other).abs() > half + 12.0 + NameRow::APART);
    places.iter().find(spares).or_else(|| places.first()).copied()
}

/// What the budget is called, and where its line is; none where it has none that is seen.
fn named<M>(x: &Scale, figure: &Histograms<M>, plot: Rect) -> Option<(String, f32)> {
    let limit = figure.limit_ms?;
    let at = x.place(limit);
    plot.x_range().contains(at).then(|| (format!("{BUDGET} {}", ms(limit)), at))
}

/// Whether the budget's number finds no place beside the names that stand in the row.
pub(super) fn wants_a_row<M>(x: &Scale, figure: &Histograms<M>, row: &NameRow<'_>) -> bool {
    named(x, figure, row.plot).is_some_and(|(text, at)| place(row, &text, at, &[]).is_none())
}

/// The budget's limit as a dotted line, with its number: in the row of names, else in the one above where there is one, else
/// names of quantiles give way.
pub(super) fn budget<M>(x: &Scale, figure: &Histograms<M>, row: &mut NameRow<'_>, late: &[f32], upper: bool) {
    let (painter, plot, palette) = (row.painter, row.plot, row.palette);
    let Some((text, at)) = named(x, figure, plot) else { return };
    let up = if upper { 6.0 + UPPER } else { 6.0 };
    let stroke = Stroke::new(2.0, palette.budget);
    ink::dashed(painter, pos2(at, plot.top() - up), pos2(at, plot.bottom()), stroke, [2.0, 4.0]);
    if let Some(room) = place(row, &text, at, late).filter(|_| !upper) {
        row.put(&text, room, palette.ink);
        return;
    }
    let half = ink::width(painter, &text, theme::small()) / 2.0;
    let low = plot.left() - LEFT + half;
    let room = row.about(&text, at.clamp(low, (plot.right() + 10.0 - half).max(low)));
    if upper {
        row.upper = Some(Name { text, room, color: palette.ink });
    } else {
        row.put_first(&text, room, palette.ink);
    }
}
