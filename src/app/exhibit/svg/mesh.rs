//! Triangles as polygons: two that make a rectangle become one, neighbours of one colour one path.

use eframe::egui::epaint::Vertex;
use eframe::egui::{Color32, Mesh};

use super::paint::{fill, line, number};
use super::{SHARP, Writer};

/// Adds the triangles of a mesh; a triangle between several colours gets their mean.
pub(super) fn triangles(writer: &mut Writer, mesh: &Mesh) {
    let corner = |index: u32| mesh.vertices.get(index as usize);
    let mut at = 0;
    while let Some(three) = mesh.indices.get(at..at + 3) {
        let pair = mesh.indices.get(at..at + 6).and_then(|six| rectangle(six, &corner));
        if let Some((color, way)) = pair {
            add(writer, color, &way);
            at += 6;
            continue;
        }
        if let [Some(a), Some(b), Some(c)] = [0, 1, 2].map(|place| corner(three[place])) {
            add(writer, mean([a.color, b.color, c.color]), &line(&[a.pos, b.pos, c.pos], true));
        }
        at += 3;
    }
}

fn add(writer: &mut Writer, color: Color32, way: &str) {
    if color.a() > 0 {
        // What shines through would look otherwise where two of one path lie over each other.
        writer.path(format!("{}{SHARP}", fill(color)), way, color.is_opaque());
    }
}

/// Colour and way of the rectangle of one colour that two triangles make.
fn rectangle<'a>(six: &[u32], corner: &impl Fn(u32) -> Option<&'a Vertex>) -> Option<(Color32, String)> {
    if six[2] != six[3] || six[1] != six[4] {
        return None;
    }
    let [first, second, third, last] = [corner(six[0])?, corner(six[1])?, corner(six[2])?, corner(six[5])?];
    let same = |one: f32, other: f32| one.to_bits() == other.to_bits();
    let level = same(first.pos.y, second.pos.y) && same(third.pos.y, last.pos.y);
    let upright = same(first.pos.x, third.pos.x) && same(second.pos.x, last.pos.x);
    let one_color = [second, third, last].iter().all(|corner| corner.color == first.color);
    if !(level && upright && one_color) {
        return None;
    }
    let [left, top, right, bottom] = [first.pos.x, first.pos.y, last.pos.x, last.pos.y].map(number);
    Some((first.color, format!("M{left} {top}H{right}V{bottom}H{left}z")))
}

fn mean(colors: [Color32; 3]) -> Color32 {
    if colors[0] == colors[1] && colors[1] == colors[2] {
        return colors[0];
    }
    let part = |place: usize| {
        let sum: u32 = colors.iter().map(|color| u32::from(color.to_array()[place])).sum();
        (sum / 3) as u8
    };
    Color32::from_rgba_premultiplied(part(0), part(1), part(2), part(3))
}
