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
    fits(&text);
    (text, json, records)
}

/// Whether a terminal of 120 columns holds it; a command to be copied stays on one line.
fn fits(text: &str) {
    let long = text.lines().find(|line| line.chars().count() > 120 && !line.starts_with("As options: "));
    assert_eq!(long, None, "{text}");
}

/// A text whose long lines are no longer broken.
fn unfolded(text: &str) -> String {
    text.replace("\n  ", " ")
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
    fits(&two);
    let shares = ["--measure", "offered_load.link", "--measure", "delivered_share"];
    let two = [&["sweep", "2", "1", "--vary", "link.rate_mbps=600,1200", "--frames", "300"][..], &shares].concat();
    let (text, json, records) = in_all_forms("sweep", &two);
    assert!(text.contains("Offered load, Link [%]"), "{text}");
    let load = json["points"][0]["sides"][0]["values"][0]["mean"].as_f64().unwrap();
    assert!(load > 0.2 && load < 0.6, "JSON keeps the share: {load}");
    let row = text.lines().find(|line| line.starts_with("600 ")).unwrap();
    assert!(row.split_whitespace().nth(1).unwrap().starts_with(&format!("{:.3}", 100.0 * load)), "{row}");
    assert!(records[1].contains(&load.to_string()), "and so does the table");
}

#[test]
fn sweep_names_the_values_at_which_no_lead_could_be_tuned() {
    // With 40 and 48 slices the decoder drops frames however long the lead.
    let arguments = ["sweep", "2", "--vary", "slices.count=8,40,48", "--frames", "1000"];
    let (text, json, records) = in_all_forms("sweep", &arguments);
    assert!(text.contains("\nNOT TUNED at 2 values from 40 to 48: "), "{text}");
    let untuned = |point: usize| json["points"][point]["sides"][0]["untuned_seeds"].as_u64();
    assert_eq!([0, 1, 2].map(untuned), [0, 1, 1].map(Some));
    let column = records[0].iter().position(|name| name == "untuned_seeds").unwrap();
    assert_eq!([1, 2, 3].map(|row| &records[row][column]), ["0", "1", "1"]);
}

const SHORT: [&str; 4] = ["--frames", "200", "--set", "content.cv=0"];

#[test]
fn map_draws_a_grid_and_names_its_borders() {
    let axes = ["--x", "slices.count=1,8,32", "--y", "encode.slice_overhead_ms=0.05..1.5:4"];
    let arguments = [&["map", "2", "1"][..], &axes, &SHORT].concat();
    let (text, json, records) = in_all_forms("map", &arguments);
    for part in [
        "Baseline: Wired 90 Hz, whole frame, turned too in encode.slice_overhead_ms\n",
        "\nValues are of one run of that length and one seed each, not of an endless run.\n",
        "* within budget; ! more offered than can be done",
        "\nSame as the baseline: from (",
        "\nEncoder offered all it can do: from (",
    ] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
    for border in json["borders"].as_array().unwrap() {
        let pieces = border["lines"].as_array().unwrap().len();
        let label = border["label"].as_str().unwrap();
        let lines = unfolded(&text);
        let told = lines.lines().find(|line| line.starts_with(&format!("{label}: ")));
        assert_eq!(told.map_or(0, |line| line.matches("from (").count()), pieces, "{text}");
    }
    assert_eq!(json["cells"].as_array().unwrap().len(), 12);
    assert_eq!(
        records[0][..5],
        ["slices.count", "encode.slice_overhead_ms", "pose_to_photon_ms.p99", "baseline", "difference"]
    );
    assert_eq!(records.len(), 13);
}

#[test]
fn sensitivity_ranks_and_names_what_does_not_matter() {
    let arguments = [&["sensitivity", "2", "--seeds", "2"][..], &SHORT[..3], &["content.cv=0"]].concat();
    let (text, json, records) = in_all_forms("sensitivity", &arguments);
    let lines = unfolded(&text);
    let without = lines.lines().find(|line| line.starts_with("No change seen at this step: ")).unwrap();
    assert!(without.contains("motion.nearest_m"), "{without}");
    assert!(text.contains("\ndisplay.scanout_ms "), "{text}");
    let rows = json["rows"].as_array().unwrap();
    assert_eq!(rows.len(), records.len() - 1);
    assert_eq!(rows[0]["path"].as_str().unwrap(), records[1][1]);
}

#[test]
fn search_writes_the_best_and_says_when_nothing_meets_the_limits() {
    let folder = tempfile::tempdir().unwrap();
    let free = ["search", "2", "--free", "slices.count=1..6", "--free", "host.parts=1..2"];
    let arguments = [&free[..], &SHORT].concat();
    let (text, json, records) = in_all_forms("search", &arguments);
    assert!(
        text.contains("The best meets every limit:") && text.contains("seeds that the search has not seen"),
        "{text}"
    );
    assert!(text.contains("\nIntervals over seeds describe runs of that length, not an endless run.\n"), "{text}");
    assert_eq!(records.len(), 13);
    assert_eq!(json["all_tried"], true);
    // What is written over had a comment.
    std::fs::write(folder.path().join("best.ron"), "// mine\nScenario()\n").unwrap();
    let written = run(folder.path(), &[&arguments[..], &["--write", "best.ron"]].concat());
    let told = "framelap: best.ron: found 1 comment in the file, which saving over it leaves out\n";
    assert_eq!((written.status.code(), String::from_utf8_lossy(&written.stderr).as_ref()), (Some(0), told));
    let best = framelap::scenario::load(&folder.path().join("best.ron")).unwrap();
    assert_eq!(best.host.parts, 2);
    assert!(
        text.contains(&format!("As options: --set slices.count={} --set host.parts=2\n", best.slices.count)),
        "{text}"
    );

    let never = [&arguments[..], &["--set", "budget.pose_to_photon_ms=5", "--check"]].concat();
    let output = run(folder.path(), &never);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "framelap: nothing meets the limits\n");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("NOTHING MEETS THE LIMITS. What comes nearest:"), "{told}");
    assert!(told.lines().any(|line| line.starts_with("Pose to photon ") && line.ends_with("NOT MET")), "{told}");

    let front =
        ["search", "2", "--free", "stream.bitrate_mbps=50..400:log", "--front", "picture.bits_per_px", "--runs", "40"];
    let text = answer(&[&front[..], &SHORT, &["--no-budget"]].concat());
    assert!(
        text.contains("\nFront   Pose to photon, p99 [ms]   Bits per coded pixel [bit/px]   stream.bitrate_mbps\n"),
        "{text}"
    );
}

#[test]
fn split_shares_the_target_and_tells_the_pieces() {
    let arguments = [&["split", "2", "--target", "36", "--seeds", "2"][..], &SHORT].concat();
    let (text, json, records) = in_all_forms("split", &arguments);
    assert!(text.contains("Target: pose to photon 36.000 ms at p99; "), "{text}");
    assert!(text.contains("\nVsync to photons (display) "), "{text}");
    assert!(text.contains("\nIntervals over seeds describe runs of that length, not an endless run.\n"), "{text}");
    let sum: f64 = json["shares"].as_array().unwrap().iter().map(|share| share["may_take_ms"].as_f64().unwrap()).sum();
    assert!((sum - 36.0).abs() < 1e-6);
    assert_eq!(records.len(), 1 + 9 + 20);
    // What is shown adds up: teams to the sum, pieces to their teams.
    let lines: Vec<&str> = text.lines().collect();
    let cells = |line: &str| -> Vec<f64> {
        let cells = line.split("  ").map(|cell| cell.split(" +- ").next().unwrap().trim());
        cells.filter_map(|cell| cell.parse().ok()).collect()
    };
    let teams = lines.iter().position(|line| line.starts_with("Team [ms]")).unwrap() + 1;
    let sum = cells(lines[teams + 9]);
    // Without the deviation, which has no sum.
    let rows: Vec<Vec<f64>> = lines[teams..teams + 9].iter().map(|line| cells(line)).collect();
    for (column, sum) in [0, 2, 3, 4, 5].into_iter().zip(sum) {
        let added: f64 = rows.iter().map(|row| row[column]).sum();
        assert!((added - sum).abs() < 1e-9, "{added} {sum}\n{text}");
    }
    let link = lines[teams..].iter().find(|line| line.starts_with("Link ")).map(|line| cells(line)).unwrap();
    let parts = lines[teams + 10..].iter().filter(|line| line.contains("  Link  ")).map(|line| cells(line));
    let parts = parts.fold([0.0; 2], |sums, part| [sums[0] + part[0], sums[1] + part[1]]);
    assert!((parts[0] - link[0]).abs() < 1e-9 && (parts[1] - link[2]).abs() < 1e-9, "{parts:?} {link:?}\n{text}");
}

#[test]
fn what_if_tells_every_link_and_that_it_is_invented() {
    let arguments = ["what-if", "2", "--links", "own,optical-50m,radio-shared", "--jitter", "1,5", "--seeds", "2"];
    let (text, json, records) = in_all_forms("what-if", &[&arguments[..], &SHORT].concat());
    assert!(text.contains("The links are invented, plausible round numbers of no product:\n"), "{text}");
    assert!(
        text.lines().any(|line| line.starts_with("Radio, shared, with pauses ") && line.contains("worse")),
        "{text}"
    );
    assert_eq!(json["rows"].as_array().unwrap().len(), 6);
    assert_eq!(records.len() - 1, 6 * json["measures"].as_array().unwrap().len());
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
    refused(
        &["map", "2", "--x", "slices.count=1..2", "--y", "slices.count=1..3"],
        "the two parameters: found slices.count, allowed: two different ones",
    );
    refused(&["sensitivity", "2", "--seeds", "many"], "--seeds: found \"many\", allowed: whole numbers 1 to 1000");
    refused(
        &["search", "2", "--free", "slices.count=1..9", "--runs", "5"],
        "--runs: found \"5\", allowed: whole numbers 10 to 100000",
    );
    refused(
        &["search", "2", "--free", "slices.count=1..9", "--limit", "missed_pct"],
        "--limit: found `missed_pct`, allowed: measure<=number or measure>=number",
    );
    refused(&["split", "2", "--quantile", "1"], "quantile: found 1, allowed: above 0 to below 1");
    refused(&["split", "2", "--rule", "fair"], "--rule: found \"fair\", allowed: exposed, spread, equal");
    refused(
        &["what-if", "2", "--links", "string"],
        "--links: found \"string\", allowed: own, half-rate, cable-2m, cable-15m, optical-50m, radio-near, radio-shared",
    );
    refused(&["what-if", "2", "--jitter", "-1"], "--jitter: found \"-1\", allowed: 0 to 1000 times");
}
