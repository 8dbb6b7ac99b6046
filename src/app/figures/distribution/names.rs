//! Names above the plot: of quantiles, and of the budget.

use eframe::egui::{Align2, Color32, Painter, Rangef, Rect, Stroke, pos2};

use super::LEFT;
use crate::app::figures::chart::Scale;
use crate::app::figures::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::distribution::Histograms;
use crate::report::format::ms;

/// Names above the plot that keep apart from each other.
pub(super) struct NameRow<'a> {
    pub(super) painter: &'a Painter,
    pub(super) plot: Rect,
    pub(super) taken: Vec<Name>,
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
        for Name { text, room, color } in self.taken {
            let at = pos2(room.center(), self.plot.top() - 8.0);
            self.painter.text(at, Align2::CENTER_BOTTOM, text, theme::small(), color);
        }
    }
}

/// The budget's limit as a dotted line. Its number stands in the row of names, clear of the bars, as near as there is room,
/// best where it also leaves the names at `late` theirs; where there is none, names of quantiles give way.
pub(super) fn budget<M>(x: &Scale, figure: &Histograms<M>, row: &mut NameRow<'_>, late: &[f32]) {
    let Some(limit) = figure.limit_ms else { return };
    let (painter, plot, palette) = (row.painter, row.plot, row.palette);
    let at = x.place(limit);
    if !plot.x_range().contains(at) {
        return;
    }
    let stroke = Stroke::new(2.0, palette.budget);
    ink::dashed(painter, pos2(at, plot.top() - 6.0), pos2(at, plot.bottom()), stroke, [2.0, 4.0]);
    let text = format!("budget {}", ms(limit));
    let half = ink::width(painter, &text, theme::small()) / 2.0;
    let within = |room: &Rangef| room.min >= plot.left() - LEFT && room.max <= plot.right() + 10.0;
    let shifts = (0..=8).flat_map(|step| [1.0, -1.0].map(|way| way * half * step as f32 / 8.0));
    let places: Vec<Rangef> =
        shifts.map(|shift| row.about(&text, at + shift)).filter(|room| within(room) && row.is_free(*room)).collect();
    let spares = |room: &&Rangef| late.iter().all(|other| (room.center() - other).abs() > half + 12.0 + NameRow::APART);
    if let Some(room) = places.iter().find(spares).or_else(|| places.first()) {
        row.put(&text, *room, palette.ink);
    } else {
        let low = plot.left() - LEFT + half;
        let middle = at.clamp(low, (plot.right() + 10.0 - half).max(low));
        row.put_first(&text, row.about(&text, middle), palette.ink);
    }
}
