//! The verdict as a sentence, and the budget as chips.

use eframe::egui::{Align2, Color32, Response, RichText, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, vec2};

use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::verdict::{Line, Met, Tone, Verdict};

/// The answer: the gain large, the sentence beside it, its uncertainty below.
pub fn verdict(ui: &mut Ui, verdict: &Verdict) -> Response {
    let palette = Palette::current(ui);
    let (color, mark) = signal(verdict.tone, palette);
    let row = ui.horizontal_top(|ui| {
        headline(ui, verdict, color, mark, palette);
        ui.add_space(10.0);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            ui.add(eframe::egui::Label::new(RichText::new(&verdict.sentence).font(theme::text())).wrap());
            if !verdict.uncertainty.is_empty() {
                let text = RichText::new(&verdict.uncertainty).font(theme::small()).color(palette.soft);
                ui.add(eframe::egui::Label::new(text).wrap());
            }
        });
    });
    row.response
}

/// The gain in large type; a flag in the signal's colour with its mark, so that doubt is seen before it is read.
fn headline(ui: &mut Ui, verdict: &Verdict, color: Color32, mark: Mark, palette: &Palette) {
    let large = theme::title_face(theme::LARGE);
    let text = ui.painter().layout_no_wrap(verdict.headline.clone(), large, palette.ink);
    let (rect, response) = ui.allocate_exact_size(text.size() + vec2(34.0, 8.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("Verdict: {}", verdict.headline)));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        let ground = theme::blend(palette.paper, color, if verdict.tone == Tone::Sooner { 0.10 } else { 0.22 });
        painter.rect(rect, 3.0, ground, Stroke::new(1.0, color), StrokeKind::Inside);
        mark.draw(painter, rect.left_center() + vec2(15.0, 0.0), 13.0, palette.ink, ground);
        painter.galley(rect.left_center() + vec2(27.0, -text.size().y / 2.0), text, palette.ink);
    }
}

const fn signal(tone: Tone, palette: &Palette) -> (Color32, Mark) {
    match tone {
        Tone::Sooner => (palette.candidate, Mark::Tick),
        Tone::Later => (palette.bad, Mark::Triangle),
        Tone::Mixed | Tone::Unclear => (palette.doubt, Mark::Dash),
        Tone::Unsteady | Tone::Nothing => (palette.bad, Mark::Cross),
    }
}

/// The budget's lines as chips, each with a mark of form and its distance to the limit. Gives the name of the line that was
/// clicked.
pub fn budget(ui: &mut Ui, lines: &[Line]) -> Option<&'static str> {
    let mut clicked = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(6.0, 6.0);
        let palette = Palette::current(ui);
        for line in lines.iter().filter(|line| !line.piece) {
            if chip(ui, line, palette).clicked() {
                clicked = Some(line.name);
            }
        }
        let pieces: Vec<&Line> = lines.iter().filter(|line| line.piece).collect();
        if let Some(name) = all_pieces(ui, &pieces, palette) {
            clicked = Some(name);
        }
    });
    clicked
}

/// The shares of the time: those not met one by one, the rest as one chip.
fn all_pieces(ui: &mut Ui, pieces: &[&Line], palette: &Palette) -> Option<&'static str> {
    let mut clicked = None;
    let (met, others): (Vec<&Line>, Vec<&Line>) = pieces.iter().partition(|line| line.met == Met::Yes);
    for line in others {
        if chip(ui, line, palette).clicked() {
            clicked = Some(line.name);
        }
    }
    if !met.is_empty() {
        let names: Vec<String> =
            met.iter().map(|line| format!("{}: {}, {}", line.label, line.value, line.room)).collect();
        let text = format!("{} of {} time shares", met.len(), pieces.len());
        let response = paint_chip(ui, Met::Yes, &text, "within", palette);
        response.on_hover_text(names.join("\n"));
    }
    clicked
}

fn chip(ui: &mut Ui, line: &Line, palette: &Palette) -> Response {
    let text = format!("{} {}", line.short, line.value);
    let response = paint_chip(ui, line.met, &text, &line.room, palette);
    response.on_hover_text(format!(
        "{}: {}\n{}, limit {}\nBaseline: {}",
        line.label,
        line.met.word(),
        line.value,
        line.limit,
        line.baseline
    ))
}

/// A chip: mark, name with value, distance to the limit.
fn paint_chip(ui: &mut Ui, met: Met, text: &str, room: &str, palette: &Palette) -> Response {
    let (color, mark) = match met {
        Met::Yes => (palette.good, Mark::Tick),
        Met::No => (palette.bad, Mark::Cross),
        Met::Unknown => (palette.doubt, Mark::Dash),
    };
    let name = ui.painter().layout_no_wrap(text.to_owned(), theme::small(), palette.ink);
    let rest = ui.painter().layout_no_wrap(room.to_owned(), theme::small(), palette.soft);
    let size = vec2(26.0 + name.size().x + 8.0 + rest.size().x + 8.0, 24.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Budget: {text}, {}, {room}", met.word())));
    if ui.is_rect_visible(rect) {
        let strength = if met == Met::Yes { 0.0 } else { 0.18 };
        let ground = theme::blend(palette.sheet, color, strength);
        let edge = if response.hovered() || response.has_focus() {
            palette.ink
        } else {
            theme::blend(palette.rule, color, 0.5)
        };
        let painter = ui.painter();
        painter.rect(rect, 3.0, ground, Stroke::new(1.0, edge), StrokeKind::Inside);
        mark.draw(painter, rect.left_center() + vec2(13.0, 0.0), 10.0, color, ground);
        let middle = rect.center().y;
        let at = |x: f32, height: f32| eframe::egui::pos2(x, middle - height / 2.0);
        let width = name.size().x;
        painter.galley(at(rect.left() + 24.0, name.size().y), name, palette.ink);
        painter.galley(at(rect.left() + 24.0 + width + 8.0, rest.size().y), rest, palette.soft);
    }
    response
}

/// Shown beside a figure whose design cannot be judged: an amber flag with words.
pub(super) fn flag(ui: &Ui, at: eframe::egui::Pos2, anchor: Align2, text: &str, palette: &Palette) {
    let ground = theme::blend(palette.sheet, palette.doubt, 0.3);
    ink::text_on(ui.painter(), at, anchor, text, theme::small(), [palette.ink, ground]);
}
