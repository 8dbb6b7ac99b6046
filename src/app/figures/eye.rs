//! One eye's field of both designs, drawn to scale with the density of its pixels, and what the picture asks of the codec.

mod field;
mod limits;

use eframe::egui::{Rect, Response, RichText, Role, Sense, Ui, WidgetInfo, pos2, vec2};

use serde::{Deserialize, Serialize};

use super::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::eye::Eyes;
use crate::report::format::number;

const LEAST_HEIGHT: f32 = 176.0;
/// Width from which fields and limits stand beside each other, and the space between them.
const BOTH: f32 = 640.0;
const GAP: f32 = 32.0;
/// Greatest share of the width that the fields take.
const FIELDS: f32 = 0.58;
/// Width of the fields for their height, beyond which they do not grow.
const WIDE: f32 = 1.6;

/// Which half is drawn where there is not room for both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct EyeView {
    /// The codec's limits instead of the field.
    pub limits: bool,
}

impl EyeView {
    /// Draws fields and limits over the space there is, or one of them.
    pub fn show(&mut self, ui: &mut Ui, eyes: &Eyes, names: &[String; 2]) -> Response {
        let both = ui.available_width() >= BOTH;
        ui.horizontal(|ui| {
            ink::title(ui, "Eye's field").on_hover_text(MEANING);
            if !both {
                ui.spacing_mut().item_spacing.x = 3.0;
                ui.add_space(6.0);
                let small = |text: &str| RichText::new(text).font(theme::small());
                ui.selectable_value(&mut self.limits, false, small("Density"));
                ui.selectable_value(&mut self.limits, true, small("Codec limits"));
            }
        });
        let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(eyes, names)));
        if !ui.is_rect_visible(rect) {
            return response;
        }
        if both {
            let border = rect.left() + (rect.width() * FIELDS).min(rect.height() * WIDE);
            field::paint(ui, rect.with_max_x(border), eyes, names, &response);
            limits::paint(ui, Rect::from_min_max(pos2(border + GAP, rect.top()), rect.max), eyes, names, &response);
        } else if self.limits {
            limits::paint(ui, rect, eyes, names, &response);
        } else {
            field::paint(ui, rect, eyes, names, &response);
        }
        response
    }
}

/// Draws the fields alone, as large as they can be, for a room.
pub fn eye_slide(ui: &mut Ui, eyes: &Eyes, names: &[String; 2]) -> Response {
    ui.horizontal(|ui| ink::title(ui, "One eye's field: the darker, the more pixels are coded"));
    let (rect, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(eyes, names)));
    field::paint_large(ui, rect, eyes, names, &response);
    limits::levels(
        ui.painter(),
        rect.with_min_y(rect.bottom() - limits::LEVELS),
        &eyes.limits,
        names,
        Palette::current(ui),
    );
    response
}

const MEANING: &str = "One eye's field of view, to scale in degrees: the darker, the more pixels are coded per square \
    degree. Pixels are taken to be spread evenly over the angle: eye pixels over field of view, times the layout's \
    density. What a lens makes of it is no part of the model.";

/// What is to be seen, in words.
fn in_words(eyes: &Eyes, names: &[String; 2]) -> String {
    let of = |side: Side| {
        let eye = &eyes.sides[side.index()];
        let [center, edge] = eye.px_per_deg.map(|px| number(px, 1));
        let level = eyes.limits.needed[side.index()].as_ref().map_or_else(String::new, |needed| {
            format!(", {}, {}", needed.in_words(), if needed.met { "allowed" } else { "not allowed" })
        });
        format!("{} {center} px/deg at the centre, {edge} at the edge{level}", names[side.index()])
    };
    format!("Eye's field: {}; {}", of(Side::Baseline), of(Side::Candidate))
}
