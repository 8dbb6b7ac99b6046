//! `framelap picture`: the window's first screen as a PNG, without a display.

use super::arguments::{Picture, Theme};
use super::{Outcome, output, scenarios};
use crate::app::{self, ThemeChoice};

pub(super) fn run(options: &Picture) -> anyhow::Result<Outcome> {
    let candidate = options.candidate.as_deref().map(scenarios::find).transpose()?;
    let baseline = options.baseline.as_deref().map(scenarios::find).transpose()?;
    let theme = match options.theme {
        Theme::Light => ThemeChoice::Light,
        Theme::Dark => ThemeChoice::Dark,
        Theme::Contrast => ThemeChoice::Contrast,
        Theme::ContrastDark => ThemeChoice::ContrastDark,
    };
    let size = options.size.map(|points| points as f32);
    let picture = app::picture(size, options.scale, theme, baseline, candidate);
    output::save(&options.out, |to| picture.write_png(to))?;
    Ok(Outcome::Done)
}
