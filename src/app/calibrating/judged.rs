//! Measured against simulated: the largest disagreement in a sentence, and the figures of one role at a time.

use eframe::egui::{Align, Layout, Rect, RichText, Ui, UiBuilder, pos2, vec2};

use super::act::Ask;
use super::exhibit::MeasuredFigure;
use super::{Calibrating, Found};
use crate::app::figures::{Choice, Form, Picked};
use crate::app::theme::{self, Palette};
use crate::calibrate::Role;
use crate::report::calibration::CAUTION;
use crate::report::figures::measured::title;

/// Share of the height that the strip over time takes, and its least height \[pt\].
const STRIP: f32 = 0.36;
const STRIP_LEAST: f32 = 150.0;
/// Width of the quantiles beside the overlay, of the whole, and their least \[pt\].
const QUANTILES: f32 = 0.4;
const QUANTILES_LEAST: f32 = 480.0;
const GAP: f32 = 14.0;

impl Calibrating {
    /// Lays it out over the space there is.
    pub(super) fn compared(&self, ui: &mut Ui, asks: &mut Vec<Ask>) {
        let Some(found) = &self.found else { return };
        let palette = Palette::current(ui);
        let figures = &found.figures;
        ui.label(RichText::new(&figures.largest).strong()).on_hover_text(CAUTION);
        ui.label(RichText::new(&figures.basis).font(theme::small()).color(palette.soft));
        let roles = figures.roles();
        let Some(role) = self.role.filter(|role| roles.contains(role)).or_else(|| roles.first().copied()) else {
            return;
        };
        ui.horizontal_wrapped(|ui| {
            for other in &roles {
                if ui.selectable_label(role == *other, title(*other)).clicked() {
                    asks.push(Ask::Look(*other));
                }
            }
        });
        let space = ui.available_rect_before_wrap();
        let strip = (space.height() * STRIP).max(STRIP_LEAST).min(space.height() / 2.0);
        let border = space.bottom() - strip;
        let right = (space.width() * QUANTILES).max(QUANTILES_LEAST).min(space.width() / 2.0);
        let split = space.right() - right;
        let upper = |from: f32, to: f32| Rect::from_min_max(pos2(from, space.top()), pos2(to, border - 6.0));
        let mut form = self.form;
        let mut at = |ui: &mut Ui, rect: Rect, figure: MeasuredFigure| place(ui, rect, found, figure, &mut form, asks);
        at(ui, upper(space.left(), split - GAP), MeasuredFigure::Overlay(role));
        at(ui, upper(split, space.right()), MeasuredFigure::Quantiles);
        at(ui, space.with_min_y(border), MeasuredFigure::Course(role));
        if form != self.form {
            asks.push(Ask::Form(form));
        }
        ui.advance_cursor_after_rect(space);
    }
}

/// One figure, whose title offers to take it out.
fn place(ui: &mut Ui, rect: Rect, found: &Found, figure: MeasuredFigure, form: &mut Form, asks: &mut Vec<Ask>) {
    let figures = &found.figures;
    let missing = match figure {
        MeasuredFigure::Overlay(role) if figures.overlay(role).is_none() => Some(not_compared(role)),
        MeasuredFigure::Course(role) if figures.strip(role).is_none() => {
            Some("Too few frames were measured to tell a course over time.".to_owned())
        }
        _ => None,
    };
    if let Some(text) = missing {
        let at = rect.min + vec2(0.0, 12.0);
        let galley = ui.painter().layout(text, theme::text(), Palette::current(ui).soft, rect.width());
        ui.painter().galley(at, galley, Palette::current(ui).soft);
        return;
    }
    let choice = Choice::new(Vec::new(), true);
    let tagged = UiBuilder::new().max_rect(rect).layout(Layout::top_down(Align::Min)).ui_stack_info(choice.tag());
    ui.scope_builder(tagged, |ui| {
        ui.spacing_mut().item_spacing = vec2(8.0, 4.0);
        figure.draw(ui, figures, form);
    });
    if let Some(Picked::Take(take)) = choice.picked() {
        asks.push(Ask::Take(figure, take));
    }
}

fn not_compared(role: Role) -> String {
    format!("{}: no measured frame has the scenario's slice count, so nothing is compared.", title(role))
}
