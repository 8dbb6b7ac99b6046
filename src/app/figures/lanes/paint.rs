//! Drawing of lanes: a mesh for every lane, marks of refreshes, the bar from pose to photons, the gain as a dimension.

mod header;

use eframe::egui::{Align2, Painter, Rangef, Rect, Stroke, Ui, pos2, vec2};

use super::window::Window;
use super::{Look, gain_in_words, path};
use crate::app::figures::chart::{self, Scale};
use crate::app::figures::highlight;
use crate::app::figures::ink::{self, Mark, Plate};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::lanes::{Block, Drawn, Lanes, LanesPair, Row, Stage, Way, Work};
use crate::report::figures::walk::share_done;
use crate::report::format::{count, ms};
use crate::time::ns_to_ms;

/// Width of the lanes' names.
const GUTTER: f32 = 96.0;
const HEADER: f32 = 20.0;
const BAR: f32 = 24.0;
const BETWEEN: f32 = 4.0;
const LANE: Rangef = Rangef { min: 13.0, max: 36.0 };
/// Names of the lines of the refresh that showed the frame, and space beside them \[pt\].
const NAMES: [&str; 2] = ["latch", "vsync"];
const BESIDE: f32 = 8.0;
/// Missed refreshes that are closer than this share a cross \[pt\].
const CROSSES: f32 = 3.0;
/// Height of all but lanes, axis and its name.
const FRAME: f32 = 2.0 * (HEADER + BAR) + BETWEEN;
/// Least height at which every lane can be named, over an axis without a name \[pt\].
pub(super) const LEAST_HEIGHT: f32 = 14.0 * LANE.min + FRAME + chart::TICKS;

/// Where everything is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sheet {
    rect: Rect,
    lane: f32,
}

impl Sheet {
    pub(super) fn new(rect: Rect) -> Self {
        let rest = rect.height() - FRAME - chart::BELOW;
        Self { rect, lane: (rest / 14.0).clamp(LANE.min, LANE.max) }
    }

    /// Where time runs.
    pub(super) fn time_area(&self) -> Rect {
        let top_left = pos2(self.rect.left() + GUTTER, self.rect.top());
        let height = 2.0 * self.group_height() + BETWEEN;
        Rect::from_min_size(top_left, vec2((self.rect.width() - GUTTER - 12.0).max(10.0), height))
    }

    fn group_height(&self) -> f32 {
        HEADER + 7.0 * self.lane + BAR
    }

    fn group(&self, side: Side) -> Rect {
        let area = self.time_area();
        let top = area.top() + side.index() as f32 * (self.group_height() + BETWEEN);
        Rect::from_min_size(pos2(area.left(), top), vec2(area.width(), self.group_height()))
    }

    /// The lane of a stage.
    pub(super) fn lane(&self, side: Side, stage: Stage) -> Rect {
        let group = self.group(side);
        let top = group.top() + HEADER + stage as usize as f32 * self.lane;
        Rect::from_min_size(pos2(group.left(), top), vec2(group.width(), self.lane))
    }

    /// The part of a lane that one of its rows has.
    pub(super) fn row(&self, side: Side, stage: Stage, row: usize, rows: usize) -> Rect {
        let lane = self.lane(side, stage).shrink2(vec2(0.0, 1.5));
        let height = lane.height() / rows.max(1) as f32;
        Rect::from_min_size(pos2(lane.left(), lane.top() + row as f32 * height), vec2(lane.width(), height))
    }

    /// The row of the bar from pose to photons.
    pub(super) fn bar(&self, side: Side) -> Rect {
        let group = self.group(side);
        Rect::from_min_max(pos2(group.left(), group.bottom() - BAR), group.max).shrink2(vec2(0.0, 3.0))
    }

    /// From ms after the pose to points.
    pub(super) fn scale(&self, window: Window) -> Scale {
        let area = self.time_area();
        Scale::linear(window.from_ns / 1e6, window.to_ns / 1e6, area.left(), area.right())
    }

    pub(super) fn paint(self, ui: &Ui, look: &Look<'_>) {
        let Look { lanes, paths, frame, window, walk, .. } = *look;
        let palette = Palette::current(ui);
        let x = self.scale(window);
        let painter = ui.painter();
        let clipped = painter.with_clip_rect(self.time_area().intersect(painter.clip_rect()));
        let mut words = Rangef::NOTHING;
        for side in Side::BOTH {
            let run = &lanes.sides[side.index()];
            let from_ns = run.ways.get(frame).and_then(|way| way.from_ns);
            let until_ns = walk.zip(from_ns).map(|((_, at_ns), from_ns)| from_ns + at_ns);
            let view = View { sheet: self, side, x, window, frame, until_ns, palette };
            view.ground(painter);
            if let Some(way) = run.ways.get(frame) {
                let taken;
                // In the end those of the candidate, between both bars.
                (taken, words) = view.header(painter, way, run, &lanes.names[side.index()], walk);
                if let Some(origin) = way.from_ns {
                    view.refreshes(&clipped, run, way, origin, taken);
                    view.blocks(&clipped, run, way, origin);
                    if let Some(path) = &paths[side.index()] {
                        path::draw(&clipped, &self, run, (side, until_ns), path, |ns| view.place(ns, origin), palette);
                    }
                    view.bar(&clipped, way, origin);
                }
            }
        }
        self.set_off(ui, palette);
        let area = self.time_area();
        if let Some((_, at_ns)) = walk {
            clipped.vline(x.place(ns_to_ms(at_ns)), area.y_range(), Stroke::new(1.5, palette.ink));
        }
        let arrived = |way: &Way| way.length_ns().is_some_and(|length| walk.is_none_or(|(_, at_ns)| at_ns >= length));
        if lanes.sides.iter().all(|run| run.ways.get(frame).is_some_and(arrived)) {
            self.gain(&clipped, (lanes, frame), &x, words, palette);
        }
        if area.bottom() + chart::BELOW > self.rect.bottom() + 0.5 {
            return chart::x_ticks_alone(painter, area, &x, "ms", palette);
        }
        let pose = format!("ms since the pose of frame {}", count(frame as u64));
        let name = format!("{pose}; knotted line: its critical path, dotted where it waits");
        chart::x_axis(painter, area, &x, &name, palette);
    }

    /// Lanes that are not highlighted fade, where some are.
    fn set_off(&self, ui: &Ui, palette: &Palette) {
        let highlight = highlight::highlight(ui);
        let mut rows = highlight::Rows::new(ui.painter(), &highlight, palette);
        for (side, stage) in Side::BOTH.into_iter().flat_map(|side| Stage::ALL.map(|stage| (side, stage))) {
            rows.add(self.lane(side, stage).with_min_x(self.rect.left()), highlight.stage(stage));
        }
        rows.mark();
    }

    /// The gain as a length between the two photon marks; `words` stand over the candidate's lanes.
    fn gain(
        &self,
        painter: &Painter,
        (lanes, frame): (&LanesPair, usize),
        x: &Scale,
        words: Rangef,
        palette: &Palette,
    ) {
        let Some(gain) = lanes.gain_ns(frame) else { return };
        let [before, after] = [0, 1].map(|side| {
            let length = lanes.sides[side].ways[frame].length_ns().unwrap_or(0);
            x.place(ns_to_ms(length))
        });
        let rows = Side::BOTH.map(|side| self.bar(side));
        // The dimension stands in the row of the shorter bar; the longer one's mark is carried over to it.
        let (row, from) = if gain >= 0 { (rows[1], rows[0].bottom()) } else { (rows[0], rows[1].top()) };
        let middle = row.center().y;
        let far = before.max(after);
        let near = before.min(after);
        let end = if gain >= 0 { row.bottom() } else { row.top() };
        let over = self.group(Side::Candidate).top();
        let [upper, lower] = [from.min(end), from.max(end)];
        // No line crosses words.
        let parts = if words.expand(3.0).contains(far) {
            [[upper, over], [over + HEADER, lower]]
        } else {
            [[upper, over], [over, lower]]
        };
        for [top, bottom] in parts {
            ink::dashed(painter, pos2(far, top), pos2(far, bottom), Stroke::new(1.0, palette.ink), [3.0, 3.0]);
        }
        if far - near > 14.0 {
            ink::dimension(painter, pos2(near + 7.0, middle), pos2(far, middle), Stroke::new(1.5, palette.ink));
        }
        let text = gain_in_words(gain);
        let wide = ink::width(painter, &text, theme::text());
        let (at, anchor) = if far - near > wide + 40.0 {
            (pos2(f32::midpoint(near + 7.0, far), middle), Align2::CENTER_CENTER)
        } else {
            (pos2(far + 8.0, middle), Align2::LEFT_CENTER)
        };
        ink::text_on(painter, at, anchor, text, theme::text(), [palette.ink, palette.sheet]);
    }
}

/// One side of the sheet, ready to be drawn.
struct View<'a> {
    sheet: Sheet,
    side: Side,
    x: Scale,
    window: Window,
    frame: usize,
    /// Up to where time has come, while a walk is open \[ns\].
    until_ns: Option<i64>,
    palette: &'a Palette,
}

impl View<'_> {
    fn place(&self, ns: i64, origin_ns: i64) -> f32 {
        self.x.place(ns_to_ms(ns - origin_ns))
    }

    /// Whether time has come to an instant.
    fn passed(&self, ns: i64) -> bool {
        self.until_ns.is_none_or(|until_ns| ns <= until_ns)
    }

    /// Names of the lanes, and rules between them.
    fn ground(&self, painter: &Painter) {
        let palette = self.palette;
        for stage in Stage::ALL {
            let lane = self.sheet.lane(self.side, stage);
            let from_left = lane.with_min_x(self.sheet.rect.left());
            if (stage as usize).is_multiple_of(2) {
                painter.rect_filled(from_left, 0.0, theme::blend(palette.sheet, palette.ink, 0.05));
            }
            let at = pos2(lane.left() - 8.0, lane.center().y);
            painter.text(at, Align2::RIGHT_CENTER, stage.name(), theme::small(), palette.soft);
        }
    }

    /// Vsyncs as rules, latches as dashes; those that showed the frame have their names, right of what is `taken`.
    fn refreshes(&self, painter: &Painter, run: &Lanes, way: &Way, origin: i64, taken: f32) {
        let period_ns = run.grid.refresh_period_ns();
        let group = self.sheet.group(self.side);
        let span = Rangef::new(group.top() + HEADER, group.bottom() - BAR);
        let apart = (self.x.place(period_ns / 1e6) - self.x.place(0.0)).abs();
        let own = way.photon_ns.map(|photon| photon - run.grid.photon_offset_ns());
        if apart >= 5.0 {
            let first = ((origin as f64 + self.window.from_ns) / period_ns).floor() as i64;
            let last = ((origin as f64 + self.window.to_ns) / period_ns).ceil() as i64 + 1;
            let rule = theme::blend(self.palette.sheet, self.palette.ink, 0.22);
            for refresh in first..=last {
                painter.vline(self.place(run.grid.vsync_ns(refresh), origin), span, Stroke::new(1.0, rule));
                let latch = self.place(run.grid.latch_ns(refresh), origin);
                ink::dashed(painter, pos2(latch, span.min), pos2(latch, span.max), Stroke::new(1.0, rule), [2.0, 4.0]);
            }
        }
        let Some(vsync) = own.filter(|vsync| self.passed(*vsync - run.grid.latch_lead_ns())) else { return };
        let strong = Stroke::new(1.5, self.palette.ink);
        let come = self.passed(vsync);
        let latch = self.place(vsync - run.grid.latch_lead_ns(), origin);
        let vsync = self.place(vsync, origin);
        if come {
            painter.vline(vsync, span, strong);
        }
        ink::dashed(painter, pos2(latch, span.min), pos2(latch, span.max), strong, [2.0, 3.0]);
        let y = span.min - 2.0;
        let colors = [self.palette.soft, self.palette.sheet];
        let put = |x: f32, text: &str| {
            ink::text_on(painter, pos2(x, y), Align2::CENTER_BOTTOM, text, theme::small(), colors);
        };
        let wide = NAMES.map(|text| ink::width(painter, text, theme::small()));
        let from = taken + BESIDE;
        if !come {
            if let Some(latch) = chart::over_line(latch, wide[0], from) {
                put(latch, "latch");
            }
        } else if let Some([latch, vsync]) = chart::over_lines([latch, vsync], wide, from) {
            put(latch, "latch");
            put(vsync, "vsync");
        } else if let Some(vsync) = chart::over_line(vsync, wide[1], from) {
            put(vsync, "vsync");
        }
    }

    fn blocks(&self, painter: &Painter, run: &Lanes, way: &Way, origin: i64) {
        for stage in Stage::ALL {
            let lane = run.lane(stage);
            let mut plate = Plate::new(painter);
            for (index, row) in lane.rows.iter().enumerate() {
                let rect = self.sheet.row(self.side, stage, index, lane.rows.len());
                self.row(&mut plate, row, rect, origin, way.to_ns().unwrap_or(origin));
            }
            plate.draw(painter);
        }
        self.missed(painter, run, origin);
    }

    /// A cross where photons were due and did not come.
    fn missed(&self, painter: &Painter, run: &Lanes, origin: i64) {
        let rows = run.lane(Stage::Display).rows.len();
        let light = self.sheet.row(self.side, Stage::Display, rows.saturating_sub(1), rows);
        let [from, to] = [self.window.from_ns, self.window.to_ns].map(|ns| origin.saturating_add(ns as i64));
        let apart_ns = ((self.window.to_ns - self.window.from_ns) * f64::from(CROSSES / light.width().max(1.0))) as i64;
        let to = self.until_ns.map_or(to, |until_ns| until_ns.min(to));
        let mut rest = &run.missed_ns[run.missed_ns.partition_point(|ns| *ns < from)..];
        while let Some(ns) = rest.first().filter(|ns| **ns <= to) {
            let at = pos2(self.place(*ns, origin), light.center().y);
            Mark::Cross.draw(painter, at, 9.0, self.palette.bad, self.palette.sheet);
            rest = &rest[rest.partition_point(|next| *next < ns.saturating_add(apart_ns.max(1)))..];
        }
    }

    fn row(&self, plate: &mut Plate, row: &Row, rect: Rect, origin: i64, end: i64) {
        let [from, to] = [self.window.from_ns, self.window.to_ns].map(|ns| origin.saturating_add(ns as i64));
        let pixel_ns = ((self.window.to_ns - self.window.from_ns) / f64::from(rect.width().max(1.0))) as i64;
        self.waits(plate, row, rect, origin, end);
        row.view(from, to, pixel_ns, |what| match what {
            Drawn::Block(block) => self.block(plate, block, rect, origin),
            Drawn::Folded { start_ns, work_ns, frames, .. } => {
                let left = self.place(start_ns, origin);
                let full = work_ns as f32 / pixel_ns.max(1) as f32;
                let own = (frames.0..=frames.1).contains(&(self.frame as u32)) && frames.1 - frames.0 < 3;
                let come = if self.passed(start_ns) { 1.0 } else { 0.2 };
                let strength = full.clamp(0.15, 1.0) * if own { 1.0 } else { 0.45 } * come;
                let color = theme::blend(self.palette.sheet, self.palette.side(self.side), strength);
                plate.fill(Rect::from_min_max(pos2(left, rect.top()), pos2(left + 1.0, rect.bottom())), color);
            }
        });
    }

    /// Waits of the frame itself: a thin line from where it came to where its work began, below the blocks.
    fn waits(&self, plate: &mut Plate, row: &Row, rect: Rect, origin: i64, end: i64) {
        let color = theme::blend(self.palette.sheet, self.palette.side(self.side), 0.6);
        let waited =
            |block: &&Block| block.waited_ns() > 0 && block.work != Work::Simulate && self.passed(block.come_ns);
        for block in row.of_frame(self.frame as u32, origin, end).filter(waited) {
            let to_ns = self.until_ns.map_or(block.start_ns, |until_ns| until_ns.min(block.start_ns));
            let [left, right] = [block.come_ns, to_ns].map(|ns| self.place(ns, origin));
            let middle = rect.center().y;
            plate.fill(Rect::from_min_max(pos2(left, middle - 0.5), pos2(right, middle + 0.5)), color);
            plate.fill(Rect::from_min_max(pos2(left, middle - 3.0), pos2(left + 1.0, middle + 3.0)), color);
        }
    }

    fn block(&self, plate: &mut Plate, block: &Block, rect: Rect, origin: i64) {
        let [left, right] = [block.start_ns, block.end_ns].map(|ns| self.place(ns, origin));
        // Neighbours are kept apart by a point, where there is room for it.
        let right = if right - left > 4.0 { right - 1.0 } else { right };
        let area = Rect::from_min_max(pos2(left, rect.top()), pos2(right, rect.bottom()));
        let own = block.frame as usize == self.frame;
        let palette = self.palette;
        let done = self.until_ns.map_or(1.0, |until_ns| share_done(block, until_ns)) as f32;
        if done < 1.0 {
            let strength = if own { 0.4 } else { 0.15 };
            plate.outline(area, theme::blend(palette.sheet, palette.side(self.side), strength));
        }
        if done <= 0.0 {
            return;
        }
        let area = area.with_max_x(area.left() + area.width() * done);
        match (self.side, own) {
            (_, true) if area.width() >= 3.0 => plate.side(area, self.side, palette),
            (_, true) => plate.fill(area, palette.side(self.side)),
            (Side::Baseline, false) if area.width() >= 3.0 => {
                plate.fill(area, palette.sheet);
                plate.outline(area, theme::blend(palette.sheet, palette.baseline, 0.33));
            }
            (Side::Baseline, false) => plate.fill(area, theme::blend(palette.sheet, palette.baseline, 0.33)),
            (Side::Candidate, false) => plate.fill(area, theme::blend(palette.sheet, palette.candidate, 0.26)),
        }
    }

    /// From pose to photons, or to where the frame ended.
    fn bar(&self, painter: &Painter, way: &Way, origin: i64) {
        let row = self.sheet.bar(self.side);
        let palette = self.palette;
        let Some(end) = way.to_ns() else { return };
        let over = self.passed(end);
        let end = self.until_ns.map_or(end, |until_ns| until_ns.min(end));
        let [left, right] = [origin, end].map(|ns| self.place(ns, origin));
        let rect = Rect::from_min_max(pos2(left, row.top() + 1.0), pos2(right.max(left + 1.0), row.bottom() - 1.0));
        let mut plate = Plate::new(painter);
        plate.side(rect, self.side, palette);
        plate.draw(painter);
        let color = palette.side(self.side);
        let tip = pos2(right, row.center().y);
        if !over {
            self.bar_text(painter, rect, &ms(ns_to_ms(end - origin)));
        } else if let Some(length) = way.length_ns() {
            Mark::of(self.side).draw(painter, tip, 13.0, color, palette.sheet);
            let text = format!("pose to photons {}", ms(ns_to_ms(length)));
            self.bar_text(painter, rect, &text);
        } else {
            Mark::Cross.draw(painter, tip, 13.0, palette.bad, palette.sheet);
            self.bar_text(painter, rect, "not shown");
        }
    }

    /// Written in the part of the bar that is in view, if there is room.
    fn bar_text(&self, painter: &Painter, bar: Rect, text: &str) {
        let seen = bar.intersect(self.sheet.time_area());
        let wide = ink::width(painter, text, theme::text());
        if seen.width() < wide + 24.0 {
            return;
        }
        let (color, ground) = match self.side {
            Side::Baseline => (self.palette.ink, self.palette.sheet),
            Side::Candidate => (self.palette.on_candidate, self.palette.candidate),
        };
        // The wiped ground stays within the bar's outline.
        let inside = painter.with_clip_rect(painter.clip_rect().intersect(bar.shrink(1.5)));
        inside.rect_filled(Rect::from_center_size(seen.center(), vec2(wide + 8.0, bar.height())), 0.0, ground);
        painter.text(seen.center(), Align2::CENTER_CENTER, text, theme::text(), color);
    }
}
