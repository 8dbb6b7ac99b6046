//! A calibration as text and as JSON: what was read, how each stage goes, what the scenario takes from it, and how far it
//! lies from what was measured.

use std::fmt::{self, Write as _};

use serde::Serialize;

use super::columns::{DASH, Number, Table};
use super::format;
use crate::calibrate::{
    Adopted, BadRows, Estimate, Fit, Judgement, Law, Mapping, Measured, QUANTILES, Role, Sheet, SizeFit, StageFit,
};

/// Bad rows that are told in the text.
const MOST_TOLD: usize = 10;

/// Everything of a calibration.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Calibration<'a> {
    /// The file.
    pub file: &'a str,
    /// What was read.
    #[serde(skip)]
    pub sheet: &'a Sheet,
    /// What the columns stand for.
    pub mapping: &'a Mapping,
    /// The frames.
    #[serde(skip)]
    pub measured: &'a Measured,
    /// Rows that could not be read.
    pub unreadable: &'a BadRows,
    /// Rows that hold what cannot be.
    pub impossible: &'a BadRows,
    /// The fits.
    pub fit: &'a Fit,
    /// Paths of the parameters that the scenario takes from them.
    pub parameters: &'a [&'static str],
    /// What had to be cut to the scenario's ranges.
    pub cut: &'a [String],
    /// Measured against simulated.
    pub judgement: &'a Judgement,
    /// Whether the fit is of the first half of every run and the judgement of the second.
    pub held_out: bool,
}

impl<'a> Calibration<'a> {
    /// A calibration of its parts.
    pub fn new(
        file: &'a str,
        (sheet, mapping, measured): (&'a Sheet, &'a Mapping, &'a Measured),
        (fit, adopted): (&'a Fit, &'a Adopted),
        judgement: &'a Judgement,
        held_out: bool,
    ) -> Self {
        let (unreadable, impossible) = (&sheet.bad, &measured.bad);
        let (parameters, cut) = (adopted.measured.as_slice(), adopted.cut.as_slice());
        Self { file, sheet, mapping, measured, unreadable, impossible, fit, parameters, cut, judgement, held_out }
    }

    /// As text.
    pub fn text(&self) -> String {
        let mut text = String::new();
        // Writing to a string does not fail.
        let _ = self.write(&mut text);
        text
    }

    fn write(&self, to: &mut String) -> fmt::Result {
        self.head(to)?;
        for fit in &self.fit.stages {
            stage(to, fit)?;
        }
        if let Some(fit) = &self.fit.sizes {
            sizes(to, fit)?;
        }
        for role in &self.fit.too_few {
            writeln!(to, "{}: measured in too few frames to be fitted\n", role.name())?;
        }
        self.adopted(to)?;
        self.judged(to)
    }

    fn head(&self, to: &mut String) -> fmt::Result {
        let Self { file, sheet, mapping, measured, .. } = self;
        let header = if sheet.header { "named" } else { "without names" };
        let (rows, frames) = (format::count(sheet.rows as u64), format::count(measured.frames as u64));
        writeln!(
            to,
            "{file}: {rows} rows, {} columns {header}, cells set apart by {:?}",
            sheet.columns.len(),
            sheet.separator
        )?;
        let group = mapping.group.as_ref().map_or_else(String::new, |group| format!(" of group {group}"));
        writeln!(to, "{frames} frames{group} in {} runs\n", measured.starts.len())?;
        let mut table = Table::new(["column", "stands for", "unit", ""]);
        for column in &mapping.columns {
            let guessed = if column.guessed { "guessed from its values" } else { "" };
            table.row([column.column.as_str(), column.role.name(), column.unit.name(), guessed].map(str::to_owned));
        }
        writeln!(to, "{table}")?;
        bad(to, self.unreadable, "cannot be read")?;
        bad(to, self.impossible, "hold what cannot be")
    }

    fn adopted(&self, to: &mut String) -> fmt::Result {
        writeln!(to, "The scenario takes from this: {}", self.parameters.join(", "))?;
        for cut in self.cut {
            writeln!(to, "  {cut}")?;
        }
        writeln!(to)
    }

    fn judged(&self, to: &mut String) -> fmt::Result {
        let on = if self.held_out { "the second half of every run, the fit being of the first" } else { "all of them" };
        let frames = format::count(self.judgement.frames as u64);
        writeln!(to, "Measured against simulated: {frames} frames of the scenario's slice count; {on}")?;
        let names = QUANTILES.map(|p| format!("p{}", Number(p * 100.0, 0)));
        let mut table = Table::new([
            "", "", &names[0], &names[1], &names[2], &names[3], &names[4], &names[5], &names[6], "distance",
        ]);
        for comparison in &self.judgement.comparisons {
            let unit = if comparison.role == Role::Size { 1e-3 } else { 1.0 };
            let name = if comparison.role == Role::Size {
                "size, kbit".to_owned()
            } else {
                format!("{}, ms", comparison.role.name())
            };
            let row = |name: String, side: &str, value: &dyn Fn(&[f64; 2]) -> String, last: String| {
                let values = comparison.quantiles.iter().map(value);
                [name, side.to_owned()].into_iter().chain(values).chain([last]).collect::<Vec<_>>()
            };
            let number = |at: usize| move |pair: &[f64; 2]| Number(pair[at] * unit, 3).to_string();
            let off = |pair: &[f64; 2]| {
                if pair[0] > 0.0 { format!("{:+.1} %", (pair[1] / pair[0] - 1.0) * 100.0) } else { DASH.to_owned() }
            };
            table.row(row(name, "measured", &number(0), format!("{:.3}", comparison.ks)));
            table.row(row(String::new(), "simulated", &number(1), String::new()));
            table.row(row(String::new(), "off by", &off, String::new()));
        }
        writeln!(to, "{table}")?;
        match &self.judgement.largest {
            Some(largest) => writeln!(
                to,
                "Largest disagreement: {} at p{}, {:+.1} %",
                largest.role.name(),
                Number(largest.quantile * 100.0, 0),
                largest.relative * 100.0
            )?,
            None => writeln!(to, "Nothing could be compared: no measured frame has the scenario's slice count")?,
        }
        writeln!(
            to,
            "Stages measured one by one say nothing of how they wait for each other: compare turnaround or pose to photon too, \
             where they can be measured."
        )
    }
}

fn bad(to: &mut String, bad: &BadRows, what: &str) -> fmt::Result {
    if bad.count == 0 {
        return Ok(());
    }
    writeln!(to, "{} rows {what} and are left out:", format::count(bad.count))?;
    for row in bad.listed.iter().take(MOST_TOLD) {
        writeln!(to, "  line {}: {}", row.line, row.cause)?;
    }
    if bad.count > MOST_TOLD as u64 {
        writeln!(to, "  and {} more", format::count(bad.count - MOST_TOLD as u64))?;
    }
    writeln!(to)
}

fn estimate(estimate: Option<Estimate>, decimals: usize) -> [String; 2] {
    let Some(Estimate { value, ci95 }) = estimate else { return [DASH.to_owned(), String::new()] };
    let interval =
        ci95.map_or_else(String::new, |[low, high]| format!("{} to {}", Number(low, decimals), Number(high, decimals)));
    [Number(value, decimals).to_string(), interval]
}

fn row(table: &mut Table, name: &str, of: Option<Estimate>, scale: f64, decimals: usize) {
    let Some(of) = of else { return };
    let of = Estimate { value: of.value * scale, ci95: of.ci95.map(|ends| ends.map(|end| end * scale)) };
    let [value, interval] = estimate(Some(of), decimals);
    table.row([name.to_owned(), value, interval]);
}

fn stage(to: &mut String, fit: &StageFit) -> fmt::Result {
    writeln!(to, "{}, {} frames", fit.role.name(), format::count(fit.frames as u64))?;
    let mut table = Table::new(["", "estimate", "95 %"]);
    row(&mut table, "constant, ms", fit.constant_ms, 1.0, 4);
    row(&mut table, "each frame's overhead, ms", fit.frame_overhead_ms, 1.0, 4);
    row(&mut table, "each slice, ms", fit.slice_overhead_ms, 1.0, 4);
    row(&mut table, "each Mpx, ms", fit.per_mpx_ms, 1.0, 4);
    row(&mut table, "each Mbit, ms", fit.per_mbit_ms, 1.0, 4);
    row(&mut table, "spread (cv), %", fit.cv, 100.0, 2);
    row(&mut table, "stalls, % of frames", fit.stall_chance, 100.0, 3);
    row(&mut table, "length of a stall, ms", fit.stall_mean_ms, 1.0, 3);
    write!(to, "{table}")?;
    laws(to, &fit.laws, fit.lag_one, &fit.notes)
}

fn sizes(to: &mut String, fit: &SizeFit) -> fmt::Result {
    writeln!(to, "size, {} frames", format::count(fit.frames as u64))?;
    let mut table = Table::new(["", "estimate", "95 %"]);
    row(&mut table, "a frame, kbit", Some(fit.bits), 1e-3, 2);
    row(&mut table, "each slice, bytes", fit.slice_bytes, 1.0, 1);
    row(&mut table, "spread (cv), %", fit.cv, 100.0, 2);
    row(&mut table, "intra frames, times as large", fit.intra_factor, 1.0, 3);
    write!(to, "{table}")?;
    if let Some(every) = fit.intra_every {
        writeln!(to, "  an intra frame every {every} frames")?;
    }
    laws(to, &fit.laws, fit.lag_one, &fit.notes)
}

fn laws(to: &mut String, laws: &[Law], lag_one: Option<f64>, notes: &[String]) -> fmt::Result {
    let mut table = Table::new(["law of the factor", "cv, %", "AIC", "KS distance", "p", "A^2"]);
    for law in laws {
        table.row([
            law.family.name().to_owned(),
            Number(law.cv * 100.0, 2).to_string(),
            Number(law.aic, 1).to_string(),
            Number(law.goodness.ks, 4).to_string(),
            Number(law.goodness.ks_p, 3).to_string(),
            Number(law.goodness.ad, 2).to_string(),
        ]);
    }
    write!(to, "{table}")?;
    if !laws.is_empty() {
        writeln!(to, "  p is for a law that was not fitted to the same values: a large one says little")?;
    }
    if let Some(lag_one) = lag_one {
        writeln!(to, "  correlation of neighbouring frames {}", Number(lag_one, 3))?;
    }
    for note in notes {
        writeln!(to, "  {note}")?;
    }
    writeln!(to)
}
