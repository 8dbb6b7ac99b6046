//! The verdict as a sentence. It is as high as the width says, whatever is told: what finds no room is elided and told
//! when pointed at, so that nothing below moves while a slider is dragged. What needs less stands in the middle. Where there is little room beside the gain, the
//! sentence stands below it, and its uncertainty beside.

use eframe::egui::text::LayoutJob;
use eframe::egui::{
    Align, Align2, Color32, FontId, Label, Layout, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, UiBuilder,
    Vec2, WidgetInfo, vec2,
};

use super::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::verdict::{Tone, Verdict};

/// The words of the sentence that are not everyday ones.
const TERMS: &str = "Median, p50: half of the frames that were shown took so long or less. p99: 99 of 100 did.\n\
    Missed refresh: a frame was due and is not on display.\n\
    Loaded: the share of its time that a stage has work for; over 100 % it cannot keep up.";
/// Room around the headline's text, the left with its mark \[pt\].
const BESIDE: Vec2 = vec2(34.0, 8.0);
/// Width that the headline may take \[pt\].
const HEADLINE: f32 = 280.0;
/// Width of a sentence with all its numbers, on one line \[pt\].
const SENTENCE: f32 = 1880.0;
/// Least and greatest number of lines of the sentence, and the most beside the gain.
const ROWS: (usize, usize) = (2, 5);
const ROWS_BESIDE: usize = 3;
/// Width of the uncertainty on one line \[pt\].
const UNCERTAINTY: f32 = 730.0;
/// Lines of the uncertainty at most.
const SMALLS: f32 = 2.0;
/// Distance of the uncertainty from the sentence, and of the sentence from the gain above it \[pt\].
const APART: f32 = 3.0;
const BELOW: f32 = 6.0;

/// The answer: the gain large, the sentence beside it and its uncertainty below, or the sentence below both.
pub fn verdict(ui: &mut Ui, verdict: &Verdict) -> Response {
    let palette = Palette::current(ui);
    let width = ui.available_width();
    let beside = (width - HEADLINE).max(1.0);
    let rows_in = |width: f32| ((SENTENCE / width).ceil() as usize).clamp(ROWS.0, ROWS.1);
    let [line, small] = [theme::text(), theme::small()].map(|font| ui.fonts_mut(|fonts| fonts.row_height(&font)));
    let smalls = (UNCERTAINTY / beside).ceil().clamp(1.0, SMALLS);
    let below = rows_in(beside) > ROWS_BESIDE;
    let rows = rows_in(if below { width } else { beside });
    let sentence = rows as f32 * line;
    let gain = headline_height(ui).max(smalls * small);
    let height = if below { gain + BELOW + sentence } else { sentence + APART + smalls * small };
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let mut inside = |rect: Rect, contents: &mut dyn FnMut(&mut Ui)| {
        let builder = UiBuilder::new().max_rect(rect).layout(Layout::left_to_right(Align::Min));
        contents(&mut ui.new_child(builder));
    };
    inside(rect, &mut |ui| {
        let room = if below { gain } else { height };
        ui.vertical(|ui| {
            ui.add_space(((room - headline_height(ui)) / 2.0).max(0.0));
            headline(ui, verdict, palette);
        });
        ui.add_space(10.0);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = APART;
            let said = if below { 0.0 } else { height_of(ui, &verdict.sentence, theme::text(), rows) + APART };
            let most = (((room - said + 0.5) / small).floor().max(1.0)) as usize;
            let doubt = height_of(ui, &verdict.uncertainty, theme::small(), most);
            ui.add_space(((room - said - doubt) / 2.0).max(0.0));
            if !below {
                lines(ui, &verdict.sentence, theme::text(), palette.ink, rows).on_hover_text(TERMS);
            }
            if !verdict.uncertainty.is_empty() {
                // What is left is its, and one line at least.
                lines(ui, &verdict.uncertainty, theme::small(), palette.soft, most);
            }
        });
    });
    if below {
        let rect = rect.with_min_y(rect.top() + gain + BELOW);
        inside(rect, &mut |ui| {
            ui.vertical(|ui| {
                let said = height_of(ui, &verdict.sentence, theme::text(), rows);
                ui.add_space(((sentence - said) / 2.0).max(0.0));
                lines(ui, &verdict.sentence, theme::text(), palette.ink, rows).on_hover_text(TERMS);
            });
        });
    }
    response
}

/// How high a text is on so many lines at most \[pt\].
fn height_of(ui: &Ui, text: &str, font: FontId, most: usize) -> f32 {
    if text.is_empty() {
        return 0.0;
    }
    let mut job = LayoutJob::simple(with_units(text), font, Color32::PLACEHOLDER, ui.available_width());
    job.wrap.max_rows = most;
    ui.painter().layout_job(job).size().y
}

/// A text in which no line ends between a number and its unit.
fn with_units(text: &str) -> String {
    ["%", "ms"].iter().fold(text.to_owned(), |text, unit| text.replace(&format!(" {unit}"), &format!("\u{a0}{unit}")))
}

/// Height of the gain in large type.
fn headline_height(ui: &Ui) -> f32 {
    ui.fonts_mut(|fonts| fonts.row_height(&theme::title_face(theme::LARGE))) + BESIDE.y
}

/// A text on so many lines at most; what finds no room is told when pointed at.
fn lines(ui: &mut Ui, text: &str, font: FontId, color: Color32, most: usize) -> Response {
    let mut job = LayoutJob::simple(with_units(text), font, color, ui.available_width());
    job.wrap.max_rows = most;
    ui.add(Label::new(job).wrap())
}

/// The gain in large type; a flag in the signal's colour with its mark, so that doubt is seen before it is read.
fn headline(ui: &mut Ui, verdict: &Verdict, palette: &Palette) {
    let (color, mark) = signal(verdict.tone, palette);
    let of_size =
        |size: f32| ui.painter().layout_no_wrap(verdict.headline.clone(), theme::title_face(size), palette.ink);
    let mut text = of_size(theme::LARGE);
    if text.size().x + BESIDE.x > HEADLINE {
        // The sentence keeps its room.
        text = of_size(theme::TITLE);
    }
    let (rect, response) = ui.allocate_exact_size(text.size() + BESIDE, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("Verdict: {}", verdict.headline)));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        let ground = theme::blend(palette.paper, color, if verdict.tone == Tone::Sooner { 0.10 } else { 0.22 });
        painter.rect(rect, 3.0, ground, Stroke::new(1.0, color), StrokeKind::Inside);
        mark.draw(painter, rect.left_center() + vec2(15.0, 0.0), 13.0, palette.ink, ground);
        painter.galley(rect.left_center() + vec2(27.0, -text.size().y / 2.0), text, palette.ink);
    }
}

pub(super) const fn signal(tone: Tone, palette: &Palette) -> (Color32, Mark) {
    match tone {
        Tone::Sooner => (palette.candidate, Mark::Tick),
        Tone::Later => (palette.bad, Mark::Triangle),
        // A dash before a gain would be read as a minus.
        Tone::Mixed => (palette.doubt, Mark::Triangle),
        Tone::Unclear => (palette.doubt, Mark::Dash),
        Tone::Unsteady | Tone::Nothing => (palette.bad, Mark::Cross),
    }
}

/// Shown beside a figure whose design cannot be judged: an amber flag with words.
pub(super) fn flag(ui: &Ui, at: eframe::egui::Pos2, anchor: Align2, text: &str, palette: &Palette) {
    let ground = theme::blend(palette.sheet, palette.doubt, 0.3);
    ink::text_on(ui.painter(), at, anchor, text, theme::small(), [palette.ink, ground]);
}
