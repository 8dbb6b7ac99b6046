//! What a document holds.

use std::sync::Arc;

use eframe::egui::{Align2, Color32, Context, FontId, Mesh, RawInput, Stroke, pos2, vec2};
use roxmltree::{Document, Node};

use super::*;

const SIZE: Vec2 = vec2(200.0, 100.0);

fn written(shapes: &[(Rect, Shape)]) -> String {
    let clipped = |(clip_rect, shape): &(Rect, Shape)| ClippedShape::new(*clip_rect, shape.clone());
    let shapes: Vec<ClippedShape> = shapes.iter().map(clipped).collect();
    document(SIZE, &shapes, About { title: "A < B & C", description: "one\ntwo \u{1}\"x\"" })
}

fn all<'a>(document: &'a Document<'_>, name: &str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", name))).collect()
}

#[test]
fn title_and_description_are_text_whatever_they_hold() {
    let text = written(&[]);
    let document = Document::parse(&text).unwrap();
    assert_eq!(all(&document, "title")[0].text(), Some("A < B & C"));
    assert_eq!(all(&document, "desc")[0].text(), Some("one\ntwo \"x\""));
    assert_eq!(document.root_element().attribute("viewBox"), Some("0 0 200 100"));
}

#[test]
fn what_is_cut_off_is_clipped_and_what_is_outside_left_out() {
    let clip = Rect::from_min_max(pos2(10.0, 10.0), pos2(50.0, 50.0));
    let rect =
        |from: f32, to: f32| Shape::rect_filled(Rect::from_min_max(pos2(from, from), pos2(to, to)), 0.0, Color32::RED);
    let text = written(&[(clip, rect(20.0, 30.0)), (clip, rect(40.0, 80.0)), (clip, rect(60.0, 80.0))]);
    let document = Document::parse(&text).unwrap();
    let clips = all(&document, "clipPath");
    assert_eq!((clips.len(), clips[0].attribute("id")), (1, Some("c0")));
    let drawn: Vec<_> = all(&document, "rect").into_iter().filter(|rect| rect.has_attribute("fill")).collect();
    assert_eq!(drawn.len(), 2);
    assert_eq!(drawn[0].parent().unwrap().attribute("clip-path"), None);
    assert_eq!(drawn[1].parent().unwrap().attribute("clip-path"), Some("url(#c0)"));
}

#[test]
fn rectangles_of_a_mesh_are_one_path_by_colour() {
    let mut mesh = Mesh::default();
    for (left, color) in [(0.0, Color32::BLUE), (20.0, Color32::BLUE), (40.0, Color32::RED)] {
        mesh.add_colored_rect(Rect::from_min_size(pos2(left, 5.0), vec2(10.5, 20.0)), color);
    }
    let text = written(&[(Rect::EVERYTHING, Shape::Mesh(Arc::new(mesh)))]);
    let document = Document::parse(&text).unwrap();
    let paths = all(&document, "path");
    let ways: Vec<_> = paths.iter().filter_map(|path| path.attribute("d")).collect();
    assert_eq!(ways, ["M0 5H10.5V25H0zM20 5H30.5V25H20z", "M40 5H50.5V25H40z"]);
    assert_eq!(paths[1].attribute("fill"), Some("#ff0000"));
}

#[test]
fn lines_of_one_pen_are_one_path_unless_they_shine_through() {
    let line = |y: f32, color: Color32| {
        let stroke = Stroke::new(2.0, color);
        (Rect::EVERYTHING, Shape::LineSegment { points: [pos2(1.0, y), pos2(9.0, y)], stroke })
    };
    let half = Color32::from_black_alpha(128);
    let text = written(&[line(1.0, Color32::BLACK), line(3.0, Color32::BLACK), line(5.0, half), line(7.0, half)]);
    let document = Document::parse(&text).unwrap();
    let ways: Vec<_> = all(&document, "path").into_iter().map(|path| path.attribute("d").unwrap()).collect();
    assert_eq!(ways, ["M1 1L9 1M1 3L9 3", "M1 5L9 5", "M1 7L9 7"]);
    assert_eq!(all(&document, "path")[1].attribute("stroke-opacity"), Some("0.5"));
}

#[test]
fn text_stays_text_as_wide_as_it_was_laid_out() {
    let ctx = Context::default();
    let mut galley = None;
    let output = ctx.run_ui(RawInput::default(), |ui| {
        let text = "p50 < 3.5 ms\n  second".to_owned();
        galley = Some(ui.painter().layout_no_wrap(text, FontId::monospace(13.0), Color32::WHITE));
    });
    output.drop_without_applying_deltas();
    let galley = galley.unwrap();
    let place = Align2::LEFT_TOP.anchor_size(pos2(10.0, 20.0), galley.size());
    let shape = Shape::galley(place.min, Arc::clone(&galley), Color32::WHITE);
    let text = written(&[(Rect::EVERYTHING, shape)]);
    let document = Document::parse(&text).unwrap();
    let rows = all(&document, "text");
    assert_eq!(rows.iter().filter_map(Node::text).collect::<Vec<_>>(), ["p50 < 3.5 ms", "second"]);
    let attribute = |row: usize, name: &str| -> f32 { rows[row].attribute(name).unwrap().parse().unwrap() };
    assert!((attribute(0, "x") - 10.0).abs() < 0.1 && attribute(0, "y") > 25.0 && attribute(0, "y") < 36.0);
    let width = attribute(0, "textLength");
    assert!((width - galley.rows[0].size.x).abs() < 1.0, "{width} against {}", galley.rows[0].size.x);
    assert!(attribute(1, "x") > 20.0, "space before a row moves it");
    assert_eq!(rows[0].attribute("font-weight"), Some("400"));
}
