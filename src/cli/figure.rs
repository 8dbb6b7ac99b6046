//! `framelap figure`: one figure of a head-to-head as a file.

use anyhow::{anyhow, bail};

use super::arguments::pictures::{self, Figure};
use super::{Outcome, output, picture, scenarios};
use crate::app::figures::Form;
use crate::app::{Exhibit, Format, Kind, Slide};
use crate::report::figures::distribution::Measure;
use crate::report::figures::left_over::Rank;
use crate::report::provenance;

pub(super) fn run(options: &Figure) -> anyhow::Result<Outcome> {
    let kind = Kind::named(&options.name).ok_or_else(|| anyhow!("{}: there is no such figure", options.name))?;
    let format = format(options)?;
    fits(options, kind)?;
    let [baseline, candidate] = scenarios::pair(&options.sides)?;
    let mut exhibit = Exhibit::new(kind, baseline, candidate);
    if let Some(why) = exhibit.problem() {
        bail!("{}: {why}", options.name);
    }
    look(options, &mut exhibit)?;
    let size = options.size.map(|points| points as f32);
    let slide = Slide { size, scale: options.scale, theme: options.theme.into() };
    let out = options.out.file_name().unwrap_or_default().to_string_lossy();
    if format != Format::Csv {
        let least = exhibit.least_size(&slide, &provenance::today(), &out);
        if options.size.iter().zip(least).any(|(points, least)| *points < least) {
            return Err(picture::too_small(options.size, least, kind.slug()));
        }
    }
    output::save(&options.out, |to| exhibit.write(format, &slide, &provenance::today(), &out, to))?;
    Ok(Outcome::Done)
}

fn format(options: &Figure) -> anyhow::Result<Format> {
    let ending = options.out.extension().unwrap_or_default().to_string_lossy();
    let found = if ending.is_empty() { "a name without an ending".to_owned() } else { format!("the ending .{ending}") };
    let out = options.out.display();
    Format::of(&options.out).ok_or_else(|| anyhow!("{out}: found {found}, allowed: {}", Format::ENDINGS))
}

/// An option for a figure that has nothing of the kind is refused and not passed over.
fn fits(options: &Figure, kind: Kind) -> anyhow::Result<()> {
    let given = [
        ("--frame", options.frame.is_some(), "frame", Kind::of_one_frame as fn(Kind) -> bool),
        ("--from", options.from.is_some(), "span of time", Kind::of_a_span),
        ("--measure", options.measure.is_some(), "measure", Kind::of_measures),
        ("--quantile", options.quantile.is_some(), "quantile", Kind::of_quantiles),
        ("--form", options.form.is_some(), "form", Kind::of_measures),
    ];
    for (option, given, what, has) in given {
        if given && !has(kind) {
            let others: Vec<&str> = Kind::all().filter(|kind| has(*kind)).map(Kind::slug).collect();
            bail!(
                "{option}: found for {}, which has no {what} to choose, allowed: for {}",
                kind.slug(),
                others.join(", ")
            );
        }
    }
    Ok(())
}

/// What is to be seen.
fn look(options: &Figure, exhibit: &mut Exhibit) -> anyhow::Result<()> {
    if let Some(frame) = options.frame {
        exhibit.look_at(frame).map_err(|last| anyhow!("--frame: found {frame}, allowed: 0 to {last}"))?;
    }
    if let Some((from, to)) = options.from.zip(options.to) {
        let allowed = from.abs() < MOST_MS && to.abs() < MOST_MS && to - from >= LEAST_MS;
        if !allowed {
            bail!("--from, --to: found {from} to {to} ms, allowed: at least {LEAST_MS} ms, within {MOST_MS} ms");
        }
        exhibit.look_through_ms([from, to]);
    }
    if let Some(quantile) = options.quantile {
        exhibit.choose_quantile(match quantile {
            pictures::Quantile::P50 => Rank::Median,
            pictures::Quantile::P99 => Rank::P99,
        });
    }
    let measure = options.measure.map(|measure| match measure {
        pictures::Measure::PoseToPhoton => Measure::PoseToPhoton,
        pictures::Measure::PhotonAge => Measure::PhotonAge,
        pictures::Measure::Stream => Measure::Stream,
    });
    let form = options.form.map(|form| match form {
        pictures::Form::Histogram => Form::Histogram,
        pictures::Form::Cumulative => Form::Cumulative,
        pictures::Form::Tail => Form::Tail,
    });
    exhibit.choose(measure, form);
    Ok(())
}

/// Shortest and longest time that lanes can show \[ms\].
const LEAST_MS: f64 = 0.02;
const MOST_MS: f64 = 1e6;
