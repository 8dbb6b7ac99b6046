//! Thicker strokes for high contrast: whatever draws them, every stroke of a frame is widened on its way to the screen.

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{Context, FullOutput, Plugin, Shape};

/// How much wider strokes are.
const FACTOR: f32 = 1.5;

/// Widens the strokes of a context's frames while it is on.
#[derive(Debug, Default)]
pub(super) struct Thick {
    on: bool,
}

/// Switches the wide strokes of a context.
pub(super) fn set(ctx: &Context, on: bool) {
    // Asked for by name first: a plugin is made once and then there.
    ctx.plugin_or_default::<Thick>().lock().on = on;
}

impl Plugin for Thick {
    fn debug_name(&self) -> &'static str {
        "thick strokes"
    }

    fn output_hook(&mut self, _: &Context, output: &mut FullOutput) {
        if self.on {
            for ClippedShape { shape, .. } in &mut output.shapes {
                widen(shape);
            }
        }
    }
}

fn widen(shape: &mut Shape) {
    match shape {
        Shape::Vec(shapes) => shapes.iter_mut().for_each(widen),
        Shape::Circle(circle) => circle.stroke.width *= FACTOR,
        Shape::Ellipse(ellipse) => ellipse.stroke.width *= FACTOR,
        Shape::LineSegment { stroke, .. } => stroke.width *= FACTOR,
        Shape::Path(path) => path.stroke.width *= FACTOR,
        Shape::Rect(rect) => rect.stroke.width *= FACTOR,
        Shape::QuadraticBezier(curve) => curve.stroke.width *= FACTOR,
        Shape::CubicBezier(curve) => curve.stroke.width *= FACTOR,
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Color32, Pos2, RawInput, Stroke};

    fn drawn(ctx: &Context) -> f32 {
        let output = ctx.run_ui(RawInput::default(), |ui| {
            ui.painter().line_segment([Pos2::ZERO, Pos2::new(9.0, 0.0)], Stroke::new(2.0, Color32::RED));
        });
        let widths = output.shapes.iter().filter_map(|clipped| match &clipped.shape {
            Shape::LineSegment { stroke, .. } => Some(stroke.width),
            _ => None,
        });
        let width = widths.sum();
        output.drop_without_applying_deltas();
        width
    }

    #[test]
    fn strokes_are_wider_while_it_is_on() {
        let ctx = Context::default();
        set(&ctx, true);
        assert!((drawn(&ctx) - 3.0).abs() < 1e-6);
        set(&ctx, false);
        assert!((drawn(&ctx) - 2.0).abs() < 1e-6);
    }
}
