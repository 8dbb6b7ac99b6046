//! What is under the pointer.

use eframe::egui::{Pos2, Response, Stroke, StrokeKind, Ui, pos2};

use super::paint::Sheet;
use super::window::Window;
use crate::app::theme::Palette;
use crate::report::figures::Side;
use crate::report::figures::lanes::{Block, LanesPair, Stage, Work};
use crate::report::format::{count, exact_ms};

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

/// Tells about the block under the pointer and frames it; gives the stage that was clicked, by block or by lane.
pub(super) fn hover(
    ui: &Ui,
    sheet: &Sheet,
    lanes: &LanesPair,
    frame: usize,
    window: Window,
    response: &Response,
) -> Option<Stage> {
    let pointer = response.hover_pos()?;
    let (side, stage) = lane_at(sheet, pointer)?;
    let clicked = response.clicked().then_some(stage);
    let in_time = pointer.x >= sheet.time_area().left();
    let found = in_time.then(|| find(sheet, lanes, frame, window, (side, stage), pointer)).flatten();
    if let Some(found) = found {
        outline(ui, sheet, lanes, window, &found);
        response.clone().on_hover_text_at_pointer(in_words(&found));
    } else if !in_time {
        response.clone().on_hover_text_at_pointer(format!("{}: click for its parameters", stage.name()));
    }
    clicked
}

fn lane_at(sheet: &Sheet, pointer: Pos2) -> Option<(Side, Stage)> {
    let all = Side::BOTH.into_iter().flat_map(|side| Stage::ALL.map(|stage| (side, stage)));
    all.into_iter().find(|(side, stage)| sheet.lane(*side, *stage).y_range().contains(pointer.y))
}

fn find<'a>(
    sheet: &Sheet,
    lanes: &'a LanesPair,
    frame: usize,
    window: Window,
    (side, stage): (Side, Stage),
    pointer: Pos2,
) -> Option<Found<'a>> {
    let run = &lanes.sides[side.index()];
    let origin_ns = run.ways.get(frame)?.from_ns?;
    let x = sheet.scale(window);
    let at_ns = origin_ns + (x.value(pointer.x) * 1e6) as i64;
    let reach_ns = ((x.value(1.0) - x.value(0.0)) * 1e6 * REACH) as i64;
    let rows = &run.lane(stage).rows;
    let row = (0..rows.len()).find(|row| sheet.row(side, stage, *row, rows.len()).y_range().contains(pointer.y))?;
    let block = rows[row].near(at_ns, reach_ns)?;
    Some(Found { side, stage, row, block, origin_ns })
}

fn outline(ui: &Ui, sheet: &Sheet, lanes: &LanesPair, window: Window, found: &Found<'_>) {
    let rows = lanes.sides[found.side.index()].lane(found.stage).rows.len();
    let row = sheet.row(found.side, found.stage, found.row, rows);
    let x = sheet.scale(window);
    let place = |ns: i64| x.place((ns - found.origin_ns) as f64 / 1e6);
    let rect = eframe::egui::Rect::from_min_max(
        pos2(place(found.block.start_ns), row.top()),
        pos2(place(found.block.end_ns), row.bottom()),
    );
    let seen = rect.expand(1.0).intersect(sheet.time_area());
    ui.painter().rect_stroke(seen, 1.0, Stroke::new(2.0, Palette::current(ui).doubt), StrokeKind::Outside);
}

/// The block in words: what, when, how long, how long it waited.
fn in_words(found: &Found<'_>) -> String {
    let Found { block, origin_ns, .. } = found;
    let part = match block.work {
        work if work.sliced() => format!(", slice {}", block.part + 1),
        Work::Render if block.part > 0 => format!(", part {}", block.part + 1),
        _ => String::new(),
    };
    let [from, to] = [block.start_ns, block.end_ns].map(|ns| exact_ms(ns - origin_ns));
    let waited = match block.waited_ns() {
        0 => String::new(),
        waited => format!("\nwaited {} for {}", exact_ms(waited), waited_for(block.work)),
    };
    let frame = count(u64::from(block.frame));
    format!(
        "{}, frame {frame}{part}\n{} long\nfrom {from} to {to}{waited}",
        block.work.name(),
        exact_ms(block.length_ns())
    )
}

const fn waited_for(work: Work) -> &'static str {
    match work {
        Work::Pose | Work::Light => "nothing",
        Work::Simulate => "the CPU, or a frame to leave the host",
        Work::Render => "the GPU",
        Work::Encode => "the encoder",
        Work::Send | Work::Resend => "the link",
        Work::Decode => "the decoder",
        Work::Compose => "the latch",
    }
}
