//! A painter of egui's meshes in plain Rust: pictures of the window without a display, a driver or a library of the
//! system. It blends as egui's own shader does, premultiplied and in gamma space, so a picture is what the window shows.

use std::collections::BTreeMap;

use eframe::egui::epaint::{ClippedPrimitive, ColorImage, ImageData, ImageDelta, Primitive, Vertex};
use eframe::egui::{Color32, Mesh, Pos2, Rect, TextureId, TexturesDelta, Vec2, pos2};

/// Turns tessellated output into pictures; keeps the textures between them.
#[derive(Debug, Default)]
pub struct Painter {
    textures: BTreeMap<TextureId, ColorImage>,
}

impl Painter {
    /// Takes new, changed and freed textures; to be called once with the output of every pass.
    pub fn update(&mut self, delta: &mut TexturesDelta) {
        #[expect(clippy::iter_over_hash_type, reason = "each texture is set apart from the others")]
        for (id, changes) in delta.set.drain() {
            for change in changes {
                self.set(id, &change);
            }
        }
        #[expect(clippy::iter_over_hash_type, reason = "each texture is freed apart from the others")]
        for id in delta.free.drain() {
            self.textures.remove(&id);
        }
    }

    fn set(&mut self, id: TextureId, change: &ImageDelta) {
        let ImageData::Color(image) = &change.image;
        let Some([left, top]) = change.pos else {
            self.textures.insert(id, (**image).clone());
            return;
        };
        let Some(whole) = self.textures.get_mut(&id) else { return };
        let [width, height] = image.size;
        for row in 0..height {
            let start = (top + row) * whole.size[0] + left;
            whole.pixels[start..start + width].copy_from_slice(&image.pixels[row * width..][..width]);
        }
    }

    /// Paints `primitives` on a ground of one colour; `size` in pixels, `scale` in pixels per point.
    pub fn paint(&self, size: [usize; 2], scale: f32, ground: Color32, primitives: &[ClippedPrimitive]) -> ColorImage {
        let mut picture = ColorImage::filled(size, ground);
        for ClippedPrimitive { clip_rect, primitive } in primitives {
            // Paint callbacks need a graphics driver; this window has none.
            if let Primitive::Mesh(mesh) = primitive
                && let Some(texture) = self.textures.get(&mesh.texture_id)
            {
                let clip = Clip::new(*clip_rect, scale, size);
                paint_mesh(&mut picture, texture, mesh, scale, clip);
            }
        }
        picture
    }
}

/// Pixels that may be painted, half open.
#[derive(Clone, Copy)]
struct Clip {
    left: usize,
    top: usize,
    right: usize,
    bottom: usize,
}

impl Clip {
    fn new(rect: Rect, scale: f32, [width, height]: [usize; 2]) -> Self {
        let at = |points: f32, most: usize| ((points * scale).round().max(0.0) as usize).min(most);
        Self {
            left: at(rect.min.x, width),
            top: at(rect.min.y, height),
            right: at(rect.max.x, width),
            bottom: at(rect.max.y, height),
        }
    }
}

fn paint_mesh(picture: &mut ColorImage, texture: &ColorImage, mesh: &Mesh, scale: f32, clip: Clip) {
    for corners in mesh.indices.chunks_exact(3) {
        let corner = |i: usize| {
            let vertex = mesh.vertices[corners[i] as usize];
            Vertex { pos: (vertex.pos.to_vec2() * scale).to_pos2(), ..vertex }
        };
        paint_triangle(picture, texture, [corner(0), corner(1), corner(2)], clip);
    }
}

/// Twice the signed area of the triangle `a`, `b`, `p`.
fn edge(a: Pos2, b: Pos2, p: Pos2) -> f32 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}

/// Whether a pixel centre on the edge from `a` to `b` belongs to the triangle: an edge that two triangles share is
/// painted once, so that feathered borders stay even.
#[expect(clippy::float_cmp, reason = "a level edge is one whose ends are at exactly the same height")]
fn owns(a: Pos2, b: Pos2) -> bool {
    (a.y == b.y && b.x > a.x) || b.y < a.y
}

fn paint_triangle(picture: &mut ColorImage, texture: &ColorImage, [a, mut b, mut c]: [Vertex; 3], clip: Clip) {
    let mut area = edge(a.pos, b.pos, c.pos);
    if area < 0.0 {
        std::mem::swap(&mut b, &mut c);
        area = -area;
    }
    // Not a number, nothing, or too thin to hold a pixel centre.
    if area.is_nan() || area <= 0.0 {
        return;
    }
    let own = [owns(b.pos, c.pos), owns(c.pos, a.pos), owns(a.pos, b.pos)];
    let shade = Shade::new(texture, [a, b, c]);
    let low = a.pos.min(b.pos).min(c.pos);
    let high = a.pos.max(b.pos).max(c.pos);
    let columns = clip.left.max(low.x.max(0.0) as usize)..clip.right.min(high.x.max(0.0).ceil() as usize);
    let rows = clip.top.max(low.y.max(0.0) as usize)..clip.bottom.min(high.y.max(0.0).ceil() as usize);
    let width = picture.size[0];
    for y in rows {
        for x in columns.clone() {
            let p = pos2(x as f32 + 0.5, y as f32 + 0.5);
            let weight = [edge(b.pos, c.pos, p), edge(c.pos, a.pos, p), edge(a.pos, b.pos, p)];
            if (0..3).all(|i| weight[i] > 0.0 || (weight[i] == 0.0 && own[i])) {
                let under = &mut picture.pixels[y * width + x];
                *under = blend(*under, shade.at(weight.map(|w| w / area)));
            }
        }
    }
}

/// Colour over a triangle: corner colours times texture, both interpolated where they differ.
struct Shade<'a> {
    texture: &'a ColorImage,
    colors: [[f32; 4]; 3],
    uvs: [Vec2; 3],
    one_color: bool,
    one_texel: Option<[f32; 4]>,
}

impl<'a> Shade<'a> {
    fn new(texture: &'a ColorImage, corners: [Vertex; 3]) -> Self {
        let colors = corners.map(|corner| corner.color.to_array().map(f32::from));
        let uvs = corners.map(|corner| corner.uv.to_vec2());
        let one_texel = (uvs[0] == uvs[1] && uvs[1] == uvs[2]).then(|| sample(texture, uvs[0]));
        let one_color = corners[0].color == corners[1].color && corners[1].color == corners[2].color;
        Self { texture, colors, uvs, one_color, one_texel }
    }

    /// Premultiplied colour, each channel 0 to 255.
    fn at(&self, [u, v, t]: [f32; 3]) -> [f32; 4] {
        let Self { texture, colors: [first, second, third], uvs, .. } = self;
        let color =
            if self.one_color { *first } else { std::array::from_fn(|i| first[i] * u + second[i] * v + third[i] * t) };
        let texel = self.one_texel.unwrap_or_else(|| sample(texture, uvs[0] * u + uvs[1] * v + uvs[2] * t));
        std::array::from_fn(|i| color[i] * texel[i] / 255.0)
    }
}

fn blend(under: Color32, over: [f32; 4]) -> Color32 {
    let below = under.to_array();
    let rest = 1.0 - over[3] / 255.0;
    let [r, g, b, a] = std::array::from_fn(|i| (over[i] + f32::from(below[i]) * rest).round().clamp(0.0, 255.0) as u8);
    Color32::from_rgba_premultiplied(r, g, b, a)
}

/// The texture at `uv`, between its four nearest texels, clamped to the edge.
fn sample(texture: &ColorImage, uv: Vec2) -> [f32; 4] {
    let [width, height] = texture.size;
    let x = (uv.x * width as f32 - 0.5).clamp(0.0, (width - 1) as f32);
    let y = (uv.y * height as f32 - 0.5).clamp(0.0, (height - 1) as f32);
    let (left, top) = (x as usize, y as usize);
    let (right, bottom) = ((left + 1).min(width - 1), (top + 1).min(height - 1));
    let (across, down) = (x - left as f32, y - top as f32);
    let texel = |x: usize, y: usize| texture.pixels[y * width + x].to_array().map(f32::from);
    let (nw, ne, sw, se) = (texel(left, top), texel(right, top), texel(left, bottom), texel(right, bottom));
    std::array::from_fn(|i| {
        let upper = nw[i] + (ne[i] - nw[i]) * across;
        let lower = sw[i] + (se[i] - sw[i]) * across;
        upper + (lower - upper) * down
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn white() -> Painter {
        let mut painter = Painter::default();
        painter.set(TextureId::default(), &ImageDelta::full(ColorImage::filled([1, 1], Color32::WHITE), default()));
        painter
    }

    fn default<T: Default>() -> T {
        T::default()
    }

    fn quad(rect: Rect, color: Color32, clip_rect: Rect) -> ClippedPrimitive {
        let mut mesh = Mesh::default();
        mesh.add_colored_rect(rect, color);
        ClippedPrimitive { clip_rect, primitive: Primitive::Mesh(mesh) }
    }

    #[test]
    fn two_triangles_paint_each_pixel_once() {
        // A half transparent square of two triangles: a pixel painted twice would be brighter.
        let half = Color32::from_rgba_premultiplied(100, 100, 100, 128);
        let rect = Rect::from_min_max(pos2(2.0, 1.0), pos2(9.0, 8.0));
        let picture = white().paint([12, 10], 1.0, Color32::BLACK, &[quad(rect, half, Rect::EVERYTHING)]);
        for y in 0..10 {
            for x in 0..12 {
                let inside = (2..9).contains(&x) && (1..8).contains(&y);
                let expected = if inside { 100 } else { 0 };
                assert_eq!(picture.pixels[y * 12 + x].r(), expected, "pixel {x}, {y}");
            }
        }
    }

    #[test]
    fn clip_is_in_points_and_half_open() {
        let clip = Rect::from_min_max(pos2(1.0, 1.0), pos2(2.0, 3.0));
        let picture = white().paint([8, 8], 2.0, Color32::BLACK, &[quad(Rect::EVERYTHING, Color32::RED, clip)]);
        let painted = picture.pixels.iter().filter(|pixel| pixel.r() == 255).count();
        assert_eq!(painted, 0, "an infinite rectangle has no area that can be painted");
        let rect = Rect::from_min_max(pos2(-5.0, -5.0), pos2(50.0, 50.0));
        let picture = white().paint([8, 8], 2.0, Color32::BLACK, &[quad(rect, Color32::RED, clip)]);
        let painted: Vec<usize> = (0..64).filter(|&i| picture.pixels[i].r() == 255).collect();
        assert_eq!(painted, [18, 19, 26, 27, 34, 35, 42, 43], "columns 2 and 3 of rows 2 to 5");
    }

    #[test]
    fn patch_replaces_its_part_of_a_texture() {
        let mut painter = white();
        let id = TextureId::Managed(7);
        painter.set(id, &ImageDelta::full(ColorImage::filled([3, 2], Color32::BLACK), default()));
        let mut patch = ImageDelta::full(ColorImage::filled([1, 2], Color32::WHITE), default());
        patch.pos = Some([1, 0]);
        painter.set(id, &patch);
        let row: Vec<u8> = painter.textures[&id].pixels.iter().map(Color32::r).collect();
        assert_eq!(row, [0, 255, 0, 0, 255, 0]);
        let [r, g, b, a] = sample(&painter.textures[&id], Vec2::new(1.0 / 3.0, 0.5)).map(|part| part.round() as u8);
        assert_eq!([r, g, b, a], [128, 128, 128, 255], "half way between black and white");
    }
}
