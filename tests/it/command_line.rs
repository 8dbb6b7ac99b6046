//! The command line through the real binary.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Output, Stdio};

use assert_cmd::cargo::cargo_bin_cmd;
use framelap::scenario::{Scenario, from_ron, presets, save};
use serde_json::Value;

/// Runs the program in `folder`.
fn run(folder: &Path, arguments: &[&str]) -> Output {
    // Own presets of whoever runs this must not be seen.
    let home = folder.join("home");
    let mut program = cargo_bin_cmd!("framelap");
    for name in ["HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "APPDATA", "LOCALAPPDATA", "USERPROFILE"] {
        program.env(name, &home);
    }
    program.current_dir(folder).env_remove("RUST_LOG").args(arguments).output().unwrap()
}

/// What it prints when all goes well and nothing is to be said beside it.
fn answer(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn anywhere() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

const SHORT: [&str; 6] = ["simulate", "2", "--frames", "600", "--warmup", "100"];

#[test]
fn json_has_the_fields_of_the_models_page() {
    let folder = anywhere();
    let json: Value = serde_json::from_str(&answer(folder.path(), &[&SHORT[..], &["--json"]].concat())).unwrap();
    for name in ["name", "frames", "warmup", "seed", "lead_ms", "steady", "delivered_share", "late_share", "refreshes"]
    {
        assert!(!json[name].is_null(), "{name}");
    }
    for name in ["pose_to_photon_ms", "photon_age_ms", "stream_ms", "turnaround_ms"] {
        for field in ["mean", "sd", "min", "p50", "p90", "p95", "p99", "p999", "max"] {
            assert!(json[name][field].is_f64(), "{name}.{field}");
        }
        for field in ["mean_ci95", "p99_ci95"] {
            assert!(json[name].as_object().unwrap().contains_key(field), "{name}.{field}");
        }
    }
    let total = |name: &str| json[name].as_object().unwrap().values().map(|count| count.as_u64().unwrap()).sum::<u64>();
    assert_eq!(total("fates"), 500);
    assert_eq!(total("refresh_kinds"), json["refreshes"].as_u64().unwrap());
    assert!(json["missed_pct"].is_f64() && json["longest_freeze_ms"].is_f64() && json["headroom_ms"].is_f64());
    for name in ["offered_load", "busy"] {
        for server in ["cpu", "gpu", "encoder", "link", "decoder"] {
            assert!(json[name][server].is_f64(), "{name}.{server}");
        }
    }
    let pieces: f64 = json["exposed_ms"].as_object().unwrap().values().map(|mean| mean.as_f64().unwrap()).sum();
    assert!((pieces - json["pose_to_photon_ms"]["mean"].as_f64().unwrap()).abs() < 1e-9);
    for line in json["budget"].as_array().unwrap() {
        assert!(
            line["name"].is_string() && line["value"].is_f64() && line["limit"].is_f64() && line["met"].is_boolean()
        );
    }
    assert_eq!((&json["frames"], &json["warmup"], &json["seed"]), (&600.into(), &100.into(), &1.into()));
    assert_eq!(json["version"], env!("CARGO_PKG_VERSION"));
}

#[test]
fn text_names_scenario_seed_version_lead_and_every_part_with_its_unit() {
    let folder = anywhere();
    let text = answer(folder.path(), &SHORT);
    for part in [
        "Wired 90 Hz, 8 slices\n",
        concat!("framelap ", env!("CARGO_PKG_VERSION"), ", seed 1, 600 frames"),
        " ms (tuned to 0.50 % late, to within one frame)",
        "\nPose to photon ",
        "\nPhoton age ",
        "\nFrames ",
        "\nRefreshes ",
        "\nDecoder ",
        "\nExposed time, mean ",
        "\nBudget ",
    ] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
    assert!(text.lines().all(|line| line.trim_end() == line), "a line ends in blanks");
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let folder = anywhere();
    let json = |seed| answer(folder.path(), &[&SHORT[..], &["--json", "--seed", seed]].concat());
    assert_eq!(json("7"), json("7"));
    assert_ne!(json("7").replace("\"seed\": 7", ""), json("8").replace("\"seed\": 8", ""));
}

#[test]
fn a_short_run_counts_half_of_its_frames_or_what_it_is_told_to() {
    let folder = anywhere();
    for (options, warmup) in [
        (&["--frames", "100"][..], 50),
        (&["--frames", "1000"][..], 180),
        (&["--frames", "100", "--warmup", "7"][..], 7),
        (&["--frames", "100", "--set", "run.warmup=7"][..], 7),
        (&["--set", "run.frames=100", "--warmup", "7"][..], 7),
    ] {
        let text = answer(folder.path(), &[&["simulate", "2"], options].concat());
        assert!(text.contains(&format!(" frames of which the first {warmup} do not count\n")), "{options:?}: {text}");
    }
}

#[test]
fn text_tells_of_repeats_where_no_refresh_is_missed() {
    let output = run(anywhere().path(), &["simulate", "10"]);
    let text = String::from_utf8_lossy(&output.stdout);
    let share = |before: &str, after: &str| -> f64 {
        let line =
            text.lines().find(|line| line.contains(before) && line.contains(after)).unwrap_or_else(|| panic!("{text}"));
        let end = line.find(after).unwrap();
        line[..end].rsplit(' ').next().unwrap().parse().unwrap()
    };
    // One engine offered 4/3 of what it can do shows 3 of 4 frames (a bounded buffer: 1 - T/b is lost).
    assert!((share("Missed refreshes", " % repeated") - 25.0).abs() < 1.5, "{text}");
    assert!((share("of the refreshes", " % repeated") - 25.0).abs() < 1.5, "{text}");
    assert!((share("Missed refreshes", " % of frames shown") - 75.0).abs() < 1.5, "{text}");
}

#[test]
fn check_fails_when_a_line_of_the_budget_is_not_met() {
    let folder = anywhere();
    let mut scenario = Scenario::default();
    scenario.run.frames = 400;
    scenario.budget.pieces.wait_ms = 10.0;
    let met = folder.path().join("met.ron");
    save(&met, &scenario).unwrap();
    answer(folder.path(), &["simulate", "met.ron", "--check"]);

    let missed =
        run(folder.path(), &["simulate", "met.ron", "--check", "--set", "budget.pose_to_photon_ms=20", "--json"]);
    assert_eq!(missed.status.code(), Some(1));
    assert_eq!(String::from_utf8_lossy(&missed.stderr), "framelap: over budget: Pose to photon\n");
    let json: Value = serde_json::from_slice(&missed.stdout).unwrap();
    assert_eq!(json["budget"][0]["limit"], 20.0);
    answer(folder.path(), &["simulate", "met.ron", "--set", "budget.pose_to_photon_ms=20"]);
}

#[test]
fn a_saved_table_replays_to_the_same_tables() {
    let folder = anywhere();
    let tables = |name: &str, more: &[&str]| {
        let names = ["frames", "slices", "refreshes"].map(|table| format!("{name}_{table}.csv"));
        let options = ["--save-frames", &names[0], "--save-slices", &names[1], "--save-refreshes", &names[2]];
        let output = run(folder.path(), &[&SHORT[..], &options, more].concat());
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        (names.map(|name| fs::read_to_string(folder.path().join(name)).unwrap()), output.stderr)
    };
    let (drawn, _) = tables("drawn", &["--save-work", "work"]);
    // Another seed would draw another table: what is replayed does not ask it.
    let (replayed, told) = tables("replayed", &["--work", "work", "--seed", "99"]);
    assert!(drawn == replayed, "the replayed run differs");
    assert_eq!(told, b"");
    let rows = drawn.each_ref().map(|table| table.lines().count() - 1);
    assert_eq!((rows[0], rows[1]), (600, 4800));

    for absent in ["refreshes.csv", "closures.csv", "losses.csv"] {
        fs::remove_file(folder.path().join("work").join(absent)).unwrap();
    }
    let (again, told) = tables("again", &["--work", "work"]);
    assert!(drawn == again, "what was absent was drawn anew under the same seed");
    let told = String::from_utf8(told).unwrap();
    assert_eq!(told, "framelap: work: drawn, because absent: refreshes.csv, closures.csv, losses.csv\n");
    let (alone, _) = tables("alone", &["--work", "work/frames.csv"]);
    assert!(drawn == alone, "a lone file is read as frames.csv");
}

#[test]
fn a_lead_that_cannot_be_tuned_and_a_run_that_is_not_steady_say_so() {
    let folder = anywhere();
    let over = run(folder.path(), &["simulate", "over-budget", "--frames", "400", "--json"]);
    assert_eq!(over.status.code(), Some(0));
    let told = String::from_utf8_lossy(&over.stderr);
    assert!(told.starts_with("framelap: no lead meets the late share asked for, 0.50 %: "), "{told}");
    assert!(
        told.contains("In place of a tuned lead, the run keeps the 60 ms of the trial") && told.lines().count() == 1,
        "{told}"
    );
    let json: Value = serde_json::from_slice(&over.stdout).unwrap();
    let names: Vec<&str> =
        json["warnings"].as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["overloaded", "no_lead", "hidden_drops", "few_frames"]);
    for warning in json["warnings"].as_array().unwrap() {
        assert!(warning["text"].as_str().unwrap().ends_with('.') && warning["parameters"][0].is_string(), "{warning}");
    }
    let unbounded = ["simulate", "over-budget", "--frames", "400", "--set", "decode.buffer.frames=none"];
    // The text says it once, and numbers that rest on a lead that is none are not told.
    let grows = run(folder.path(), &unbounded);
    assert_eq!(String::from_utf8_lossy(&grows.stderr), "");
    let text = String::from_utf8_lossy(&grows.stdout).into_owned();
    assert!(text.contains("NOT STEADY: turnaround grows "), "{text}");
    assert_eq!(text.matches("! The run is not steady").count(), 1, "{text}");
    let over = answer(folder.path(), &["simulate", "over-budget", "--frames", "400", "--warmup", "1"]);
    assert_eq!(over.matches("! No lead meets the late share").count(), 1, "{over}");
    assert!(over.contains("no headroom: no lead could be tuned") && !over.contains("slack"), "{over}");
    assert!(over.contains("400 frames of which the first does not count\n"), "{over}");
}

#[test]
fn presets_are_listed_shown_and_written() {
    let folder = anywhere();
    let list = answer(folder.path(), &["presets", "list"]);
    assert_eq!(list, answer(folder.path(), &["presets"]));
    for preset in presets::all() {
        assert!(list.contains(preset.slug) && list.contains(preset.name()), "{}", preset.slug);
        let shown = answer(folder.path(), &["presets", "show", preset.slug]);
        assert_eq!(from_ron(&shown, preset.slug).unwrap(), preset.scenario());
    }
    answer(folder.path(), &["presets", "write", "7", "mine.ron"]);
    assert_eq!(fs::read_to_string(folder.path().join("mine.ron")).unwrap(), presets::find("7").unwrap().text);
}

#[test]
fn parameters_are_listed_by_their_paths() {
    let folder = anywhere();
    let all = answer(folder.path(), &["parameters"]);
    for path in ["\nslices.count ", "\npacing.lead.ms ", "\ndecode.buffer.frames "] {
        assert!(all.contains(path), "{all}");
    }
    for line in all.lines() {
        assert!(line.chars().count() <= 120 && !line.trim().is_empty(), "{line}");
    }
    assert!(all.contains("only while pose.uplink.spread") && all.contains("Normal, LogNormal or Gamma"), "{all}");
    let some = answer(folder.path(), &["parameters", "decode", "Overhead"]);
    let row = some.lines().find(|line| line.starts_with("decode.slice_overhead_ms ")).unwrap();
    assert!(row.contains("0 to 20 ms") && row.ends_with("Decode: Slice overhead"), "{row}");
    assert!(some.lines().count() < 6, "{some}");
}

#[test]
fn tables_and_pictures_never_replace_a_scenario() {
    let folder = anywhere();
    answer(folder.path(), &["presets", "write", "2", "mine.ron"]);
    let scenario = fs::read_to_string(folder.path().join("mine.ron")).unwrap();
    for arguments in [
        &["simulate", "2", "--frames", "100", "--save-frames", "mine.ron"][..],
        &["compare", "1", "2", "--frames", "100", "--seeds", "2", "--csv", "mine.ron"],
    ] {
        let output = run(folder.path(), arguments);
        let told = "framelap: mine.ron: found a scenario or a talk there, allowed: a file that is none\n";
        assert_eq!((String::from_utf8_lossy(&output.stderr).as_ref(), output.status.code()), (told, Some(2)));
        assert!(fs::read_to_string(folder.path().join("mine.ron")).unwrap() == scenario);
    }
}

#[test]
fn differences_stand_side_by_side() {
    let folder = anywhere();
    let text = answer(folder.path(), &["differences", "1", "2"]);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[..2], ["A: Wired 90 Hz, whole frame", "B: Wired 90 Hz, 8 slices"]);
    let slices: Vec<&str> = lines.iter().find(|line| line.starts_with("slices.count")).unwrap().split("  ").collect();
    let cells: Vec<&str> = slices.iter().map(|cell| cell.trim()).filter(|cell| !cell.is_empty()).collect();
    assert_eq!(cells, ["slices.count", "Slices", "1", "8"]);

    let csv = answer(folder.path(), &["differences", "1", "2", "--csv"]);
    assert!(csv.starts_with("path,label,a,b\n") && csv.contains("\nslices.count,Slices,1,8\n"), "{csv}");
    assert_eq!(answer(folder.path(), &["differences", "2", "2", "--csv"]), "path,label,a,b\n");
    assert!(answer(folder.path(), &["differences", "2", "2"]).ends_with("\nNo parameter differs\n"));
    assert_eq!(run(folder.path(), &["differences", "2", "none-such"]).status.code(), Some(2));
}

#[test]
fn a_file_comes_before_a_preset_of_its_name() {
    let folder = anywhere();
    fs::write(folder.path().join("2"), "Scenario(name: \"Mine\", run: (frames: 60, warmup: 10))").unwrap();
    assert!(answer(folder.path(), &["simulate", "2"]).starts_with("Mine\n"));
}

#[test]
fn a_closed_pipe_is_no_error() {
    for arguments in [&["simulate", "2", "--json"][..], &["--help"], &["presets"], &["completions", "bash"]] {
        let mut child = std::process::Command::new(cargo_bin_cmd!("framelap").get_program())
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    }
}

/// A CSV file as rows of cells, each with the name of its column.
fn table(file: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(file).unwrap().deserialize().map(Result::unwrap).collect()
}

#[test]
fn a_figure_leaves_as_a_table_of_the_numbers_in_full() {
    let folder = anywhere();
    let short = ["--frames", "600", "--warmup", "100"];
    answer(folder.path(), &[&["figure", "distribution", "d.csv", "2", "1"][..], &short].concat());
    let rows = table(&folder.path().join("d.csv"));
    let mut shown = Vec::new();
    for (number, column) in [("2", "candidate_ms"), ("1", "baseline_ms")] {
        let arguments = [&["simulate", number, "--json"][..], &short].concat();
        let json: Value = serde_json::from_str(&answer(folder.path(), &arguments)).unwrap();
        for quantile in ["p50", "p95", "p99"] {
            let row = rows.iter().find(|row| row["measure"] == "Pose to photon" && row["row"] == quantile).unwrap();
            let told: f64 = row[column].parse().unwrap();
            assert_eq!(Some(told), json["pose_to_photon_ms"][quantile].as_f64(), "{quantile} of {number}");
        }
        shown.push(json["fates"]["shown"].as_u64().unwrap());
    }
    let bins = rows.iter().filter(|row| row["measure"] == "Pose to photon" && row["row"] != "all");
    let counted: u64 = bins.filter_map(|row| row["candidate_count"].parse::<u64>().ok()).sum();
    assert_eq!(counted, shown[0], "every frame shown is in a bin or outside them");
}

#[test]
fn changes_go_to_both_sides_or_to_the_one_named() {
    let folder = anywhere();
    let figure = |name: &str, more: &[&str]| {
        let out = format!("{name}.csv");
        answer(folder.path(), &[&["figure", name, &out, "--frames", "400"], more].concat());
        table(&folder.path().join(out))
    };
    let parts = |rows: &[BTreeMap<String, String>]| {
        ["baseline", "candidate"].map(|design| {
            rows.iter()
                .filter(|row| row["design"] == design && row["what"] == "Encode" && row["row"] == "block")
                .count()
        })
    };
    assert_eq!(parts(&figure("lanes", &["--frame", "300"])), [1, 8]);
    assert_eq!(parts(&figure("lanes", &["--set", "slices.count=3"])), [3, 3]);
    let one = ["--set-baseline", "slices.count=2", "--set", "slices.count=5"];
    assert_eq!(parts(&figure("lanes", &one)), [2, 5]);
    assert_eq!(parts(&figure("lanes", &["--set-candidate", "slices.count=4"])), [1, 4]);
    let rows = figure("lanes", &["--frame", "300"]);
    assert!(rows.iter().all(|row| row["frame"] == "300"));
    // The pieces of the path are the time from pose to photons.
    let path: i64 = rows
        .iter()
        .filter(|row| row["design"] == "candidate" && row["row"] == "path")
        .map(|row| row["end_ns"].parse::<i64>().unwrap() - row["start_ns"].parse::<i64>().unwrap())
        .sum();
    let photons = rows.iter().find(|row| row["design"] == "candidate" && row["what"] == "photons").unwrap();
    assert_eq!(photons["end_ns"], path.to_string());
}

#[test]
fn a_picture_needs_no_display() {
    let folder = anywhere();
    let mut sizes = BTreeMap::new();
    for (name, options) in [
        ("plain.png", &[][..]),
        ("small.png", &["--size", "900x600"]),
        ("dark.png", &["--size", "900x600", "--theme", "dark"]),
        ("large.png", &["--size", "900x600", "--scale", "2"]),
        ("present.png", &["--size", "960x540", "--present", "fronts"]),
        ("walk.png", &["--size", "960x540", "--present", "fronts", "--walk", "9.5"]),
    ] {
        let arguments = [&["picture", name, "2", "1"][..], options].concat();
        let mut command = cargo_bin_cmd!("framelap");
        let command = command.current_dir(&folder).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
        assert!(command.args(arguments).output().unwrap().status.success());
        let picture = image::open(folder.path().join(name)).unwrap().to_rgb8();
        let ground = picture.pixels().map(|pixel| pixel.0.iter().map(|&part| u64::from(part)).sum::<u64>());
        let brightness = ground.sum::<u64>() / u64::from(picture.width() * picture.height()) / 3;
        sizes.insert(name, (picture.dimensions(), brightness));
    }
    assert_eq!(sizes["plain.png"].0, (1600, 900));
    assert_eq!(sizes["small.png"].0, (900, 600));
    assert_eq!(sizes["large.png"].0, (1800, 1200));
    assert_eq!((sizes["present.png"].0, sizes["walk.png"].0), ((960, 540), (960, 540)));
    let read = |name: &str| std::fs::read(folder.path().join(name)).unwrap();
    assert_ne!(read("present.png"), read("walk.png"), "the walk has not come to the end");
    assert!(sizes["dark.png"].1 < 100 && sizes["small.png"].1 > 155, "{sizes:?}");
}

#[cfg(target_os = "linux")]
#[test]
fn without_a_display_one_message_names_what_works_without_one() {
    let folder = anywhere();
    let mut command = cargo_bin_cmd!("framelap");
    let output = command
        .current_dir(&folder)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env("XDG_STATE_HOME", folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.starts_with("framelap: cannot open a window: there is no display"), "{told}");
    assert!(told.contains("). Everything also works without one: "), "{told}");
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(told.contains("`framelap simulate SCENARIO`") && told.contains("`framelap picture OUT.png`"), "{told}");
}

#[test]
fn help_completions_and_manual_page_name_every_command() {
    let folder = anywhere();
    let texts = [
        &["--help"][..],
        &["completions", "bash"],
        &["completions", "elvish"],
        &["completions", "fish"],
        &["completions", "powershell"],
        &["completions", "zsh"],
        &["manpage"],
    ];
    for arguments in texts {
        let text = answer(folder.path(), arguments);
        let studies = ["compare", "sweep", "map", "sensitivity", "search", "split", "what-if"];
        let others =
            ["simulate", "presets", "parameters", "differences", "figure", "talk", "picture", "completions", "manpage"];
        for name in studies.into_iter().chain(others) {
            assert!(text.to_lowercase().contains(name), "{arguments:?}: {name}");
        }
    }
    let manual = answer(folder.path(), &["manpage"]);
    for part in [".TH framelap 1", ".SH NAME", "save\\-refreshes", ".SH EXAMPLES", ".SH \"EXIT STATUS\""] {
        assert!(manual.contains(part), "{part}");
    }
    assert_eq!(answer(folder.path(), &["--version"]), concat!("framelap ", env!("CARGO_PKG_VERSION"), "\n"));
}

/// Own presets are found in the user's data folder (XDG Base Directory Specification 0.8).
#[cfg(unix)]
#[test]
fn own_presets_go_by_name_after_the_shipped_ones() {
    let folder = anywhere();
    let own = folder.path().join("home/framelap/presets");
    fs::create_dir_all(&own).unwrap();
    let mut mine = Scenario { name: "My bench".to_owned(), ..Scenario::default() };
    mine.slices.count = 5;
    save(&own.join("my-bench.ron"), &mine).unwrap();
    save(&own.join("wired-90-32-slices.ron"), &mine).unwrap();
    fs::write(own.join("worn.ron"), "Scenario(\n    slizes: (count: 9),\n)\n").unwrap();
    let list = answer(folder.path(), &["presets", "list"]);
    let lines: Vec<&str> = list.lines().map(str::trim).collect();
    assert!(lines.contains(&"own  my-bench") && lines.contains(&"My bench"), "{list}");
    assert!(list.contains("A shipped preset has this name and comes first"), "{list}");
    assert!(list.contains("worn.ron:2: "), "{list}");
    for name in ["my-bench", "My Bench", "my-bench.ron"] {
        let shown = answer(folder.path(), &["presets", "show", name]);
        assert_eq!(from_ron(&shown, name).unwrap(), mine, "{name}");
    }
    let json: Value = serde_json::from_str(&answer(
        folder.path(),
        &["simulate", "my-bench", "--frames", "300", "--warmup", "50", "--json"],
    ))
    .unwrap();
    assert_eq!(json["name"], "My bench");
    // The shipped one of the same name comes first.
    let differences = answer(folder.path(), &["differences", "wired-90-32-slices", "4", "--csv"]);
    assert_eq!(differences.lines().count(), 1, "{differences}");
    let refused = run(folder.path(), &["simulate", "worn"]);
    assert_eq!(refused.status.code(), Some(2));
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(told.contains("worn.ron:2: ") && told.contains("slizes"), "{told}");
    let unknown = run(folder.path(), &["simulate", "nothing-of-that-name"]);
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("my-bench"), "own ones are offered too");
}

#[test]
fn picture_has_a_theme_of_high_contrast() {
    let folder = anywhere();
    for theme in ["contrast", "contrast-dark"] {
        let name = format!("{theme}.png");
        let small = ["--size", "400x300", "--theme", theme];
        answer(folder.path(), &[&["picture", &name][..], &small].concat());
        let picture = image::open(folder.path().join(&name)).unwrap().to_rgb8();
        let ground = if theme == "contrast" { [255; 3] } else { [0; 3] };
        let of_ground = picture.pixels().filter(|pixel| pixel.0 == ground).count();
        assert!(of_ground * 2 > picture.pixels().len(), "{theme}: {of_ground} pixels of the ground");
    }
}
