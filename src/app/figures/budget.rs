//! The budget as tiles of one height, in columns: what the limit is of, the value, how far it is from the limit.

use eframe::egui::text::{LayoutJob, TextFormat};
use eframe::egui::{
    Align, Color32, Label, Layout, Rect, Response, RichText, Role, Sense, Stroke, StrokeKind, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};

use super::ink::Mark;
use crate::app::theme::{self, Palette};
use crate::report::figures::verdict::{Line, Met};

/// Height of a tile, and of the budget on one line \[pt\].
const TILE: f32 = 38.0;
const LOW: f32 = 24.0;
/// Distance between tiles \[pt\].
const GAP: f32 = 6.0;
/// Width from which all tiles stand side by side \[pt\].
const ONE_ROW: f32 = 1000.0;
/// Widths of six tiles side by side, as weights: pose to photon, missed, load, level, bits, shares of the time.
const WEIGHTS: [f32; 6] = [1.05, 0.95, 0.9, 0.95, 1.12, 1.03];

/// What a tile shows.
struct Tile {
    met: Met,
    mark: Mark,
    color: Color32,
    name: String,
    value: String,
    room: String,
    /// All of it in words, to be read when pointed at.
    meaning: String,
    /// The line whose limit it leads to.
    line: &'static str,
}

/// The budget's lines as tiles, and the shares of its time as one more. Gives the name of the line that was clicked.
pub fn budget(ui: &mut Ui, lines: &[Line]) -> Option<&'static str> {
    let palette = Palette::current(ui);
    let mut tiles: Vec<Tile> = lines.iter().filter(|line| !line.piece).map(|line| Tile::of(line, palette)).collect();
    let pieces: Vec<&Line> = lines.iter().filter(|line| line.piece).collect();
    tiles.extend(Tile::of_pieces(&pieces, palette));
    let width = ui.available_width();
    let rows = if width >= ONE_ROW { 1 } else { 2 };
    let (place, _) = ui.allocate_exact_size(vec2(width, rows as f32 * (TILE + GAP) - GAP), Sense::hover());
    let mut clicked = None;
    for (number, tile) in tiles.iter().enumerate() {
        if let Some(rect) = rect(place, rows, number)
            && tile.show(ui, rect, palette).clicked()
        {
            clicked = Some(tile.line);
        }
    }
    clicked
}

/// The place of a tile.
fn rect(place: Rect, rows: usize, number: usize) -> Option<Rect> {
    let columns = WEIGHTS.len() / rows;
    let (row, column) = (number / columns, number % columns);
    let weight = |column: usize| if rows == 1 { WEIGHTS[column] } else { 1.0 };
    let all: f32 = (0..columns).map(weight).sum();
    let unit = (place.width() - GAP * (columns - 1) as f32) / all;
    let left = place.left() + (0..column).map(|before| weight(before) * unit + GAP).sum::<f32>();
    let top = place.top() + row as f32 * (TILE + GAP);
    (row < rows).then(|| Rect::from_min_size(pos2(left, top), vec2(weight(column) * unit, TILE)))
}

/// The budget on one line, where there is little room: how much is met, and what is not, as far as it fits.
pub fn budget_on_a_line(ui: &mut Ui, lines: &[Line]) -> Option<&'static str> {
    let palette = Palette::current(ui);
    // The shares of the time are no limits; there is not room for them here.
    let lines: Vec<&Line> = lines.iter().filter(|line| !line.piece).collect();
    let over: Vec<Tile> =
        lines.iter().filter(|line| line.met != Met::Yes || line.doubted).map(|line| Tile::of(line, palette)).collect();
    let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), LOW), Sense::hover());
    let met = lines.iter().filter(|line| line.met == Met::Yes).count();
    let told = format!("Budget: {met} of {} lines met", lines.len());
    let told = text_at_left(ui, place, told);
    let mut clicked = None;
    let mut left = told + 10.0;
    for (number, tile) in over.iter().enumerate() {
        let text = tile.job(palette, true);
        let galley = ui.painter().layout_job(text);
        let width = galley.size().x + 34.0;
        let rest = over.len() - number;
        let more = if rest > 1 { 70.0 } else { 0.0 };
        if left + width + more > place.right() {
            let names: Vec<String> = over[number..].iter().map(|tile| tile.meaning.clone()).collect();
            let space = Rect::from_min_max(pos2(left, place.top()), place.max);
            let label = Label::new(RichText::new(format!("{rest} more")).font(theme::small()).color(palette.soft));
            ui.put(space.with_max_x((left + 60.0).min(place.right())), label).on_hover_text(names.join("\n"));
            break;
        }
        let rect = Rect::from_min_size(pos2(left, place.top()), vec2(width, LOW));
        let response = tile.frame(ui, rect, palette);
        ui.painter().galley(pos2(rect.left() + 26.0, rect.center().y - galley.size().y / 2.0), galley, palette.ink);
        if response.clicked() {
            clicked = Some(tile.line);
        }
        left += width + GAP;
    }
    clicked
}

impl Tile {
    /// A line of the budget.
    fn of(line: &Line, palette: &Palette) -> Self {
        let (color, mark) = match line.met {
            Met::Yes if line.doubted => (palette.doubt, Mark::Triangle),
            Met::Yes => (palette.good, Mark::Tick),
            Met::No => (palette.bad, Mark::Cross),
            Met::Unknown => (palette.doubt, Mark::Dash),
        };
        let meaning = format!(
            "{}: {}\n{}, limit {}\n{}\nBaseline: {}",
            line.label,
            line.met.word(),
            line.value,
            line.limit,
            line.room,
            line.baseline
        );
        let doubt = if line.doubted { "\nFrames that are not shown do not count here: see the warning." } else { "" };
        let room = if line.doubted { "see warning".to_owned() } else { line.room.clone() };
        let (name, value, meaning) = (line.short.to_owned(), line.value.clone(), meaning + doubt);
        Self { met: line.met, mark, color, name, value, room, meaning, line: line.name }
    }

    /// The shares of the time: how many are kept, and which is not. One over its share fails no budget, so it has a mark
    /// of its own.
    fn of_pieces(pieces: &[&Line], palette: &Palette) -> Option<Self> {
        let over: Vec<&&Line> = pieces.iter().filter(|line| line.met != Met::Yes).collect();
        let first = over.first().copied().or(pieces.first())?;
        let (met, mark, color, room) = match over.as_slice() {
            [] => (Met::Yes, Mark::Tick, palette.good, "within".to_owned()),
            [one] => (one.met, Mark::Triangle, palette.doubt, format!("{} {}", one.short, one.room)),
            [one, ..] => {
                let names: Vec<&str> = over.iter().map(|line| line.short).collect();
                (one.met, Mark::Triangle, palette.doubt, format!("over: {}", names.join(", ")))
            }
        };
        let every: Vec<String> =
            pieces.iter().map(|line| format!("{}: {}, {}", line.label, line.value, line.room)).collect();
        Some(Self {
            met,
            mark,
            color,
            name: "Time shares".to_owned(),
            value: format!("{} of {}", pieces.len() - over.len(), pieces.len()),
            room,
            meaning: format!("Mean exposed time of each part against its share\n{}", every.join("\n")),
            line: first.name,
        })
    }

    fn show(&self, ui: &Ui, rect: Rect, palette: &Palette) -> Response {
        let response = self.frame(ui, rect, palette);
        let room = rect.width() - 26.0 - 6.0;
        let text = |mut job: LayoutJob| {
            job.wrap.max_width = room;
            job.wrap.max_rows = 1;
            job.wrap.break_anywhere = true;
            ui.painter().layout_job(job)
        };
        let name = text(LayoutJob::simple_singleline(self.name.clone(), theme::small(), palette.soft));
        let rest = text(self.job(palette, false));
        let at = |height: f32| pos2(rect.left() + 26.0, height);
        ui.painter().galley(at(rect.center().y - name.size().y - 0.5), name, palette.soft);
        ui.painter().galley(at(rect.center().y + 0.5), rest, palette.ink);
        response
    }

    /// Value and room, with the name before them where there is one line only.
    fn job(&self, palette: &Palette, name: bool) -> LayoutJob {
        let mut job = LayoutJob::default();
        let format = |color| TextFormat::simple(theme::small(), color);
        if name {
            job.append(&format!("{} ", self.name), 0.0, format(palette.ink));
        }
        job.append(&self.value, 0.0, format(palette.ink));
        job.append(&self.room, 7.0, format(palette.soft));
        job
    }

    /// Ground, edge and mark.
    fn frame(&self, ui: &Ui, rect: Rect, palette: &Palette) -> Response {
        let id = ui.scope_id().with(("budget", self.line, &self.name));
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| {
            let text = format!("Budget: {} {}, {}, {}", self.name, self.value, self.met.word(), self.room);
            WidgetInfo::labeled(Role::Button, true, text)
        });
        if ui.is_rect_visible(rect) {
            let strength = if self.met == Met::Yes && self.mark == Mark::Tick { 0.0 } else { 0.18 };
            let ground = theme::blend(palette.sheet, self.color, strength);
            let edge = if response.hovered() || response.has_focus() {
                palette.ink
            } else {
                theme::blend(palette.rule, self.color, 0.5)
            };
            ui.painter().rect(rect, 3.0, ground, Stroke::new(1.0, edge), StrokeKind::Inside);
            self.mark.draw(ui.painter(), rect.left_center() + vec2(13.0, 0.0), 10.0, self.color, ground);
        }
        response.on_hover_text(&self.meaning)
    }
}

/// Text at the left of a place, in the middle of its height; gives its right end.
fn text_at_left(ui: &mut Ui, place: Rect, text: String) -> f32 {
    let inside = UiBuilder::new().max_rect(place).layout(Layout::left_to_right(Align::Center));
    ui.new_child(inside).label(text).rect.right()
}
