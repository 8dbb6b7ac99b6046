//! Words on the ground of a panel, where nothing is drawn.

use eframe::egui::{Color32, Painter, Rangef, Rect, pos2, vec2};

use crate::app::figures::ink;
use crate::app::theme;

/// Space beside words \[pt\].
const BESIDE: f32 = 8.0;
/// Least width that they are wrapped to \[pt\].
const LEAST_WORDS: f32 = 90.0;

/// What lies between the parts of a span that are taken, these in order.
pub(super) fn between(span: Rangef, taken: &[Rangef]) -> Vec<Rangef> {
    let mut free = Vec::new();
    let mut from = span.min;
    for part in taken {
        free.push(Rangef::new(from, part.min));
        from = from.max(part.max);
    }
    free.push(Rangef::new(from, span.max));
    free.retain(|part| part.span() > 0.0);
    free
}

/// Words on the ground of a panel: on one line in the first free part that is wide enough, else wrapped in the widest.
pub(super) fn words_in(painter: &Painter, bottom: f32, free: &[Rangef], text: &str, [color, ground]: [Color32; 2]) {
    let wide = ink::width(painter, text, theme::small()) + 2.0 * BESIDE;
    let fits = free.iter().find(|part| part.span() >= wide);
    let Some(part) = fits.or_else(|| free.iter().max_by(|one, two| one.span().total_cmp(&two.span()))) else { return };
    let room = (part.span() - 2.0 * BESIDE).max(LEAST_WORDS);
    let galley = painter.layout(text.to_owned(), theme::small(), color, room);
    let rect = Rect::from_min_size(pos2(part.min + BESIDE, bottom - galley.size().y), galley.size());
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, ground);
    painter.galley(rect.min, galley, color);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_between_what_is_drawn() {
        let taken = [Rangef::new(20.0, 40.0), Rangef::new(30.0, 35.0), Rangef::point(70.0), Rangef::point(100.0)];
        let free = between(Rangef::new(0.0, 100.0), &taken);
        assert_eq!(free, [Rangef::new(0.0, 20.0), Rangef::new(40.0, 70.0), Rangef::new(70.0, 100.0)]);
        assert_eq!(between(Rangef::new(5.0, 9.0), &[]), [Rangef::new(5.0, 9.0)]);
    }
}
