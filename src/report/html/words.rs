//! How the numbers were made, what they are not, and how to make them again.

use maud::{Markup, html};

use super::{Page, table};
use crate::report::figures::Side;
use crate::report::format::{of, uncounted};

impl Page<'_> {
    /// What is simulated and how intervals are made.
    pub(super) fn method(&self) -> Markup {
        let [baseline, candidate] = self.answers.map(|answer| &answer.scenario);
        let told = |side: &crate::scenario::Scenario| {
            format!(
                "{}, {}, seed {}",
                of(u64::from(side.run.frames), "frame"),
                uncounted(side.run.warmup),
                side.run.seed
            )
        };
        let (before, after) = (told(baseline), told(candidate));
        html! {
            section id="method" {
                h2 { "Method" }
                ul {
                    li { "What is simulated is the way of every frame through a split-rendering headset: pose sample, uplink, simulate, \
                          render, encode, link, decode, latch, compose, photons. Times are whole nanoseconds." }
                    li { "A frame is cut into slices, which are encoded, sent and decoded one after the other; a slice moves on as soon as \
                          it is done where the design hands off slice by slice. One slice is the whole frame." }
                    li { "The same luck for both: all chance is drawn before anything is simulated, from the seed, from what is drawn, and \
                          from its frame, slice and try, never from what else is drawn. So both designs meet the same content, jitter and \
                          losses, and the difference of their answers is the difference of the designs (common random numbers)." }
                    li { "A host plans a frame some time, the lead, before the latch that it aims at. Where the lead is tuned, each design \
                          gets the lead at which the share of late frames asked for is met to within one frame; so a faster pipeline is not made to \
                          wait." }
                    li { "Runs: " @if before == after { (after) ", for both." } @else { "candidate " (after) "; baseline " (before) "." } }
                    li { "Pose to photon is measured over counted frames that were shown, from the pose that a frame was made with to the \
                          photons of the refresh that first shows it. Quantiles are linear between order statistics (type 7 of Hyndman \
                          and Fan 1996)." }
                    li { "The interval of a gain: both designs are run again under further seeds, the same luck for both, and half the \
                          width is Student's t times the standard error of the gains over the seeds. It is that of the mean gain of \
                          runs of this length; what is so rare that no seed met it is not in it. The interval of p99 of one design is \
                          from its one run, by the test of the share of frames beyond it over 20 stretches, inverted; runs that \
                          are too short for one have a dash. All are 95 % intervals. They tell of luck, not of whether the parameters \
                          are right." }
                    li { "What cannot be measured is a dash, never 0." }
                }
            }
        }
    }

    /// What simulated numbers are not.
    pub(super) fn cautions() -> Markup {
        html! {
            section id="cautions" {
                h2 { "Cautions" }
                ul {
                    li { "These are simulated numbers. They are as good as the parameters that went in; measured stage times should take \
                          the place of assumed ones before a decision rests on them." }
                    li { "Comfort of a wearer: whether latency, judder, repeated frames or motion that is left over are noticed or make \
                          people unwell differs from person to person. No number here replaces testing with people." }
                    li { "Flicker, brightness and persistence of a display are not simulated. They, and cables and straps on a moving person \
                          (tripping, pulling, heat), are matters of safety that need tests of their own." }
                    li { "Local rules on safety, radio and work with people hold whatever is written here; ask those who are \
                          qualified to judge them." }
                }
            }
        }
    }

    /// Version, date, seed, and the command for every number.
    pub(super) fn again(&self) -> Markup {
        let made = self.made;
        let rows = html! {
            thead { tr { th scope="col" { "Numbers" } th scope="col" { "Command" } } }
            tbody {
                tr { th scope="row" { "Verdict, budget" } td.text { (code(&made.command_of("figure verdict", "verdict.csv", &[]))) } }
                @for side in [Side::Candidate, Side::Baseline] {
                    tr {
                        th scope="row" { "Measures of the " (if side == Side::Candidate { "candidate" } else { "baseline" }) }
                        td.text { (code(&made.simulate(side))) }
                    }
                }
                @for drawing in self.drawings {
                    @let words = format!("figure {}", drawing.slug);
                    tr {
                        th scope="row" { "Figure: " (drawing.name) }
                        td.text { (code(&made.command_of(&words, &format!("{}.csv", drawing.slug), &[]))) }
                    }
                }
            }
        };
        html! {
            section id="provenance" {
                h2 { "Provenance" }
                p { "Made by framelap " (crate::version::version()) " on " time datetime=(made.date) { (made.date) } ". This command makes this \
                     page again, to the byte where the environment variable SOURCE_DATE_EPOCH fixes the date:" }
                pre dir="ltr" { code id="command" { (made.page_command(self.out, self.options)) } }
                p { "Without the files or presets that it names: save both scenarios of the appendix under the names given there, and" }
                pre dir="ltr" { code { "framelap report again.html candidate.ron baseline.ron" } }
                (table("The numbers in full, as tables or JSON, part by part", &rows))
            }
        }
    }
}

fn code(command: &str) -> Markup {
    html! { code dir="ltr" { (command) } }
}
