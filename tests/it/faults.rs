//! Faults of the world around: the program is killed while it saves, and the disk is full. What was saved stays whole.
//!
//! A few kills come with the other tests; `FRAMELAP_KILLS=500 cargo test --test it faults::` tries as many.

#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};

/// Kills with the other tests.
const FEW: u32 = 25;

/// Starts to write the slices of a run with that seed, some megabytes.
fn saving(seed: u32, to: &Path) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_framelap"));
    command.args(["simulate", "2", "--frames", "4000", "--seed", &seed.to_string(), "--save-slices"]).arg(to);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

fn entries(folder: &Path) -> usize {
    fs::read_dir(folder).unwrap().count()
}

#[test]
fn killed_while_saving_the_file_is_the_old_one_or_the_new_one() {
    let kills = std::env::var("FRAMELAP_KILLS").map_or(FEW, |kills| kills.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slices.csv");
    let mut took = Duration::ZERO;
    let whole = [1, 2].map(|seed| {
        let began = Instant::now();
        assert!(saving(seed, &file).wait().unwrap().success());
        took = took.max(began.elapsed());
        fs::read(&file).unwrap()
    });
    assert!(whole[0] != whole[1] && whole[0].len() > 1_000_000);
    let mut random = Xoshiro256PlusPlus::seed_from_u64(9);
    let (mut amid, mut replaced) = (0, 0);
    for _ in 0..kills {
        let before = fs::read(&file).unwrap();
        let seed = if before == whole[0] { 2 } else { 1 };
        let mut child = saving(seed, &file);
        sleep(took.mul_f64(random.random_range(0.0..1.2)));
        let done = child.try_wait().unwrap().is_some();
        child.kill().unwrap();
        child.wait().unwrap();
        let after = fs::read(&file).unwrap();
        assert!(whole.contains(&after), "torn: {} bytes", after.len());
        assert!(!done || after != before, "it said that it was done and was not");
        replaced += u32::from(after != before);
        // What was being written is left under another name when the program is killed amid it.
        if entries(folder.path()) > 1 {
            amid += 1;
            for entry in fs::read_dir(folder.path()).unwrap() {
                let path = entry.unwrap().path();
                if path != file {
                    assert!(path.file_name().unwrap().to_str().unwrap().starts_with(".framelap-"));
                    fs::remove_file(path).unwrap();
                }
            }
        }
    }
    println!("{kills} kills: {amid} amid writing, {replaced} after the file was replaced");
    assert!(amid > 0, "no kill came while the file was being written");
}

#[test]
fn a_full_disk_leaves_the_old_file_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slices.csv");
    fs::write(&file, "old").unwrap();
    // A limit on the size of files stands for the end of the disk: both end a write half way.
    let mut shell = Command::new("sh");
    shell.args(["-c", "trap '' XFSZ; ulimit -f 64; exec \"$@\"", "sh", env!("CARGO_BIN_EXE_framelap")]);
    let output = shell.args(["simulate", "2", "--frames", "4000", "--save-slices"]).arg(&file).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8(output.stderr).unwrap();
    assert_eq!(message.lines().count(), 1, "{message}");
    assert!(message.contains(file.to_str().unwrap()), "{message}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "old");
    assert_eq!(entries(folder.path()), 1);
    // A device that is full says it in so many words.
    if Path::new("/dev/full").exists() {
        let mut full = Command::new(env!("CARGO_BIN_EXE_framelap"));
        let output = full.args(["simulate", "2", "--frames", "400", "--save-frames", "/dev/full"]).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        let message = String::from_utf8(output.stderr).unwrap();
        assert!(message.contains("/dev/full") && message.contains("the disk is full"), "{message}");
    }
}

#[test]
fn a_folder_that_may_only_be_read_is_named() {
    // Not even an administrator makes files here.
    let file = Path::new("/proc/self/frames.csv");
    if !Path::new("/proc/self").exists() {
        return;
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_framelap"));
    let output = command.args(["simulate", "2", "--frames", "400", "--save-frames"]).arg(file).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8(output.stderr).unwrap();
    assert_eq!(message.lines().count(), 1, "{message}");
    assert!(message.contains("/proc/self/frames.csv"), "{message}");
}
