//! The studies through the real binary: text, CSV, JSON, and what is wrong with a question.

use std::path::Path;
use std::process::Output;

use assert_cmd::cargo::cargo_bin_cmd;
use serde_json::Value;
use tempfile::TempDir;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    cargo_bin_cmd!("framelap").current_dir(folder).env_remove("RUST_LOG").args(arguments).output().unwrap()
}

/// What a study prints when all goes well: nothing beside it, since standard error is no terminal here.
fn answer(arguments: &[&str]) -> String {
    answer_in(&tempfile::tempdir().unwrap(), arguments)
}

fn answer_in(folder: &TempDir, arguments: &[&str]) -> String {
    let output = run(folder.path(), arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&answer(&[arguments, &["--json"]].concat())).unwrap()
}

/// The records of a CSV table that is printed, its head first.
fn records(arguments: &[&str]) -> Vec<Vec<String>> {
    let table = answer(&[arguments, &["--csv", "-"]].concat());
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(table.as_bytes());
    reader.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

/// The three forms of one answer, and a file beside the text.
fn in_all_forms(name: &str, arguments: &[&str]) -> (String, Value, Vec<Vec<String>>) {
    let folder = tempfile::tempdir().unwrap();
    let text = answer_in(&folder, &[arguments, &["--csv", "table.csv"]].concat());
    let json = json(arguments);
    assert_eq!((json["study"].as_str(), json["version"].as_str()), (Some(name), Some(env!("CARGO_PKG_VERSION"))));
    let records = records(arguments);
    assert!(records.iter().all(|record| record.len() == records[0].len()) && records.len() > 1);
    let written = std::fs::read_to_string(folder.path().join("table.csv")).unwrap();
    assert_eq!(written, answer(&[arguments, &["--csv", "-"]].concat()));
    assert!(text.lines().all(|line| line.trim_end() == line), "a line ends in blanks");
    (text, json, records)
}

fn refused(arguments: &[&str], message: &str) {
    let output = run(tempfile::tempdir().unwrap().path(), arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), format!("framelap: {message}\n"), "{arguments:?}");
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
}

#[test]
fn compare_tells_which_is_better_in_what() {
    let (text, json, records) = in_all_forms("compare", &["compare", "1", "2", "--frames", "600", "--seeds", "3"]);
    assert!(text.starts_with("A: Wired 90 Hz, whole frame; "), "{text}");
    let p99 = text.lines().find(|line| line.starts_with("Pose to photon, p99 [ms]")).unwrap();
    assert!(p99.contains(" +- ") && p99.ends_with("better"), "{p99}");
    let rows = json["rows"].as_array().unwrap();
    let row = rows.iter().find(|row| row["measure"] == "pose_to_photon_ms.p99").unwrap();
    assert_eq!(row["differences"][0]["verdict"], "better");
    let column = |name: &str| records[0].iter().position(|head| head == name).unwrap();
    let line =
        records.iter().find(|line| line[0] == "pose_to_photon_ms.p99" && line[column("scenario")] == "B").unwrap();
    assert_eq!(line[column("difference")].parse().ok(), row["differences"][0]["mean"].as_f64());
    assert_eq!(records.len() - 1, 2 * rows.len());
    let one = answer(&["compare", "1", "2", "--frames", "300", "--seeds", "2", "--measure", "headroom_ms"]);
    assert!(one.contains("\nHeadroom [ms]") && !one.contains("Pose to photon, p99"), "{one}");
}

#[test]
fn sweep_tells_best_plateau_and_cliff() {
    let arguments = ["sweep", "2", "--vary", "slices.count=1..40:5", "--frames", "600", "--set", "content.cv=0"];
    let (text, json, records) = in_all_forms("sweep", &arguments);
    for part in [
        "\nbest Pose to photon, p99 at 1",
        "more work is offered than can be done above 2",
        "by arithmetic: best at n* = ",
    ] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
    assert_eq!(json["points"].as_array().unwrap().len(), 5);
    assert_eq!(records.len(), 6);
    let two = answer(&["sweep", "2", "1", "--vary", "link.rate_mbps=600,1.2 Gbps", "--frames", "300", "--seeds", "2"]);
    assert!(two.contains("A: Wired 90 Hz, 8 slices") && two.contains("A less B"), "{two}");
}

#[test]
fn wrong_questions_are_refused_in_one_line() {
    refused(
        &["compare", "1"],
        "2 values required by '<SCENARIO|PRESET> <SCENARIO|PRESET>...'; only 1 was provided; see `framelap --help`",
    );
    refused(&["compare", "1", "2", "--seeds", "0"], "--seeds: found \"0\", allowed: whole numbers 1 to 1000");
    refused(
        &["compare", "1", "2", "--measure", "p2p"],
        "--measure: found no measure \"p2p\", allowed: a path in the JSON of simulate, such as pose_to_photon_ms.mean, \
         pose_to_photon_ms.sd, pose_to_photon_ms.min",
    );
    refused(
        &["compare", "1", "2", "--json", "--csv", "-", "--frames", "300"],
        "--csv -: found --json beside it, allowed: one of the two on standard output",
    );
    refused(
        &["sweep", "2", "--vary", "slices.count=60..70", "--frames", "300"],
        "slices.count: found 65, allowed: whole numbers 1 to 64",
    );
    refused(
        &["sweep", "2", "--vary", "slices.cuont=1..3"],
        "slices.cuont: there is no such parameter; the nearest is slices.count",
    );
    refused(
        &["sweep", "2", "--vary", "pacing.lead.ms=10,20"],
        "pacing.lead.ms: found 10 ms, allowed: only while pacing.lead is Ms",
    );
}
