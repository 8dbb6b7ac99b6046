//! Drag, scroll and pinch over an axis, as the windows of time and of frames follow them.

use eframe::egui::{Rect, Response, Ui, Vec2};

/// A scroll of this many points is a factor of e.
const SCROLL: f32 = 240.0;

/// What a window is asked to do.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Gesture {
    /// How far it goes to the right, as a share of its width.
    pub(super) shift: f64,
    /// Factor that it narrows by, and the share of its width that stays where it is.
    pub(super) zoom: Option<[f64; 2]>,
}

/// What was done over `area`; a scroll is used up.
pub(super) fn gesture(ui: &Ui, response: &Response, area: Rect) -> Gesture {
    let width = area.width().max(1.0);
    let mut gesture = Gesture::default();
    if response.dragged() {
        gesture.shift -= f64::from(response.drag_delta().x / width);
    }
    let Some(pointer) = response.hover_pos() else { return gesture };
    let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
    gesture.shift -= f64::from(scroll.x / width);
    let factor = f64::from((scroll.y / SCROLL).exp() * pinch);
    if (factor - 1.0).abs() > 1e-6 {
        gesture.zoom = Some([factor, f64::from((pointer.x - area.left()) / width).clamp(0.0, 1.0)]);
    }
    if scroll != Vec2::ZERO {
        ui.input_mut(|input| input.smooth_scroll_delta = Vec2::ZERO);
    }
    gesture
}
