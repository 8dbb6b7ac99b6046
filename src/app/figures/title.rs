//! The title of a figure. In a place of the page it is also the choice of what stands there.

use std::sync::{Arc, OnceLock};

use eframe::egui::containers::menu::MenuButton;
use eframe::egui::text::LayoutJob;
use eframe::egui::{
    Align, Button, Label, Layout, Response, RichText, Role, Sense, Shape, Stroke, Ui, UiStackInfo, WidgetInfo, pos2,
    vec2,
};

use super::ink::{self, Mark};
use crate::app::brief;
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;

/// The tag of figures that are drawn to be looked at only.
const PAPER: &str = "on paper";
/// The tag that carries a [`Choice`] to the title within.
const TAG: &str = "choice of figures";
/// Width left for the arrow behind the title \[pt\].
const ARROW: f32 = 16.0;
/// By how much of a name's width another face may be wider.
const WIDER: f32 = 0.16;

/// What can stand in a place, and which of it was picked.
///
/// It travels in the stack of `Ui`s, so that a figure need not know of places: whoever draws a title gets the choice.
#[derive(Debug)]
pub struct Choice {
    items: Vec<Item>,
    /// Whether what stands here can be taken out of the program now.
    ready: bool,
    picked: OnceLock<Picked>,
}

/// What was picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picked {
    /// One of the items, by its place in the list.
    Item(usize),
    /// What stands here is to leave the program.
    Take(Take),
}

/// How a figure leaves the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Take {
    /// To the clipboard, as a picture.
    CopyPicture,
    /// To the clipboard, as a table.
    CopyTable,
    /// Into a file, as a picture.
    SavePicture,
    /// Into a file, as a table.
    SaveTable,
    /// Into a file whose path is typed.
    TypePath,
    /// As a step of the talk in hand.
    Step,
}

impl Take {
    /// All, in the order of the list.
    const ALL: [Self; 6] =
        [Self::CopyPicture, Self::CopyTable, Self::SavePicture, Self::SaveTable, Self::TypePath, Self::Step];

    const fn name(self) -> &'static str {
        match self {
            Self::CopyPicture => "Copy as picture",
            Self::CopyTable => "Copy as table",
            Self::SavePicture => "Save picture…",
            Self::SaveTable => "Save table…",
            Self::TypePath => "Save to typed path…",
            Self::Step => "Keep as a step",
        }
    }

    const fn meaning(self) -> &'static str {
        match self {
            Self::CopyPicture => "To the clipboard, as large as a slide, with where it comes from",
            Self::CopyTable => "To the clipboard, to be pasted into a spreadsheet; numbers in full",
            Self::SavePicture => "As .png or .svg, by the ending of the name",
            Self::SaveTable => "As .csv, numbers in full",
            Self::TypePath => "As .png, .svg or .csv, by the ending of the name",
            Self::Step => "Of the talk in hand, with what is looked at (Ctrl+K)",
        }
    }
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
    /// Whether it is a study.
    pub study: bool,
}

impl Choice {
    /// A choice among `items`; `ready` tells whether what stands here can be taken out now.
    pub fn new(items: Vec<Item>, ready: bool) -> Arc<Self> {
        Arc::new(Self { items, ready, picked: OnceLock::new() })
    }

    /// What was picked.
    pub fn picked(&self) -> Option<Picked> {
        self.picked.get().copied()
    }

    /// Marks a `Ui` as the place that this choice is for.
    pub fn tag(self: &Arc<Self>) -> UiStackInfo {
        UiStackInfo::default().with_tag_value(TAG, Arc::clone(self))
    }
}

/// Marks a `Ui` whose contents are only looked at, in a picture: what one would press there is left out.
pub fn on_paper() -> UiStackInfo {
    UiStackInfo::default().with_tag(PAPER)
}

/// Whether `ui` draws what is only looked at.
pub(super) fn is_on_paper(ui: &Ui) -> bool {
    ui.stack().iter().any(|ui| ui.tags().contains(PAPER))
}

/// The candidate against the baseline by name, each with its mark: what is above a figure that stands alone. Names that find
/// no room are made shorter.
pub fn heading(ui: &mut Ui, names: &[String; 2]) {
    let palette = Palette::current(ui);
    let size = theme::TITLE;
    ui.horizontal(|ui| {
        let most = (ui.available_width() - 2.0 * size - 90.0).max(0.0) / (2.0 + 2.0 * WIDER);
        let font = theme::title();
        let [baseline, candidate] = brief::both(names, 2.0 * most, |text| ink::width(ui.painter(), text, font.clone()));
        let mut name = |side: Side, name: &str| {
            let (rect, _) = ui.allocate_exact_size(vec2(size, size), Sense::hover());
            Mark::of(side).draw(ui.painter(), rect.center(), 0.7 * size, palette.side(side), palette.sheet);
            let job = LayoutJob::simple_singleline(name.to_owned(), font.clone(), palette.ink);
            let taken = ui.add(Label::new(job)).rect.width();
            // A viewer of the file may have no face as narrow as this one.
            ui.add_space(WIDER * taken);
            if side == Side::Candidate {
                let against = RichText::new("against");
                ui.label(against.font(theme::text()).color(palette.soft));
            }
        };
        name(Side::Candidate, &candidate);
        name(Side::Baseline, &baseline);
    });
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
        let (does, hint) = if choice.items.is_empty() {
            ("copy or save", "Copy or save this figure")
        } else {
            ("choose a figure", "Choose the figure that stands here; copy or save it")
        };
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{title}: {does}")));
        arrow(ui, &response);
        response.on_hover_text(hint)
    })
    .inner
}

/// The figures at the left, at the right the studies and what can be done with the one that stands here: on one column the
/// list would be higher than a small window.
fn list(ui: &mut Ui, choice: &Choice) {
    if choice.items.is_empty() {
        takes(ui, choice);
        return;
    }
    let names = choice.items.iter().map(|item| item.name).chain(Take::ALL.map(Take::name));
    let wide = names.map(|name| ink::width(ui.painter(), name, theme::text())).fold(0.0, f32::max);
    let width = wide + 2.0 * ui.spacing().button_padding.x;
    ui.horizontal_top(|ui| {
        let column = |ui: &mut Ui, contents: &mut dyn FnMut(&mut Ui)| {
            ui.allocate_ui_with_layout(vec2(width, 0.0), Layout::top_down_justified(Align::LEFT), contents);
        };
        column(ui, &mut |ui| items(ui, choice, false));
        column(ui, &mut |ui| {
            items(ui, choice, true);
            ui.separator();
            takes(ui, choice);
        });
    });
}

/// The figures that are studies, or those that are none.
fn items(ui: &mut Ui, choice: &Choice, studies: bool) {
    for (place, item) in choice.items.iter().enumerate().filter(|(_, item)| item.study == studies) {
        let entry = ui.add_enabled(item.fits || item.here, Button::selectable(item.here, item.name));
        let entry = entry.on_disabled_hover_text("There is not room for it here");
        if entry.on_hover_text(item.meaning).clicked() {
            if !item.here {
                // The first pick of a frame counts; there is no second.
                let _ = choice.picked.set(Picked::Item(place));
            }
            ui.close();
        }
    }
}

/// What can be done with the figure that stands here.
fn takes(ui: &mut Ui, choice: &Choice) {
    for take in Take::ALL {
        let entry = ui.add_enabled(choice.ready, Button::new(take.name()));
        let entry = entry.on_disabled_hover_text("Not before all of it is computed");
        if entry.on_hover_text(take.meaning()).clicked() {
            let _ = choice.picked.set(Picked::Take(take));
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
