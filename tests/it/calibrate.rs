//! Measurements become a scenario: a codec that was measured is simulated as it was, and the command says what is wrong with a file.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::cargo::cargo_bin_cmd;
use framelap::calibrate::{Fit, Judgement, Mapping, Measured, QUANTILES, Role, Samples, Sheet, adopt};
use framelap::scenario::{Scenario, load};
use framelap::study::{Workspace, answer};
use serde_json::Value;

fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/measured_codec.csv")
}

/// Simulated quantiles of encode and decode time and of size lie within 3 % of the measured ones up to p95, for both ways
/// of rate control of the measured file (ours: one software codec, one synthetic scene, a shared machine).
#[test]
fn the_measured_codec_is_simulated_as_it_was() {
    let sheet = Sheet::read(&data()).unwrap();
    let mut mapping = Mapping::propose(&sheet);
    let groups = mapping.groups(&sheet);
    assert_eq!((sheet.rows, sheet.bad.count, groups.len()), (3000, 0, 2));
    for group in groups {
        mapping.group = Some(group.clone());
        let measured = Measured::of(&sheet, &mapping);
        let adopted = adopt(&Scenario::default(), &Fit::of(&measured), Samples::WhereNoLawFits);
        adopted.scenario.check().unwrap();
        let judgement = Judgement::of(&measured, &answer(&adopted.scenario, &mut Workspace::new()));
        for role in [Role::Encode, Role::Decode, Role::Size] {
            let comparison = judgement.of_role(role).unwrap();
            for (p, [found, made]) in QUANTILES.iter().zip(&comparison.quantiles).filter(|(p, _)| **p <= 0.95) {
                let off = made / found - 1.0;
                assert!(off.abs() < 0.03, "{group} {role:?} p{p}: measured {found}, simulated {made}, {off:+.3}");
            }
        }
    }
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    cargo_bin_cmd!("framelap").current_dir(folder).env_remove("RUST_LOG").args(arguments).output().unwrap()
}

#[track_caller]
fn printed(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_command_makes_a_scenario_and_a_table_that_run() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let file = data();
    let file = file.to_str().unwrap();
    let said = printed(
        folder,
        &[
            "calibrate",
            file,
            "--group",
            "rate30",
            "--save-scenario",
            "bench.ron",
            "--save-work",
            "measured",
            "--save-mapping",
            "m.ron",
            "--hold-out",
        ],
    );
    for part in ["3000 rows", "of group rate30", "each Mbit, ms", "Largest disagreement", "second half"] {
        assert!(said.replace('\u{2009}', "").contains(part), "{part}: {said}");
    }
    let scenario = load(&folder.join("bench.ron")).unwrap();
    assert!(scenario.encode.work.fixed_ms > 3.0 && scenario.stream.bitrate_mbps > 10.0);
    let length = ["--frames", "300", "--warmup", "0", "--json"];
    let replayed = run(folder, &[&["simulate", "bench.ron", "--work", "measured"], &length[..]].concat());
    assert_eq!(replayed.status.code(), Some(0), "{}", String::from_utf8_lossy(&replayed.stderr));
    let json: Value = serde_json::from_slice(&replayed.stdout).unwrap();
    assert_eq!((json["frames"].as_u64(), json["name"].as_str()), (Some(300), Some("measured_codec")));
    let again = printed(folder, &["calibrate", file, "--mapping", "m.ron", "--json"]);
    let json: Value = serde_json::from_str(&again).unwrap();
    assert_eq!(json["mapping"]["group"], "rate30");
    assert!(json["fit"]["stages"][0]["laws"][0]["aic"].is_number());
}

/// What the scenario takes that nothing was estimated of is told with its reason.
#[test]
fn a_slice_count_that_is_taken_over_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let row = |frame: usize, slices: usize| {
        let encode = 4.0 + 0.2 * slices as f64 + 0.01 * ((frame * 7) % 13) as f64;
        format!("{frame},{slices},{encode}\n")
    };
    let several: String = (0..200).map(|frame| row(frame, if frame < 120 { 1 } else { 2 })).collect();
    fs::write(folder.path().join("m.csv"), format!("frame,slices,encode_ms\n{several}")).unwrap();
    fs::write(folder.path().join("mine.ron"), "// of the bench\nScenario(slices: (count: 8 /* for now */))\n").unwrap();
    let calibrate = ["calibrate", "m.csv", "--scenario", "mine.ron"];
    let said = printed(folder.path(), &calibrate);
    let why = "  slices.count becomes 2, from 8: measured were 120 frames whole, 80 frames in 2 slices, and of counts above 1 the \
               one that most frames have is taken";
    assert!(said.contains(why), "{said}");
    let saved = run(folder.path(), &[&calibrate[..], &["--json", "--save-scenario", "mine.ron"]].concat());
    let told = "framelap: mine.ron: found 2 comments in the file, which saving over it leaves out\n";
    assert_eq!(String::from_utf8_lossy(&saved.stderr), told);
    let json: Value = serde_json::from_slice(&saved.stdout).unwrap();
    let because: Vec<&str> = json["because"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
    assert!(because.iter().any(|line| line.starts_with("slices.count becomes 2, from 8: ")), "{because:?}");
    assert_eq!(json["fit"]["slice_counts"], serde_json::json!([[1, 120], [2, 80]]));
    assert!(json["judgement"]["comparisons"][0].get("residuals").is_none(), "what is left is told once");
    assert!(json["residuals"].as_array().is_some_and(|all| !all.is_empty()));
    // Nothing is said of what stays as it was.
    let again = printed(folder.path(), &calibrate);
    assert!(!again.contains("slices.count becomes"), "{again}");
}

/// What is over time is told, and the figures hold the numbers of the JSON.
#[test]
fn figures_are_written_with_the_numbers_that_are_printed() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let file = data();
    let file = file.to_str().unwrap();
    let options = ["calibrate", file, "--group", "rate30", "--hold-out", "--figures", "overlays"];
    let said = printed(folder, &options);
    for part in ["Over time", "encode less the fit: first third", "correlation of neighbours", "worst stretch frames"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let json: Value = serde_json::from_str(&printed(folder, &[&options[..5], &["--json"]].concat())).unwrap();
    let mut table = csv::Reader::from_path(folder.join("overlays/quantiles.csv")).unwrap();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let differences = json["differences"].as_array().unwrap();
    assert_eq!(rows.len(), 4 * differences.len());
    let mut rows = rows.iter();
    for of in differences {
        let scale = if of["role"] == "Size" { 1e-3 } else { 1.0 };
        for (difference, row) in of["rows"].as_array().unwrap().iter().zip(&mut rows) {
            let number = |column: usize| row[column].parse::<f64>().unwrap();
            assert!((difference["measured"].as_f64().unwrap() * scale - number(3)).abs() < 1e-9, "{row:?}");
            assert!((difference["simulated"].as_f64().unwrap() * scale - number(6)).abs() < 1e-9, "{row:?}");
            assert!((difference["relative"].as_f64().unwrap() * 100.0 - number(9)).abs() < 1e-9, "{row:?}");
        }
    }
    for role in ["encode", "decode", "size"] {
        for figure in [format!("overlay-{role}"), format!("over-time-{role}")] {
            let path = |ending: &str| folder.join(format!("overlays/{figure}.{ending}"));
            assert!(fs::read(path("png")).unwrap().starts_with(b"\x89PNG"));
            let svg = fs::read_to_string(path("svg")).unwrap();
            assert!(svg.contains("--group rate30 --hold-out --figures"), "{figure} tells its command");
            assert!(csv::Reader::from_path(path("csv")).unwrap().records().count() > 20, "{figure}");
        }
    }
    let counted: i64 = csv::Reader::from_path(folder.join("overlays/overlay-encode.csv"))
        .unwrap()
        .records()
        .map(Result::unwrap)
        .filter(|row| row[2].contains("bin"))
        .map(|row| row[5].parse::<i64>().unwrap())
        .sum();
    assert_eq!(counted, json["judgement"]["frames"].as_i64().unwrap(), "every measured frame is in a bin");
}

#[test]
fn bad_rows_are_told_and_bad_wishes_refused() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let row = |k: u32| format!("{k};{},5;{}\n", 3000 + 10 * (k % 7), if k < 50 { "a" } else { "b" });
    let rows: String = (0..60).map(row).collect();
    let text = format!("frame;t enc;kind\n{rows}60;x;a\n61;-4;a\n");
    fs::write(folder.join("m.csv"), text).unwrap();
    let said = printed(folder, &["calibrate", "m.csv", "--map", "t enc=encode:us"]);
    assert!(
        said.contains("1 row cannot be read and is left out") && said.contains("line 62: t enc: found `x`"),
        "{said}"
    );
    assert!(
        said.contains("1 row holds what cannot be and is left out") && said.contains("line 63: encode: found -4"),
        "{said}"
    );
    assert!(said.contains("of group a"), "{said}");
    for (arguments, says) in [
        (&["calibrate", "absent.csv"][..], "absent.csv: cannot be read"),
        (&["calibrate", "m.csv", "--group", "c"], "--group: found \"c\", allowed: a, b"),
        (&["calibrate", "m.csv", "--group", "b"], "nothing to fit: found 10 frames"),
        (&["calibrate", "m.csv", "--map", "x=encode"], "--map: found column \"x\", allowed: frame, t enc, kind"),
        (&["calibrate", "m.csv", "--map", "t enc=coding"], "--map t enc: found \"coding\", allowed: unused, group"),
        (&["calibrate", "m.csv", "--map", "t enc=encode:h"], "found unit \"h\", allowed: s, ms, us, ns"),
        (&["calibrate", "m.csv", "--mapping", "m.csv"], "m.csv: no mapping"),
        (&["calibrate", "m.csv", "--save-scenario", "absent/x.ron"], "absent/x.ron"),
    ] {
        let output = run(folder, arguments);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(told.contains(says) && told.trim_end().lines().count() == 1, "{arguments:?}: {told}");
    }
}

/// Certified mean and standard deviation of sets of NIST (Statistical Reference Datasets, univariate, public domain) through
/// the command: read as sizes, a law aside they are what the answer tells first.
#[test]
fn certified_values_of_nist_come_through_the_command() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/nist");
    for (set, mean, sd) in
        [("michelso", 299.852_4, 0.079_010_547_819_051_8), ("lottery", 518.958_715_596_330, 291.699_727_470_969)]
    {
        let said =
            printed(&folder, &["calibrate", &format!("{set}.csv"), "--map", &format!("{set}=size:bits"), "--json"]);
        let json: Value = serde_json::from_str(&said).unwrap();
        let sizes = &json["fit"]["sizes"];
        let (found, cv) = (sizes["bits"]["value"].as_f64().unwrap(), sizes["cv"]["value"].as_f64().unwrap());
        assert!((found / mean - 1.0).abs() < 1e-14, "{set}: {found} is not {mean}");
        assert!((found * cv / sd - 1.0).abs() < 1e-12, "{set}: {} is not {sd}", found * cv);
    }
}
