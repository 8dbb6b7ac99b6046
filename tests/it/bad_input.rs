//! Bad input through the real binary: status 2, nothing on standard output, one message on standard error that says what,
//! where, found and allowed, and no panic.

use std::ffi::OsStr;
use std::fs;
use std::path::Path;

use assert_cmd::cargo::cargo_bin_cmd;
use tempfile::TempDir;

/// Runs the program in `folder` and holds what it says against `message`.
fn refused<S: AsRef<OsStr>>(folder: &Path, arguments: &[S], message: &str) {
    let mut command = cargo_bin_cmd!("framelap");
    // Presets of whoever runs this must not be named.
    command.env("XDG_DATA_HOME", folder.join("home")).env("APPDATA", folder.join("home"));
    let output = command.current_dir(folder).env_remove("RUST_LOG").args(arguments).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    let arguments: Vec<&OsStr> = arguments.iter().map(AsRef::as_ref).collect();
    assert_eq!(told, format!("framelap: {message}\n"), "{arguments:?}");
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    assert!(output.stdout.is_empty(), "{arguments:?} wrote to standard output");
}

fn folder_with(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in files {
        fs::write(folder.path().join(name), content).unwrap();
    }
    folder
}

const PRESETS: &str = "wired-90-whole-frame, wired-90-8-slices, wired-90-8-slices-eye-by-eye, wired-90-32-slices, \
                       lead-left-alone, wired-120-foveated-4-slices, radio-72-4-slices-fades, \
                       radio-72-resend-or-parity, two-decode-engines-4-slices, over-budget";

#[test]
fn scenario_files() {
    let cases: [(&[u8], &str); 22] = [
        (b"", "it is empty, a scenario is expected, at the least `Scenario()`"),
        (b"Scenario(\n  slices: (count: 8,\n", "2: the text ends too early: a `)`, `]` or quote is missing"),
        (b"((((((((((", "1: the name of a field is expected here"),
        (b"{\"slices\": 8}", "1: `Scenario(` is expected here"),
        (b"\0\0\0", "1: `Scenario(` is expected here"),
        (b"Scenario(name: \"\xff\xfe\")", "1: it is no text in UTF-8"),
        (
            b"Scenario(\n  slices: (cuont: 8),\n)",
            "2: slices.cuont: found an unknown field, allowed: count, shape, block_px, spread_cv, bits_penalty_pct",
        ),
        (b"Scenario(slices: (count: \"8\"))", "1: slices.count: found `\"8\"`, allowed: whole numbers 1 to 64"),
        (b"Scenario(slices: (count: 8.5))", "1: slices.count: found `8.5`, allowed: whole numbers 1 to 64"),
        (b"Scenario(slices: (count: -8))", "1: slices.count: found `-8`, allowed: whole numbers 1 to 64"),
        (b"Scenario(slices: (count: 0))", "1: slices.count: found 0, allowed: whole numbers 1 to 64"),
        (
            b"Scenario(slices: (count: 99999999999999999999))",
            "1: slices.count: found `99999999999999999999`, allowed: whole numbers 1 to 64",
        ),
        (b"Scenario(name: 5)", "1: name: found `5`, allowed: text in quotes"),
        (
            b"Scenario(\n  display: (\n    refresh_hz: 1000.0,\n  ),\n)",
            "3: display.refresh_hz: found 1000 Hz, allowed: 30 to 240 Hz",
        ),
        (b"Scenario(display: (refresh_hz: NaN))", "1: display.refresh_hz: found NaN Hz, allowed: 30 to 240 Hz"),
        (b"Scenario(display: (refresh_hz: inf))", "1: display.refresh_hz: found inf Hz, allowed: 30 to 240 Hz"),
        (b"Scenario(display: (refresh_hz: 1e400))", "1: display.refresh_hz: found inf Hz, allowed: 30 to 240 Hz"),
        (
            b"Scenario(\n  slices: (count: 3, shape: Weights([1.0, 2.0])),\n)",
            "2: slices.shape.weights: found a list of 2, allowed: a list of 3, one weight a slice",
        ),
        (
            b"Scenario(pacing: Fixed(lead: Tuned(late_share: 0.9)))",
            "1: pacing.lead.late_share: found 0.9, allowed: 0.001 to 0.5",
        ),
        (
            b"Scenario(run: (frames: 100))",
            "1: run.warmup: found 180 frames, allowed: whole numbers 0 to 99 frames (below run.frames)",
        ),
        (b"Scenario(run: (frames: 5))", "1: run.frames: found 5 frames, allowed: whole numbers 10 to 1000000 frames"),
        (b"Scenario(format: 2)", "1: format: found 2, which is newer than this program; allowed: 1"),
    ];
    for (content, message) in cases {
        let folder = folder_with(&[("bad.ron", content)]);
        let gap = if message.starts_with(|c: char| c.is_ascii_digit()) { "" } else { " " };
        refused(folder.path(), &["simulate", "bad.ron"], &format!("bad.ron:{gap}{message}"));
    }
}

const FIGURES: &str = "lanes, distribution, outcomes, slice-count, exposed-time, fronts, late-correction, eyes-field, \
                       the-run, late-share, loads-and-headroom, verdict";

/// A talk with something in place of its second step's fields behind the figure.
fn talk_with(fields: &str) -> Vec<u8> {
    let step = "(candidate: \"a\", baseline: \"a\", figure: \"lanes\")";
    let scenarios = "{\n    \"a\": Scenario(run: (frames: 300)),\n  }";
    let second = format!("(\n      candidate: \"a\",\n      baseline: \"a\",\n      {fields},\n    )");
    format!("Talk(\n  version: 1,\n  title: \"t\",\n  scenarios: {scenarios},\n  steps: [\n    {step},\n    {second},\n  ],\n)\n")
        .into_bytes()
}

#[test]
fn talk_files() {
    let cases: Vec<(Vec<u8>, String)> = vec![
        (b"".to_vec(), " it is empty, a talk is expected".to_owned()),
        (b"\0\0\0".to_vec(), "1: `Talk(` is expected here".to_owned()),
        (b"Talk(title: \"\xff\")".to_vec(), "1: it is no text in UTF-8".to_owned()),
        (b"Talk(\n  version: 2,\n  whatever: 5,\n)".to_vec(), "2: version: found `2`, which is newer than this program; allowed: 1".to_owned()),
        (b"Talk(version: 1, title: \"t\", scenarios: {}, steps: [])".to_vec(), " steps: found none, allowed: 1 to 200".to_owned()),
        (b"Talk(version: 1, title: \"\", scenarios: {}, steps: [])".to_vec(), " title: found 0 letters, allowed: 1 to 120".to_owned()),
        (b"Talk(version: 1,\n title: \"t\", scenarios: {},\n stops: [])".to_vec(), "3: `stops`: found an unknown field, allowed: version, title, scenarios, steps".to_owned()),
        (b"Talk(version: 1, title: \"t\", scenarios: {})".to_vec(), "1: steps: this field is missing".to_owned()),
        (b"Talk(version: 1, title: 5, scenarios: {}, steps: [])".to_vec(), "1: title: found `5`, allowed: text in quotes".to_owned()),
        (talk_with("figure: \"lains\""), format!("12: step 2: figure: found `lains`, allowed: {FIGURES}; studies are not kept in talks")),
        (talk_with("figure: \"sweep\""), format!("12: step 2: figure: found `sweep`, allowed: {FIGURES}; studies are not kept in talks")),
        (talk_with("figure: \"lanes\", frame: 300"), "12: step 2: frame: found 300, allowed: 0 to 299".to_owned()),
        (talk_with("figure: \"lanes\",\n      frame: -1"), "13: step 2: frame: found `-1`, allowed: whole numbers from 0 on".to_owned()),
        (talk_with("figure: \"lanes\", walk_ms: -1.0"), "12: step 2: walk_ms: found -1 ms, allowed: 0 to 1000000 ms".to_owned()),
        (talk_with("figure: \"outcomes\", walk_ms: 1.0"), "12: step 2: walk_ms: found for outcomes, allowed: for lanes, fronts".to_owned()),
        (talk_with("figure: \"lanes\", from_ms: 1.0"), "12: step 2: from_ms: found `from_ms alone`, allowed: with to_ms".to_owned()),
        (
            talk_with("figure: \"lanes\", from_ms: 2.0, to_ms: 1.0"),
            "12: step 2: from_ms, to_ms: found 2 to 1 ms, allowed: at least 0.02 ms, within 1000000 ms".to_owned(),
        ),
        (talk_with("figure: \"lanes\", measure: \"stream\""), "12: step 2: measure: found `lanes`, allowed: for distribution".to_owned()),
        (talk_with("figure: \"outcomes\", highlight: [\"link\"]"), "12: step 2: highlight: found for outcomes, allowed: for lanes, exposed-time, fronts, loads-and-headroom".to_owned()),
        (talk_with("figure: \"lanes\",\n      captoin: \"x\""), "13: step 2: `captoin`: found an unknown field, allowed: candidate, baseline, figure, frame, from_ms, to_ms, walk_ms, measure, form, quantile, highlight, headline, text".to_owned()),
        (talk_with("figure: \"lanes\", figure: \"lanes\""), "12: step 2: figure: this field is given twice".to_owned()),
        (talk_with("frame: 3"), "13: step 2: figure: this field is missing".to_owned()),
    ];
    for (content, message) in cases {
        let folder = folder_with(&[("bad.ron", &content)]);
        refused(folder.path(), &["talk", "bad.ron", "out"], &format!("bad.ron:{message}"));
        assert!(!folder.path().join("out").exists());
    }
}

#[test]
fn talks_with_broken_parts() {
    let text = |scenario: &str, candidate: &str| {
        format!(
            "Talk(\n  version: 1,\n  title: \"t\",\n  scenarios: {{\n    \"a\": Scenario(\n      {scenario},\n    ),\n  }},\n  \
             steps: [(candidate: \"a\", baseline: \"a\", figure: \"lanes\"), (candidate: \"{candidate}\", baseline: \"a\", figure: \"lanes\")],\n)"
        )
    };
    let cases = [
        (
            text("slices: (count: 0)", "a"),
            "6: step 1: scenario `a`: slices.count: found 0, allowed: whole numbers 1 to 64",
        ),
        (
            text("slices: (cuont: 2)", "a"),
            "6: step 1: scenario `a`: slices.cuont: found an unknown field, allowed: count, shape, block_px, spread_cv, bits_penalty_pct",
        ),
        (
            text("format: 7", "a"),
            "6: step 1: scenario `a`: format: found 7, which is newer than this program; allowed: 1",
        ),
        (text("slices: (count: 2)", "b"), "9: step 2: candidate: found `b`, allowed: a"),
    ];
    for (content, message) in cases {
        let folder = folder_with(&[("bad.ron", content.as_bytes())]);
        refused(folder.path(), &["talk", "bad.ron", "out"], &format!("bad.ron:{message}"));
    }
    let many = "(candidate: \"a\", baseline: \"a\", figure: \"lanes\"),\n".repeat(201);
    let many = format!("Talk(version: 1, title: \"t\", scenarios: {{\"a\": ()}},\nsteps: [\n{many}])");
    let folder = folder_with(&[("many.ron", many.as_bytes()), ("huge.ron", &vec![b' '; (16 << 20) + 1])]);
    refused(folder.path(), &["talk", "many.ron", "out"], "many.ron:2: steps: found 201, allowed: 1 to 200");
    refused(
        folder.path(),
        &["talk", "huge.ron", "out"],
        "huge.ron: cannot be read: it is larger than 16 MiB, which no talk is",
    );
    refused(folder.path(), &["talk", "no.ron", "out"], "no.ron: cannot be read: there is no such file or folder");
    refused(
        folder.path(),
        &["talk", "why", "out"],
        "\"why\": found no talk of that name, allowed: a talk's file, or why-slices, how-many-slices",
    );
    refused(
        folder.path(),
        &["talk", "--show", "why"],
        "\"why\": found no talk of that name, allowed: a talk's file, or why-slices, how-many-slices",
    );
    refused(
        folder.path(),
        &["talk", "why-slices"],
        "why-slices: found no folder for the pictures, allowed: `framelap talk TALK OUTDIR`",
    );
    refused(
        folder.path(),
        &["talk", "why-slices", "many.ron"],
        "many.ron: the folder cannot be made: a file is in its place",
    );
}

#[test]
fn scenarios_that_are_not_there() {
    let folder = folder_with(&[]);
    fs::create_dir(folder.path().join("folder")).unwrap();
    let cases = [
        ("missing.ron", "missing.ron: cannot be read: there is no such file".to_owned()),
        ("./missing", "./missing: cannot be read: there is no such file".to_owned()),
        ("folder", "folder: cannot be read: it is a folder, a scenario file is expected".to_owned()),
        (
            "nonsense",
            format!(
                "\"nonsense\": found neither a file nor a preset of that name, allowed: a scenario file, or a preset by its number, 1 to 10, or name: {PRESETS}"
            ),
        ),
        (
            "",
            format!(
                "\"\": found neither a file nor a preset of that name, allowed: a scenario file, or a preset by its number, 1 to 10, or name: {PRESETS}"
            ),
        ),
    ];
    for (name, message) in cases {
        refused(folder.path(), &["simulate", name], &message);
        refused(folder.path(), &["picture", "out.png", name], &message);
        refused(folder.path(), &[name], &message);
        refused(folder.path(), &["wired-90-8-slices", name], &message);
    }
    assert!(!folder.path().join("out.png").exists());
}

/// A short run, so that whatever is not refused is done soon.
const SHORT: [&str; 6] = ["simulate", "2", "--frames", "40", "--warmup", "10"];

#[test]
fn work_tables() {
    let folder = folder_with(&[]);
    let saved = cargo_bin_cmd!("framelap").current_dir(&folder).args(SHORT).args(["--save-work", "work"]).output();
    assert!(saved.unwrap().status.success());
    let table = fs::read_to_string(folder.path().join("work/frames.csv")).unwrap();
    let simulate_ms_of_1 = |value: &str| {
        let mut lines: Vec<String> = table.lines().map(str::to_owned).collect();
        let rest = lines[2].splitn(3, ',').nth(2).unwrap().to_owned();
        lines[2] = format!("1,{value},{rest}");
        lines.join("\n").into_bytes()
    };
    let first_lines = |lines: usize| table.lines().take(lines).collect::<Vec<_>>().join("\n").into_bytes();
    let torn = [first_lines(16), b"\n15,2.36,6.6".to_vec()].concat();
    let numbers = "a number from 0 to 10000000 ms";
    let cases: [(Vec<u8>, String); 10] = [
        (Vec::new(), " found an empty file, allowed: a line of column names and a row of numbers each".to_owned()),
        (torn, "17: found a row of 3 values, allowed: 26 values, one for each column name".to_owned()),
        (first_lines(20), " found 19 frames, allowed: at least 40, as many as the run has (run.frames)".to_owned()),
        (simulate_ms_of_1("-2.5"), format!("3: column simulate_ms: found `-2.5`, allowed: {numbers}")),
        (simulate_ms_of_1("1e300"), format!("3: column simulate_ms: found `1e300`, allowed: {numbers}")),
        (simulate_ms_of_1("NaN"), format!("3: column simulate_ms: found `NaN`, allowed: {numbers}")),
        (simulate_ms_of_1(""), format!("3: column simulate_ms: found nothing, allowed: {numbers}")),
        (simulate_ms_of_1("two"), format!("3: column simulate_ms: found `two`, allowed: {numbers}")),
        (
            table.replacen("simulate_ms", "simulate", 1).into_bytes(),
            "1: column simulate_ms: found no such column, allowed: columns in any order, this one among them"
                .to_owned(),
        ),
        (b"frame,simulate_ms\n0,\xff\n".to_vec(), "2: found bytes that are not UTF-8, allowed: UTF-8 text".to_owned()),
    ];
    for (content, message) in cases {
        fs::write(folder.path().join("bad.csv"), content).unwrap();
        refused(folder.path(), &[&SHORT[..], &["--work", "bad.csv"]].concat(), &format!("bad.csv:{message}"));
    }
    refused(
        folder.path(),
        &[&SHORT[..], &["--work", "missing"]].concat(),
        "missing: cannot be read: there is no such file or folder",
    );
    let table = Path::new("work").join("frames.csv");
    refused(
        folder.path(),
        &[&SHORT[..], &["--work", "work", "--set", "slices.count=4"]].concat(),
        &format!(
            "{}:1: column row_share_4: found a share of one slice more, allowed: row_share_0 to row_share_3, as many as the \
             scenario's slices.count",
            table.display()
        ),
    );
}

#[test]
fn outputs_that_cannot_be_written() {
    let folder = folder_with(&[("file", b"kept")]);
    fs::create_dir(folder.path().join("folder")).unwrap();
    for option in ["--save-frames", "--save-slices", "--save-refreshes"] {
        for (file, why) in [
            ("no/table.csv", "there is no such folder"),
            ("folder", "it is a folder"),
            ("file/table.csv", "a file is in the place of its folder"),
        ] {
            let message = format!("{file}: cannot be written: {why}");
            refused(folder.path(), &[&SHORT[..], &[option, file]].concat(), &message);
        }
    }
    refused(
        folder.path(),
        &[&SHORT[..], &["--save-work", "file"]].concat(),
        "file: cannot be written: a file is in its place",
    );
    refused(folder.path(), &["picture", "no/out.png", "2"], "no/out.png: cannot be written: there is no such folder");
    refused(
        folder.path(),
        &["figure", "outcomes", "no/out.csv", "2", "--frames", "60"],
        "no/out.csv: cannot be written: there is no such folder",
    );
    refused(
        folder.path(),
        &["figure", "outcomes", "file/out.svg", "2", "--frames", "60"],
        "file/out.svg: cannot be written: a file is in the place of its folder",
    );
    refused(
        folder.path(),
        &["presets", "write", "2", "no/mine.ron"],
        "no/mine.ron: cannot be written: there is no such folder",
    );
    refused(
        folder.path(),
        &["presets", "write", "2", "file"],
        "file: there is such a file already, and it is not overwritten",
    );
    assert_eq!(fs::read(folder.path().join("file")).unwrap(), b"kept");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk() {
    let folder = folder_with(&[]);
    refused(
        folder.path(),
        &[&SHORT[..], &["--save-slices", "/dev/full"]].concat(),
        "/dev/full: cannot be written: the disk is full",
    );
}

#[test]
fn options() {
    let folder = folder_with(&[]);
    let told = |message: &str| message.to_owned();
    let clap = |message: &str| format!("{message}; see `framelap --help`");
    let frames = "allowed: whole numbers 10 to 1000000 frames";
    let below = "allowed: whole numbers 0 to 99 frames (below run.frames)";
    let cases: [(&[&str], String); 20] = [
        (&["--frames", "x"], told(&format!("--frames: found `x`, {frames}"))),
        (&["--frames", "-40"], told(&format!("--frames: found `-40`, {frames}"))),
        (&["--frames", "1e9"], told(&format!("--frames: found 1000000000 frames, {frames}"))),
        (&["--frames", ""], told(&format!("--frames: found nothing, {frames}"))),
        (&["--frames", "100", "--warmup", "100"], told(&format!("--warmup: found 100 frames, {below}"))),
        (
            &["--set", "slices.count=4", "--set", "run.frames=100", "--seed", "3"],
            told(&format!("--set run.frames: run.warmup: found 180 frames, {below}")),
        ),
        (
            &["--set", "display.refresh_hz=120"],
            told(
                "--set display.refresh_hz: display.scanout_ms: found 9 ms, allowed: 0 to 8.333333 ms (the refresh period)",
            ),
        ),
        (&["--seed", "-1"], told("--seed: found `-1`, allowed: whole numbers 0 to 18446744073709551615")),
        (
            &["--set", "slices.count"],
            told("--set slices.count: found no value, allowed: path=value, such as slices.count=8"),
        ),
        (
            &["--set", "slices.cuont=4"],
            told("--set slices.cuont: there is no such parameter; the nearest is slices.count"),
        ),
        (&["--set", "slices.count=x"], told("--set slices.count: found `x`, allowed: whole numbers 1 to 64")),
        (&["--set", "slices.count=65"], told("--set slices.count: found 65, allowed: whole numbers 1 to 64")),
        (&["--set", "display.refresh_hz=NaN"], told("--set display.refresh_hz: found `NaN`, allowed: 30 to 240 Hz")),
        (
            &["--set", "pacing.lead.ms=3"],
            told(
                "--set pacing.lead.ms: found 3 ms, allowed: only while pacing.lead is Ms; before it, --set pacing.lead=Ms",
            ),
        ),
        (&["--work"], clap("a value is required for '--work <DIR|FILE>' but none was supplied")),
        (&["--jsn"], clap("unexpected argument '--jsn' found; tip: a similar argument exists: '--json'")),
        (&["3"], clap("unexpected argument '3' found")),
        (&["--json=yes"], clap("unexpected value 'yes' for '--json' found; no more were expected")),
        (&["--check", "--check"], clap("the argument '--check' cannot be used multiple times")),
        (&["--seed", "1", "--seed", "2"], clap("the argument '--seed <S>' cannot be used multiple times")),
    ];
    for (options, message) in cases {
        refused(folder.path(), &[&["simulate", "2"], options].concat(), &message);
    }
}

#[test]
fn commands() {
    let folder = folder_with(&[]);
    let cases: [(&[&str], &str); 10] = [
        (&["simulate"], "the following required arguments were not provided: <SCENARIO|PRESET>"),
        (&["--nonsense"], "unexpected argument '--nonsense' found"),
        (&["2", "3", "4"], "found 3 scenarios, allowed: 2 at most, a candidate and a baseline"),
        (&["presets", "lst"], "unrecognized subcommand 'lst'; tip: a similar subcommand exists: 'list'"),
        (
            &["picture", "out.png", "--size", "5"],
            "invalid value '5' for '--size <WxH>': allowed: width x height, 200x200 to 8000x8000, as in 1600x900",
        ),
        (
            &["picture", "out.png", "--size", "99999x-1"],
            "invalid value '99999x-1' for '--size <WxH>': allowed: width x height, 200x200 to 8000x8000, as in 1600x900",
        ),
        (&["picture", "out.png", "--walk", "-1"], "invalid value '-1' for '--walk <MS>': allowed: 0 to 1000000 ms"),
        (&["picture", "out.png", "--scale", "NaN"], "invalid value 'NaN' for '--scale <S>': allowed: 0.5 to 4"),
        (
            &["picture", "out.png", "--theme", "blue"],
            "invalid value 'blue' for '--theme <THEME>' [possible values: light, dark, contrast, contrast-dark]",
        ),
        (
            &["completions", "sh"],
            "invalid value 'sh' for '<SHELL>' [possible values: bash, elvish, fish, powershell, zsh]",
        ),
    ];
    for (arguments, message) in cases {
        refused(folder.path(), arguments, &format!("{message}; see `framelap --help`"));
    }
    refused(
        folder.path(),
        &["simulat"],
        &format!(
            "\"simulat\": found neither a file nor a preset of that name, allowed: a scenario file, or a preset by its \
             number, 1 to 10, or name: {PRESETS}; or a command, such as simulate"
        ),
    );
    refused(
        folder.path(),
        &["presets", "show", "11"],
        &format!("\"11\": found no preset of that name, allowed: a preset by its number, 1 to 10, or name: {PRESETS}"),
    );
    refused(
        folder.path(),
        &["picture", "out.png", "2", "1", "--walk", "1000"],
        "--walk: found 1000 ms, allowed: 0 to 39.055 ms, the length of the walk",
    );
}

#[test]
fn figures() {
    let folder = folder_with(&[]);
    let cases: [(&[&str], &str); 10] = [
        (&["lanes", "out.pdf"], "out.pdf: found the ending .pdf, allowed: .csv, .png, .svg"),
        (&["lanes", "out"], "out: found a name without an ending, allowed: .csv, .png, .svg"),
        (
            &["outcomes", "out.csv", "--frame", "9"],
            "--frame: found for outcomes, which has no frame to choose, allowed: for lanes, fronts, the-run",
        ),
        (
            &["fronts", "out.svg", "--form", "tail"],
            "--form: found for fronts, which has no form to choose, allowed: for distribution",
        ),
        (
            &["lanes", "out.svg", "--frames", "60", "--from", "5", "--to", "-5"],
            "--from, --to: found 5 to -5 ms, allowed: at least 0.02 ms, within 1000000 ms",
        ),
        (
            &["lanes", "out.svg", "--frames", "60", "--from", "nan", "--to", "5"],
            "--from, --to: found NaN to 5 ms, allowed: at least 0.02 ms, within 1000000 ms",
        ),
        (&["lanes", "out.csv", "--frames", "60", "--frame", "60"], "--frame: found 60, allowed: 0 to 59"),
        (
            &["lanes", "out.csv", "--set-baseline", "slices.count=99"],
            "--set-baseline slices.count: found 99, allowed: whole numbers 1 to 64",
        ),
        (
            &["lanes", "out.csv", "--set-candidate", "slices.count"],
            "--set-candidate slices.count: found no value, allowed: path=value, such as slices.count=8",
        ),
        (
            &["lanes", "out.csv", "--set", "slices.count=0"],
            "--set slices.count: found 0, allowed: whole numbers 1 to 64",
        ),
    ];
    for (arguments, message) in cases {
        refused(folder.path(), &[&["figure"], arguments].concat(), message);
    }
    let names: Vec<&str> = framelap::app::Kind::all().map(framelap::app::Kind::slug).collect();
    let names = names.join(", ");
    refused(
        folder.path(),
        &["figure", "lane", "out.csv"],
        &format!(
            "invalid value 'lane' for '<NAME>' [possible values: {names}]; tip: a similar value exists: 'lanes'; see \
             `framelap --help`"
        ),
    );
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "nothing was written");
}

#[cfg(unix)]
#[test]
fn arguments_that_are_not_text() {
    use std::ffi::OsString;
    use std::os::unix::ffi::OsStringExt as _;
    let folder = folder_with(&[]);
    let not_text = || OsString::from_vec(b"\xff.ron".to_vec());
    refused(folder.path(), &["simulate".into(), not_text()], "\u{fffd}.ron: cannot be read: there is no such file");
    refused(
        folder.path(),
        &["simulate".into(), "2".into(), "--seed".into(), not_text()],
        "invalid UTF-8 was detected in one or more arguments; see `framelap --help`",
    );
}
