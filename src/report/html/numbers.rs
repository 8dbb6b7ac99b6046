//! Numbers as elements that hold them in full, and the tables of measures.

use maud::{Markup, html};

use super::{Page, table};
use crate::measure::measures::{self, Measure};
use crate::measure::{Distribution, Summary};
use crate::report::figures::Side;
use crate::report::format::{self, NARROW, NARROW_MEANS, NOTHING, decimals_of_ends};

/// A number with so many decimals; in full as the element's value.
pub(super) fn number(value: Option<f64>, decimals: usize) -> Markup {
    named(value, &in_text(value, |value| format::number(value, decimals)))
}

/// A number in words of its own, or a dash.
fn in_text(value: Option<f64>, told: impl Fn(f64) -> String) -> String {
    value.map_or_else(|| NOTHING.to_owned(), told)
}

/// A number as it is told elsewhere; in full as the element's value.
pub(super) fn named(value: Option<f64>, told: &str) -> Markup {
    let Some(value) = value.filter(|value| value.is_finite()) else { return html! { (told) } };
    html! { data value=(value.to_string()) { (told) } }
}

/// The same with a sign before what is more than nothing.
pub(super) fn signed(value: Option<f64>, decimals: usize) -> Markup {
    named(value, &in_text(value, |value| format::signed(value, format::number(value, decimals))))
}

/// Decimals that a measure of both designs is shown with: none for counts.
fn decimals(measure: &Measure, values: [Option<f64>; 2]) -> usize {
    let whole = values.iter().flatten().all(|value| value.fract() == 0.0);
    match measure.unit {
        _ if measure.is_share => 2,
        "" | "refreshes" if whole => 0,
        "" => 4,
        _ => 3,
    }
}

type Of = fn(&Summary) -> &Distribution;

const DISTRIBUTIONS: [(&str, Of); 8] = [
    ("Pose to photon", |summary| &summary.pose_to_photon_ms),
    ("Photon age", |summary| &summary.photon_age_ms),
    ("Motion to photon, hands", |summary| &summary.motion_to_photon_ms.hands),
    ("Motion to photon, rotation", |summary| &summary.motion_to_photon_ms.rotation),
    ("Stream latency", |summary| &summary.stream_ms),
    ("Stream latency of the frame alone", |summary| &summary.stream_alone_ms),
    ("Stream latency, waiting", |summary| &summary.stream_waiting_ms),
    ("Turnaround", |summary| &summary.turnaround_ms),
];

impl Page<'_> {
    /// The measures that are told first.
    pub(super) fn measures(&self) -> Markup {
        let main = |measure: &&Measure| measure.main && !measure.name.contains("_ms.");
        let paced = |measure: &&Measure| measure.main && measure.name.starts_with("pacing_error");
        let chosen = measures::all().iter().filter(|measure| main(measure) || paced(measure)).collect();
        html! {
            section id="measures" {
                h2 { "Measures" }
                (table("Latencies and ages of both designs, ms", &self.distributions()))
                p.small { "95 % of p99: from this run, a dash where it is too short for one; framelap compare holds seeds against each \
                    other. "
                    (NARROW_MEANS) }
                (table("Other measures", &self.list(chosen, false)))
                p.small { "Every measure stands in the appendix." }
            }
        }
    }

    fn distributions(&self) -> Markup {
        let sides = [Side::Baseline, Side::Candidate];
        html! {
            thead { tr {
                th scope="col" { "Measure" } th scope="col" { "Design" }
                @for head in ["mean", "sd", "p50", "p95", "p99", "95 % of p99", "p99.9", "max"] { th.n scope="col" { (head) } }
            } }
            tbody {
                @for (label, of) in DISTRIBUTIONS {
                    @for side in sides {
                        @let d = of(&self.answers[side.index()].summary);
                        tr {
                            th scope="row" { (label) }
                            td { (design(side)) }
                            @for value in [d.mean, d.sd, d.p50, d.p95, d.p99] { td.n { (number(value, 3)) } }
                            td.n { @if let Some([low, high]) = d.p99_ci95 {
                                @if let Some(decimals) = decimals_of_ends([low, high]) {
                                    (number(Some(low), decimals)) " to " (number(Some(high), decimals))
                                } @else { (NARROW) }
                            } @else { (NOTHING) } }
                            @for value in [d.p999, d.max] { td.n { (number(value, 3)) } }
                        }
                    }
                }
            }
        }
    }

    /// Measures one below the other; in full they bear their names in the JSON output.
    pub(super) fn list(&self, chosen: Vec<&Measure>, in_full: bool) -> Markup {
        html! {
            thead { tr {
                th scope="col" { "Measure" }
                @if in_full { th scope="col" { "Name in JSON" } }
                th scope="col" { "Unit" }
                th.n scope="col" { "Baseline" } th.n scope="col" { "Candidate" } th.n scope="col" { "Change" }
            } }
            tbody {
                @for measure in chosen {
                    @let values = self.answers.map(|answer| measure.get(&answer.summary));
                    @let decimals = decimals(measure, values);
                    @let shown = measure.for_people();
                    @let change = values[0].zip(values[1]).map(|(before, after)| after - before);
                    tr {
                        th scope="row" { (measure.label) }
                        @if in_full { td { code { (measure.name) } } }
                        td { (shown.unit) }
                        @for value in values {
                            td.n { (named(value, &in_text(value, |value| format::number(value * shown.factor, decimals)))) }
                        }
                        td.n { (named(change, &in_text(change, |change| {
                            let change = change * shown.factor;
                            format::signed(change, format::number(change, decimals))
                        }))) }
                    }
                }
            }
        }
    }
}

/// A design in a word with its mark.
pub(super) fn design(side: Side) -> Markup {
    match side {
        Side::Baseline => html! { span.side aria-hidden="true" { "○" } " baseline" },
        Side::Candidate => html! { span.side.candidate aria-hidden="true" { "●" } " candidate" },
    }
}
