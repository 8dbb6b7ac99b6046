//! The parameters in which two scenarios differ, as text and as CSV.

use std::io::{self, Write};

use crate::scenario::parameters::Difference;

/// Characters of a value in the text; longer ones, such as notes, are cut. The CSV holds them whole.
const MOST_CHARACTERS: usize = 40;

/// A table aligned for a monospaced face, under the names of both scenarios and the number of differences.
pub fn text(names: [&str; 2], differences: &[Difference]) -> String {
    // Name and notes are listed too, but change nothing.
    let count = differences.iter().filter(|one| !["name", "notes"].contains(&one.path)).count();
    let count = match count {
        0 => "No parameter differs".to_owned(),
        1 => "1 parameter differs".to_owned(),
        count => format!("{count} parameters differ"),
    };
    let head = format!("A: {}\nB: {}\n{count}\n", names[0], names[1]);
    if differences.is_empty() {
        return head;
    }
    let title = ["Path", "Parameter", "A", "B"].map(str::to_owned);
    let rows = differences.iter().map(|one| [one.path.to_owned(), one.label.clone(), cut(&one.a), cut(&one.b)]);
    let rows: Vec<[String; 4]> = std::iter::once(title).chain(rows).collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let [path, label, a] = [0, 1, 2].map(width);
    let line = |row: &[String; 4]| format!("{:path$}  {:label$}  {:a$}  {}", row[0], row[1], row[2], row[3]);
    let table = rows.iter().map(|row| format!("{}\n", line(row).trim_end()));
    format!("{head}\n{}", table.collect::<String>())
}

/// A row a difference: `path, label, a, b`, the values with their units, texts in quotes as in a file.
pub fn csv(differences: &[Difference], to: impl Write) -> io::Result<()> {
    let mut rows = csv::Writer::from_writer(to);
    rows.write_record(["path", "label", "a", "b"])?;
    for Difference { path, label, a, b } in differences {
        rows.write_record([path, label.as_str(), a, b])?;
    }
    rows.flush()
}

/// A value on one line that is not too long.
fn cut(value: &str) -> String {
    let line = value.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= MOST_CHARACTERS {
        return line;
    }
    let kept: String = line.chars().take(MOST_CHARACTERS - 3).collect();
    format!("{}...", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;
    use crate::scenario::parameters;

    fn pair() -> [Scenario; 2] {
        let mut b = Scenario::default();
        b.slices.count = 4;
        b.notes = format!("two\nlines, \"quoted\" {}", "and long ".repeat(9));
        [Scenario::default(), b]
    }

    #[test]
    fn values_stand_side_by_side_and_long_ones_are_cut() {
        let [a, b] = pair();
        let text = text(["One", "Other"], &parameters::differences(&a, &b));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[..3], ["A: One", "B: Other", "1 parameter differs"]);
        assert!(lines[4].starts_with("Path") && lines[5].starts_with("notes"), "{text}");
        assert!(lines[5].ends_with("..."), "{text}");
        assert!(lines[6].starts_with("slices.count  Slices: Slices"), "{text}");
        let values: Vec<&str> = lines[6].split_whitespace().rev().take(2).collect();
        assert_eq!(values, ["4", "8"]);
        assert_eq!(lines.len(), 7);
        assert_eq!(super::text(["A", "A"], &[]), "A: A\nB: A\nNo parameter differs\n");
    }

    #[test]
    fn csv_reads_back_whole() {
        let [a, b] = pair();
        let mut file = Vec::new();
        csv(&parameters::differences(&a, &b), &mut file).unwrap();
        let mut reader = csv::Reader::from_reader(&file[..]);
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows[0].iter().collect::<Vec<_>>(), ["notes", "About: Notes", "\"\"", &format!("{:?}", b.notes)]);
        assert_eq!(rows[1].iter().collect::<Vec<_>>(), ["slices.count", "Slices: Slices", "8", "4"]);
    }
}
