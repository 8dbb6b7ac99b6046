//! A summary as text, for people at a terminal.

use std::fmt::{self, Write as _};

use super::columns::{DASH, Maybe, Number, PAGE, Table};
use super::figures::verdict::repeated_pct;
use super::format::{self, adding_up};
use super::warnings::Warning;
use super::words::{capital, wrapped};
use crate::engine::{Fate, RefreshKind};
use crate::measure::{
    BudgetLine, Distribution, Fates, Piece, RefreshKinds, Repairs, Sense, Server, Summary, frames_for_p99_interval,
};
use crate::scenario::{Lead, Pacing, Scenario};

/// Columns of the bar that stands for the largest piece of the exposed time.
const BAR_COLUMNS: f64 = 30.0;

/// All of a summary that one screen holds, in tables aligned for a monospaced face, and below the verdict what to know
/// before believing it. What cannot be measured is a dash.
pub fn summary(scenario: &Scenario, summary: &Summary, warnings: &[Warning]) -> String {
    let mut text = String::new();
    // Writing to a string does not fail.
    let _ = Page { scenario, summary, warnings, to: &mut text }.write();
    text
}

struct Page<'a> {
    scenario: &'a Scenario,
    summary: &'a Summary,
    warnings: &'a [Warning],
    to: &'a mut String,
}

impl Page<'_> {
    fn write(&mut self) -> fmt::Result {
        self.head()?;
        self.distributions()?;
        self.outcomes()?;
        self.servers()?;
        self.exposed()?;
        self.budget()
    }

    fn head(&mut self) -> fmt::Result {
        let Self { scenario, summary, warnings, to } = self;
        let name = if summary.name.is_empty() { "Scenario without a name" } else { &summary.name };
        let slices = scenario.slices.count;
        writeln!(to, "{name}")?;
        let frames = format!("{} {}", summary.frames, format::noun(u64::from(summary.frames), "frame"));
        let version = crate::version::version();
        writeln!(to, "framelap {version}, seed {}, {frames} {}", summary.seed, format::uncounted(summary.warmup))?;
        write!(to, "{slices} {} a frame", format::noun(u64::from(slices), "slice"))?;
        let penalty = scenario.slices.bits_penalty_pct * f64::from(slices - 1);
        if penalty > 0.0 {
            write!(to, " ({} % more bits than one slice, for the same quality)", Number(penalty, 2))?;
        }
        writeln!(to, "\n{}", capital(&lead(scenario, summary)))?;
        if !summary.steady {
            let growth = summary.growth_ms_per_frame;
            writeln!(to, "NOT STEADY: turnaround grows {} ms a frame; quantiles mean nothing", Maybe(growth, 4))?;
        }
        writeln!(to)?;
        writeln!(to, "{}", verdict(summary))?;
        for warning in *warnings {
            writeln!(to, "\n{}", wrapped(&format!("! {warning}"), PAGE, "  ").join("\n"))?;
        }
        writeln!(to)
    }

    fn distributions(&mut self) -> fmt::Result {
        let summary = self.summary;
        let mut table = Table::new(["ms", "mean", "sd", "p50", "p95", "p99", "95 % of p99", "p99.9", "max"]);
        let rows = [
            ("Pose to photon", &summary.pose_to_photon_ms),
            ("Photon age", &summary.photon_age_ms),
            ("Motion to photon, hands", &summary.motion_to_photon_ms.hands),
            ("Motion to photon, rotation", &summary.motion_to_photon_ms.rotation),
            ("Stream latency", &summary.stream_ms),
            ("  of the frame alone", &summary.stream_alone_ms),
            ("  waiting", &summary.stream_waiting_ms),
            ("Turnaround", &summary.turnaround_ms),
        ];
        for (label, distribution) in rows {
            table.row(distribution_row(label, distribution));
        }
        write!(self.to, "{table}")?;
        if rows.iter().any(|(_, distribution)| distribution.p99_ci95.is_some()) {
            let told = format!(
                "95 % of p99: from this run; `compare` holds seeds against each other. {}",
                format::NARROW_MEANS
            );
            writeln!(self.to, "{}", wrapped(&told, PAGE, "  ").join("\n"))?;
        }
        if let Some(frames) = too_short_for_p99(self.scenario, summary) {
            let told = format!(
                "95 % of p99: not to be had from so few frames, whose content is alike from frame to frame; {} would do, or seeds \
                 (`framelap compare`).",
                format::count(frames)
            );
            writeln!(self.to, "{}", wrapped(&told, PAGE, "  ").join("\n"))?;
        }
        writeln!(self.to)
    }

    fn outcomes(&mut self) -> fmt::Result {
        let Self { summary, to, .. } = self;
        let fates = &summary.fates;
        write!(to, "Frames     {:>7}", fates.total())?;
        let ends = Fate::ALL.map(|fate| (Fates::label(fate), fates.of(fate)));
        counts(to, &ends, fates.total())?;
        let headroom = if summary.lead_infinite {
            "no headroom: no lead could be tuned".to_owned()
        } else {
            format!("headroom (1 % quantile of the slack of those ready) {} ms", Maybe(summary.headroom_ms, 3))
        };
        writeln!(to, "                     late {} %, {headroom}", Maybe(summary.late_share.map(percent), 2))?;
        if let Some(repairs) = repairs(&summary.repairs) {
            writeln!(to, "                     {repairs}")?;
        }
        let kinds = &summary.refresh_kinds;
        write!(to, "Refreshes  {:>7}", kinds.total())?;
        let shows = RefreshKind::ALL.map(|kind| (RefreshKinds::label(kind), kinds.of(kind)));
        counts(to, &shows, kinds.total())?;
        writeln!(
            to,
            "                     missed {} %, {} a minute; repeated {} %; longest freeze {} ms\n\
             {:21}pacing error sd {} ms ({} deg)",
            Maybe(summary.missed_pct, 2),
            Maybe(summary.missed_per_minute, 1),
            Maybe(repeated_pct(summary), 2),
            Maybe(summary.longest_freeze_ms, 1),
            "",
            Maybe(summary.pacing_error.sd_ms, 3),
            Maybe(summary.pacing_error.sd_deg, 3)
        )?;
        writeln!(to)
    }

    fn servers(&mut self) -> fmt::Result {
        let mut table = Table::new(["Server", "offered load [%]", "busy [%]"]);
        for server in Server::ALL {
            let share = |value: Option<f64>| Maybe(value.map(percent), 1).to_string();
            table.row([
                server.label().to_owned(),
                share(self.summary.offered_load.of(server)),
                share(self.summary.busy.of(server)),
            ]);
        }
        writeln!(self.to, "{table}")
    }

    fn exposed(&mut self) -> fmt::Result {
        let exposed = &self.summary.exposed_ms;
        let Some(total) = exposed.total().filter(|&total| total > 0.0) else { return Ok(()) };
        let largest = Piece::ALL.into_iter().filter_map(|piece| exposed.of(piece)).fold(0.0, f64::max);
        let mut table = Table::new(["Exposed time, mean", "ms", "%", ""]);
        let means = Piece::ALL.map(|piece| exposed.of(piece).unwrap_or(0.0));
        let shown = adding_up(&means, total, 3);
        let shares = adding_up(&means.map(|mean| percent(mean / total)), 100.0, 1);
        for (place, (piece, mean)) in Piece::ALL.into_iter().zip(means).enumerate() {
            if shown[place] > 0.0 {
                let bar = "#".repeat((mean / largest * BAR_COLUMNS).round() as usize);
                table.row([
                    piece.label().to_owned(),
                    Number(shown[place], 3).to_string(),
                    Number(shares[place], 1).to_string(),
                    bar,
                ]);
            }
        }
        table.row(["Pose to photon".to_owned(), Number(total, 3).to_string(), "100.0".to_owned(), String::new()]);
        write!(self.to, "{table}")?;
        writeln!(self.to, "Rounded so that the parts add up; elsewhere each is rounded for itself.\n")
    }

    fn budget(&mut self) -> fmt::Result {
        let mut table = Table::new(["Budget", "value", "limit", "room", "", ""]);
        for line in &self.summary.budget {
            let mut row = budget_row(line, ["met", "NOT MET"]);
            if line.name == "missed" {
                row[5] = beside_missed(self.summary);
            }
            table.row(row);
        }
        write!(self.to, "{table}")?;
        writeln!(self.to)?;
        let mut table = Table::new(["Allowances, mean exposed time", "value", "limit", "room", "", ""]);
        for line in &self.summary.allowances {
            table.row(budget_row(line, ["within", "over"]));
        }
        write!(self.to, "{table}")?;
        if self.summary.allowances.iter().any(|line| !line.met) {
            writeln!(self.to, "A team over its allowance does not fail the budget: another may take less.")?;
        }
        Ok(())
    }
}

/// Frames of a run that its p99 could have an interval with, where too few are why it has none.
fn too_short_for_p99(scenario: &Scenario, summary: &Summary) -> Option<u64> {
    if summary.pose_to_photon_ms.p99.is_none() || summary.pose_to_photon_ms.p99_ci95.is_some() {
        return None;
    }
    frames_for_p99_interval(scenario).filter(|frames| *frames > u64::from(scenario.run.frames))
}

/// The answer: how late, within what budget, and how much of the picture moved on at all.
fn verdict(summary: &Summary) -> String {
    let Distribution { p50, p99, p99_ci95, .. } = summary.pose_to_photon_ms;
    let over: Vec<&str> = summary.budget.iter().filter(|line| !line.met).map(|line| line.label).collect();
    let budget = if over.is_empty() { "within budget".to_owned() } else { format!("OVER BUDGET: {}", over.join(", ")) };
    format!(
        "Pose to photon {} ms at the median, {} ms at p99{}; {budget}\n{} % of frames shown; of the refreshes, {} % missed \
         a frame that was due and {} % repeated one with none due",
        Maybe(p50, 3),
        Maybe(p99, 3),
        p99_ci95.map_or_else(String::new, |ends| format!(" (95 % {})", interval(Some(ends)))),
        Maybe(summary.delivered_share.map(percent), 2),
        Maybe(summary.missed_pct, 2),
        Maybe(repeated_pct(summary), 2),
    )
}

/// What the line of missed refreshes alone would hide.
fn beside_missed(summary: &Summary) -> String {
    let repeated = Maybe(repeated_pct(summary), 2);
    format!("beside {repeated} % repeated; {} % of frames shown", Maybe(summary.delivered_share.map(percent), 2))
}

/// What lead the frames were planned with, and where it comes from.
fn lead(scenario: &Scenario, summary: &Summary) -> String {
    let ms = Maybe(summary.lead_ms, 3);
    match scenario.pacing {
        Pacing::Fixed { lead: Lead::Ms(_), .. } => format!("lead {ms} ms (fixed)"),
        Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } if summary.lead_infinite => {
            format!("lead {ms} ms: NOT TUNED, no lead makes only {} % of frames late", Number(percent(late_share), 2))
        }
        Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } => {
            format!("lead {ms} ms (tuned to {} % late, to within one frame)", Number(percent(late_share), 2))
        }
        Pacing::Adaptive { .. } => format!("lead {ms} ms on average (adaptive)"),
        Pacing::Intervals { mean_ms, .. } => format!("planned every {mean_ms} ms on average, for no refresh"),
    }
}

fn distribution_row(label: &str, distribution: &Distribution) -> [String; 9] {
    let Distribution { mean, sd, p50, p95, p99, p999, max, p99_ci95, .. } = *distribution;
    let ms = |value| Maybe(value, 3).to_string();
    [label.to_owned(), ms(mean), ms(sd), ms(p50), ms(p95), ms(p99), interval(p99_ci95), ms(p999), ms(max)]
}

fn interval(ends: Option<[f64; 2]>) -> String {
    let Some([low, high]) = ends else { return DASH.to_owned() };
    format::decimals_of_ends([low, high]).map_or_else(
        || format::NARROW.to_owned(),
        |decimals| format!("[{}, {}]", Number(low, decimals), Number(high, decimals)),
    )
}

fn budget_row(line: &BudgetLine, [good, bad]: [&str; 2]) -> [String; 6] {
    let sign = match line.sense {
        Sense::AtMost => "<=",
        Sense::AtLeast => ">=",
    };
    let unit = if line.unit.is_empty() { String::new() } else { format!(" {}", line.unit) };
    // Levels have one decimal, 6.1, and no more.
    let decimals = if line.name == "level" { 1 } else { 3 };
    [
        line.label.to_owned(),
        format!("{}{unit}", Maybe(line.value, decimals)),
        format!("{sign} {}{unit}", line.limit),
        Maybe(line.room(), decimals).to_string(),
        if line.met { good } else { bad }.to_owned(),
        line.detail.clone().unwrap_or_default(),
    ]
}

/// What resends were good for, where there were any.
fn repairs(repairs: &Repairs) -> Option<String> {
    let Repairs { resent, repaired, in_time } = *repairs;
    let in_time =
        in_time.map_or_else(String::new, |in_time| format!(", {in_time} of these in time for their frame's latch"));
    let slices = format::noun(resent.into(), "slice");
    (resent > 0).then(|| format!("{resent} {slices} sent again, {repaired} repaired by it{in_time}"))
}

/// The counts that are not 0, with their shares.
fn counts(to: &mut String, counts: &[(&str, u32)], total: u32) -> fmt::Result {
    for (name, count) in counts.iter().filter(|(_, count)| *count > 0) {
        let share = Number(percent(f64::from(*count) / f64::from(total)), 2);
        write!(to, "   {} {count} ({share} %)", name.to_lowercase())?;
    }
    writeln!(to)
}

fn percent(share: f64) -> f64 {
    share * 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn running_text_breaks_between_words() {
        let text = format!("! {}", "word ".repeat(50).trim_end());
        let lines = wrapped(&text, PAGE, "  ");
        assert!(lines.iter().all(|line| line.len() <= PAGE) && lines.len() == 3, "{lines:?}");
        assert!(lines[1..].iter().all(|line| line.starts_with("  word")));
        assert_eq!(lines.join(" ").split_whitespace().count(), 51);
    }

    #[test]
    fn counts_leave_out_what_did_not_happen() {
        let mut text = String::new();
        counts(&mut text, &[("Shown", 3), ("Lost on the link", 0), ("Dropped before link", 1)], 4).unwrap();
        assert_eq!(text, "   shown 3 (75.00 %)   dropped before link 1 (25.00 %)\n");
    }

    #[test]
    fn an_interval_shows_its_width_or_says_that_it_has_none_to_show() {
        assert_eq!(interval(None), DASH);
        assert_eq!(interval(Some([35.61, 46.284])), "[35.61, 46.28]");
        assert_eq!(interval(Some([35.611, 35.614])), "[35.611, 35.614]");
        assert_eq!(interval(Some([35.611_111, 35.611_112])), format::NARROW);
    }

    #[test]
    fn a_team_over_its_allowance_does_not_read_as_a_budget_not_met() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup) = (600, 100);
        let mut found = crate::study::Workspace::new().summary(&scenario);
        for line in &mut found.budget {
            line.met = true;
        }
        let line = found.allowances.first_mut().unwrap();
        line.met = false;
        found.pose_to_photon_ms.p99_ci95 = Some([34.5, 35.25]);
        let text = super::summary(&scenario, &found, &[]);
        assert!(text.contains(" over\n") && text.contains("does not fail the budget"), "{text}");
        assert!(text.contains("within budget") && !text.contains("NOT MET"), "{text}");
        // An interval is told of, and of one that cannot be had what it would take: three late ones of 0.5 %, that is 600
        // independent frames, are 119 400 of memory 0.99, and 100 do not count.
        assert!(text.contains("(95 % [34.50, 35.25])") && text.contains("95 % of p99: from this run"), "{text}");
        assert!(!text.contains("not to be had"), "{text}");
        found.pose_to_photon_ms.p99_ci95 = None;
        let text = super::summary(&scenario, &found, &[]);
        assert!(text.contains("not to be had from so few frames") && text.contains("119 500 would do"), "{text}");
    }
}
