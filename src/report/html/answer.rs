//! What came out: the verdict, its gains with intervals, warnings, the budget.

use maud::{Markup, html};

use super::numbers::{named, number, signed};
use super::{Page, table};
use crate::report::figures::table::Cell;
use crate::report::figures::verdict::{self, Line, Met, Tone};
use crate::report::format::{self, NOTHING, with_unit};

/// The class of a mark and the mark.
const fn signal(tone: Tone) -> (&'static str, &'static str) {
    match tone {
        Tone::Sooner => ("good", "✓"),
        Tone::Later => ("bad", "▲"),
        Tone::Mixed | Tone::Unclear => ("doubt", "–"),
        Tone::Unsteady | Tone::Nothing => ("bad", "✗"),
    }
}

const fn mark(met: Met) -> (&'static str, &'static str) {
    match met {
        Met::Yes => ("good", "✓"),
        Met::No => ("bad", "✗"),
        Met::Unknown => ("doubt", "–"),
    }
}

impl Page<'_> {
    /// The verdict, and the numbers that it rests on.
    pub(super) fn answer(&self) -> Markup {
        let verdict = self.verdict;
        let (class, sign) = signal(verdict.tone);
        // Where there is no latency to compare, the headline says that itself.
        let of = matches!(verdict.tone, Tone::Sooner | Tone::Later | Tone::Mixed) && !verdict.headline.contains(" at ");
        html! {
            section id="verdict" {
                h2 { "Verdict" }
                div class={ "headline " (class) } {
                    span class={ "mark " (class) } aria-hidden="true" { (sign) } " " (verdict.headline)
                    @if of { " " small { "pose to photon at the median, candidate against baseline" } }
                }
                p { (verdict.sentence) }
                @if !verdict.uncertainty.is_empty() { p.soft { (verdict.uncertainty) } }
                (self.gains())
            }
        }
    }

    /// Gains at the median and at p99 with their intervals.
    fn gains(&self) -> Markup {
        let rows = verdict::table(self.measured(), self.verdict.gains.as_ref()).rows;
        let float = |cell: Option<&Cell>| match cell {
            Some(Cell::Float(value)) => Some(*value),
            _ => None,
        };
        let gains = rows.iter().filter(|row| row.first() == Some(&Cell::from("gain")));
        let rows: Markup = html! {
            thead { tr {
                th scope="col" { "Pose to photon, ms" }
                th.n scope="col" { "Baseline" } th.n scope="col" { "Candidate" }
                th.n scope="col" { "Gain" } th.n scope="col" { "Mean gain over seeds" } th.n scope="col" { "95 % interval of it" }
            } }
            tbody {
                @for row in gains {
                    @let (mean, half) = (float(row.get(6)), float(row.get(7)));
                    tr {
                        th scope="row" { (row.get(1).map(Cell::text).unwrap_or_default().replace("Pose to photon, ", "")) }
                        td.n { (number(float(row.get(3)), 3)) } td.n { (number(float(row.get(4)), 3)) }
                        td.n { (signed(float(row.get(5)), 3)) } td.n { (signed(mean, 3)) }
                        td.n {
                            @if let (Some(mean), Some(half)) = (mean, half) {
                                (signed(Some(mean - half), 3)) " to " (signed(Some(mean + half), 3))
                            } @else { (NOTHING) }
                        }
                    }
                }
            }
        };
        table("A gain is by how much sooner the candidate's photons come; negative: later", &rows)
    }

    /// What to know before believing it.
    pub(super) fn warned(&self) -> Markup {
        html! {
            section id="warnings" {
                h2 { "Warnings" }
                @if self.warnings.is_empty() { p { "No warnings: nothing found that would make these numbers misleading." } }
                @for told in self.warnings {
                    p.warning { span.mark.doubt aria-hidden="true" { "▲" } " " strong { (told.of()) ": " } (told.text) }
                }
            }
        }
    }

    /// The candidate's budget line by line, then the shares of its time.
    pub(super) fn budget(&self) -> Markup {
        let [baseline, candidate] = self.answers.map(|answer| &answer.summary);
        let part = |piece: bool| self.verdict.lines.iter().filter(move |line| line.piece == piece);
        let rows = |lines: Vec<&Line>, mine: &[crate::measure::BudgetLine], others: &[crate::measure::BudgetLine]| {
            html! {
                thead { tr {
                    th scope="col" { "Line" } th.n scope="col" { "Baseline" } th.n scope="col" { "Candidate" }
                    th scope="col" { "Limit" } th scope="col" { "Candidate is" } th scope="col" { "Distance" }
                } }
                tbody {
                    @for line in lines {
                        @let (class, sign) = mark(line.met);
                        @let of = |all: &[crate::measure::BudgetLine]| all.iter().find(|one| one.name == line.name).and_then(|one| one.value);
                        tr {
                            th scope="row" { (line.label) }
                            td.n { (named(of(others), &line.baseline)) } td.n { (named(of(mine), &line.value)) }
                            td { (line.limit) }
                            td { span class={ "mark " (class) } aria-hidden="true" { (sign) } " " (line.word()) }
                            td { (line.room) }
                        }
                    }
                }
            }
        };
        let met = part(false).filter(|line| line.met == Met::Yes).count();
        let all = part(false).count();
        html! {
            section id="budget" {
                h2 { "Budget" }
                p { "The candidate meets " (met) " of the " (all) " lines of its budget." }
                (table("The candidate's budget, line by line", &rows(part(false).collect(), &candidate.budget, &baseline.budget)))
                (table("Allowances: mean exposed time of each team against what it may take; one over its allowance fails no budget",
                    &rows(part(true).collect(), &candidate.allowances, &baseline.allowances)))
            }
        }
    }

    /// The ledger: what the time from pose to photon goes on.
    pub(super) fn exposed(&self) -> Markup {
        let ledger = self.ledger;
        // What is shown adds up; in full the numbers are those of the table.
        let shown = &ledger.rounded(3);
        let plain = |full: Option<f64>, shown: Option<f64>| {
            named(full, &shown.map_or_else(|| NOTHING.to_owned(), |shown| format::number(shown, 3)))
        };
        let change = |full: Option<f64>, shown: Option<f64>| {
            let told = |shown| format::signed(shown, format::number(shown, 3));
            named(full, &shown.map_or_else(|| NOTHING.to_owned(), told))
        };
        let rows = html! {
            thead { tr {
                th scope="col" { "Mean exposed time, ms" } th.n scope="col" { "Baseline" } th.n scope="col" { "Candidate" }
                th.n scope="col" { "Change" } th.n scope="col" { "Allowance" } th scope="col" { "" }
                th.n scope="col" { "Hidden, baseline" } th.n scope="col" { "Hidden, candidate" }
            } }
            tbody {
                @for (entry, shown) in ledger.entries.iter().zip(&shown.entries) {
                    tr class=(if entry.part { "part" } else { "whole" }) {
                        th scope="row" { (entry.name) }
                        @for (full, shown) in entry.values_ms.into_iter().zip(shown.values_ms) { td.n { (plain(full, shown)) } }
                        td.n { (change(entry.difference_ms(), shown.difference_ms())) }
                        td.n { @if let Some(allowed) = entry.allowance_ms { (with_unit(Some(allowed), 1, "")) } }
                        td { @match entry.met {
                            Some(true) => { span.mark.good aria-hidden="true" { "✓" } " within" },
                            Some(false) => { span.mark.bad aria-hidden="true" { "✗" } " over" },
                            None => "",
                        } }
                        @for value in entry.hidden_ms { td.n { @if value.is_some() { (number(value, 3)) } } }
                    }
                }
                tr.sum {
                    th scope="row" { "Pose to photon" }
                    @for (full, shown) in ledger.totals_ms.into_iter().zip(shown.totals_ms) { td.n { (plain(full, shown)) } }
                    td.n { (change(ledger.difference_ms(), shown.difference_ms())) }
                    td.n { (with_unit(Some(ledger.allowance_ms), 1, "")) }
                    td {} td {} td {}
                }
            }
        };
        html! {
            section id="exposed" {
                h2 { "Where the time goes" }
                p { "Time is exposed while the photons wait for it; work that goes on behind other work is hidden and costs the \
                     wearer nothing. Indented rows are parts of the row above them." }
                (table("Exposed time, piece by piece", &rows))
            }
        }
    }
}
