//! The painter as the test harness's renderer: pixel tests without a graphics driver.

use eframe::egui::{Color32, Context, FullOutput, TexturesDelta};
use egui_kittest::TestRenderer;

use crate::app::painter::Painter;

/// Renders with the window's own painter.
#[derive(Default)]
pub(super) struct Cpu(Painter);

impl TestRenderer for Cpu {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        self.0.update(delta);
    }

    fn render(&mut self, ctx: &Context, output: &FullOutput) -> Result<image::RgbaImage, String> {
        let scale = ctx.pixels_per_point();
        let size = ctx.content_rect().size() * scale;
        let primitives = ctx.tessellate(output.shapes.clone(), scale);
        let size = [size.x.round() as usize, size.y.round() as usize];
        let picture = self.0.paint(size, scale, Color32::BLACK, &primitives);
        let bytes = picture.pixels.iter().flat_map(Color32::to_array).collect();
        image::RgbaImage::from_raw(size[0] as u32, size[1] as u32, bytes).ok_or_else(|| "size".to_owned())
    }
}
