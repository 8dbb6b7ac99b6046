//! The title of a figure. In a place of the page it is also the choice of what stands there.

use std::sync::{Arc, OnceLock};

use eframe::egui::containers::menu::MenuButton;
use eframe::egui::{Button, Response, RichText, Role, Shape, Stroke, Ui, UiStackInfo, WidgetInfo, pos2, vec2};

use crate::app::theme::{self, Palette};

/// The tag that carries a [`Choice`] to the title within.
const TAG: &str = "choice of figures";
/// Width left for the arrow behind the title \[pt\].
const ARROW: f32 = 16.0;

/// What can stand in a place, and which of it was picked.
///
/// It travels in the stack of `Ui`s, so that a figure need not know of places: whoever draws a title gets the choice.
#[derive(Debug)]
pub struct Choice {
    items: Vec<Item>,
    picked: OnceLock<usize>,
}

/// One of the things that can stand in a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// Its name.
    pub name: &'static str,
    /// What it tells, in a sentence.
    pub meaning: &'static str,
    /// Whether it stands here now.
    pub here: bool,
    /// Whether there is room for it here.
    pub fits: bool,
}

impl Choice {
    /// A choice among `items`.
    pub fn new(items: Vec<Item>) -> Arc<Self> {
        Arc::new(Self { items, picked: OnceLock::new() })
    }

    /// The item that was picked, by its place in the list.
    pub fn picked(&self) -> Option<usize> {
        self.picked.get().copied()
    }

    /// Marks a `Ui` as the place that this choice is for.
    pub fn tag(self: &Arc<Self>) -> UiStackInfo {
        UiStackInfo::default().with_tag_value(TAG, Arc::clone(self))
    }
}

/// The title of a figure; in a place with a choice it opens the list.
pub(super) fn title(ui: &mut Ui, title: &str) -> Response {
    let text = RichText::new(title).font(theme::text()).strong();
    let stack = Arc::clone(ui.stack());
    let Some(choice) = stack.iter().find_map(|ui| ui.tags().get_downcast::<Arc<Choice>>(TAG)) else {
        return ui.label(text);
    };
    ui.scope(|ui| {
        // The title stands where it would stand as plain text.
        ui.spacing_mut().button_padding = vec2(0.0, 1.0);
        let wide = ui.painter().layout_no_wrap(title.to_owned(), theme::text(), eframe::egui::Color32::PLACEHOLDER);
        let size = vec2(wide.size().x + ARROW, 0.0);
        let button = Button::new((text, eframe::egui::Atom::grow())).frame_when_inactive(false).min_size(size);
        let response = MenuButton::from_button(button).ui(ui, |ui| list(ui, choice)).0;
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{title}: choose a figure")));
        arrow(ui, &response);
        response.on_hover_text("Choose the figure that stands here")
    })
    .inner
}

fn list(ui: &mut Ui, choice: &Choice) {
    for (place, item) in choice.items.iter().enumerate() {
        let entry = ui.add_enabled(item.fits || item.here, Button::selectable(item.here, item.name));
        let entry = entry.on_disabled_hover_text("There is not room for it here");
        if entry.on_hover_text(item.meaning).clicked() {
            if !item.here {
                // The first pick of a frame counts; there is no second.
                let _ = choice.picked.set(place);
            }
            ui.close();
        }
    }
}

fn arrow(ui: &Ui, response: &Response) {
    let palette = Palette::current(ui);
    let color = if response.hovered() || response.has_focus() { palette.ink } else { palette.soft };
    let tip = pos2(response.rect.right() - 6.0, response.rect.center().y + 3.0);
    let corners = vec![tip + vec2(-4.5, -4.5), tip + vec2(4.5, -4.5), tip];
    ui.painter().add(Shape::convex_polygon(corners, color, Stroke::NONE));
}
