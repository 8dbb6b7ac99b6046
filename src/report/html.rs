//! A head-to-head as one page in HTML that stays behind after the window is closed: the answer, what it rests on, and all
//! that it takes to run it again. It loads nothing from elsewhere, needs no script, and prints on A4.
//!
//! The markup is XML too, so that any reader of XML can take numbers out: every number that was measured stands in a `data`
//! element whose `value` is the number in full.

mod answer;
mod designs;
mod numbers;
mod style;
mod words;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::figures::Side;
use super::figures::ledger::Ledger;
use super::figures::verdict::{Measured, Verdict};
use super::provenance::Provenance;
use super::warnings::Told;
use crate::study::Answer;

/// All that a page tells.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// Both answers, baseline first.
    pub answers: [&'a Answer; 2],
    /// What they come to.
    pub verdict: &'a Verdict,
    /// What to know before believing it.
    pub warnings: &'a [Told],
    /// Where the time goes.
    pub ledger: &'a Ledger,
    /// Pictures, in the order in which they are to stand.
    pub drawings: &'a [Drawing],
    /// Names, sources, date.
    pub made: &'a Provenance,
    /// Options of the command that writes the page, beside those of the scenarios.
    pub options: &'a [String],
    /// Name of the file, for the command.
    pub out: &'a str,
    /// Colours of page and drawings.
    pub colors: &'a Colors,
    /// Those on paper: dark on light.
    pub printed: &'a Colors,
}

/// A figure as a picture.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// Its name.
    pub name: &'static str,
    /// Its name in commands.
    pub slug: &'static str,
    /// What it shows, in a sentence.
    pub meaning: &'static str,
    /// The picture: an `svg` element whose ids no other of the page has.
    pub svg: String,
    /// The same as it is printed, where that is another.
    pub printed: Option<String>,
}

/// Colours as CSS has them.
#[derive(Debug, Clone)]
pub struct Colors {
    /// Whether text is light on dark.
    pub dark: bool,
    /// The page.
    pub paper: String,
    /// Figures and tables on it.
    pub sheet: String,
    /// Text.
    pub ink: String,
    /// Text of less weight.
    pub soft: String,
    /// Rules between rows.
    pub rule: String,
    /// As wanted.
    pub good: String,
    /// Uncertain.
    pub doubt: String,
    /// Not as wanted.
    pub bad: String,
    /// The candidate.
    pub candidate: String,
}

/// The page. Characters that XML cannot hold are left out of names and notes.
pub fn page(page: &Page<'_>) -> String {
    let text = html! {
        (DOCTYPE)
        html lang="en" {
            (head(page))
            body {
                (page.top())
                main {
                    (page.answer())
                    (page.warned())
                    (page.differing())
                    (page.budget())
                    (page.figures())
                    (page.exposed())
                    (page.measures())
                    (page.method())
                    (Page::cautions())
                    (page.again())
                    (page.appendix())
                }
            }
        }
    };
    let mut text = text.into_string();
    text.retain(held_by_xml);
    text.push('\n');
    text
}

/// Whether XML 1.0 has the character, production 2; of those that it discourages none is kept either.
fn held_by_xml(letter: char) -> bool {
    matches!(letter, '\t' | '\n') || !(letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}'))
}

fn head(page: &Page<'_>) -> Markup {
    html! {
        head {
            // Written out, since XML wants empty elements closed.
            (PreEscaped("<meta charset=\"utf-8\"/><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>"))
            title { (page.made.title()) ": framelap report" }
            style { (PreEscaped(style::sheet(page.colors, page.printed))) }
        }
    }
}

impl Page<'_> {
    /// Both designs as the verdict judges them.
    fn measured(&self) -> [Measured<'_>; 2] {
        self.answers.map(|answer| Measured {
            scenario: &answer.scenario,
            summary: &answer.summary,
            samples: &answer.samples,
        })
    }

    fn top(&self) -> Markup {
        html! {
            header {
                h1 {
                    span.side.candidate aria-hidden="true" { "●" } " " bdi { (self.name(Side::Candidate)) }
                    " " span.soft { "against" } " "
                    span.side aria-hidden="true" { "○" } " " bdi { (self.name(Side::Baseline)) }
                }
                p.soft { "Candidate against baseline, simulated: " (self.made.run()) "." }
            }
        }
    }

    fn name(&self, side: Side) -> &str {
        &self.made.names[side.index()]
    }

    fn figures(&self) -> Markup {
        html! {
            section id="figures" {
                h2 { "Figures" }
                p { "The baseline is drawn open and dashed, in ink; the candidate solid, in colour. Times are in ms." }
                @for drawing in self.drawings {
                    figure id={ "figure-" (drawing.slug) } {
                        figcaption { strong { (drawing.name) } ". " (drawing.meaning) "." }
                        @if let Some(printed) = &drawing.printed {
                            div.scroll.shown { (PreEscaped(&drawing.svg)) }
                            div.printed { (PreEscaped(printed)) }
                        } @else {
                            div.scroll { (PreEscaped(&drawing.svg)) }
                        }
                    }
                }
            }
        }
    }
}

/// A table that scrolls where it is wider than the page.
fn table(label: &str, contents: &Markup) -> Markup {
    html! { div.scroll role="region" aria-label=(label) tabindex="0" { table { caption { (label) } (contents) } } }
}
