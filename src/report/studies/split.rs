//! A budget split as text and as CSV.

use std::fmt::Write as _;
use std::io;

use super::{cell, maybe, named, of_mean, plain, signed, table};
use crate::report::columns::Table;
use crate::study::split::Split;

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
    let (at, may_at) = (format!("takes at {quantile}"), format!("may take at {quantile}"));
    let mut columns =
        Table::new(["Team [ms]", "takes on average", "sd", &at, &may_at, "change", "may take on average"]);
    for share in &split.shares {
        let change = share.may_take_ms.zip(share.at_quantile_ms.mean).map(|(may, now)| signed(may - now));
        let name = if share.fixed { format!("{} (display)", share.label) } else { share.label.to_owned() };
        columns.row([
            name,
            of_mean(&share.mean_ms),
            maybe(share.sd_ms.mean),
            of_mean(&share.at_quantile_ms),
            maybe(share.may_take_ms),
            change.unwrap_or_default(),
            maybe(share.may_take_mean_ms),
        ]);
    }
    let sum =
        |of: &dyn Fn(&crate::study::split::Share) -> Option<f64>| split.shares.iter().map(of).sum::<Option<f64>>();
    columns.row([
        "sum".to_owned(),
        maybe(split.mean_ms.mean),
        String::new(),
        maybe(split.at_quantile_ms.mean),
        maybe(sum(&|share| share.may_take_ms)),
        signed(split.left_ms),
        maybe(sum(&|share| share.may_take_mean_ms)),
    ]);
    let _ = writeln!(text, "\n{columns}");
    let mut columns = Table::new(["Piece [ms]", "team", "takes on average", &at]);
    for piece in split.pieces.iter().filter(|piece| piece.mean_ms.mean.is_some_and(|mean| mean >= LEAST_SHOWN_MS)) {
        let cells = [
            piece.label.to_owned(),
            piece.team_label.to_owned(),
            of_mean(&piece.mean_ms),
            of_mean(&piece.at_quantile_ms),
        ];
        columns.row(cells);
    }
    let _ = write!(text, "{columns}");
    text
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
