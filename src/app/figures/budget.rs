//! The budget as tiles of one height, in columns: what the limit is of, the value, how far it is from the limit.

use eframe::egui::text::{LayoutJob, TextFormat};
use eframe::egui::{
    Align, Color32, Layout, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::verdict::{Line, Met};

/// Height of a tile, and of the budget on one line \[pt\].
const TILE: f32 = 38.0;
const LOW: f32 = 24.0;
/// Distance between tiles \[pt\].
const GAP: f32 = 6.0;
/// Width from which all tiles stand side by side \[pt\].
const ONE_ROW: f32 = 1000.0;
/// Widths of six tiles side by side, as weights: pose to photon, missed, load, level, bits, allowances.
const WEIGHTS: [f32; 6] = [1.05, 0.95, 0.9, 0.95, 1.12, 1.03];

/// What a tile shows.
struct Tile {
    met: Met,
    /// Whether it holds, in words.
    word: &'static str,
    mark: Mark,
    color: Color32,
    name: String,
    value: String,
    room: String,
    /// The same in ever fewer words, where there are some.
    shorter: Vec<String>,
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

/// The budget on one line, where there is little room: how much is met, what is not, and the allowances where a team
/// is over; each with as much as there is room for, so that none is missing. Gives the name of the line that was clicked.
pub fn budget_on_a_line(ui: &mut Ui, lines: &[Line]) -> Option<&'static str> {
    let palette = Palette::current(ui);
    let (pieces, lines): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|line| line.piece);
    let unmet = lines.iter().filter(|line| line.met != Met::Yes || line.doubted).map(|line| Tile::of(line, palette));
    let shares = Tile::of_pieces(&pieces, palette).filter(|_| pieces.iter().any(|line| line.met != Met::Yes));
    let tiles: Vec<Tile> = unmet.chain(shares).collect();
    let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), LOW), Sense::hover());
    let met = lines.iter().filter(|line| line.met == Met::Yes).count();
    let words = [format!("Budget: {met} of {} lines met", lines.len()), format!("{met} of {} met", lines.len())];
    let told = |words: &str| ink::width(ui.painter(), words, theme::text());
    let wide = |tile: &Tile, much| ui.painter().layout_job(tile.job(palette, much)).size().x + 34.0 + GAP;
    let fits = |words: &str, much| {
        told(words) + 10.0 + tiles.iter().map(|tile| wide(tile, much)).sum::<f32>() - GAP <= place.width()
    };
    let ways = [(0, Much::All), (0, Much::Value), (1, Much::Value), (0, Much::Name), (1, Much::Name)];
    let (words, much) = ways
        .map(|(at, much)| (&words[at], much))
        .into_iter()
        .find(|(words, much)| fits(words, *much))
        .unwrap_or((&words[1], Much::Mark));
    let mut left = text_at_left(ui, place, words) + 10.0;
    let mut clicked = None;
    for tile in &tiles {
        let galley = ui.painter().layout_job(tile.job(palette, much));
        let rect = Rect::from_min_size(pos2(left, place.top()), vec2(galley.size().x + 34.0, LOW));
        let response = tile.frame(ui, rect, palette);
        ui.painter().galley(pos2(rect.left() + 26.0, rect.center().y - galley.size().y / 2.0), galley, palette.ink);
        if response.clicked() {
            clicked = Some(tile.line);
        }
        left += rect.width() + GAP;
    }
    clicked
}

/// How much of a line is told on one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Much {
    /// Name, value and room.
    All,
    /// Name and value.
    Value,
    /// The name.
    Name,
    /// The mark alone: what it is of is told when pointed at.
    Mark,
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
            line.word(),
            line.value,
            line.limit,
            line.room,
            line.baseline
        );
        let doubt = if line.doubted { "\nFrames that are not shown do not count here: see the warning." } else { "" };
        let room = if line.doubted { "see warning".to_owned() } else { line.room.clone() };
        let (name, value, meaning) = (line.short.to_owned(), line.value.clone(), meaning + doubt);
        Self {
            met: line.met,
            word: line.word(),
            mark,
            color,
            name,
            value,
            room,
            shorter: Vec::new(),
            meaning,
            line: line.name,
        }
    }

    /// The allowances: how many teams are within theirs, and which is not. One over its own fails no budget, so it has a mark
    /// of its own.
    fn of_pieces(pieces: &[&Line], palette: &Palette) -> Option<Self> {
        let over: Vec<&&Line> = pieces.iter().filter(|line| line.met != Met::Yes).collect();
        let worst = over.iter().max_by(|one, two| one.beyond.total_cmp(&two.beyond)).copied().copied();
        let first = worst.or_else(|| pieces.first().copied())?;
        let (met, mark, color, room, shorter) = match worst {
            None => (Met::Yes, Mark::Tick, palette.good, "within".to_owned(), Vec::new()),
            Some(worst) if worst.met == Met::Unknown => {
                (worst.met, Mark::Dash, palette.doubt, worst.room.clone(), Vec::new())
            }
            Some(worst) => {
                let told = format!("{} {}", worst.short, worst.room);
                let most = if over.len() > 1 { format!("most: {told}") } else { told.clone() };
                let shorter = vec![told, format!("{} over", worst.short), worst.short.to_owned()];
                (worst.met, Mark::Triangle, palette.doubt, most, shorter)
            }
        };
        let every: Vec<String> =
            pieces.iter().map(|line| format!("{}: {}, {}", line.label, line.value, line.room)).collect();
        Some(Self {
            met,
            word: worst.map_or("within", Line::word),
            mark,
            color,
            name: "Allowances".to_owned(),
            value: format!("{} of {}", pieces.len() - over.len(), pieces.len()),
            room,
            shorter,
            meaning: format!("Mean exposed time of each team against its allowance\n{}", every.join("\n")),
            line: first.name,
        })
    }

    fn show(&self, ui: &Ui, rect: Rect, palette: &Palette) -> Response {
        let response = self.frame(ui, rect, palette);
        let inner = rect.width() - 26.0 - 6.0;
        let text = |mut job: LayoutJob| {
            job.wrap.max_width = inner;
            job.wrap.max_rows = 1;
            job.wrap.break_anywhere = true;
            ui.painter().layout_job(job)
        };
        let name = text(LayoutJob::simple_singleline(self.name.clone(), theme::small(), palette.soft));
        let job = |room: &str| {
            let mut job = LayoutJob::default();
            told(&mut job, &self.value, room, palette);
            job
        };
        let fits = |room: &&String| ui.painter().layout_job(job(room)).size().x <= inner;
        let ways = || std::iter::once(&self.room).chain(&self.shorter);
        let rest = text(job(ways().find(fits).or(ways().last()).unwrap_or(&self.room)));
        let at = |height: f32| pos2(rect.left() + 26.0, height);
        ui.painter().galley(at(rect.center().y - name.size().y - 0.5), name, palette.soft);
        ui.painter().galley(at(rect.center().y + 0.5), rest, palette.ink);
        response
    }

    /// Name, value and room on one line, as much of them as is wanted.
    fn job(&self, palette: &Palette, much: Much) -> LayoutJob {
        let (value, room) = match much {
            Much::All => (self.value.as_str(), self.room.as_str()),
            Much::Value => (self.value.as_str(), ""),
            Much::Name | Much::Mark => ("", ""),
        };
        if much == Much::Mark {
            return LayoutJob::default();
        }
        let mut job = LayoutJob::default();
        let after = if value.is_empty() { "" } else { " " };
        job.append(&format!("{}{after}", self.name), 0.0, TextFormat::simple(theme::small(), palette.ink));
        told(&mut job, value, room, palette);
        job
    }

    /// Ground, edge and mark.
    fn frame(&self, ui: &Ui, rect: Rect, palette: &Palette) -> Response {
        let id = ui.scope_id().with(("budget", self.line, &self.name));
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| {
            let text = format!("Budget: {} {}, {}, {}", self.name, self.value, self.word, self.room);
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

/// Appends a value, and how far it is from its limit, to a line.
fn told(job: &mut LayoutJob, value: &str, room: &str, palette: &Palette) {
    job.append(value, 0.0, TextFormat::simple(theme::small(), palette.ink));
    if !room.is_empty() {
        job.append(room, 7.0, TextFormat::simple(theme::small(), palette.soft));
    }
}

/// Text at the left of a place, in the middle of its height; gives its right end.
fn text_at_left(ui: &mut Ui, place: Rect, text: &str) -> f32 {
    let inside = UiBuilder::new().max_rect(place).layout(Layout::left_to_right(Align::Center));
    ui.new_child(inside).label(text).rect.right()
}
