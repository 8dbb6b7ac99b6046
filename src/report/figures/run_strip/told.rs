//! Frames and refreshes of a strip in words.

use std::ops::Range;

use super::{Outcome, Shot, Strip};
use crate::engine::{Fate, RefreshKind};
use crate::report::figures::outcomes::{LATE, fate_text, refresh_text};
use crate::report::format::{count, exact_ms};

impl Shot {
    /// What became of it, in words.
    pub const fn words(&self) -> &'static str {
        match (self.fate, self.late) {
            (Fate::Shown, Some(true)) => LATE.0,
            // Without a target there is no time to be on.
            (Fate::Shown, None) => "Shown",
            (fate, _) => fate_text(fate).0,
        }
    }
}

/// Numbers `first` to the one before `end`.
fn numbers(one: &str, many: &str, first: usize, end: usize) -> String {
    let text = |number: usize| count(number as u64);
    if end <= first + 1 {
        format!("{one} {}", text(first))
    } else {
        format!("{many} {} to {}", text(first), text(end - 1))
    }
}

/// Least and greatest of durations.
fn ends([least, greatest]: [i64; 2]) -> String {
    if least == greatest { exact_ms(least) } else { format!("{} to {}", exact_ms(least), exact_ms(greatest)) }
}

/// Which frames these are.
pub fn frames_in_words(frames: &Range<usize>) -> String {
    numbers("Frame", "Frames", frames.start, frames.end)
}

impl Strip {
    /// What frames of these numbers came to, for a line headed by the design's name.
    pub fn told(&self, frames: Range<usize>) -> String {
        if frames.len() == 1
            && let Some(shot) = self.frame(frames.start)
        {
            let latency = shot.latency_ns.map_or_else(String::new, |ns| format!("{}, ", exact_ms(ns)));
            return format!("{latency}{}", shot.words().to_lowercase());
        }
        let fold = self.fold(frames);
        if fold.total() == 0 {
            return "not counted".to_owned();
        }
        let mut parts: Vec<String> = fold.ends_ns.map(ends).into_iter().collect();
        parts.extend(fold.mean_ns().map(|mean| format!("mean {}", exact_ms(mean.round() as i64))));
        for outcome in Outcome::ALL.into_iter().filter(|outcome| *outcome != Outcome::OnTime) {
            let found = fold.of(outcome);
            if found > 0 {
                parts.push(format!("{} {}", count(u64::from(found)), outcome.name()));
            }
        }
        parts.join(", ")
    }

    /// Why one of several frames is the one most worth a look (see [`Strip::worst`]).
    pub fn worst_in_words(&self, frame: usize) -> Option<String> {
        let shot = self.frame(frame)?;
        Some(match (shot.outcome(), shot.latency_ns) {
            (Outcome::OnTime, Some(ns)) => format!("the longest of these: {}", exact_ms(ns)),
            (Outcome::Late, Some(ns)) => format!("the longest of these that were late: {}", exact_ms(ns)),
            _ => format!("the first of these that was {}", shot.words().to_lowercase()),
        })
    }

    /// What refreshes at these places in the list show.
    pub fn refreshes_told(&self, places: Range<usize>) -> Option<String> {
        let beat = self.refreshes.get(places.start).filter(|_| !places.is_empty())?;
        let first = self.first_refresh + places.start;
        let which = numbers("Refresh", "Refreshes", first, first + places.len());
        if places.len() == 1 {
            let (name, meaning, _) = refresh_text(beat.kind);
            let shown =
                beat.frame.map_or_else(String::new, |frame| format!("\nframe {} on display", count(frame.into())));
            let age = beat.age_ns.map_or_else(String::new, |ns| format!(", photon age {}", exact_ms(ns)));
            return Some(format!("{which}: {}\n{meaning}{shown}{age}", name.to_lowercase()));
        }
        let fold = self.fold_refreshes(places);
        let kinds = RefreshKind::ALL.into_iter().filter(|kind| fold.of(*kind) > 0);
        let kinds = kinds.map(|kind| {
            let found = count(u64::from(fold.of(kind)));
            format!("{found} {}", refresh_text(kind).0.to_lowercase())
        });
        let kinds: Vec<String> = kinds.collect();
        let ages = fold.ages_ns.map_or_else(String::new, |ages| format!("\nphoton age {}", ends(ages)));
        Some(format!("{which}: {}{ages}", kinds.join(", ")))
    }
}
