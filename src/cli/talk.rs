//! `framelap talk`: the steps of a talk as pictures, the list of the shipped ones, a file to start from.

use std::ffi::OsStr;
use std::fs;
use std::io::{self, IsTerminal as _};
use std::path::Path;

use anyhow::{anyhow, bail};

use super::arguments::pictures::Talk;
use super::picture::too_small;
use super::{Outcome, output};
use crate::app::{Picture, Slide, TalkPictures, too_long_for_pictures};
use crate::files;
use crate::report::format::of;
use crate::talk::shipped::{self, Shipped};
use crate::talk::{self, is_talk};

pub(super) fn run(options: &Talk) -> anyhow::Result<Outcome> {
    if options.show {
        let name = options.name.as_deref().unwrap_or_default();
        return output::print(shipped_of(name)?.text);
    }
    let Some(name) = options.name.as_deref() else { return list() };
    let talk = find(name)?;
    let Some(folder) = options.out.as_deref() else {
        bail!("{}: found no folder for the pictures, allowed: `framelap talk TALK OUTDIR`", name.to_string_lossy());
    };
    if let Some((step, why)) = too_long_for_pictures(&talk) {
        bail!("step {}: {why}", step + 1);
    }
    write(options, &talk, folder)
}

/// The talk of a file, or a shipped one; a file comes first where both have the name.
pub(super) fn find(name: &OsStr) -> anyhow::Result<talk::Talk> {
    let path = Path::new(name);
    if path.is_file() || path.is_dir() || path.components().count() > 1 || path.extension().is_some() {
        let (talk, faults) = talk::load_with_faults(path)?;
        for fault in faults {
            output::warn(&format!("{fault}; it is shown as it stands"));
        }
        return Ok(talk);
    }
    Ok(shipped_of(name)?.talk().clone())
}

/// Whether an argument names a file that holds a talk.
pub(super) fn named(argument: &OsStr) -> bool {
    is_talk(Path::new(argument))
}

fn shipped_of(name: &OsStr) -> anyhow::Result<&'static Shipped> {
    let name = name.to_string_lossy();
    let slugs = || shipped::all().iter().map(|shipped| shipped.slug).collect::<Vec<_>>().join(", ");
    shipped::find(&name)
        .ok_or_else(|| anyhow!("{name:?}: found no talk of that name, allowed: a talk's file, or {}", slugs()))
}

/// A paragraph a talk: its name for the command line, its title, and the headlines of its steps without their numbers.
fn list() -> anyhow::Result<Outcome> {
    let paragraph = |shipped: &Shipped| {
        let talk = shipped.talk();
        let step = |(at, step): (usize, &talk::Step)| {
            let headline = talk::fill(&step.headline, None);
            format!("     {:>2}  {:<18}  {headline}\n", at + 1, step.look.figure.slug())
        };
        let steps: String = talk.steps.iter().enumerate().map(step).collect();
        format!("{}\n     {}, {}\n{steps}", shipped.slug, talk.title, of(talk.steps.len() as u64, "step"))
    };
    output::print(&shipped::all().iter().map(paragraph).collect::<Vec<_>>().join("\n"))
}

/// A step as it is written.
enum Painted {
    Svg(String),
    Png(Picture),
}

/// Every step into the folder, numbered, as it is presented.
fn write(options: &Talk, talk: &talk::Talk, folder: &Path) -> anyhow::Result<Outcome> {
    fs::create_dir_all(folder)
        .map_err(|error| anyhow!("{}: the folder cannot be made: {}", folder.display(), files::why(&error)))?;
    let size = options.size.map(|points| points as f32);
    let slide = Slide { size, scale: options.scale, theme: options.theme.into() };
    let mut pictures = TalkPictures::new(talk, slide);
    let terminal = io::stderr().is_terminal();
    let digits = talk.steps.len().to_string().len().max(2);
    for number in 1..=talk.steps.len() {
        let ending = if options.svg { "svg" } else { "png" };
        let path = folder.join(format!("{number:0digits$}.{ending}"));
        if terminal {
            output::line(&format!("step {number} of {}", talk.steps.len()));
        }
        let picture = if options.svg { Painted::Svg(pictures.svg()) } else { Painted::Png(pictures.picture()) };
        if let Some(least) = pictures.least_size() {
            if terminal {
                output::line("");
            }
            return Err(too_small(options.size, least, &format!("step {number}")));
        }
        match picture {
            Painted::Svg(text) => output::save(&path, |to| to.write_all(text.as_bytes()))?,
            Painted::Png(picture) => output::save(&path, |to| picture.write_png(to))?,
        }
        pictures.go_on();
    }
    if terminal {
        output::line("");
    }
    Ok(Outcome::Done)
}
