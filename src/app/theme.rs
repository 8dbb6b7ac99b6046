//! The look: palette, type scale and spacing; light, dark, and both with high contrast.
//!
//! Ink on paper. The baseline is drawn open, in ink; the candidate solid, in blue; everything else stays quiet until
//! something needs attention. Signal colours are of the set that Okabe and Ito published to be told apart with every kind
//! of colour vision ("Color Universal Design: how to make figures and presentations that are friendly to colorblind
//! people", 2008); none carries meaning alone, a word, form or pattern goes with it. With high contrast all text has a
//! contrast of 7:1 or more with its ground, as success criterion 1.4.6 of the Web Content Accessibility Guidelines 2.2
//! asks (W3C 2023), and strokes are wider.

mod boxes;
mod thick;

use eframe::egui::style::{ScrollStyle, Selection, WidgetVisuals, Widgets};
use eframe::egui::{
    Color32, Context, CornerRadius, FontFamily, FontId, Shadow, Stroke, Style, TextStyle, Theme, Ui, Visuals, vec2,
};

use crate::report::figures::Side;
pub use boxes::outlined;

/// Okabe and Ito 2008: orange.
pub const ORANGE: Color32 = Color32::from_rgb(230, 159, 0);
/// Okabe and Ito 2008: sky blue.
pub const SKY_BLUE: Color32 = Color32::from_rgb(86, 180, 233);
/// Okabe and Ito 2008: bluish green.
pub const BLUISH_GREEN: Color32 = Color32::from_rgb(0, 158, 115);
/// Okabe and Ito 2008: blue.
pub const BLUE: Color32 = Color32::from_rgb(0, 114, 178);
/// Okabe and Ito 2008: vermilion.
pub const VERMILION: Color32 = Color32::from_rgb(213, 94, 0);
/// Okabe and Ito 2008: reddish purple.
pub const REDDISH_PURPLE: Color32 = Color32::from_rgb(204, 121, 167);

/// Labels, axes; nothing is smaller \[pt\].
pub const SMALL: f32 = 13.0;
/// Running text \[pt\].
pub const TEXT: f32 = 15.0;
/// Titles, the verdict \[pt\].
pub const TITLE: f32 = 20.0;
/// Numbers to be read from afar \[pt\].
pub const LARGE: f32 = 28.0;

/// Width kept for a scroll bar where one is needed, so that no text touches it \[pt\].
const SCROLL_BAR: f32 = 12.0;

/// Colours by what they are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// The page.
    pub paper: Color32,
    /// A sheet on it.
    pub sheet: Color32,
    /// Text, and the outlines of what matters.
    pub ink: Color32,
    /// Text of less weight.
    pub soft: Color32,
    /// Neighbours, empty rows.
    pub faint: Color32,
    /// Rules and grids.
    pub rule: Color32,
    /// The baseline: outlines, dashes, hatches.
    pub baseline: Color32,
    /// The candidate: solid.
    pub candidate: Color32,
    /// Text on the candidate's colour.
    pub on_candidate: Color32,
    /// As wanted; with a tick.
    pub good: Color32,
    /// Uncertain; with a word.
    pub doubt: Color32,
    /// Not as wanted; with a cross or a triangle.
    pub bad: Color32,
    /// The budget's line; dotted.
    pub budget: Color32,
}

const LIGHT: Palette = Palette {
    paper: Color32::from_rgb(244, 241, 234),
    sheet: Color32::from_rgb(252, 250, 246),
    ink: Color32::from_rgb(33, 36, 40),
    soft: Color32::from_rgb(92, 94, 96),
    faint: Color32::from_rgb(190, 186, 177),
    rule: Color32::from_rgb(222, 217, 207),
    baseline: Color32::from_rgb(52, 55, 59),
    candidate: BLUE,
    on_candidate: Color32::WHITE,
    good: BLUISH_GREEN,
    doubt: ORANGE,
    bad: VERMILION,
    budget: REDDISH_PURPLE,
};

const DARK: Palette = Palette {
    paper: Color32::from_rgb(20, 21, 23),
    sheet: Color32::from_rgb(28, 30, 32),
    ink: Color32::from_rgb(232, 229, 222),
    soft: Color32::from_rgb(164, 163, 158),
    faint: Color32::from_rgb(84, 86, 88),
    rule: Color32::from_rgb(50, 52, 55),
    baseline: Color32::from_rgb(214, 210, 201),
    candidate: SKY_BLUE,
    on_candidate: Color32::from_rgb(16, 24, 30),
    good: BLUISH_GREEN,
    doubt: ORANGE,
    bad: VERMILION,
    budget: REDDISH_PURPLE,
};

const CONTRAST_LIGHT: Palette = Palette {
    paper: Color32::WHITE,
    sheet: Color32::WHITE,
    ink: Color32::BLACK,
    soft: Color32::from_rgb(56, 58, 60),
    faint: Color32::from_rgb(118, 118, 118),
    rule: Color32::from_rgb(128, 128, 128),
    baseline: Color32::BLACK,
    candidate: Color32::from_rgb(0, 66, 140),
    on_candidate: Color32::WHITE,
    good: Color32::from_rgb(0, 88, 62),
    doubt: Color32::from_rgb(122, 72, 0),
    bad: Color32::from_rgb(158, 30, 0),
    budget: Color32::from_rgb(120, 30, 92),
};

const CONTRAST_DARK: Palette = Palette {
    paper: Color32::BLACK,
    sheet: Color32::BLACK,
    ink: Color32::WHITE,
    soft: Color32::from_rgb(208, 206, 200),
    faint: Color32::from_rgb(130, 130, 130),
    rule: Color32::from_rgb(122, 122, 122),
    baseline: Color32::WHITE,
    candidate: Color32::from_rgb(120, 200, 255),
    on_candidate: Color32::BLACK,
    good: Color32::from_rgb(60, 214, 166),
    doubt: Color32::from_rgb(255, 190, 60),
    bad: Color32::from_rgb(255, 140, 90),
    budget: Color32::from_rgb(255, 160, 210),
};

impl Palette {
    /// The palette of a theme.
    pub const fn of(theme: Theme) -> &'static Self {
        match theme {
            Theme::Light => &LIGHT,
            Theme::Dark => &DARK,
        }
    }

    /// The palette of a theme with high contrast.
    pub const fn contrast(theme: Theme) -> &'static Self {
        match theme {
            Theme::Light => &CONTRAST_LIGHT,
            Theme::Dark => &CONTRAST_DARK,
        }
    }

    /// The palette of where `ui` draws.
    pub fn current(ui: &Ui) -> &'static Self {
        let visuals = ui.visuals();
        let theme = if visuals.dark_mode { Theme::Dark } else { Theme::Light };
        // No two palettes have the same paper.
        let contrast = Self::contrast(theme);
        if visuals.panel_fill == contrast.paper { contrast } else { Self::of(theme) }
    }

    /// The colour of a design.
    pub const fn side(&self, side: Side) -> Color32 {
        match side {
            Side::Baseline => self.baseline,
            Side::Candidate => self.candidate,
        }
    }
}

/// `over` laid on `under` with so much of it showing, 0 to 1: an opaque colour.
pub fn blend(under: Color32, over: Color32, share: f32) -> Color32 {
    under.lerp_to_gamma(over, share)
}

/// Small text.
pub fn small() -> FontId {
    FontId::proportional(SMALL)
}

/// Running text.
pub fn text() -> FontId {
    FontId::proportional(TEXT)
}

/// Titles.
pub fn title() -> FontId {
    FontId::proportional(TITLE)
}

/// The same face in another size, for headlines.
pub fn title_face(size: f32) -> FontId {
    FontId::proportional(size)
}

/// Numbers in columns: every digit as wide as the others.
pub fn figures(size: f32) -> FontId {
    FontId::monospace(size)
}

/// Gives both themes their usual look.
pub fn apply(ctx: &Context) {
    apply_as(ctx, false);
}

/// Gives both themes their look, of high contrast or not.
pub(super) fn apply_as(ctx: &Context, high_contrast: bool) {
    thick::set(ctx, high_contrast);
    for theme in [Theme::Light, Theme::Dark] {
        let palette = if high_contrast { Palette::contrast(theme) } else { Palette::of(theme) };
        ctx.style_mut_of(theme, |style| dress(style, palette, theme));
    }
}

fn dress(style: &mut Style, palette: &Palette, theme: Theme) {
    let sizes = [
        (TextStyle::Small, SMALL, FontFamily::Proportional),
        (TextStyle::Body, TEXT, FontFamily::Proportional),
        (TextStyle::Button, TEXT, FontFamily::Proportional),
        (TextStyle::Heading, TITLE, FontFamily::Proportional),
        (TextStyle::Monospace, SMALL, FontFamily::Monospace),
    ];
    style.text_styles = sizes.map(|(name, size, family)| (name, FontId::new(size, family))).into();
    style.spacing.item_spacing = vec2(8.0, 6.0);
    style.spacing.button_padding = vec2(8.0, 3.0);
    // A bar that is seen tells that there is more.
    style.spacing.scroll = scroll();
    style.visuals = visuals(palette, theme);
}

/// Thin bars that can be told from their ground in every theme, and grow under the pointer.
fn scroll() -> ScrollStyle {
    ScrollStyle {
        floating_allocated_width: SCROLL_BAR,
        floating_width: 3.0,
        foreground_color: true,
        dormant_background_opacity: 0.0,
        active_background_opacity: 0.0,
        dormant_handle_opacity: 0.35,
        active_handle_opacity: 0.5,
        interact_handle_opacity: 0.8,
        ..ScrollStyle::thin()
    }
}

fn visuals(palette: &Palette, theme: Theme) -> Visuals {
    let base = match theme {
        Theme::Light => Visuals::light(),
        Theme::Dark => Visuals::dark(),
    };
    let depth = if base.dark_mode { 120 } else { 40 };
    let shadow = Shadow { offset: [0, 2], blur: 10, spread: 0, color: Color32::from_black_alpha(depth) };
    Visuals {
        widgets: widgets(palette),
        selection: Selection {
            bg_fill: blend(palette.sheet, palette.candidate, 0.35),
            stroke: Stroke::new(1.0, palette.ink),
        },
        hyperlink_color: palette.candidate,
        faint_bg_color: blend(palette.sheet, palette.ink, 0.03),
        extreme_bg_color: palette.sheet,
        code_bg_color: blend(palette.sheet, palette.ink, 0.06),
        warn_fg_color: palette.doubt,
        error_fg_color: palette.bad,
        window_fill: palette.sheet,
        window_stroke: Stroke::new(1.0, palette.rule),
        window_shadow: shadow,
        popup_shadow: shadow,
        window_corner_radius: CornerRadius::same(4),
        menu_corner_radius: CornerRadius::same(4),
        panel_fill: palette.paper,
        slider_trailing_fill: true,
        weak_text_color: Some(palette.soft),
        ..base
    }
}

fn widgets(palette: &Palette) -> Widgets {
    let state = |tint: f32, border: Color32, text: Color32, grown: f32| WidgetVisuals {
        bg_fill: blend(palette.paper, palette.ink, tint),
        weak_bg_fill: blend(palette.paper, palette.ink, tint),
        bg_stroke: Stroke::new(1.0, border),
        corner_radius: CornerRadius::same(3),
        fg_stroke: Stroke::new(1.0, text),
        expansion: grown,
    };
    Widgets {
        noninteractive: state(0.0, palette.rule, palette.ink, 0.0),
        inactive: state(0.08, palette.rule, palette.ink, 0.0),
        hovered: state(0.12, palette.soft, palette.ink, 0.0),
        active: state(0.18, palette.ink, palette.ink, 0.0),
        open: state(0.09, palette.rule, palette.ink, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as the Web Content Accessibility Guidelines 2.2 define them (W3C 2023).
    fn contrast(a: Color32, b: Color32) -> f32 {
        let luminance = |color: Color32| {
            let [red, green, blue] = [color.r(), color.g(), color.b()].map(|part| {
                let part = f32::from(part) / 255.0;
                if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
            });
            0.2126 * red + 0.7152 * green + 0.0722 * blue
        };
        let [one, two] = [luminance(a), luminance(b)];
        (one.max(two) + 0.05) / (one.min(two) + 0.05)
    }

    #[test]
    fn text_can_be_read_on_its_ground() {
        for palette in [&LIGHT, &DARK] {
            for ground in [palette.paper, palette.sheet] {
                assert!(contrast(palette.ink, ground) >= 7.0);
                assert!(contrast(palette.soft, ground) >= 4.5);
                assert!(contrast(palette.candidate, ground) >= 4.5);
            }
            assert!(contrast(palette.on_candidate, palette.candidate) >= 4.5);
        }
    }

    /// Success criterion 1.4.6 for text, 1.4.11 (3:1) for what is no text but must be seen.
    #[test]
    fn high_contrast_is_high() {
        for theme in [Theme::Light, Theme::Dark] {
            let palette = Palette::contrast(theme);
            let Palette { paper, sheet, ink, soft, candidate, baseline, good, doubt, bad, budget, .. } = *palette;
            for ground in [paper, sheet] {
                for text in [ink, soft, candidate, baseline, good, doubt, bad, budget] {
                    assert!(contrast(text, ground) >= 7.0, "{theme:?}: {text:?} on {ground:?}");
                }
                for stroke in [palette.faint, palette.rule] {
                    assert!(contrast(stroke, ground) >= 3.0, "{theme:?}: {stroke:?} on {ground:?}");
                }
            }
            assert!(contrast(palette.on_candidate, candidate) >= 7.0);
            let visuals = visuals(palette, theme);
            let Widgets { noninteractive, inactive, hovered, active, open } = visuals.widgets;
            for state in [noninteractive, inactive, hovered, active, open] {
                assert!(contrast(state.fg_stroke.color, state.weak_bg_fill) >= 7.0, "{theme:?}: a button's text");
            }
            assert!(contrast(visuals.selection.stroke.color, visuals.selection.bg_fill) >= 7.0);
        }
    }

    #[test]
    fn contrast_is_that_of_the_guidelines() {
        assert!((contrast(Color32::WHITE, Color32::BLACK) - 21.0).abs() < 1e-3);
        // The guidelines' own example of a grey that just passes 4.5:1 on white, #767676.
        let grey = contrast(Color32::from_rgb(0x76, 0x76, 0x76), Color32::WHITE);
        assert!((4.5..4.6).contains(&grey), "{grey}");
    }

    #[test]
    fn palettes_are_told_apart_by_their_paper() {
        for theme in [Theme::Light, Theme::Dark] {
            assert_ne!(Palette::of(theme).paper, Palette::contrast(theme).paper);
        }
    }
}
