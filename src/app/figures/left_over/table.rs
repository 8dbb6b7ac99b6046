//! The numbers over a panel: what the scenarios' own motion leaves.

use eframe::egui::{Align2, Painter, Rect, pos2};

use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::measure::Angle;
use crate::report::figures::Side;
use crate::report::figures::left_over::{LeftOvers, Panel, Rank, What};
use crate::report::format::{NOTHING, number};

/// Height of a row.
const ROW: f32 = 17.0;
/// Room of a mark before its name.
const MARK: f32 = 14.0;
/// Space between degrees and pixels, and between columns.
const BETWEEN: [f32; 2] = [4.0, 14.0];

/// Paints the numbers along the top of `rect`; gives the height where they end.
pub(super) fn paint(
    painter: &Painter,
    rect: Rect,
    (figure, panel, rank): (&LeftOvers, &Panel, Rank),
    names: &[String; 2],
    palette: &Palette,
) -> f32 {
    let heads: &[&str] = match panel.what {
        What::Rotation => &["without", "with"],
        What::Parallax => &["left over"],
        What::GuardBand => &["each edge"],
    };
    let row = |number: usize| rect.top() + (number as f32 + 0.5) * ROW;
    let here = figure.sides.each_ref().map(|ages| panel.here(ages, rank));
    let mut right = rect.right();
    // Where the heads begin; the numbers below them may begin further left.
    let mut heads_from = right;
    for (column, head) in heads.iter().enumerate().rev() {
        let angles = here.map(|angles| angles[column]);
        let texts = texts(angles);
        let font = theme::figures(theme::SMALL);
        let wide =
            |part: usize| texts.iter().map(|text| ink::width(painter, &text[part], font.clone())).fold(0.0, f32::max);
        let rights = [right - wide(1) - BETWEEN[0], right];
        for side in Side::BOTH {
            for (part, text) in texts[side.index()].iter().enumerate() {
                let at = pos2(rights[part], row(side.index() + 1));
                painter.text(at, Align2::RIGHT_CENTER, text, font.clone(), palette.ink);
            }
        }
        let taken = painter.text(pos2(right, row(0)), Align2::RIGHT_CENTER, *head, theme::small(), palette.soft);
        right = (rights[0] - wide(0)).min(taken.left()) - BETWEEN[1];
        heads_from = taken.left() - BETWEEN[1];
    }
    let head = motion(figure, panel);
    // The motion can be read off the curves; what is left over cannot.
    let head = [format!("{} {head}", panel.what.name()), panel.what.name().to_owned()]
        .into_iter()
        .find(|text| ink::width(painter, text, theme::small()) < heads_from - rect.left());
    if let Some(head) = head {
        painter.text(pos2(rect.left(), row(0)), Align2::LEFT_CENTER, head, theme::small(), palette.soft);
    }
    // Where names have no room, the marks stand for them.
    let wide = names.iter().map(|name| ink::width(painter, name, theme::small())).fold(0.0, f32::max);
    for side in Side::BOTH {
        let middle = row(side.index() + 1);
        let mark = pos2(rect.left() + 5.0, middle);
        Mark::of(side).draw(painter, mark, 9.0, palette.side(side), palette.sheet);
        if wide <= right + BETWEEN[1] - 4.0 - rect.left() - MARK {
            let name = &names[side.index()];
            painter.text(pos2(rect.left() + MARK, middle), Align2::LEFT_CENTER, name, theme::small(), palette.ink);
        }
    }
    rect.top() + 3.0 * ROW
}

/// The motion that the numbers are for.
fn motion(figure: &LeftOvers, panel: &Panel) -> String {
    let [one, other] = figure.sides.each_ref().map(|ages| trimmed(panel.against.of(&ages.motion)));
    let unit = panel.against.unit();
    if one == other { format!("at {one} {unit}") } else { format!("at {one} and {other} {unit}") }
}

fn trimmed(value: f64) -> String {
    let text = number(value, 2);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Degrees and pixels of both designs, with the decimals that the greater one needs.
fn texts(angles: [Option<Angle>; 2]) -> [[String; 2]; 2] {
    let greatest = |of: fn(&Angle) -> f64| angles.iter().flatten().map(of).fold(0.0, f64::max);
    let deg = match greatest(|angle| angle.deg) {
        below if below < 0.1 => 3,
        below if below < 10.0 => 2,
        _ => 1,
    };
    let px = match greatest(|angle| angle.px) {
        below if below < 1.0 => 2,
        below if below < 10.0 => 1,
        _ => 0,
    };
    angles.map(|angle| {
        angle.map_or_else(
            || [NOTHING.to_owned(), NOTHING.to_owned()],
            |angle| [format!("{}°", number(angle.deg, deg)), format!("{} px", number(angle.px, px))],
        )
    })
}
