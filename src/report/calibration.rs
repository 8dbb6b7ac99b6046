//! A calibration as text and as JSON: what was read, how each stage goes, what the scenario takes from it, and how far it
//! lies from what was measured.

use std::fmt::{self, Write as _};

use serde::Serialize;

use super::columns::{DASH, Number, Table};
use super::format;
use super::provenance::quoted;
use crate::calibrate::{
    Against, BadRows, Calibrated, Course, Differences, Estimate, Fit, Judgement, Law, Mapping, Measured, QUANTILES,
    Question, Replayed, Role, Samples, Sheet, SizeFit, StageFit,
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
    /// What it takes that is no estimate, and why.
    pub because: &'a [String],
    /// What had to be cut to the scenario's ranges.
    pub cut: &'a [String],
    /// Measured against simulated.
    pub judgement: &'a Judgement,
    /// Quantiles of both with intervals.
    pub differences: &'a [Differences],
    /// What the fit leaves of every frame, in the order of measuring.
    pub residuals: &'a [Course],
    /// The measured frames run as they were.
    pub replay: Option<&'a Replayed>,
    /// Whether the fit is of the first half of every run and the judgement of the second.
    pub held_out: bool,
}

impl<'a> Calibration<'a> {
    /// All of a calibration of a file.
    pub fn new(file: &'a str, sheet: &'a Sheet, mapping: &'a Mapping, whole: &'a Calibrated) -> Self {
        let Calibrated { measured, fit, adopted, held_out, judgement, differences, courses, replay, .. } = whole;
        Self {
            file,
            sheet,
            mapping,
            measured,
            unreadable: &sheet.bad,
            impossible: &measured.bad,
            fit,
            parameters: &adopted.measured,
            because: &adopted.because,
            cut: &adopted.cut,
            judgement,
            differences,
            residuals: courses,
            replay: replay.as_ref(),
            held_out: *held_out,
        }
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
        for words in &self.fit.not_told {
            writeln!(to, "{words}\n")?;
        }
        self.adopted(to)?;
        self.judged(to)
    }

    fn head(&self, to: &mut String) -> fmt::Result {
        let Self { file, sheet, mapping, measured, .. } = self;
        let header = if sheet.header { "named" } else { "without names" };
        let (rows, frames) = (format::of(sheet.rows as u64, "row"), format::of(measured.frames as u64, "frame"));
        writeln!(
            to,
            "{file}: {rows}, {} {header}, cells set apart by {:?}",
            format::of(sheet.columns.len() as u64, "column"),
            sheet.separator
        )?;
        let group = mapping.group.as_ref().map_or_else(String::new, |group| format!(" of group {group}"));
        writeln!(to, "{frames}{group} in {}\n", format::of(measured.starts.len() as u64, "run"))?;
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
        for line in self.because.iter().chain(self.cut) {
            writeln!(to, "  {line}")?;
        }
        if let Some(note) = pixels_kept(self.mapping) {
            writeln!(to, "  {note}")?;
        }
        writeln!(to)
    }

    fn judged(&self, to: &mut String) -> fmt::Result {
        let on = if self.held_out { "the second half of every run, the fit being of the first" } else { "all of them" };
        let frames = format::of(self.judgement.frames as u64, "frame");
        writeln!(to, "Measured against simulated: {frames} of the scenario's slice count; {on}")?;
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
        writeln!(to, "{}", largest(self.judgement, self.cut))?;
        courses(to, self.residuals)?;
        writeln!(to, "{CAUTION}")
    }
}

/// The command that makes the figures of a calibration again, for a POSIX shell; `base` is the scenario that is not the
/// default, as an argument.
pub fn command(file: &str, sheet: &Sheet, question: &Question, base: Option<&str>) -> String {
    let Question { mapping, hold_out, samples, .. } = question;
    let mut words = ["framelap", "calibrate", file].map(str::to_owned).to_vec();
    let mut option = |name: &str, value: &str| words.extend([name.to_owned(), value.to_owned()]);
    if let Some(base) = base {
        option("--scenario", base);
    }
    let proposed = Mapping::propose(sheet);
    let told = |mapping: &Mapping, column: &str| {
        let mapped = mapping.columns.iter().find(|mapped| mapped.column == column)?;
        Some((mapped.role, mapped.unit))
    };
    for mapped in &mapping.columns {
        if told(&proposed, &mapped.column) != Some((mapped.role, mapped.unit)) {
            let unit = mapped.unit.name();
            let unit = if unit.is_empty() { String::new() } else { format!(":{unit}") };
            option("--map", &format!("{}={}{unit}", mapped.column, mapped.role.name()));
        }
    }
    if let Some(group) = mapping.group.as_ref().filter(|group| proposed.group.as_ref() != Some(group)) {
        option("--group", group);
    }
    if mapping.skip > 0 {
        option("--skip", &mapping.skip.to_string());
    }
    match samples {
        Samples::WhereNoLawFits => {}
        Samples::Always => option("--samples", "always"),
        Samples::Never => option("--samples", "never"),
    }
    if *hold_out {
        words.push("--hold-out".to_owned());
    }
    words.extend(["--figures", "figures"].map(str::to_owned));
    words.iter().map(|word| quoted(word)).collect::<Vec<_>>().join(" ")
}

/// What a comparison of single stages does not tell.
pub const CAUTION: &str = "Stages measured one by one say nothing of how they wait for each other: compare turnaround or \
    pose to photon too, where they can be measured.";

/// What to know of the pixels where no column tells how many there were; none where one does.
pub fn pixels_kept(mapping: &Mapping) -> Option<&'static str> {
    let told = mapping.columns.iter().any(|column| column.role == Role::Pixels);
    (!told).then_some(
        "The pixels are still the base scenario's: times hold for the pixels that were measured, so set the display's pixels \
         to those",
    )
}

/// Where measured and simulated disagree most, in a sentence; and what was cut to its range, which may be the cause.
pub fn largest(judgement: &Judgement, cut: &[String]) -> String {
    match &judgement.largest {
        Some(largest) => {
            let told = format!(
                "Largest disagreement: {} at p{}, {:+.1} %",
                largest.role.name(),
                Number(largest.quantile * 100.0, 0),
                largest.relative * 100.0
            );
            if cut.is_empty() { told } else { format!("{told}. What was cut may be why: {}", cut.join("; ")) }
        }
        None => "Nothing could be compared: no measured frame has the scenario's slice count".to_owned(),
    }
}

/// The unit in which values of a role are told, and what 1 of a value is in it.
pub const fn unit_of(role: Role) -> (&'static str, f64) {
    if matches!(role, Role::Size) { ("kbit", 1e-3) } else { ("ms", 1.0) }
}

/// What a fit leaves over time, in a sentence a part: drift, neighbours, the worst stretch.
pub fn course_in_words(course: &Course) -> String {
    let (unit, scale) = unit_of(course.role);
    let told = |value: f64| Number(value * scale, 3);
    let against = match course.against {
        Against::Fit => "the fit",
        Against::SimulatedMean => "the simulated mean",
    };
    let [first, last] = course.thirds;
    let drift = match (course.drifts(), course.half_ci95) {
        (Some(true), Some(half)) => format!("it drifts by {:+.3} ± {:.3} {unit}", course.drift() * scale, half * scale),
        (Some(false), Some(half)) => {
            format!("no drift beyond luck ({:+.3} ± {:.3} {unit})", course.drift() * scale, half * scale)
        }
        _ => format!("drift {:+.3} {unit}", course.drift() * scale),
    };
    let intra = course.intra_mean.map_or_else(String::new, |mean| {
        let which = if course.intra_aside { "which the fit leaves aside" } else { "which are among them" };
        format!("; intra frames, {which}: {:+.3} {unit} on average", mean * scale)
    });
    let alike = course.lag_one.map_or_else(String::new, |r| format!("; correlation of neighbours {}", Number(r, 3)));
    let (from, to, mean) = course.worst;
    format!(
        "{} less {against}: first third {} {unit}, last third {} {unit}: {drift}{alike}; worst stretch frames {from} to {to}, \
         {:+.3} {unit} on average{intra}",
        course.role.name(),
        told(first),
        told(last),
        mean * scale
    )
}

fn courses(to: &mut String, courses: &[Course]) -> fmt::Result {
    if courses.is_empty() {
        return Ok(());
    }
    writeln!(to, "\nOver time, frames counted from 0 in the order of the file:")?;
    for course in courses {
        writeln!(to, "  {}", course_in_words(course))?;
    }
    writeln!(to)
}

fn bad(to: &mut String, bad: &BadRows, what: &str) -> fmt::Result {
    if bad.count == 0 {
        return Ok(());
    }
    let (rows, are) = (format::of(bad.count, "row"), if bad.count == 1 { "is" } else { "are" });
    let what = if bad.count == 1 { what.replacen("hold ", "holds ", 1) } else { what.to_owned() };
    writeln!(to, "{rows} {what} and {are} left out:")?;
    for row in bad.listed.iter().take(MOST_TOLD) {
        writeln!(to, "  line {}: {}", row.line, row.cause)?;
    }
    if bad.count > MOST_TOLD as u64 {
        writeln!(to, "  and {} more", format::count(bad.count - MOST_TOLD as u64))?;
    }
    writeln!(to)
}

/// One thing that a fit tells: its name with the unit, the estimate, its 95 % interval or nothing.
pub type Part = [String; 3];

fn part(name: &str, of: Option<Estimate>, scale: f64, decimals: usize) -> Option<Part> {
    let Estimate { value, ci95 } = of?;
    let number = |value: f64| Number(value * scale, decimals).to_string();
    let interval = ci95.map_or_else(String::new, |[low, high]| format!("{} to {}", number(low), number(high)));
    Some([name.to_owned(), number(value), interval])
}

/// What a stage costs and how it is spread; what could not be told is not there.
pub fn stage_parts(fit: &StageFit) -> Vec<Part> {
    let parts = [
        part("constant, ms", fit.constant_ms, 1.0, 4),
        part("each frame's overhead, ms", fit.frame_overhead_ms, 1.0, 4),
        part("each slice, ms", fit.slice_overhead_ms, 1.0, 4),
        part("each Mpx, ms", fit.per_mpx_ms, 1.0, 4),
        part("each Mbit, ms", fit.per_mbit_ms, 1.0, 4),
        part("pipeline behind the service, ms", fit.pipeline_ms, 1.0, 4),
        part("spread (cv), %", fit.cv, 100.0, 2),
        part("stalls, % of frames", fit.stall_chance, 100.0, 3),
        part("length of a stall, ms", fit.stall_mean_ms, 1.0, 3),
    ];
    parts.into_iter().flatten().collect()
}

/// How sizes go and are spread.
pub fn size_parts(fit: &SizeFit) -> Vec<Part> {
    let parts = [
        part("a frame, kbit", Some(fit.bits), 1e-3, 2),
        part("each slice, bytes", fit.slice_bytes, 1.0, 1),
        part("spread (cv), %", fit.cv, 100.0, 2),
        part("intra frames, times as large", fit.intra_factor, 1.0, 3),
    ];
    parts.into_iter().flatten().collect()
}

/// Names of what [`law_rows`] tells.
pub const LAW_HEAD: [&str; 6] = ["law of the factor", "cv, %", "AIC", "KS distance", "p", "A^2"];
/// What the probability of a law's distance is worth.
pub const LAW_CAUTION: &str = "p is for a law that was not fitted to the same values: a large one says little";

/// Laws with what they are worth, the best first.
pub fn law_rows(laws: &[Law]) -> Vec<[String; 6]> {
    let row = |law: &Law| {
        [
            law.family.name().to_owned(),
            Number(law.cv * 100.0, 2).to_string(),
            Number(law.aic, 1).to_string(),
            Number(law.goodness.ks, 4).to_string(),
            Number(law.goodness.ks_p, 3).to_string(),
            Number(law.goodness.ad, 2).to_string(),
        ]
    };
    laws.iter().map(row).collect()
}

fn parts(to: &mut String, parts: Vec<Part>) -> fmt::Result {
    let mut table = Table::new(["", "estimate", "95 %"]);
    for part in parts {
        table.row(part);
    }
    write!(to, "{table}")
}

fn stage(to: &mut String, fit: &StageFit) -> fmt::Result {
    writeln!(to, "{}, {}", fit.role.name(), format::of(fit.frames as u64, "frame"))?;
    parts(to, stage_parts(fit))?;
    laws(to, &fit.laws, fit.lag_one, &fit.notes)
}

fn sizes(to: &mut String, fit: &SizeFit) -> fmt::Result {
    writeln!(to, "size, {}", format::of(fit.frames as u64, "frame"))?;
    parts(to, size_parts(fit))?;
    if let Some(every) = fit.intra_every {
        writeln!(to, "  {}", intra_every(every))?;
    }
    laws(to, &fit.laws, fit.lag_one, &fit.notes)
}

/// How often intra frames come, in words.
pub fn intra_every(every: u32) -> String {
    if every == 1 { "every frame is intra".to_owned() } else { format!("an intra frame every {every} frames") }
}

fn laws(to: &mut String, laws: &[Law], lag_one: Option<f64>, notes: &[String]) -> fmt::Result {
    let mut table = Table::new(LAW_HEAD);
    for row in law_rows(laws) {
        table.row(row);
    }
    write!(to, "{table}")?;
    if !laws.is_empty() {
        writeln!(to, "  {LAW_CAUTION}")?;
    }
    if let Some(lag_one) = lag_one {
        writeln!(to, "  correlation of neighbouring frames {}", Number(lag_one, 3))?;
    }
    for note in notes {
        writeln!(to, "  {note}")?;
    }
    writeln!(to)
}
