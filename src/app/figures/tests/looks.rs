//! Pictures of single figures, with the pointer where it tells something.

use std::path::PathBuf;

use eframe::egui::{Color32, Context, Event, Pos2, RawInput, Rect, Theme, Ui, Vec2};

use crate::app::painter::Painter;
use crate::app::picture::Picture;
use crate::app::theme::{self, Palette};

/// Frames until sizes have settled and what hovers is shown.
const FRAMES: u32 = 90;

/// Draws `contents` over a sheet in both themes. Written where `FRAMELAP_PICTURES` names a folder, to be looked at.
pub(super) fn look(name: &str, size: Vec2, pointer: Option<Pos2>, mut contents: impl FnMut(&mut Ui)) -> [Picture; 2] {
    [Theme::Light, Theme::Dark].map(|theme| {
        let picture = paint(size, theme, pointer, &mut contents);
        if let Some(folder) = std::env::var_os("FRAMELAP_PICTURES") {
            let path = PathBuf::from(folder).join(format!("{name}-{theme:?}.png"));
            picture.write_png(std::fs::File::create(path).unwrap()).unwrap();
        }
        picture
    })
}

fn paint(size: Vec2, theme: Theme, pointer: Option<Pos2>, contents: &mut impl FnMut(&mut Ui)) -> Picture {
    let ctx = Context::default();
    theme::apply(&ctx);
    ctx.set_theme(theme);
    ctx.all_styles_mut(|style| style.animation_time = 0.0);
    let mut painter = Painter::default();
    let mut shapes = Vec::new();
    for frame in 0..FRAMES {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)),
            time: Some(f64::from(frame) / 60.0),
            focused: true,
            events: pointer.filter(|_| frame == 2).map(Event::PointerMoved).into_iter().collect(),
            ..RawInput::default()
        };
        let mut output = ctx.run_ui(input, |ui| {
            ui.painter().rect_filled(ui.ctx().content_rect(), 0.0, Palette::current(ui).sheet);
            contents(ui);
        });
        painter.update(&mut output.textures_delta);
        shapes = std::mem::take(&mut output.shapes);
        output.drop_without_applying_deltas();
    }
    let primitives = ctx.tessellate(shapes, 1.0);
    let image = painter.paint([size.x as usize, size.y as usize], 1.0, Color32::BLACK, &primitives);
    let rgba = image.pixels.iter().flat_map(Color32::to_array).collect();
    Picture { width: image.size[0] as u32, height: image.size[1] as u32, rgba }
}
