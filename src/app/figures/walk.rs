//! The walk: one frame's way in slow motion. What drives it, and the bar that shows and changes it.

use eframe::egui::{Button, Context, Key, Modifiers, RichText, Slider, SliderClamping, Ui, vec2};

use crate::app::theme::{self, Palette};
use crate::report::figures::walk::Walk;
use crate::report::format::number;
use crate::time::ns_to_ms;

/// So many ms of the pipeline pass in a second of the walk.
const SPEEDS: [f64; 6] = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0];
/// The speed that a walk begins with.
const USUAL: usize = 3;
/// A second of a machine that hung is not a second of the walk \[s\].
const LONGEST_S: f64 = 0.5;
/// Width of the slider over time, at least \[pt\].
const SCRUB: f32 = 80.0;
/// Width from which the bar shows its speed and larger figures \[pt\].
const WIDE: f32 = 640.0;
/// Room behind the slider for the button that ends the walk \[pt\].
const BEHIND: f32 = 76.0;

/// Keys of a walk, for the help.
pub const WALK_KEYS: [(&str, &str); 4] = [
    ("P", "Walk: play or pause"),
    ("Comma, Period", "Walk: to where something began or ended before, or does so next"),
    ("N, M", "Walk: slower, faster"),
    ("R", "Walk: from the pose again"),
];

/// The same keys.
pub const WALKING: [Key; 6] = [Key::P, Key::Comma, Key::Period, Key::N, Key::M, Key::R];

/// How far a walk has come, if one is open.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WalkView(Option<Going>);

#[derive(Debug, Clone, Copy, PartialEq)]
struct Going {
    /// Since the pose \[ns\].
    at_ns: f64,
    plays: bool,
    /// One of [`SPEEDS`].
    speed: usize,
    /// When it was drawn last, while it plays \[s\].
    drawn_s: Option<f64>,
}

/// What a key or a button asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ask {
    PlayOrPause,
    Before,
    Next,
    Slower,
    Faster,
    Again,
}

impl WalkView {
    /// Whether a walk is open.
    pub fn is_open(&self) -> bool {
        self.0.is_some()
    }

    /// How far it has come since the pose \[ns\]; none where no walk is open.
    pub fn at_ns(&self) -> Option<i64> {
        self.0.map(|going| going.at_ns.round() as i64)
    }

    /// Whether it plays.
    pub fn plays(&self) -> bool {
        self.0.is_some_and(|going| going.plays)
    }

    /// Begins a walk, playing from the pose.
    pub fn begin(&mut self) {
        self.0 = Some(Going { at_ns: 0.0, plays: true, speed: USUAL, drawn_s: None });
    }

    /// Shows a walk that pauses so long after the pose \[ms\].
    pub fn pause_at_ms(&mut self, at_ms: f64) {
        self.0 = Some(Going { at_ns: at_ms.max(0.0) * 1e6, plays: false, speed: USUAL, drawn_s: None });
    }

    /// Ends it.
    pub fn end(&mut self) {
        self.0 = None;
    }

    /// Goes on by the time that has passed, follows keys and lays the bar out. What plays asks for the next frame; what
    /// pauses asks for nothing.
    pub fn show(&mut self, ui: &mut Ui, walk: &Walk) {
        let Some(mut going) = self.0 else { return };
        let now_s = ui.input(|input| input.time);
        going.pass(now_s, walk.end_ns() as f64);
        for ask in pressed(ui.ctx()) {
            going.follow(ask, walk);
        }
        let ended = going.bar(ui, walk);
        going.drawn_s = going.plays.then_some(now_s);
        if going.plays {
            ui.ctx().request_repaint();
        }
        self.0 = (!ended).then_some(going);
    }
}

impl Going {
    fn pass(&mut self, now_s: f64, end_ns: f64) {
        if let Some(before_s) = self.drawn_s.filter(|_| self.plays) {
            self.at_ns += (now_s - before_s).clamp(0.0, LONGEST_S) * SPEEDS[self.speed] * 1e6;
        }
        if self.at_ns >= end_ns {
            self.plays = false;
            self.at_ns = end_ns;
        }
    }

    fn follow(&mut self, ask: Ask, walk: &Walk) {
        let at_ns = self.at_ns.round() as i64;
        match ask {
            Ask::PlayOrPause => {
                if !self.plays && at_ns >= walk.end_ns() {
                    self.at_ns = 0.0;
                }
                self.plays = !self.plays;
            }
            Ask::Before => self.pause_at(walk.before_ns(at_ns)),
            Ask::Next => self.pause_at(walk.next_ns(at_ns)),
            Ask::Slower => self.speed = self.speed.saturating_sub(1),
            Ask::Faster => self.speed = (self.speed + 1).min(SPEEDS.len() - 1),
            Ask::Again => self.at_ns = 0.0,
        }
    }

    fn pause_at(&mut self, at_ns: i64) {
        self.plays = false;
        self.at_ns = at_ns as f64;
    }

    /// Buttons, speed, clock and the slider over time; true when the walk is to end.
    fn bar(&mut self, ui: &mut Ui, walk: &Walk) -> bool {
        let ended = ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            let wide = ui.available_width() >= WIDE;
            let mut asked = None;
            let mut button = |ui: &mut Ui, name: &str, hint: &str, ask: Ask| {
                if ui.add(Button::new(RichText::new(name).font(theme::small()))).on_hover_text(hint).clicked() {
                    asked = Some(ask);
                }
            };
            button(ui, if self.plays { "Pause" } else { "Play" }, "Play or pause the walk (P)", Ask::PlayOrPause);
            button(ui, "Back", "To where something began or ended before (comma)", Ask::Before);
            button(ui, "On", "To where something begins or ends next (period)", Ask::Next);
            if wide {
                button(ui, "Slower", "Slower (N)", Ask::Slower);
                button(ui, "Faster", "Faster (M)", Ask::Faster);
            }
            if let Some(ask) = asked {
                self.follow(ask, walk);
            }
            if wide {
                let soft = Palette::current(ui).soft;
                let speed = format!("{} ms a second", SPEEDS[self.speed]);
                ui.label(RichText::new(speed).font(theme::small()).color(soft));
            }
            let clock = format!("{:>6} ms", number(ns_to_ms(self.at_ns.round() as i64), 2));
            ui.label(RichText::new(clock).font(theme::figures(if wide { theme::TITLE } else { theme::TEXT })).strong());
            self.scrub(ui, walk);
            ui.add(Button::new(RichText::new("End walk").font(theme::small()))).clicked()
        });
        ended.inner
    }

    fn scrub(&mut self, ui: &mut Ui, walk: &Walk) {
        ui.spacing_mut().slider_width = (ui.available_width() - BEHIND).max(SCRUB);
        ui.spacing_mut().interact_size = vec2(SCRUB, 16.0);
        let mut at_ms = self.at_ns / 1e6;
        let end_ms = ns_to_ms(walk.end_ns());
        let slider = Slider::new(&mut at_ms, 0.0..=end_ms).show_value(false).clamping(SliderClamping::Edits);
        let response = ui.add(slider).on_hover_text("The instant that is seen, in ms since the pose");
        response.widget_info(|| eframe::egui::WidgetInfo::slider(true, at_ms, "Walk, ms since the pose"));
        if response.changed() {
            self.plays = false;
            self.at_ns = at_ms * 1e6;
        }
    }
}

/// What the keys of this frame ask for; a text that is being edited keeps them for itself.
fn pressed(ctx: &Context) -> Vec<Ask> {
    const KEYS: [(Key, Ask); 6] = [
        (Key::P, Ask::PlayOrPause),
        (Key::Comma, Ask::Before),
        (Key::Period, Ask::Next),
        (Key::N, Ask::Slower),
        (Key::M, Ask::Faster),
        (Key::R, Ask::Again),
    ];
    if ctx.text_edit_focused() {
        return Vec::new();
    }
    let taken = |(key, ask): (Key, Ask)| ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key)).then_some(ask);
    KEYS.into_iter().filter_map(taken).collect()
}
