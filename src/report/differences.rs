//! The parameters in which two scenarios differ, as text and as CSV.

use std::io::{self, Write};

use super::columns::PAGE;
use super::format;
use super::rows::Rows;
use super::words::wrapped;
use crate::measure::Summary;
use crate::scenario::parameters::{self, Difference, Stage};

/// Characters at the least that a value has for itself before it goes on in the next line.
const LEAST_ROOM: usize = 16;

/// A table aligned for a monospaced face, under the names of both scenarios and the number of differences; name and notes,
/// which do not count, in one of their own below.
pub fn text(names: [&str; 2], differences: &[Difference]) -> String {
    // Name and notes are listed too, but change nothing.
    let count = differences.iter().filter(|one| matters(one)).count();
    let count = match count {
        0 => "No parameter differs".to_owned(),
        1 => "1 parameter differs".to_owned(),
        count => format!("{count} parameters differ"),
    };
    let head = format!("A: {}\nB: {}\n{count}\n", names[0], names[1]);
    let (parameters, about): (Vec<_>, Vec<_>) = differences.iter().partition(|one| matters(one));
    let parts = [("", parameters), ("Beside them differ what they are called or what is noted:\n", about)];
    let tables =
        parts.iter().filter(|(_, rows)| !rows.is_empty()).map(|(title, rows)| format!("\n{title}{}", table(rows)));
    head + &tables.collect::<String>()
}

/// Whether a difference changes anything: names and notes only tell of a scenario.
pub fn matters(difference: &Difference) -> bool {
    parameters::find(difference.path).is_none_or(|parameter| parameter.stage != Stage::About)
}

/// The rows aligned below their heads.
fn table(differences: &[&Difference]) -> String {
    let title = ["Path", "Parameter", "A", "B"].map(str::to_owned);
    let rows = differences.iter().map(|one| [one.path.to_owned(), one.label.clone(), one.a.clone(), one.b.clone()]);
    let rows: Vec<[String; 4]> = std::iter::once(title).chain(rows).collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let [path, label] = [0, 1].map(width);
    // Long values, such as notes, go on in further lines of their column.
    let room = (PAGE.saturating_sub(path + label + 6) / 2).max(LEAST_ROOM);
    let a = width(2).min(room);
    let lines = |row: &[String; 4]| {
        let [left, right] = [&row[2], &row[3]].map(|value| wrapped(value, room, ""));
        let line = |number: usize| {
            let [path_of, label_of] = if number == 0 { [row[0].as_str(), row[1].as_str()] } else { ["", ""] };
            let [left, right] = [&left, &right].map(|lines| lines.get(number).map_or("", String::as_str));
            format!("{}\n", format!("{path_of:path$}  {label_of:label$}  {left:a$}  {right}").trim_end())
        };
        (0..left.len().max(right.len()).max(1)).map(line).collect::<String>()
    };
    rows.iter().map(lines).collect()
}

/// The lead that a run was given, as text: `19.7 ms`, or `none found, 60.0 ms` where none could be tuned.
pub fn lead(summary: &Summary) -> Option<String> {
    let lead = format::ms(summary.lead_ms?);
    Some(if summary.lead_infinite { format!("none found, {lead}") } else { lead })
}

/// The value of a parameter as text; a lead that is tuned with what it was tuned to, where a run has told it (see [`lead`]):
/// `Tuned: 19.7 ms`.
pub fn with_lead(path: &str, value: String, lead: Option<&str>) -> String {
    match lead {
        Some(lead) if is_tuned(path, &value) => format!("{value}: {lead}"),
        _ => value,
    }
}

/// Whether a value is that of a lead that is tuned.
pub fn is_tuned(path: &str, value: &str) -> bool {
    path == "pacing.lead" && value == "Tuned"
}

/// A row a difference: `path, label, a, b`, the values with their units, texts in quotes as in a file.
pub fn csv(differences: &[Difference], to: impl Write) -> io::Result<()> {
    let mut rows = Rows::new(to, &["path", "label", "a", "b"])?;
    for Difference { path, label, a, b } in differences {
        rows.row([path, label.as_str(), a, b])?;
    }
    rows.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;

    fn pair() -> [Scenario; 2] {
        let mut b = Scenario::default();
        b.slices.count = 4;
        b.notes = format!("two\nlines, \"quoted\" {}", "and long ".repeat(9));
        [Scenario::default(), b]
    }

    #[test]
    fn values_stand_side_by_side_and_long_ones_go_on_below() {
        let [a, b] = pair();
        let text = text(["One", "Other"], &parameters::differences(&a, &b));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[..3], ["A: One", "B: Other", "1 parameter differs"]);
        assert!(lines[4].starts_with("Path") && lines[5].starts_with("slices.count  Slices"), "{text}");
        let values: Vec<&str> = lines[5].split_whitespace().rev().take(2).collect();
        assert_eq!(values, ["4", "8"]);
        assert!(lines[7].starts_with("Beside them") && lines[8].starts_with("Path"), "{text}");
        assert!(lines[9].starts_with("notes  About: Notes  \"\""), "{text}");
        let told = lines[9..].iter().flat_map(|line| line.split_whitespace()).collect::<Vec<_>>().join(" ");
        // As in a file, in quotes.
        assert!(told.ends_with(&format!("\"two\\nlines, \\\"quoted\\\" {}\"", "and long ".repeat(9))), "{told}");
        assert!(lines.len() > 10 && lines.iter().all(|line| line.len() <= PAGE), "{text}");
        assert_eq!(super::text(["A", "A"], &[]), "A: A\nB: A\nNo parameter differs\n");
    }

    #[test]
    fn a_tuned_lead_has_its_ms_where_they_are_known() {
        let summary = |slug: &str| {
            let mut scenario = crate::scenario::presets::find(slug).unwrap().scenario();
            (scenario.run.frames, scenario.run.warmup) = (400, 100);
            crate::study::answer(&scenario, &mut crate::study::Workspace::new()).summary
        };
        let [tuned, not] = ["wired-90-8-slices", "over-budget"].map(summary);
        let ms = format!("{:.1} ms", tuned.lead_ms.unwrap());
        let told = |path, value: &str, summary: &Summary| with_lead(path, value.to_owned(), lead(summary).as_deref());
        assert_eq!(told("pacing.lead", "Tuned", &tuned), format!("Tuned: {ms}"));
        assert_eq!(told("pacing.lead", "Tuned", &not), "Tuned: none found, 60.0 ms");
        assert_eq!(told("pacing.lead", "Ms", &tuned), "Ms");
        assert_eq!(told("slices.count", "8", &tuned), "8");
        assert_eq!(with_lead("pacing.lead", "Tuned".to_owned(), None), "Tuned");
    }

    #[test]
    fn csv_reads_back_whole() {
        let [a, b] = pair();
        let mut file = Vec::new();
        csv(&parameters::differences(&a, &b), &mut file).unwrap();
        let mut reader = csv::Reader::from_reader(&file[..]);
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows[0].iter().collect::<Vec<_>>(), ["notes", "About: Notes", "\"\"", &format!("{:?}", b.notes)]);
        assert_eq!(rows[1].iter().collect::<Vec<_>>(), ["slices.count", "Slices", "8", "4"]);
    }
}
