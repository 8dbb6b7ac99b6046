//! Small runs with exact answers from an independent implementation of the model (`tests/cases/README.md`): every cell of
//! the three tables must be equal, and so must the facts.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use framelap::engine::{Engine, Fate, Pilot, RefreshKind, Run};
use framelap::report::tables;
use framelap::scenario::Scenario;
use framelap::work::WorkTable;
use framelap::{measure, scenario, work};
use serde_json::Value;

use crate::second;

/// All case folders in order.
fn folders() -> Vec<PathBuf> {
    let all = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let entries = fs::read_dir(all).unwrap().map(|entry| entry.unwrap().path());
    let mut folders: Vec<PathBuf> = entries.filter(|path| path.is_dir()).collect();
    folders.sort();
    folders
}

/// A table by column name: head and rows.
struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

fn read(bytes: &[u8]) -> Table {
    let mut reader = csv::Reader::from_reader(bytes);
    let cells = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect::<Vec<_>>();
    let columns = cells(reader.headers().unwrap());
    Table { columns, rows: reader.records().map(|record| cells(&record.unwrap())).collect() }
}

/// The first cell in which two tables differ, by name; rows that only one of them has, and columns that only the expected
/// one has, differ too.
fn first_difference(expected: &Table, found: &Table) -> Option<String> {
    let place = |name: &String| found.columns.iter().position(|column| column == name);
    let missing = expected.columns.iter().find(|name| place(name).is_none());
    if let Some(name) = missing {
        return Some(format!("there is no column {name}"));
    }
    for (number, (wanted, got)) in expected.rows.iter().zip(&found.rows).enumerate() {
        for (name, cell) in expected.columns.iter().zip(wanted) {
            let other = &got[place(name).unwrap()];
            if cell != other {
                let key = format!("{} {}, {} {}", expected.columns[0], wanted[0], expected.columns[1], wanted[1]);
                return Some(format!("row {number} ({key}), {name}: expected {cell:?}, found {other:?}"));
            }
        }
    }
    let (wanted, got) = (expected.rows.len(), found.rows.len());
    (wanted != got).then(|| format!("expected {wanted} rows, found {got}"))
}

/// Counts by name, without those that are 0.
fn counts<'a>(names: impl Iterator<Item = &'a str>) -> BTreeMap<String, u64> {
    let mut counts = BTreeMap::new();
    for name in names {
        *counts.entry(name.to_owned()).or_insert(0) += 1;
    }
    counts
}

fn expected_counts(fact: &Value) -> BTreeMap<String, u64> {
    let counts = fact.as_object().unwrap().iter().map(|(name, count)| (name.clone(), count.as_u64().unwrap()));
    counts.filter(|(_, count)| *count > 0).collect()
}

/// All that differs in one case.
fn differences(folder: &Path, play: &mut dyn FnMut(&Scenario, &WorkTable) -> Run) -> Vec<String> {
    let scenario = scenario::load(&folder.join("scenario.ron")).unwrap();
    let loaded = work::read(&folder.join("work"), &scenario).unwrap();
    let run = &play(&scenario, &loaded.table);
    let summary = measure::summarize(&scenario, &loaded.table, run);

    let mut differences = Vec::new();
    let mut told = |what: &str, difference: Option<String>| {
        differences.extend(difference.map(|difference| format!("{what}: {difference}")));
    };
    let written = |write: fn(&Run, &mut Vec<u8>) -> std::io::Result<()>| {
        let mut bytes = Vec::new();
        write(run, &mut bytes).unwrap();
        read(&bytes)
    };
    let expected = |name: &str| read(&fs::read(folder.join("expected").join(name)).unwrap());
    told("frames", first_difference(&expected("frames.csv"), &written(|run, to| tables::frames(run, to))));
    told("slices", first_difference(&expected("slices.csv"), &written(|run, to| tables::slices(run, to))));
    told("refreshes", first_difference(&expected("refreshes.csv"), &written(|run, to| tables::refreshes(run, to))));

    let facts: Value = serde_json::from_slice(&fs::read(folder.join("expected/facts.json")).unwrap()).unwrap();
    let unequal = |wanted: &dyn std::fmt::Debug, got: &dyn std::fmt::Debug| {
        let (wanted, got) = (format!("{wanted:?}"), format!("{got:?}"));
        (wanted != got).then(|| format!("expected {wanted}, found {got}"))
    };
    let fates = counts(run.frames.iter().map(|frame| frame.fate.name()));
    told("fates", unequal(&expected_counts(&facts["fates"]), &fates));
    let kinds = counts(run.refreshes.iter().map(|refresh| refresh.kind.name()));
    told("refresh kinds", unequal(&expected_counts(&facts["refresh_kinds"]), &kinds));
    let counted = Fate::ALL.map(|fate| (fate.name().to_owned(), u64::from(summary.fates.of(fate))));
    let counted = counted.into_iter().filter(|(_, count)| *count > 0).collect::<BTreeMap<_, _>>();
    told("counted fates", unequal(&expected_counts(&facts["counted_fates"]), &counted));
    let counted = RefreshKind::ALL.map(|kind| (kind.name().to_owned(), u64::from(summary.refresh_kinds.of(kind))));
    let counted = counted.into_iter().filter(|(_, count)| *count > 0).collect::<BTreeMap<_, _>>();
    told("counted refresh kinds", unequal(&expected_counts(&facts["counted_refresh_kinds"]), &counted));
    told("end_ns", unequal(&facts["end_ns"].as_i64(), &Some(run.end_ns)));
    let lead_ns = summary.lead_ms.map(|ms| ms * 1e6);
    let close = match (facts["lead_ns"].as_f64(), lead_ns) {
        // A mean over frames: equal but for the last bits of a division.
        (Some(wanted), Some(got)) => (wanted - got).abs() < 1e-3,
        (wanted, got) => wanted.is_none() && got.is_none(),
    };
    told("lead_ns", (!close).then(|| format!("expected {}, found {lead_ns:?}", facts["lead_ns"])));
    let met = !matches!(run.pilot, Pilot::Infinite);
    told("tuned_met", unequal(&facts["tuned_met"].as_bool().unwrap_or(true), &met));
    differences
}

/// All that differs in all cases, in words.
fn all_differences(mut play: impl FnMut(&Scenario, &WorkTable) -> Run) -> String {
    let folders = folders();
    assert!(folders.len() >= 40, "the cases are there");
    let mut told = String::new();
    for folder in &folders {
        for difference in differences(folder, &mut play) {
            writeln!(told, "{}: {difference}", folder.file_name().unwrap().display()).unwrap();
        }
    }
    told
}

#[test]
fn every_case_is_exact() {
    let mut engine = Engine::new();
    let told = all_differences(|scenario, table| {
        engine.simulate(scenario, table);
        engine.take_run()
    });
    assert!(told.is_empty(), "{told}");
}

#[test]
fn every_case_is_exact_in_the_second_engine() {
    let told = all_differences(|scenario, table| second::play(scenario, table).into_run(scenario));
    assert!(told.is_empty(), "{told}");
}
