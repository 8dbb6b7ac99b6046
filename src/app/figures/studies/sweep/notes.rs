//! Words beside the lines of a sweep, where they cover neither each other nor a curve.

use eframe::egui::{Align2, Color32, Painter, Pos2, Rect, Vec2, pos2, vec2};

use crate::app::figures::ink;
use crate::app::theme::{self, Palette};

/// Distance of two notes down, of the first from the top, and of each from its line and from a curve \[pt\].
const APART: f32 = 17.0;
const FIRST: f32 = 9.0;
const BESIDE: f32 = 5.0;
const OFF: f32 = 4.0;

/// What is said beside an upright line.
pub(super) struct Note {
    /// Where the line is.
    pub(super) at: f32,
    pub(super) text: String,
    pub(super) color: Color32,
}

/// Draws notes after all lines, so that none crosses a word: each as high as it finds a place off what is `named` already, off
/// the others and off the curves.
pub(super) fn draw(
    painter: &Painter,
    plot: Rect,
    notes: Vec<Note>,
    (named, curves): (Option<Rect>, Vec<Vec<Pos2>>),
    palette: &Palette,
) {
    let mut taken: Vec<Rect> = named.into_iter().collect();
    for (place, Note { at, text, color }) in notes.into_iter().enumerate() {
        let size = vec2(ink::width(painter, &text, theme::small()), APART);
        let rect = free(plot, at, size, &taken, &curves).unwrap_or_else(|| beside(plot, at, size, place)[0]);
        taken.push(rect);
        let colors = [color, palette.sheet];
        ink::text_on(painter, rect.left_center(), Align2::LEFT_CENTER, text, theme::small(), colors);
    }
}

/// Both places beside a line on a row of notes: first that on the side of the plot's middle.
fn beside(plot: Rect, at: f32, size: Vec2, row: usize) -> [Rect; 2] {
    let middle = plot.top() + FIRST + APART * row as f32;
    let [left, right] = [at - BESIDE - size.x / 2.0, at + BESIDE + size.x / 2.0]
        .map(|center| Rect::from_center_size(pos2(center, middle), size));
    if at > plot.center().x { [left, right] } else { [right, left] }
}

/// The highest place beside a line where nothing is.
fn free(plot: Rect, at: f32, size: Vec2, taken: &[Rect], curves: &[Vec<Pos2>]) -> Option<Rect> {
    let rows = ((plot.height() - 2.0 * FIRST) / APART).max(0.0) as usize;
    let within = |rect: &Rect| rect.left() >= plot.left() && rect.right() <= plot.right();
    let free = |rect: &Rect| {
        let clear = rect.expand(OFF);
        let crossed = |way: &Vec<Pos2>| way.windows(2).any(|ends| crosses(clear, [ends[0], ends[1]]));
        !taken.iter().any(|other| other.shrink(0.5).intersects(*rect)) && !curves.iter().any(crossed)
    };
    (0..=rows).flat_map(|row| beside(plot, at, size, row)).find(|rect| within(rect) && free(rect))
}

/// Whether a straight way between two points comes into a rectangle: by the parts of it that lie between each pair of sides
/// (Liang and Barsky, ACM Transactions on Graphics 3, 1984).
fn crosses(rect: Rect, [from, to]: [Pos2; 2]) -> bool {
    let way = to - from;
    let pairs = [(from.x, way.x, rect.x_range()), (from.y, way.y, rect.y_range())];
    let mut within = [0.0_f32, 1.0_f32];
    for (start, along, sides) in pairs {
        if along == 0.0 {
            if !sides.contains(start) {
                return false;
            }
            continue;
        }
        let ends = [(sides.min - start) / along, (sides.max - start) / along];
        within = [within[0].max(ends[0].min(ends[1])), within[1].min(ends[0].max(ends[1]))];
    }
    within[0] <= within[1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_keeps_off_curves_and_other_notes() {
        let plot = Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 200.0));
        let size = vec2(100.0, APART);
        let place = |at, taken: &[Rect], curve: &[Pos2]| free(plot, at, size, taken, &[curve.to_vec()]);
        let first = Rect::from_min_size(pos2(105.0, 0.5), size);
        assert_eq!(place(100.0, &[], &[]), Some(first), "beside the line, at the top");
        assert_eq!(place(100.0, &[first], &[]), Some(first.translate(vec2(0.0, APART))), "left of it is no room");
        let left = Rect::from_min_size(pos2(145.0, 0.5), size);
        assert_eq!(place(250.0, &[], &[]), Some(left), "towards the middle");
        let curve = [pos2(0.0, 100.0), pos2(200.0, 30.0), pos2(210.0, 3.0)];
        assert_eq!(place(250.0, &[], &curve), Some(left.translate(vec2(110.0, 0.0))), "at the other side");
        let wall = [pos2(200.0, 0.0), pos2(200.0, 300.0), pos2(300.0, 300.0), pos2(300.0, 0.0)];
        assert_eq!(place(250.0, &[], &wall), None);
        // Between its points a way may lie far from both of them.
        assert!(crosses(left, [pos2(0.0, 0.0), pos2(400.0, 12.0)]));
        assert!(!crosses(left, [pos2(0.0, 0.0), pos2(400.0, 60.0)]));
    }
}
