//! The lanes: one frame's way, baseline above candidate, on one time axis that begins at the frame's pose.

mod controls;
mod hover;
mod paint;
mod path;
mod window;

use eframe::egui::{EventFilter, Key, Response, Role, Sense, Ui, WidgetInfo, vec2};
use serde::{Deserialize, Serialize};

use super::WalkView;
use crate::report::figures::lanes::{CriticalPath, LanesPair, Stage, Way};
use crate::report::figures::walk::Walk;
use crate::report::format::{ms, number};
use crate::study::Answer;
use crate::time::ns_to_ms;
use paint::Sheet;
use window::Window;

/// Which frame is looked at, and through which window of time.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct LanesView {
    /// The frame; none: the typical one of each answer.
    frame: Option<usize>,
    /// Time seen, from the frame's pose; none: what fits.
    window: Option<Window>,
}

/// What is looked at.
struct Look<'a> {
    lanes: &'a LanesPair,
    answers: [&'a Answer; 2],
    /// Critical paths of the frame.
    paths: &'a [Option<CriticalPath>; 2],
    frame: usize,
    window: Window,
    /// The walk, and how far it has come \[ns\].
    walk: Option<(&'a Walk, i64)>,
}

/// What surrounds the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Around {
    /// Title and controls.
    Controls,
    /// The title alone: who shows the lanes drives the walk.
    Title,
}

/// What was asked for on the lanes.
#[derive(Debug)]
pub struct LanesEvent {
    /// The response of the drawing.
    pub response: Response,
    /// A lane or block was clicked: whose parameters to bring into view.
    pub clicked: Option<Stage>,
}

impl LanesView {
    /// The frame that is looked at.
    pub fn frame(&self, lanes: &LanesPair) -> usize {
        let last = lanes.frames().saturating_sub(1);
        self.frame.unwrap_or(lanes.typical).min(last)
    }

    /// The same without a window of time that no hand can lead to: what is kept in a file may be edited.
    pub(in crate::app) fn within_reason(self) -> Self {
        Self { window: self.window.filter(Window::is_within_reason), ..self }
    }

    /// The frame that was chosen; none where the typical one is looked at.
    pub fn chosen(&self) -> Option<usize> {
        self.frame
    }

    /// The time that is looked through, from the frame's pose, where it was chosen \[ms\].
    pub fn through_ms(&self) -> Option<[f64; 2]> {
        self.window.map(|window| [window.from_ns, window.to_ns].map(|ns| ns / 1e6))
    }

    /// Looks through a span of time from the frame's pose on \[ms\].
    pub fn look_through_ms(&mut self, [from, to]: [f64; 2]) {
        self.window = Some(Window { from_ns: from * 1e6, to_ns: to * 1e6 });
    }

    /// Looks at a frame, and lets it fit.
    pub fn go_to(&mut self, frame: usize) {
        self.frame = Some(frame);
        self.window = None;
    }

    /// Looks at the typical frame of every answer, and lets it fit.
    pub fn go_to_typical(&mut self) {
        *self = Self::default();
    }

    /// Draws lanes and controls over the space there is. The lanes were made from the answers, which tell the critical path
    /// of the frame that is looked at, and why a block waited.
    pub fn show(&mut self, ui: &mut Ui, lanes: &LanesPair, answers: [&Answer; 2]) -> LanesEvent {
        self.show_walking(ui, lanes, answers, &mut WalkView::default(), Around::Controls)
    }

    /// The same with a walk, which may be open.
    pub fn show_walking(
        &mut self,
        ui: &mut Ui,
        lanes: &LanesPair,
        answers: [&Answer; 2],
        walking: &mut WalkView,
        around: Around,
    ) -> LanesEvent {
        let walk = walking.is_open().then(|| self.walk(lanes, answers));
        self.controls(ui, lanes, walk.as_ref(), walking, around);
        let walk = walk.as_ref().zip(walking.at_ns());
        let frame = self.frame(lanes);
        let size = vec2(ui.available_width(), ui.available_height().max(paint::LEAST_HEIGHT));
        let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(lanes, frame)));
        let sheet = Sheet::new(rect);
        let mut window = self.window.unwrap_or_else(|| Window::fitting(lanes, frame, sheet.time_area().width()));
        let before = window;
        self.keys(ui, &response, lanes);
        window.keys(ui, &response);
        window.handle(ui, &response, sheet.time_area());
        if response.double_clicked() {
            self.window = None;
        } else if window != before {
            self.window = Some(window);
        }
        let mut clicked = None;
        if ui.is_rect_visible(rect) {
            let paths = [0, 1].map(|side| CriticalPath::of(answers[side], &lanes.sides[side], frame));
            let look = Look { lanes, answers, paths: &paths, frame, window, walk };
            sheet.paint(ui, &look);
            clicked = hover::hover(ui, &sheet, &look, &response);
        }
        LanesEvent { response, clicked }
    }

    /// The walk through the frame that is looked at.
    pub fn walk(&self, lanes: &LanesPair, answers: [&Answer; 2]) -> Walk {
        let frame = self.frame(lanes);
        let paths = [0, 1].map(|side| CriticalPath::of(answers[side], &lanes.sides[side], frame));
        Walk::new(lanes, &paths, frame)
    }

    fn keys(&mut self, ui: &Ui, response: &Response, lanes: &LanesPair) {
        if response.clicked() {
            response.request_focus();
        }
        if !response.has_focus() {
            return;
        }
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        let pressed = |key| ui.input(|input| input.modifiers.is_none() && input.key_pressed(key));
        let frame = self.frame(lanes);
        if pressed(Key::ArrowRight) {
            self.step_to((frame + 1).min(lanes.frames().saturating_sub(1)));
        } else if pressed(Key::ArrowLeft) {
            self.step_to(frame.saturating_sub(1));
        } else if let (true, Some(next)) = (pressed(Key::L), lanes.next_troubled(frame)) {
            self.go_to(next);
        } else if let (true, Some(worst)) = (pressed(Key::W), lanes.worst) {
            self.go_to(worst);
        } else if pressed(Key::T) {
            self.go_to_typical();
        } else if pressed(Key::F) {
            self.window = None;
        }
    }

    /// Looks at a frame through the same window.
    fn step_to(&mut self, frame: usize) {
        self.frame = Some(frame);
    }
}

/// The gain of a frame as it is written on the dimension: that of this frame, while the verdict tells of all of them.
fn gain_in_words(gain_ns: i64) -> String {
    match gain_ns {
        0 => "this frame: no gain".to_owned(),
        gain => format!("this frame: {} {}", ms(ns_to_ms(gain.abs())), if gain > 0 { "sooner" } else { "later" }),
    }
}

/// What is to be seen, in words.
fn in_words(lanes: &LanesPair, frame: usize) -> String {
    let of = |side: usize| {
        let way = lanes.sides[side].ways.get(frame).and_then(Way::length_ns);
        way.map_or_else(|| "not shown".to_owned(), |ns| format!("{} from pose to photons", ms(ns_to_ms(ns))))
    };
    let gain = lanes.gain_ns(frame).map_or_else(String::new, |gain| format!("; {}", gain_in_words(gain)));
    let number = number(frame as f64, 0);
    format!("Lanes of frame {number}: {} {}, {} {}{gain}", lanes.names[0], of(0), lanes.names[1], of(1))
}
