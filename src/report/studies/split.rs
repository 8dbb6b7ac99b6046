//! A budget split as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, maybe, named, of_mean, paragraphs, plain, signed, table, with_interval};
use crate::report::columns::{DASH, Table};
use crate::report::format::adding_up_where_known;
use crate::study::split::{PieceTime, Share, Split};

/// What a piece takes must reach this to be shown \[ms\].
const LEAST_SHOWN_MS: f64 = 0.0005;

/// Teams with what they take and may take, then the pieces.
pub fn text(split: &Split) -> String {
    let mut text = format!("{}\n", named(&split.name));
    let quantile = quantile(split);
    // Writing to a string does not fail.
    let _ = writeln!(
        text,
        "Target: pose to photon {} ms at {quantile}; the design takes {} ms there, so {} ms {}",
        plain(split.target_ms),
        of_mean(&split.at_quantile_ms),
        plain(split.left_ms.abs()),
        if split.left_ms < 0.0 { "ARE LACKING" } else { "are left" }
    );
    let _ = writeln!(
        text,
        "{}, {}; +- half the 95 % interval\n{}\nShared {}; what the display sets, from latch to photons, takes no share",
        super::seeds(split.seeds),
        super::each(split.frames, split.warmup),
        super::OVER_SEEDS,
        split.rule.words()
    );
    if !split.possible {
        let _ = writeln!(text, "NOT POSSIBLE: from latch to photons alone takes more than the target");
    }
    let mut text = paragraphs(&text);
    let at = format!("takes at {quantile}");
    let takes = Takes::of(split);
    let may_at = format!("may take at {quantile}");
    let _ = write!(text, "\n{}\n{}", teams(split, &takes, [&at, &may_at]), pieces(split, &takes, &at));
    text
}

/// Decimals of every time \[ms\].
const DECIMALS: usize = 3;

/// A column of times as they are shown, so that they add up to their sum; none where one was not measured.
struct Adding {
    parts: Vec<Option<f64>>,
    sum: Option<f64>,
}

impl Adding {
    fn of(parts: impl Iterator<Item = Option<f64>>, sum: Option<f64>) -> Self {
        let parts: Vec<Option<f64>> = parts.collect();
        Self { parts: adding_up_where_known(&parts, sum, DECIMALS), sum }
    }

    fn told(&self, place: usize, half_width: Option<f64>) -> String {
        with_interval(self.parts[place], half_width, plain)
    }

    fn total(&self) -> String {
        maybe(self.sum)
    }
}

/// What the teams take, on average and at the quantile.
struct Takes {
    mean: Adding,
    now: Adding,
}

impl Takes {
    fn of(split: &Split) -> Self {
        Self {
            mean: Adding::of(split.shares.iter().map(|share| share.mean_ms.mean), split.mean_ms.mean),
            now: Adding::of(split.shares.iter().map(|share| share.at_quantile_ms.mean), split.at_quantile_ms.mean),
        }
    }
}

fn teams(split: &Split, Takes { mean, now }: &Takes, [at, may_at]: [&str; 2]) -> Table {
    let sum =
        |of: &dyn Fn(&Share) -> Option<f64>| Adding::of(split.shares.iter().map(of), split.shares.iter().map(of).sum());
    let may = sum(&|share| share.may_take_ms);
    let may_mean = sum(&|share| share.may_take_mean_ms);
    let mut columns = Table::new(["Team [ms]", "takes on average", "sd", at, may_at, "change", "may take on average"]);
    // What is shown of a change is what is shown of the two that it is between.
    let change = |may: Option<f64>, now: Option<f64>| {
        may.zip(now).map_or_else(|| DASH.to_owned(), |(may, now)| signed(may - now))
    };
    for (place, share) in split.shares.iter().enumerate() {
        let name = if share.fixed { format!("{} (display)", share.label) } else { share.label.to_owned() };
        columns.row([
            name,
            mean.told(place, share.mean_ms.half_width),
            maybe(share.sd_ms.mean),
            now.told(place, share.at_quantile_ms.half_width),
            may.told(place, None),
            change(may.parts[place], now.parts[place]),
            may_mean.told(place, None),
        ]);
    }
    let rounded = |value: Option<f64>| value.map(|value| (value * 1e3).round() / 1e3);
    columns.row([
        "sum".to_owned(),
        mean.total(),
        String::new(),
        now.total(),
        may.total(),
        change(rounded(may.sum), rounded(now.sum)),
        may_mean.total(),
    ]);
    columns
}

/// The pieces of each team add up to what the team takes, as it is shown.
fn pieces(split: &Split, Takes { mean, now }: &Takes, at: &str) -> Table {
    let mut columns = Table::new(["Piece [ms]", "team", "takes on average", at]);
    let shown = |takes: &Adding, of: &dyn Fn(&PieceTime) -> Option<f64>| {
        let mut shown = vec![None; split.pieces.len()];
        for (share, sum) in split.shares.iter().zip(&takes.parts) {
            let places: Vec<usize> =
                (0..split.pieces.len()).filter(|place| split.pieces[*place].team == share.team).collect();
            let parts = Adding::of(places.iter().map(|place| of(&split.pieces[*place])), *sum);
            for (place, part) in places.into_iter().zip(parts.parts) {
                shown[place] = part;
            }
        }
        Adding { parts: shown, sum: None }
    };
    let mean = shown(mean, &|piece| piece.mean_ms.mean);
    let now = shown(now, &|piece| piece.at_quantile_ms.mean);
    for (place, piece) in split.pieces.iter().enumerate() {
        if piece.mean_ms.mean.is_some_and(|mean| mean >= LEAST_SHOWN_MS) {
            columns.row([
                piece.label.to_owned(),
                piece.team_label.to_owned(),
                mean.told(place, piece.mean_ms.half_width),
                now.told(place, piece.at_quantile_ms.half_width),
            ]);
        }
    }
    columns
}

fn quantile(split: &Split) -> String {
    let per_cent = format!("{:.3}", split.quantile * 100.0);
    format!("p{}", per_cent.trim_end_matches('0').trim_end_matches('.'))
}

/// A row for every team, then for every piece: `kind, name, team, fixed, mean_ms, mean_half_width_ms, sd_ms, at_quantile_ms,
/// at_quantile_half_width_ms, may_take_ms, may_take_mean_ms`.
pub fn csv(split: &Split, to: impl io::Write) -> io::Result<()> {
    let head = [
        "kind",
        "name",
        "team",
        "fixed",
        "mean_ms",
        "mean_half_width_ms",
        "sd_ms",
        "at_quantile_ms",
        "at_quantile_half_width_ms",
        "may_take_ms",
        "may_take_mean_ms",
    ];
    let teams = split.shares.iter().map(|share| {
        vec![
            "team".to_owned(),
            share.team.to_owned(),
            share.team.to_owned(),
            share.fixed.to_string(),
            cell(share.mean_ms.mean),
            cell(share.mean_ms.half_width),
            cell(share.sd_ms.mean),
            cell(share.at_quantile_ms.mean),
            cell(share.at_quantile_ms.half_width),
            cell(share.may_take_ms),
            cell(share.may_take_mean_ms),
        ]
    });
    let pieces = split.pieces.iter().map(|piece| {
        let mut cells = vec!["piece".to_owned(), piece.piece.to_owned(), piece.team.to_owned(), String::new()];
        cells.extend([cell(piece.mean_ms.mean), cell(piece.mean_ms.half_width), String::new()]);
        cells.extend([cell(piece.at_quantile_ms.mean), cell(piece.at_quantile_ms.half_width)]);
        cells.extend([String::new(), String::new()]);
        cells
    });
    table(to, &head, teams.chain(pieces))
}
