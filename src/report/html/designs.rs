//! What was compared: in what the designs differ, and both in full.

use maud::{Markup, html};

use super::numbers::design;
use super::{Page, table};
use crate::measure::measures;
use crate::report::differences::{self, lead, with_lead};
use crate::report::figures::Side;
use crate::report::format::NOTHING;
use crate::scenario::parameters::{self, Stage};
use crate::scenario::to_ron;

impl Page<'_> {
    /// The parameters that differ, with both values.
    pub(super) fn differing(&self) -> Markup {
        let [baseline, candidate] = self.answers.map(|answer| &answer.scenario);
        let mut differing = parameters::differences(baseline, candidate);
        // Name and notes stand elsewhere and change nothing.
        differing.retain(differences::matters);
        let rows = html! {
            thead { tr {
                th scope="col" { "Parameter" } th scope="col" { "Path" }
                th scope="col" { (design(Side::Baseline)) } th scope="col" { (design(Side::Candidate)) }
            } }
            tbody {
                @for one in &differing {
                    tr {
                        th scope="row" { (one.label) }
                        td { code { (one.path) } }
                        @for (side, value) in [&one.a, &one.b].into_iter().enumerate() {
                            td.text { bdi { (with_lead(one.path, value.clone(), lead(&self.answers[side].summary).as_deref())) } }
                        }
                    }
                }
            }
        };
        html! {
            section id="designs" {
                h2 { "Designs" }
                @for side in [Side::Candidate, Side::Baseline] {
                    @let scenario = &self.answers[side.index()].scenario;
                    p {
                        (design(side)) ": " strong { bdi { (self.name(side)) } }
                        @if !scenario.notes.trim().is_empty() { ". " bdi { (scenario.notes.trim()) } }
                    }
                }
                @if differing.is_empty() {
                    p { "The designs differ in no parameter." }
                } @else {
                    (table("Parameters in which the designs differ; all others are the same and stand in the appendix", &rows))
                }
            }
        }
    }

    /// Every parameter with both values.
    fn parameters(&self) -> Markup {
        let scenarios = self.answers.map(|answer| &answer.scenario);
        let leads = self.answers.map(|answer| lead(&answer.summary));
        let told = parameters::all().iter().filter(|parameter| parameter.stage != Stage::About);
        html! {
            thead { tr {
                th scope="col" { "Parameter" } th scope="col" { "Path" }
                th scope="col" { "Baseline" } th scope="col" { "Candidate" }
            } }
            tbody {
                @for parameter in told {
                    @let values = scenarios.map(|scenario| parameter.get(scenario));
                    @if values.iter().any(Option::is_some) {
                        tr {
                            th scope="row" { (parameter.full_label()) }
                            td { code { (parameter.path) } }
                            @for (value, lead) in values.into_iter().zip(&leads) {
                                @let value = value.map_or_else(|| NOTHING.to_owned(), |value| parameter.format(&value));
                                td.text { bdi { (with_lead(&parameter.path, value, lead.as_deref())) } }
                            }
                        }
                    }
                }
            }
        }
    }

    /// Both scenarios, every parameter and every measure.
    pub(super) fn appendix(&self) -> Markup {
        html! {
            section id="appendix" {
                h2 { "Appendix" }
                @for (side, file) in [(Side::Candidate, "candidate.ron"), (Side::Baseline, "baseline.ron")] {
                    details open="open" id={ "scenario-" (file.trim_end_matches(".ron")) } {
                        summary { "Scenario of the " (if side == Side::Candidate { "candidate" } else { "baseline" }) ": " bdi { (self.name(side)) } }
                        p.small { "As a file: what it does not name has its default, see every parameter below. Saved as " code { (file) } " it runs again." }
                        pre dir="ltr" { code { (to_ron(&self.answers[side.index()].scenario)) } }
                    }
                }
                details open="open" id="all-parameters" {
                    summary { "Every parameter of both designs" }
                    (table("Every parameter; a dash: there is none of this kind in the design", &self.parameters()))
                }
                details open="open" id="all-measures" {
                    summary { "Every measure of both designs" }
                    (table("Every measure", &self.list(measures::all().iter().collect(), true)))
                }
            }
        }
    }
}
