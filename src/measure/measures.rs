//! Every measure that can be asked of a summary, in one list: name, label, unit, which way is better, how to read it.
//!
//! A name is the measure's path in the JSON output: `pose_to_photon_ms.p99`, `offered_load.decoder`. A few that follow
//! from several of those stand at the end. Studies, `--measure` and their help all read this list.

use std::sync::LazyLock;

use super::summary::{Angle, Angles, Distribution, Fates, RefreshKinds, Summary};
use super::{Piece, Server};
use crate::engine::{Fate, RefreshKind};

/// Which way a measure gets better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// Less is better.
    Less,
    /// More is better.
    More,
    /// It is neither good nor bad in itself.
    Neither,
}

/// How values of a measure are shown to people: a share in per cent. Tables and JSON hold the share itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForPeople {
    /// The unit.
    pub unit: &'static str,
    /// What a value is multiplied by.
    pub factor: f64,
}

impl ForPeople {
    /// Of a measure in that unit, which is a share or none.
    pub const fn of(unit: &'static str, is_share: bool) -> Self {
        if is_share { Self { unit: "%", factor: 100.0 } } else { Self { unit, factor: 1.0 } }
    }

    /// A value in that unit; a share of few digits has few digits in per cent too.
    pub fn value(self, value: f64) -> f64 {
        // Further digits are those of binary fractions.
        const DIGITS: f64 = 1e9;
        if self.factor > 1.0 { (value * self.factor * DIGITS).round() / DIGITS } else { value }
    }
}

type Read = dyn Fn(&Summary) -> Option<f64> + Send + Sync;

/// One measure of a summary.
pub struct Measure {
    /// Path in the JSON output.
    pub name: String,
    /// Name for people.
    pub label: String,
    /// Its unit; empty for plain numbers.
    pub unit: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Whether it is one of those shown when none is asked for.
    pub main: bool,
    /// Whether it is a share of something, 1 being all of it, or what is offered over what can be done.
    pub is_share: bool,
    read: Box<Read>,
}

impl Measure {
    /// Its value; none where there is nothing to measure.
    pub fn get(&self, summary: &Summary) -> Option<f64> {
        (self.read)(summary)
    }

    /// Whether `a` is better than `b`.
    pub fn prefers(&self, a: f64, b: f64) -> bool {
        match self.better {
            Better::Less => a < b,
            Better::More => a > b,
            Better::Neither => false,
        }
    }

    /// How it is shown to people.
    pub const fn for_people(&self) -> ForPeople {
        ForPeople::of(self.unit, self.is_share)
    }

    /// Label and unit: `Pose to photon, p99 [ms]`.
    pub fn with_unit(&self) -> String {
        let unit = self.for_people().unit;
        if unit.is_empty() { self.label.clone() } else { format!("{} [{unit}]", self.label) }
    }
}

impl std::fmt::Debug for Measure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Measure").field("name", &self.name).field("better", &self.better).finish_non_exhaustive()
    }
}

static LIST: LazyLock<Vec<Measure>> = LazyLock::new(list);

/// All measures, latency first.
pub fn all() -> &'static [Measure] {
    &LIST
}

/// The measure of that name.
pub fn find(name: &str) -> Option<&'static Measure> {
    all().iter().find(|measure| measure.name == name)
}

/// The measure of that name, or those whose names are most like it.
pub fn named(name: &str) -> Result<&'static Measure, Vec<&'static str>> {
    find(name).ok_or_else(|| {
        let letters: Vec<&str> = name.split(['.', '_', ' ']).filter(|part| !part.is_empty()).collect();
        let alike = |measure: &&Measure| letters.iter().filter(|part| measure.name.contains(**part)).count();
        let mut names: Vec<&'static Measure> = all().iter().collect();
        names.sort_by_key(|measure| std::cmp::Reverse(alike(measure)));
        names.iter().take(3).map(|measure| measure.name.as_str()).collect()
    })
}

/// The measure that studies go by unless told otherwise: pose to photon at p99.
pub fn usual() -> &'static Measure {
    // A name that the list has, see the tests.
    find("pose_to_photon_ms.p99").unwrap_or(&all()[0])
}

/// Builds the list.
struct List(Vec<Measure>);

impl List {
    fn add(
        &mut self,
        name: impl Into<String>,
        label: impl Into<String>,
        unit: &'static str,
        better: Better,
        read: impl Fn(&Summary) -> Option<f64> + Send + Sync + 'static,
    ) -> &mut Measure {
        let (name, label) = (name.into(), label.into());
        self.0.push(Measure { name, label, unit, better, main: false, is_share: false, read: Box::new(read) });
        let last = self.0.len() - 1;
        &mut self.0[last]
    }

    /// A share: of no unit in tables and JSON.
    fn share(
        &mut self,
        name: impl Into<String>,
        label: impl Into<String>,
        better: Better,
        read: impl Fn(&Summary) -> Option<f64> + Send + Sync + 'static,
    ) -> &mut Measure {
        let measure = self.add(name, label, "", better, read);
        measure.is_share = true;
        measure
    }

    fn distribution(&mut self, name: &str, label: &str, of: fn(&Summary) -> &Distribution, main: &[&str]) {
        type Stat = fn(&Distribution) -> Option<f64>;
        let stats: [(&str, Stat); 9] = [
            ("mean", |d| d.mean),
            ("sd", |d| d.sd),
            ("min", |d| d.min),
            ("p50", |d| d.p50),
            ("p90", |d| d.p90),
            ("p95", |d| d.p95),
            ("p99", |d| d.p99),
            ("p999", |d| d.p999),
            ("max", |d| d.max),
        ];
        for (stat, read) in stats {
            let told = if stat == "p999" { "p99.9" } else { stat };
            let read = move |summary: &Summary| read(of(summary));
            self.add(format!("{name}.{stat}"), format!("{label}, {told}"), "ms", Better::Less, read).main =
                main.contains(&stat);
        }
    }

    fn angles(&mut self, name: &str, label: &str, of: fn(&Summary) -> &Angles) {
        type Quantile = fn(&Angles) -> Option<Angle>;
        let quantiles: [(&str, Quantile); 2] = [("p50", |angles| angles.p50), ("p99", |angles| angles.p99)];
        for (quantile, at) in quantiles {
            let label = format!("{label}, {quantile}");
            let of_angle = move |summary: &Summary| at(of(summary));
            self.add(format!("left_over.{name}.{quantile}.deg"), label.clone(), "deg", Better::Less, move |summary| {
                of_angle(summary).map(|angle| angle.deg)
            });
            self.add(format!("left_over.{name}.{quantile}.px"), label, "px", Better::Less, move |summary| {
                of_angle(summary).map(|angle| angle.px)
            });
        }
    }
}

fn list() -> Vec<Measure> {
    let mut list = List(Vec::new());
    latencies(&mut list);
    outcomes(&mut list);
    servers(&mut list);
    for piece in Piece::ALL {
        let read = move |summary: &Summary| summary.exposed_ms.of(piece);
        list.add(
            format!("exposed_ms.{}", piece.name()),
            format!("Exposed: {}", piece.label()),
            "ms",
            Better::Less,
            read,
        );
    }
    list.angles("rotation_uncorrected", "Rotation left over, uncorrected", |s| &s.left_over.rotation_uncorrected);
    list.angles("rotation_corrected", "Rotation left over, corrected", |s| &s.left_over.rotation_corrected);
    list.angles("parallax", "Parallax left over", |s| &s.left_over.parallax);
    list.angles("guard_band", "Guard band", |s| &s.left_over.guard_band);
    picture(&mut list);
    derived(&mut list);
    list.0
}

fn latencies(list: &mut List) {
    let main = ["mean", "p50", "p99"];
    list.distribution("pose_to_photon_ms", "Pose to photon", |s| &s.pose_to_photon_ms, &main);
    list.distribution("motion_to_photon_ms.hands", "Motion to photon, hands", |s| &s.motion_to_photon_ms.hands, &[]);
    list.distribution(
        "motion_to_photon_ms.rotation",
        "Motion to photon, rotation",
        |s| &s.motion_to_photon_ms.rotation,
        &[],
    );
    list.distribution("photon_age_ms", "Photon age", |s| &s.photon_age_ms, &["mean", "p99"]);
    list.distribution("stream_ms", "Stream latency", |s| &s.stream_ms, &["p50", "p99"]);
    list.distribution("stream_alone_ms", "Stream latency of the frame alone", |s| &s.stream_alone_ms, &[]);
    list.distribution("stream_waiting_ms", "Stream latency, waiting", |s| &s.stream_waiting_ms, &[]);
    list.distribution("turnaround_ms", "Turnaround", |s| &s.turnaround_ms, &["p99"]);
    list.distribution("correction_age_ms", "Correction age", |s| &s.correction_age_ms, &[]);
    list.add("lead_ms", "Lead", "ms", Better::Less, |s| s.lead_ms).main = true;
    list.add("growth_ms_per_frame", "Growth of the turnaround", "ms/frame", Better::Less, |s| s.growth_ms_per_frame);
}

fn outcomes(list: &mut List) {
    list.share("delivered_share", "Share of frames shown", Better::More, |s| s.delivered_share).main = true;
    list.share("late_share", "Share of frames late", Better::Less, |s| s.late_share);
    for fate in Fate::ALL {
        let better = if fate == Fate::Shown { Better::More } else { Better::Less };
        let label = format!("Frames {}", Fates::label(fate).to_lowercase());
        let read = move |s: &Summary| (s.fates.total() > 0).then(|| f64::from(s.fates.of(fate)));
        list.add(format!("fates.{}", fate.name()), label, "", better, read);
    }
    list.add("repairs.resent", "Slices sent again", "", Better::Less, |s| Some(f64::from(s.repairs.resent)));
    list.add("repairs.repaired", "Slices repaired by a resend", "", Better::Neither, |s| {
        Some(f64::from(s.repairs.repaired))
    });
    list.add("repairs.in_time", "Slices repaired in time", "", Better::Neither, |s| s.repairs.in_time.map(f64::from));
    for kind in RefreshKind::ALL {
        let better = if kind == RefreshKind::New { Better::More } else { Better::Less };
        let label = format!("Refreshes: {}", RefreshKinds::label(kind).to_lowercase());
        let read = move |s: &Summary| (s.refreshes > 0).then(|| f64::from(s.refresh_kinds.of(kind)));
        list.add(format!("refresh_kinds.{}", kind.name()), label, "", better, read);
    }
    list.add("missed_pct", "Missed refreshes", "%", Better::Less, |s| s.missed_pct).main = true;
    list.add("missed_per_minute", "Missed refreshes", "/min", Better::Less, |s| s.missed_per_minute);
    list.add("longest_freeze_refreshes", "Longest freeze", "refreshes", Better::Less, |s| {
        s.longest_freeze_refreshes.map(f64::from)
    });
    list.add("longest_freeze_ms", "Longest freeze", "ms", Better::Less, |s| s.longest_freeze_ms).main = true;
    list.add("headroom_ms", "Headroom", "ms", Better::More, |s| s.headroom_ms).main = true;
    list.add("pacing_error.sd_ms", "Pacing error, sd", "ms", Better::Less, |s| s.pacing_error.sd_ms).main = true;
    list.add("pacing_error.p99_p1_ms", "Pacing error, p99 less p1", "ms", Better::Less, |s| s.pacing_error.p99_p1_ms);
    list.add("pacing_error.sd_deg", "Pacing error, sd", "deg", Better::Less, |s| s.pacing_error.sd_deg);
    list.add("pacing_error.p99_p1_deg", "Pacing error, p99 less p1", "deg", Better::Less, |s| {
        s.pacing_error.p99_p1_deg
    });
}

fn servers(list: &mut List) {
    for server in Server::ALL {
        let label = format!("Offered load, {}", server.label());
        let read = move |s: &Summary| s.offered_load.of(server);
        list.share(format!("offered_load.{}", server.name()), label, Better::Less, read).main =
            matches!(server, Server::Encoder | Server::Link | Server::Decoder);
    }
    for server in Server::ALL {
        let read = move |s: &Summary| s.busy.of(server);
        list.share(format!("busy.{}", server.name()), format!("Busy, {}", server.label()), Better::Neither, read);
    }
}

fn picture(list: &mut List) {
    list.add("picture.px_per_deg_center", "Pixels per degree at the centre", "px/deg", Better::More, |s| {
        Some(s.picture.px_per_deg_center)
    });
    list.add("picture.px_per_deg_edge", "Pixels per degree at the edge", "px/deg", Better::More, |s| {
        Some(s.picture.px_per_deg_edge)
    });
    list.add("picture.coded_mpx", "Coded pixels of a frame", "Mpx", Better::Neither, |s| Some(s.picture.coded_mpx));
    list.add("picture.coded_mpx_per_s", "Coded pixels per second", "Mpx/s", Better::Neither, |s| {
        Some(s.picture.coded_mpx_per_s)
    });
    list.add("picture.bits_per_px", "Bits per coded pixel", "bit/px", Better::More, |s| s.picture.bits_per_px);
}

/// Measures that follow from several fields of a summary.
fn derived(list: &mut List) {
    list.share("load", "Greatest offered load", Better::Less, greatest_load).main = true;
    list.add("repeated_pct", "Repeated refreshes", "%", Better::Less, |s| {
        let kinds = &s.refresh_kinds;
        (kinds.total() > 0).then(|| 100.0 * f64::from(kinds.repeat) / f64::from(kinds.total()))
    })
    .main = true;
    list.add("coded_mbps", "Coded bits per second", "Mbit/s", Better::Less, |s| {
        Some(s.picture.bits_per_px? * s.picture.coded_mpx_per_s)
    });
    list.add("budget_ms", "Pose to photon at the budget's quantile", "ms", Better::Less, |s| {
        s.budget.iter().find(|line| line.name == "pose_to_photon")?.value
    });
}

/// Greatest offered load of any server, a share.
fn greatest_load(summary: &Summary) -> Option<f64> {
    Server::ALL.into_iter().filter_map(|server| summary.offered_load.of(server)).reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Engine;
    use crate::measure::summarize;
    use crate::scenario::Scenario;
    use crate::work::draw;

    fn summary() -> Summary {
        let mut scenario = Scenario::default();
        scenario.run.frames = 400;
        let table = draw(&scenario);
        let mut engine = Engine::new();
        summarize(&scenario, &table, engine.simulate(&scenario, &table))
    }

    /// Names are paths in the JSON output, and the values are the same; every number there has a measure.
    #[test]
    fn names_are_the_paths_of_the_json_output() {
        let summary = summary();
        let json = serde_json::to_value(&summary).unwrap();
        let mut found = 0;
        for measure in all() {
            let Some(value) = json.pointer(&format!("/{}", measure.name.replace('.', "/"))) else {
                assert!(
                    ["load", "repeated_pct", "coded_mbps", "budget_ms"].contains(&measure.name.as_str()),
                    "{measure:?}"
                );
                continue;
            };
            found += 1;
            assert_eq!(value.as_f64(), measure.get(&summary), "{measure:?}");
        }
        let counts: usize = numbers(&json);
        assert_eq!(found, counts, "a number of the summary has no measure");
    }

    /// Numbers and empty numbers below an object, lists, counts and what the run was told aside.
    fn numbers(json: &serde_json::Value) -> usize {
        let told =
            ["frames", "warmup", "seed", "refreshes", "count", "name", "lead_infinite", "steady", "level", "tier"];
        match json {
            serde_json::Value::Object(fields) => {
                let asked = fields.iter().filter(|(name, _)| !told.contains(&name.as_str()) && !name.ends_with("ci95"));
                asked.map(|(_, value)| numbers(value)).sum()
            }
            serde_json::Value::Array(_) => 0,
            _ => 1,
        }
    }

    #[test]
    fn every_name_is_one_of_a_kind_and_wrong_ones_find_their_like() {
        for (at, measure) in all().iter().enumerate() {
            assert!(all()[..at].iter().all(|other| other.name != measure.name), "{measure:?}");
        }
        assert_eq!(usual().name, "pose_to_photon_ms.p99");
        let alike = named("pose_to_photon.p99").unwrap_err();
        assert!(alike.contains(&"pose_to_photon_ms.p99"), "{alike:?}");
    }

    #[test]
    fn shares_are_shown_in_per_cent_and_kept_as_they_are() {
        let summary = summary();
        let load = find("offered_load.decoder").unwrap();
        assert_eq!((load.unit, load.with_unit().as_str()), ("", "Offered load, Decoder [%]"));
        assert_eq!(load.get(&summary), summary.offered_load.decoder);
        assert_eq!(load.for_people(), ForPeople { unit: "%", factor: 100.0 });
        assert_eq!(usual().for_people(), ForPeople { unit: "ms", factor: 1.0 });
        // What has no unit is a share or a count.
        let counts = |name: &str| ["fates.", "repairs.", "refresh_kinds."].iter().any(|start| name.starts_with(start));
        assert!(all().iter().all(|one| one.is_share || !one.unit.is_empty() || counts(&one.name)));
    }

    #[test]
    fn derived_measures_follow_from_the_others() {
        let summary = summary();
        let get = |name: &str| find(name).unwrap().get(&summary).unwrap();
        // 200 Mbit/s, and 0.1 % more for each further slice.
        assert!((get("coded_mbps") / (200.0 * 1.007) - 1.0).abs() < 0.1, "{}", get("coded_mbps"));
        assert!((get("load") - get("offered_load.decoder").max(get("offered_load.gpu"))).abs() < 1e-12);
        assert!((get("budget_ms") - get("pose_to_photon_ms.p99")).abs() < 1e-12);
        assert!(find("load").unwrap().prefers(0.5, 0.6) && !find("load").unwrap().prefers(0.6, 0.5));
    }
}
