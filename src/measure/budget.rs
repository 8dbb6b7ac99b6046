//! The budget, line by line.

use serde::Serialize;

use super::piece::{Exposed, Team};
use super::server::{Server, Servers};
use super::summary::Picture;
use crate::scenario::levels;
use crate::scenario::{BudgetPieces, Scenario};

/// One line of the budget, or one team's share of its time: a measure against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudgetLine {
    /// `pose_to_photon`, `missed`, `load`, `level`, `bits_per_px`, and `exposed_...` for each team.
    pub name: &'static str,
    /// The same for people.
    pub label: &'static str,
    /// What was measured; none: nothing to measure, or not steady.
    pub value: Option<f64>,
    /// Its limit.
    pub limit: f64,
    /// Unit of both; empty for plain numbers.
    pub unit: &'static str,
    /// On which side of the limit it must stay.
    pub sense: Sense,
    /// Whether it does; never without a value.
    pub met: bool,
    /// What the value stands for: the server of the load, the level with its tier, the quantile.
    pub detail: Option<String>,
}

impl BudgetLine {
    /// Names of the lines of every budget, in their order.
    pub const NAMES: [&'static str; 5] = ["pose_to_photon", "missed", "load", "level", "bits_per_px"];

    /// How far the value is on the good side of its limit, negative: on the bad one.
    pub fn room(&self) -> Option<f64> {
        self.value.map(|value| match self.sense {
            Sense::AtMost => self.limit - value,
            Sense::AtLeast => value - self.limit,
        })
    }
}

/// On which side of its limit a value must stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// The limit is the greatest value allowed.
    AtMost,
    /// The limit is the least value allowed.
    AtLeast,
}

/// All lines of a scenario's budget. `pose_to_photon_ms` is the quantile that the budget names.
pub(super) fn lines(
    scenario: &Scenario,
    pose_to_photon_ms: Option<f64>,
    missed_pct: Option<f64>,
    offered: &Servers<Option<f64>>,
    picture: &Picture,
) -> Vec<BudgetLine> {
    let budget = &scenario.budget;
    let at_most =
        |name, label, value, limit, unit, detail| line(name, label, value, limit, unit, Sense::AtMost, detail);
    let quantile = format!("p{}", trimmed(budget.quantile * 100.0));
    let (busiest, load_pct) = most_loaded(offered)
        .map_or((None, None), |(server, load)| (Some(server.label().to_owned()), Some(load * 100.0)));
    let level = picture.level.as_ref().zip(picture.tier.as_ref());
    let level_number = |name: &str| levels::rank(name).map(|rank| f64::from(rank) / 10.0);
    let level_limit = level_number(&budget.level_max).unwrap_or_default();
    let level_value = level.and_then(|(name, _)| level_number(name));
    let level_detail = level.map_or_else(|| "no level holds it".to_owned(), |(name, tier)| format!("{name} {tier}"));
    vec![
        at_most("pose_to_photon", "Pose to photon", pose_to_photon_ms, budget.pose_to_photon_ms, "ms", Some(quantile)),
        at_most("missed", "Missed refreshes", missed_pct, budget.missed_pct, "%", None),
        at_most("load", "Greatest offered load", load_pct, budget.load_pct, "%", busiest),
        at_most("level", "Codec level", level_value, level_limit, "", Some(level_detail)),
        line(
            "bits_per_px",
            "Bits per coded pixel",
            picture.bits_per_px,
            budget.bits_per_px_min,
            "bit/px",
            Sense::AtLeast,
            None,
        ),
    ]
}

/// Each team's mean exposed time against what it may use.
pub(super) fn allowances(scenario: &Scenario, exposed: &Exposed) -> Vec<BudgetLine> {
    let allowance = |team| {
        let (name, limit_ms) = piece(&scenario.budget.pieces, team);
        line(name, team.label(), exposed.of_team(team), limit_ms, "ms", Sense::AtMost, None)
    };
    Team::ALL.into_iter().map(allowance).collect()
}

fn line(
    name: &'static str,
    label: &'static str,
    value: Option<f64>,
    limit: f64,
    unit: &'static str,
    sense: Sense,
    detail: Option<String>,
) -> BudgetLine {
    let mut line = BudgetLine { name, label, value, limit, unit, sense, met: false, detail };
    line.met = line.room().is_some_and(|room| room >= 0.0);
    line
}

/// Name and allowance of the line of a team's mean exposed time.
fn piece(pieces: &BudgetPieces, team: Team) -> (&'static str, f64) {
    match team {
        Team::Pose => ("exposed_pose", pieces.pose_ms),
        Team::Simulate => ("exposed_simulate", pieces.simulate_ms),
        Team::Render => ("exposed_render", pieces.render_ms),
        Team::Encode => ("exposed_encode", pieces.encode_ms),
        Team::Link => ("exposed_link", pieces.link_ms),
        Team::Decode => ("exposed_decode", pieces.decode_ms),
        Team::Wait => ("exposed_wait", pieces.wait_ms),
        Team::Latch => ("exposed_latch", pieces.latch_ms),
        Team::Light => ("exposed_light", pieces.light_ms),
    }
}

/// The server that is offered most of what it can do, and how much.
fn most_loaded(offered: &Servers<Option<f64>>) -> Option<(Server, f64)> {
    let loads = Server::ALL.into_iter().filter_map(|server| Some((server, offered.of(server)?)));
    loads.max_by(|(_, one), (_, other)| one.total_cmp(other))
}

/// A number without needless decimals: 99, 99.9.
fn trimmed(number: f64) -> String {
    format!("{number:.3}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::picture::picture;
    use crate::measure::piece::Piece;

    fn find<'a>(lines: &'a [BudgetLine], name: &str) -> &'a BudgetLine {
        lines.iter().find(|line| line.name == name).unwrap()
    }

    #[test]
    fn lines_hold_up_to_their_limits() {
        let scenario = Scenario::default();
        let offered = Servers { cpu: Some(0.2), gpu: Some(0.85), encoder: Some(0.5), link: Some(0.3), decoder: None };
        let mut means = [1.0; Piece::COUNT];
        means[Piece::EncodePipeline as usize] = 1.25;
        let picture = picture(&scenario, Some(0.2 * 8_912_896.0));
        let mut lines = lines(&scenario, Some(38.0), Some(1.01), &offered, &picture);
        assert_eq!(lines.iter().map(|line| line.name).collect::<Vec<_>>(), BudgetLine::NAMES);
        lines.extend(allowances(&scenario, &Exposed::new(Some(means))));
        assert_eq!(lines.len(), 14);
        let met = |name| find(&lines, name).met;
        assert!(met("pose_to_photon") && met("load") && met("level") && met("bits_per_px"));
        assert!(!met("missed"));
        assert_eq!(find(&lines, "load").detail.as_deref(), Some("GPU"));
        assert_eq!(find(&lines, "level").value, Some(5.2));
        assert_eq!(find(&lines, "level").detail.as_deref(), Some("5.2 High"));
        assert_eq!(find(&lines, "pose_to_photon").detail.as_deref(), Some("p99"));
        // Encode 1 and its pipeline 1.25 against 2.
        assert_eq!(find(&lines, "exposed_encode").room(), Some(-0.25));
        assert!(!met("exposed_encode"));
    }

    #[test]
    fn what_is_not_measured_is_not_met() {
        let mut scenario = Scenario::default();
        scenario.stream.bitrate_mbps = 5000.0;
        let picture = picture(&scenario, None);
        let mut lines = lines(&scenario, None, None, &Servers::default(), &picture);
        lines.extend(allowances(&scenario, &Exposed::default()));
        assert!(lines.iter().all(|line| line.value.is_none() && line.room().is_none() && !line.met));
        assert_eq!(find(&lines, "level").detail.as_deref(), Some("no level holds it"));
    }
}
