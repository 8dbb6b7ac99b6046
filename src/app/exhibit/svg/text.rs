//! Rows of text as text, each as wide as it was laid out.

use eframe::egui::epaint::TextShape;
use eframe::egui::epaint::text::{Galley, Glyph, LayoutSection, TextFormat};
use eframe::egui::{Color32, FontFamily, Vec2, vec2};

use super::paint::{fill, number, point};
use super::{MONOSPACE, Writer, escaped};

/// Letters of one row in one format.
struct Run<'a> {
    format: &'a TextFormat,
    text: String,
    /// Left end and baseline, within the galley \[pt\].
    at: Vec2,
    /// Right end \[pt\].
    right: f32,
}

/// Adds every row of a text, part by part where its format changes.
pub(super) fn rows(writer: &mut Writer, shape: &TextShape) {
    for run in runs(&shape.galley) {
        let color = shape.override_text_color.unwrap_or(match run.format.color {
            Color32::PLACEHOLDER => shape.fallback_color,
            color => color,
        });
        let color = color.gamma_multiply(shape.opacity_factor);
        if color.a() == 0 {
            continue;
        }
        let at = shape.pos + run.at;
        let place = if shape.angle == 0.0 {
            format!("x=\"{}\" y=\"{}\"", number(at.x), number(at.y))
        } else {
            let (origin, degrees) = (point(shape.pos), number(shape.angle.to_degrees()));
            let [x, y] = [run.at.x, run.at.y].map(number);
            format!("x=\"{x}\" y=\"{y}\" transform=\"translate({origin}) rotate({degrees})\"")
        };
        let face = match run.format.font_id.family {
            FontFamily::Monospace => format!(" font-family=\"{MONOSPACE}\" font-weight=\"400\""),
            _ => String::new(),
        };
        writer.element(&format!(
            "<text {place} font-size=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"{face}{} \
             xml:space=\"preserve\">{}</text>",
            number(run.format.font_id.size),
            number(run.right - run.at.x),
            fill(color),
            escaped(&run.text)
        ));
    }
}

fn runs(galley: &Galley) -> Vec<Run<'_>> {
    let mut runs: Vec<Run<'_>> = Vec::new();
    let mut byte = 0;
    for row in &galley.rows {
        let origin = row.pos.to_vec2();
        let mut open: Option<Run<'_>> = None;
        for glyph in &row.row.glyphs {
            let Some(format) = format_at(galley, byte) else { break };
            byte += glyph.chr.len_utf8();
            match &mut open {
                Some(run) if run.format == format => run.take(glyph, origin.x),
                // Space where a run begins needs no text.
                _ if glyph.chr.is_whitespace() => runs.extend(open.take()),
                _ => {
                    runs.extend(open.take());
                    let at = vec2(glyph.pos.x, glyph.pos.y) + origin;
                    let mut run = Run { format, text: String::new(), at, right: at.x };
                    run.take(glyph, origin.x);
                    open = Some(run);
                }
            }
        }
        runs.extend(open);
        byte += usize::from(row.ends_with_newline);
    }
    for run in &mut runs {
        run.text.truncate(run.text.trim_end().len());
    }
    runs
}

impl Run<'_> {
    fn take(&mut self, glyph: &Glyph, left: f32) {
        self.text.push(glyph.chr);
        // Space at the end of a row is not set.
        if !glyph.chr.is_whitespace() {
            self.right = left + glyph.pos.x + glyph.advance_width;
        }
    }
}

/// The format of the text at a byte; beyond its end, where an ellipsis stands, the last one.
fn format_at(galley: &Galley, byte: usize) -> Option<&TextFormat> {
    let sections = &galley.job.sections;
    let within = |section: &&LayoutSection| {
        let range = &section.byte_range;
        range.start.0 <= byte && byte < range.end.0
    };
    sections.iter().find(within).or_else(|| sections.last()).map(|section| &section.format)
}
