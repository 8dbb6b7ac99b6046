//! The fronts in words.

use super::gap;
use crate::report::figures::Side;
use crate::report::figures::fronts::{Course, Front, Fronts};
use crate::report::format::{count, exact_ms, ms, share};
use crate::time::ns_to_ms;

/// What the candidate gains.
pub(super) fn gain_in_words(gain_ns: i64) -> String {
    match gain_ns {
        0 => "ready at the same time".to_owned(),
        gain => format!("ready {} {}", ms(ns_to_ms(gain.abs())), if gain > 0 { "sooner" } else { "later" }),
    }
}

/// A slice and when the fronts passed over it.
pub(super) fn told(course: &Course, slice: usize) -> String {
    let strip = &course.strips[slice];
    let [from, to] = strip.rows.map(share);
    let mut lines = vec![format!("Slice {} of {}, {from} to {to} of the picture", slice + 1, course.strips.len())];
    for front in Front::ALL {
        let Some(ns) = strip.passed_ns[front as usize] else {
            lines.push(format!("never {}", front.name()));
            break;
        };
        let since = gap(strip, front).map_or_else(String::new, |[from, to]| format!(", {} later", exact_ms(to - from)));
        lines.push(format!("{} at {}{since}", front.name(), exact_ms(ns)));
    }
    if let Some((ready, decoded)) = course.ready_ns.zip(strip.passed_ns[Front::Decoded as usize]) {
        lines.push(format!("then {} until the frame is ready", exact_ms(ready - decoded)));
    }
    lines.join("\n")
}

/// What is to be seen, in words.
pub(super) fn in_words(fronts: &Fronts, names: &[String; 2]) -> String {
    let of = |side: Side| {
        let ready = fronts.sides[side.index()].as_ref().and_then(|course| course.ready_ns);
        let ready = ready.map_or_else(|| "not ready".to_owned(), |ns| format!("ready after {}", ms(ns_to_ms(ns))));
        format!("{} {ready}", names[side.index()])
    };
    let gain = fronts.gain_ns().map_or_else(String::new, |gain| format!("; this frame: {}", gain_in_words(gain)));
    let frame = count(fronts.frame as u64);
    format!("Fronts of frame {frame}: {}, {}{gain}", of(Side::Baseline), of(Side::Candidate))
}
