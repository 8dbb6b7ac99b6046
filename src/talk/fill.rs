//! Numbers in captions: `{p99.candidate}` stands for what the answer of the step says, so that no caption goes stale.
//!
//! What may stand there is a closed list: quantities of a design with the design behind the point, and a few that belong to
//! both.

use std::collections::BTreeMap;

use crate::measure::{Summary, Team};
use crate::report::figures::curve::Curve;
use crate::report::figures::fronts::Fronts;
use crate::report::figures::lanes::LanesPair;
use crate::report::format::{NOTHING, count, ms, number, share, with_unit};
use crate::study::Answer;
use crate::time::ns_to_ms;

/// What captions are filled in from.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    /// Baseline and candidate.
    pub answers: [&'a Answer; 2],
    /// Their lanes.
    pub lanes: &'a LanesPair,
    /// The frame that is looked at.
    pub frame: usize,
    /// The candidate's slice-count curve, where the figure is that.
    pub curve: &'a Curve,
    /// How far the walk has come \[ms\].
    pub walk_ms: Option<f64>,
}

/// How a quantity is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Ms,
    Share,
    Percent,
    Count,
    Rate,
}

/// A quantity of a design.
type Quantity = (&'static str, Unit, fn(&Facts<'_>, usize) -> Option<f64>);

fn summary<'a>(facts: &Facts<'a>, side: usize) -> &'a Summary {
    &facts.answers[side].summary
}

const QUANTITIES: [Quantity; 24] = [
    ("p50", Unit::Ms, |facts, side| summary(facts, side).pose_to_photon_ms.p50),
    ("p99", Unit::Ms, |facts, side| summary(facts, side).pose_to_photon_ms.p99),
    ("worst", Unit::Ms, |facts, side| summary(facts, side).pose_to_photon_ms.max),
    ("age_p99", Unit::Ms, |facts, side| summary(facts, side).photon_age_ms.p99),
    ("stream", Unit::Ms, |facts, side| summary(facts, side).stream_ms.p50),
    ("lead", Unit::Ms, |facts, side| summary(facts, side).lead_ms),
    ("headroom", Unit::Ms, |facts, side| summary(facts, side).headroom_ms),
    ("freeze", Unit::Ms, |facts, side| summary(facts, side).longest_freeze_ms),
    ("missed", Unit::Percent, |facts, side| summary(facts, side).missed_pct),
    ("missed_count", Unit::Count, |facts, side| {
        let kinds = summary(facts, side).refresh_kinds;
        Some(f64::from(kinds.miss + kinds.compose_miss))
    }),
    ("refreshes", Unit::Count, |facts, side| Some(f64::from(summary(facts, side).refreshes))),
    ("repeats", Unit::Count, |facts, side| Some(f64::from(summary(facts, side).refresh_kinds.repeat))),
    ("shown", Unit::Share, |facts, side| summary(facts, side).delivered_share),
    ("late", Unit::Share, |facts, side| summary(facts, side).late_share),
    ("counted", Unit::Count, |facts, side| Some(f64::from(summary(facts, side).fates.total()))),
    ("encoder", Unit::Share, |facts, side| summary(facts, side).offered_load.encoder),
    ("link", Unit::Share, |facts, side| summary(facts, side).offered_load.link),
    ("decoder", Unit::Share, |facts, side| summary(facts, side).offered_load.decoder),
    ("slices", Unit::Count, |facts, side| Some(f64::from(facts.answers[side].scenario.slices.count))),
    ("budget", Unit::Ms, |facts, side| Some(facts.answers[side].scenario.budget.pose_to_photon_ms)),
    ("load_limit", Unit::Percent, |facts, side| Some(facts.answers[side].scenario.budget.load_pct)),
    ("rate", Unit::Rate, |facts, side| Some(facts.answers[side].scenario.link.rate_mbps)),
    ("frame", Unit::Ms, |facts, side| Some(ns_to_ms(facts.lanes.sides[side].ways.get(facts.frame)?.length_ns()?))),
    ("ready", Unit::Ms, |facts, side| {
        Some(ns_to_ms(Fronts::of(facts.answers, facts.frame).sides[side].as_ref()?.ready_ns?))
    }),
];

/// Before the name of a team: its mean exposed time.
const EXPOSED: &str = "exposed_";
/// What stands behind the point: one of the designs, or how much less the candidate has.
const SIDES: [&str; 3] = ["baseline", "candidate", "gain"];

/// A number of both designs, or of the curve, as text.
type Common = (&'static str, fn(&Facts<'_>) -> Option<String>);

const COMMON: [Common; 8] = [
    ("number", |facts| Some(count(facts.frame as u64))),
    ("walk", |facts| facts.walk_ms.map(ms)),
    ("best", |facts| whole(facts.curve.best().map(|point| point.slices))),
    ("best_p99", |facts| facts.curve.best().and_then(|point| point.p99_ms).map(ms)),
    ("plateau_from", |facts| whole(facts.curve.plateau().map(|(from, _)| from))),
    ("plateau_to", |facts| whole(facts.curve.plateau().map(|(_, to)| to))),
    ("whole_p99", |facts| facts.curve.at(1).and_then(|point| point.p99_ms).map(ms)),
    ("cliff", |facts| whole(facts.curve.cliff())),
];

fn whole(slices: Option<u32>) -> Option<String> {
    slices.map(|slices| count(u64::from(slices)))
}

/// What may stand between braces, in words.
pub fn allowed() -> String {
    let common = COMMON.map(|(name, _)| format!("{{{name}}}")).join(", ");
    let quantities = QUANTITIES.map(|(name, ..)| name).join(", ");
    let teams = Team::ALL.map(|team| format!("{EXPOSED}{}", team.name())).join(", ");
    format!(
        "{common}, or one of {quantities}, {teams} with .baseline, .candidate or .gain behind it, as in {{p99.gain}}"
    )
}

/// The first thing in braces that there is no number for, braces included.
pub fn unknown(text: &str) -> Option<String> {
    pieces(text).find_map(|piece| match piece {
        Piece::Braces(name) if !known(name) => Some(format!("{{{name}}}")),
        Piece::Open(rest) => Some(rest.to_owned()),
        Piece::Braces(_) | Piece::Plain(_) => None,
    })
}

/// Behind what stands between braces and no number is there for, and behind a brace that is never closed.
const NO_NUMBER: &str = " (no such number)";
const NOT_CLOSED: &str = " (brace not closed)";

/// The text with its numbers; dots in their place where there are no answers yet, a dash where there is nothing to measure.
/// What there is no number for stays as it is, and says so.
pub fn fill(text: &str, facts: Option<&Facts<'_>>) -> String {
    filled(text, |name| facts.map(|facts| value(name, facts)))
}

/// Every number that a caption of a step may ask for, as text: stays when the answers behind it are gone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Numbers(BTreeMap<String, Option<String>>);

impl Numbers {
    /// The numbers of a step.
    pub fn of(facts: &Facts<'_>) -> Self {
        let quantities = QUANTITIES.iter().map(|(name, ..)| (*name).to_owned());
        let pieces = Team::ALL.iter().map(|team| format!("{EXPOSED}{}", team.name()));
        let of_sides = quantities.chain(pieces).flat_map(|name| SIDES.map(|side| format!("{name}.{side}")));
        let names = COMMON.iter().map(|(name, _)| (*name).to_owned()).chain(of_sides);
        let told = |name: String| {
            let told = value(&name, facts);
            (name, told)
        };
        Self(names.map(told).collect())
    }

    /// Every one by the name that stands between braces; none where there is nothing to measure.
    pub fn each(&self) -> impl Iterator<Item = (&str, Option<&str>)> {
        self.0.iter().map(|(name, told)| (name.as_str(), told.as_deref()))
    }

    /// The text with these numbers, as [`fill`] would fill it.
    pub fn fill(&self, text: &str) -> String {
        filled(text, |name| self.0.get(name).cloned())
    }
}

/// Fills a text with what is told of a name that there is a number for: none where nothing is known yet, and none of it
/// where there is nothing to measure.
fn filled(text: &str, told: impl Fn(&str) -> Option<Option<String>>) -> String {
    let piece = |piece| match piece {
        Piece::Braces(name) if known(name) => {
            let number = |number: Option<String>| number.unwrap_or_else(|| NOTHING.to_owned());
            // A number stays on the line of its unit.
            told(name).map_or_else(|| "…".to_owned(), |told| number(told).replace(' ', "\u{a0}"))
        }
        Piece::Braces(name) => format!("{{{name}}}{NO_NUMBER}"),
        Piece::Open(text) => format!("{text}{NOT_CLOSED}"),
        Piece::Plain(text) => text.to_owned(),
    };
    pieces(text).map(piece).collect()
}

fn known(name: &str) -> bool {
    let quantity = |name: &str| {
        let team = name.strip_prefix(EXPOSED).is_some_and(|of| Team::ALL.iter().any(|team| team.name() == of));
        team || QUANTITIES.iter().any(|(known, ..)| *known == name)
    };
    COMMON.iter().any(|(known, _)| *known == name)
        || name.split_once('.').is_some_and(|(name, side)| quantity(name) && SIDES.contains(&side))
}

fn value(name: &str, facts: &Facts<'_>) -> Option<String> {
    if let Some((_, of)) = COMMON.iter().find(|(known, _)| *known == name) {
        return of(facts);
    }
    let (name, side) = name.split_once('.')?;
    let of = |side: usize| match name.strip_prefix(EXPOSED) {
        Some(of) => {
            let team = Team::ALL.into_iter().find(|team| team.name() == of)?;
            summary(facts, side).exposed_ms.of_team(team)
        }
        None => QUANTITIES.iter().find(|(known, ..)| *known == name).and_then(|(.., of)| of(facts, side)),
    };
    let unit = QUANTITIES.iter().find(|(known, ..)| *known == name).map_or(Unit::Ms, |(_, unit, _)| *unit);
    let value = match SIDES.iter().position(|known| *known == side)? {
        2 => of(0)? - of(1)?,
        side => of(side)?,
    };
    Some(match unit {
        Unit::Ms => ms(value),
        Unit::Share => share(value),
        Unit::Percent => share(value / 100.0),
        Unit::Count => number(value, 0),
        Unit::Rate => with_unit(Some(value), 0, "Mbit/s"),
    })
}

/// A piece of a text.
enum Piece<'a> {
    /// As it is.
    Plain(&'a str),
    /// What stands between braces.
    Braces(&'a str),
    /// From a brace that is not closed to the end.
    Open(&'a str),
}

fn pieces(text: &str) -> impl Iterator<Item = Piece<'_>> {
    let mut rest = text;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let Some(at) = rest.find('{') else { return Some(Piece::Plain(std::mem::take(&mut rest))) };
        if at > 0 {
            let (plain, next) = rest.split_at(at);
            rest = next;
            return Some(Piece::Plain(plain));
        }
        match rest.find('}') {
            Some(end) => {
                let name = &rest[1..end];
                rest = &rest[end + 1..];
                Some(Piece::Braces(name))
            }
            None => Some(Piece::Open(std::mem::take(&mut rest))),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_named() {
        assert_eq!(unknown("from {p50.baseline} to {p99.candidate}, {exposed_wait.gain} less, {best} slices"), None);
        assert_eq!(unknown("{p98.baseline}").as_deref(), Some("{p98.baseline}"));
        assert_eq!(unknown("{p99.both}").as_deref(), Some("{p99.both}"));
        assert_eq!(unknown("{p99}").as_deref(), Some("{p99}"));
        assert_eq!(unknown("a {p99.gain").as_deref(), Some("{p99.gain"));
        assert_eq!(unknown("{}").as_deref(), Some("{}"));
        assert_eq!(unknown("none } here"), None);
    }

    #[test]
    fn nothing_is_lost_around_numbers() {
        assert_eq!(fill("a {p99.gain} b {x} c { d", None), "a … b {x} (no such number) c { d (brace not closed)");
        assert_eq!(fill("", None), "");
    }
}
