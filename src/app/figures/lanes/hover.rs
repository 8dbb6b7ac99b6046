//! What is under the pointer: the card of a block, or the list of the critical path on the bar.

use eframe::egui::{Grid, Pos2, Response, RichText, Stroke, StrokeKind, Ui, pos2};

use super::Look;
use super::paint::Sheet;
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::lanes::{Block, Card, CriticalPath, Stage};
use crate::report::format::{exact_ms, share};

/// A block is found up to so many points beside it.
const REACH: f64 = 2.0;

/// Something under the pointer.
struct Found<'a> {
    side: Side,
    stage: Stage,
    row: usize,
    block: &'a Block,
    origin_ns: i64,
}

/// Tells about the block under the pointer and frames it, or lists what the bar is made of; gives the stage that was
/// clicked, by block, by lane or by a part of the bar.
pub(super) fn hover(ui: &Ui, sheet: &Sheet, look: &Look<'_>, response: &Response) -> Option<Stage> {
    let pointer = response.hover_pos()?;
    let in_time = pointer.x >= sheet.time_area().left();
    if let Some(side) = Side::BOTH.into_iter().find(|side| sheet.bar(*side).y_range().contains(pointer.y)) {
        return in_time.then(|| bar(sheet, look, side, pointer, response)).flatten();
    }
    let (side, stage) = lane_at(sheet, pointer)?;
    let found = in_time.then(|| find(sheet, look, (side, stage), pointer)).flatten();
    if let Some(found) = found {
        outline(ui, sheet, look, &found);
        let (lanes, answer) = (&look.lanes.sides[side.index()], look.answers[side.index()]);
        response.clone().on_hover_ui_at_pointer(|ui| card(ui, &Card::new(answer, lanes, found.block), found.origin_ns));
    } else if !in_time {
        response.clone().on_hover_text_at_pointer(format!("{}: click for its parameters", stage.name()));
    }
    response.clicked().then_some(stage)
}

fn lane_at(sheet: &Sheet, pointer: Pos2) -> Option<(Side, Stage)> {
    let all = Side::BOTH.into_iter().flat_map(|side| Stage::ALL.map(|stage| (side, stage)));
    all.into_iter().find(|(side, stage)| sheet.lane(*side, *stage).y_range().contains(pointer.y))
}

fn find<'a>(sheet: &Sheet, look: &Look<'a>, (side, stage): (Side, Stage), pointer: Pos2) -> Option<Found<'a>> {
    let run = &look.lanes.sides[side.index()];
    let origin_ns = run.ways.get(look.frame)?.from_ns?;
    let x = sheet.scale(look.window);
    let at_ns = origin_ns + (x.value(pointer.x) * 1e6) as i64;
    let reach_ns = ((x.value(1.0) - x.value(0.0)) * 1e6 * REACH) as i64;
    let rows = &run.lane(stage).rows;
    let row = (0..rows.len()).find(|row| sheet.row(side, stage, *row, rows.len()).y_range().contains(pointer.y))?;
    let block = rows[row].near(at_ns, reach_ns)?;
    Some(Found { side, stage, row, block, origin_ns })
}

fn outline(ui: &Ui, sheet: &Sheet, look: &Look<'_>, found: &Found<'_>) {
    let rows = look.lanes.sides[found.side.index()].lane(found.stage).rows.len();
    let row = sheet.row(found.side, found.stage, found.row, rows);
    let x = sheet.scale(look.window);
    let place = |ns: i64| x.place((ns - found.origin_ns) as f64 / 1e6);
    let rect = eframe::egui::Rect::from_min_max(
        pos2(place(found.block.start_ns), row.top()),
        pos2(place(found.block.end_ns), row.bottom()),
    );
    let seen = rect.expand(1.0).intersect(sheet.time_area());
    ui.painter().rect_stroke(seen, 1.0, Stroke::new(2.0, Palette::current(ui).doubt), StrokeKind::Outside);
}

/// The card of a block.
fn card(ui: &mut Ui, card: &Card, origin_ns: i64) {
    let palette = Palette::current(ui);
    ui.label(RichText::new(card.title()).font(theme::text()).strong());
    Grid::new("card").num_columns(2).spacing([12.0, 2.0]).show(ui, |ui| {
        for (name, value) in card.lines(origin_ns) {
            ui.label(RichText::new(name).font(theme::small()).color(palette.soft));
            ui.label(RichText::new(value).font(theme::small()));
            ui.end_row();
        }
    });
}

/// What the bar from pose to photons is made of, the piece under the pointer set off; gives its stage if it was clicked.
fn bar(sheet: &Sheet, look: &Look<'_>, side: Side, pointer: Pos2, response: &Response) -> Option<Stage> {
    let path = look.paths[side.index()].as_ref()?;
    let origin_ns = path.legs.first()?.start_ns;
    let at_ns = origin_ns + (sheet.scale(look.window).value(pointer.x) * 1e6) as i64;
    let leg = path.legs.iter().find(|leg| (leg.start_ns..leg.end_ns).contains(&at_ns))?;
    let name = &look.lanes.names[side.index()];
    response.clone().on_hover_ui_at_pointer(|ui| list(ui, name, path, leg.piece));
    response.clicked().then_some(leg.stage)
}

/// The pieces of a path and their sum.
fn list(ui: &mut Ui, name: &str, path: &CriticalPath, here: crate::measure::Piece) {
    let palette = Palette::current(ui);
    let whole = path.length_ns();
    ui.label(RichText::new(format!("{name}: pose to photons")).font(theme::text()).strong());
    Grid::new("path").num_columns(3).spacing([12.0, 1.0]).show(ui, |ui| {
        let mut row = |name: &str, ns: i64, strong: bool| {
            let dress = |text: String| {
                let text = RichText::new(text).color(if strong { palette.ink } else { palette.soft });
                if strong { text.strong() } else { text }
            };
            ui.label(dress(name.to_owned()).font(theme::small()));
            let part = if whole > 0 { ns as f64 / whole as f64 } else { 0.0 };
            for text in [exact_ms(ns), share(part)] {
                ui.label(dress(format!("{text:>9}")).font(theme::figures(theme::SMALL)));
            }
            ui.end_row();
        };
        for (piece, ns) in path.pieces() {
            row(piece.label(), ns, piece == here);
        }
        row("In all", whole, true);
    });
}
