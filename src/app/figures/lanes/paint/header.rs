//! What stands over a side's lanes: the design's name, and what became of its frame or what its photons wait for.

use eframe::egui::{Align2, Color32, Painter, Pos2, Rangef, pos2};

use super::{BESIDE, HEADER, NAMES, View};
use crate::app::figures::chart;
use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::engine::Fate;
use crate::report::figures::lanes::{Lanes, Way};
use crate::report::figures::walk::Walk;
use crate::report::format::ms;
use crate::time::ns_to_ms;

/// Space for a mark before words \[pt\].
const BEFORE: f32 = 14.0;

impl View<'_> {
    /// Name of the design, and what became of its frame, left or right of the names of latch and vsync; gives right of what
    /// these stand, and what it took for the words.
    pub(super) fn header(
        &self,
        painter: &Painter,
        way: &Way,
        run: &Lanes,
        name: &str,
        walk: Option<(&Walk, i64)>,
    ) -> (f32, Rangef) {
        let group = self.sheet.group(self.side);
        let middle = group.top() + HEADER / 2.0;
        let left = self.sheet.rect.left();
        let palette = self.palette;
        let color = palette.side(self.side);
        Mark::of(self.side).draw(painter, pos2(left + 7.0, middle), 11.0, color, palette.sheet);
        let name = painter.text(pos2(left + 18.0, middle), Align2::LEFT_CENTER, name, theme::text(), palette.ink);
        let at = name.right() + 14.0;
        if let Some((walk, at_ns)) = walk {
            let right = self.stands(painter, pos2(at, middle), walk, at_ns);
            return (right, Rangef::new(left, right));
        }
        let (ways, mark, color) = self.fate(way, run);
        let named = self.named(painter, run, way, name.right());
        let (text, beside) =
            beside(&ways, [at, group.right()], named, |text| ink::width(painter, text, theme::small()));
        if let Some(mark) = mark {
            mark.draw(painter, pos2(beside + 5.0, middle), 10.0, color, palette.sheet);
        }
        let at_text = pos2(beside + BEFORE, middle);
        let told = painter.text(at_text, Align2::LEFT_CENTER, text, theme::small(), palette.soft);
        let words = Rangef::new(beside, told.right());
        if beside > at { (name.right(), words) } else { (told.right(), words) }
    }

    /// What became of the frame, in more and in fewer words, with a mark where something went wrong.
    fn fate(&self, way: &Way, run: &Lanes) -> (Vec<String>, Option<Mark>, Color32) {
        let (text, mark, color) = fate_in_words(way, run, self.palette);
        let Some(late) = run.lateness(self.frame) else { return (vec![text], mark, color) };
        let told = match way.fate {
            Fate::Shown => format!("{}, shown at a later one", late.amount()),
            _ => format!("{}; {text}", late.amount()),
        };
        let full = format!("{told}; {}", late.cause());
        let brief = format!("{}; {}", late.amount(), late.cause());
        (vec![full, brief, told, late.amount(), text], mark, color)
    }

    /// The part of the header that the names of latch and vsync take, if nothing but the design's name stands there.
    fn named(&self, painter: &Painter, run: &Lanes, way: &Way, from: f32) -> Option<Rangef> {
        let vsync_ns = way.photon_ns? - run.grid.photon_offset_ns();
        let lines = [vsync_ns - run.grid.latch_lead_ns(), vsync_ns].map(|ns| self.place(ns, way.from_ns.unwrap_or(ns)));
        let wide = NAMES.map(|text| ink::width(painter, text, theme::small()));
        let [latch, vsync] = chart::over_lines(lines, wide, from + BESIDE)?;
        let named = Rangef::new(latch - wide[0] / 2.0, vsync + wide[1] / 2.0);
        named.intersects(self.sheet.group(self.side).x_range()).then_some(named)
    }

    /// What the frame's photons wait for now; where nobody works on it, on a ground of its own.
    fn stands(&self, painter: &Painter, at: Pos2, walk: &Walk, at_ns: i64) -> f32 {
        let palette = self.palette;
        let text = walk.in_words(self.side, at_ns);
        if walk.stand(self.side, at_ns).waits() {
            let ground = theme::blend(palette.sheet, palette.doubt, 0.3);
            return ink::text_on(painter, at, Align2::LEFT_CENTER, text, theme::small(), [palette.ink, ground]).right();
        }
        painter.text(at, Align2::LEFT_CENTER, text, theme::small(), palette.soft).right()
    }
}

/// Which of some ways to say what became of a frame is said, and from where on: the first that finds room between the ends,
/// with its mark, before what is `named` there or else behind it; the last where none does.
fn beside(ways: &[String], [from, to]: [f32; 2], named: Option<Rangef>, width: impl Fn(&str) -> f32) -> (&str, f32) {
    let places = match named {
        Some(named) => vec![[from, named.min - BESIDE], [named.max + BESIDE, to - BESIDE]],
        None => vec![[from, to - BESIDE]],
    };
    let fits = |text: &str| {
        let wide = BEFORE + width(text);
        places.iter().find(|[from, to]| from + wide <= *to).map(|[from, _]| *from)
    };
    let found = ways.iter().find_map(|way| Some((way.as_str(), fits(way)?)));
    found.unwrap_or_else(|| (ways.last().map_or("", String::as_str), from))
}

/// What became of a frame, with a mark where something went wrong.
fn fate_in_words(way: &Way, run: &Lanes, palette: &Palette) -> (String, Option<Mark>, Color32) {
    if way.from_ns.is_none() {
        return ("not planned in this run".to_owned(), Some(Mark::Dash), palette.soft);
    }
    let gone = |text: &str| (text.to_owned(), Some(Mark::Cross), palette.bad);
    match way.fate {
        Fate::Shown if way.late == Some(true) => {
            ("late for its refresh, shown at a later one".to_owned(), Some(Mark::Triangle), palette.doubt)
        }
        Fate::Shown => {
            let latch = way.photon_ns.map(|photon| photon - run.grid.photon_offset_ns() - run.grid.latch_lead_ns());
            let wait = latch.zip(way.ready_ns).map(|(latch, ready)| ms(ns_to_ms(latch - ready)));
            (wait.map_or_else(String::new, |wait| format!("ready {wait} before the latch")), None, palette.soft)
        }
        Fate::Superseded => ("superseded: a newer frame was taken".to_owned(), Some(Mark::Triangle), palette.doubt),
        Fate::Skipped => gone("skipped: the next frame's plan fell due"),
        Fate::DroppedEncode => gone("dropped before encode"),
        Fate::DroppedLink => gone("dropped before link"),
        Fate::DroppedDecode => gone("dropped before decode"),
        Fate::Lost => gone("lost on the link"),
        Fate::Undecodable => gone("undecodable: a frame it needs was missing"),
        Fate::InFlight => ("in flight when the run ended".to_owned(), Some(Mark::Dash), palette.soft),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_became_of_a_frame_is_told_before_the_names_or_behind_them() {
        let ways = ["1234567890", "12345"].map(str::to_owned);
        let wide = |text: &str| 10.0 * text.len() as f32;
        let told = |named: [f32; 2]| beside(&ways, [20.0, 400.0], Some(Rangef::new(named[0], named[1])), wide);
        assert_eq!(told([150.0, 220.0]), ("1234567890", 20.0), "before them");
        assert_eq!(told([140.0, 210.0]), ("1234567890", 218.0), "behind them");
        assert_eq!(told([140.0, 290.0]), ("12345", 20.0), "in fewer words before them");
        assert_eq!(told([60.0, 380.0]), ("12345", 20.0), "nowhere is room");
        assert_eq!(beside(&ways, [20.0, 400.0], None, wide), ("1234567890", 20.0), "nothing is named");
    }
}
