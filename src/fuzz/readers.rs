//! The readers: what each is given that is good, and what is done with what it accepts.

use std::fs;

use super::{Read, fuzz, texts};
use crate::calibrate::{Fit, Mapping, Measured, Sheet};
use crate::scenario::{Scenario, from_ron, load, parameters, presets, to_ron};
use crate::study::{self, Workspace};
use crate::{talk, work};

/// Frames that an accepted scenario is simulated for.
const FRAMES: u32 = 12;
/// Rows of measurements up to which they are fitted too.
const FITTED_ROWS: usize = 40;

/// A reader of files, given the file's bytes. The folder's name, which differs from run to run, is cut from messages.
fn by_file(name: &'static str, read: impl Fn(&std::path::Path) -> Result<(), String>) -> impl FnMut(&[u8]) -> Read {
    let folder = tempfile::tempdir().unwrap();
    move |bytes| {
        fs::write(folder.path().join(name), bytes).unwrap();
        read(&folder.path().join(name))
    }
}

/// Simulates what was accepted, in short.
fn simulate(scenario: &Scenario) {
    let mut scenario = scenario.clone();
    scenario.run.frames = FRAMES;
    scenario.run.warmup = 0;
    scenario.check().unwrap();
    let answer = study::answer(&scenario, &mut Workspace::new());
    assert_eq!(answer.summary.frames, FRAMES);
}

#[test]
fn scenarios() {
    let shipped = presets::all().iter().map(|preset| preset.text.to_owned());
    let every_field = to_ron(&every_field());
    let good = texts(shipped.chain([every_field, "Scenario()".to_owned()]));
    let read = by_file("scenario.ron", |path| {
        let scenario = load(path).map_err(|error| error.to_string())?;
        assert_eq!(from_ron(&to_ron(&scenario), "again").unwrap(), scenario);
        simulate(&scenario);
        Ok(())
    });
    fuzz("scenarios", &good, read);
}

/// A scenario with nearly no default left, so that its file holds nearly every field.
fn every_field() -> Scenario {
    let mut scenario = Scenario::default();
    for parameter in parameters::all() {
        let Some(text) = parameter.get(&scenario).map(|value| parameter.format(&value)) else { continue };
        let mut other = scenario.clone();
        let turned = text.parse().map_or_else(|_| text.clone(), |number: f64| (number + 1.0).to_string());
        let _ = parameters::assign(&mut other, &format!("{}={turned}", parameter.path));
        if other.check().is_ok() {
            scenario = other;
        }
    }
    scenario
}

#[test]
fn assignments() {
    let of = |parameter: &parameters::Parameter| {
        let value = parameter.get(&Scenario::default())?;
        Some(format!("{}={}", parameter.path, parameter.format(&value)))
    };
    let good = texts(parameters::all().iter().filter_map(of));
    fuzz("assignments", &good, |bytes| {
        let mut scenario = Scenario::default();
        parameters::assign(&mut scenario, &String::from_utf8_lossy(bytes)).map_err(|error| error.to_string())?;
        if scenario.check().is_ok() {
            simulate(&scenario);
        }
        Ok(())
    });
}

#[test]
fn work_tables() {
    let mut scenario = presets::find("8").unwrap().scenario();
    scenario.run.frames = FRAMES;
    scenario.run.warmup = 0;
    let table = work::draw(&scenario);
    let folder = tempfile::tempdir().unwrap();
    work::write(folder.path(), &scenario, &table).unwrap();
    for name in ["frames.csv", "refreshes.csv", "closures.csv", "losses.csv"] {
        let Ok(good) = fs::read(folder.path().join(name)) else { continue };
        let read = |bytes: &[u8]| {
            fs::write(folder.path().join(name), bytes).unwrap();
            let loaded = work::read(folder.path(), &scenario).map_err(|error| error.to_string())?;
            study::replay(&scenario, loaded.table, &mut Workspace::new());
            Ok(())
        };
        fuzz(name, std::slice::from_ref(&good), read);
        fs::write(folder.path().join(name), good).unwrap();
    }
}

#[test]
fn measurements() {
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/assets/measured_codec.csv")).unwrap();
    let lines = |step| text.lines().step_by(step).take(40).collect::<Vec<_>>().join("\n");
    let per_slice = "frame;slice;bytes;encode us;decode us\n0;0;900;1200;800\n0;1;950;1250;700\n1;0;800;1100;650\n1;1;870;1000;720\n";
    let bare = "0.001 0.002\n0.0015 0.0021\n".replace(' ', "\t");
    let good = texts([lines(1).as_str(), &lines(50), per_slice, &bare, "# bench\nencode_ms\n3.5\n"]);
    let read = by_file("bench.csv", |path| {
        let sheet = Sheet::read(path).map_err(|error| error.to_string())?;
        let mapping = Mapping::propose(&sheet);
        let measured = Measured::of(&sheet, &mapping);
        // Fitting is not reading: long tables take their time.
        if sheet.rows <= FITTED_ROWS {
            let _ = Fit::of(&measured);
        }
        Ok(())
    });
    fuzz("measurements", &good, read);
}

#[test]
fn mappings() {
    let folder = tempfile::tempdir().unwrap();
    let bench = concat!(env!("CARGO_MANIFEST_DIR"), "/assets/measured_codec.csv");
    let sheet = Sheet::read(std::path::Path::new(bench)).unwrap();
    let path = folder.path().join("mapping.ron");
    Mapping::propose(&sheet).save(&path).unwrap();
    let good = fs::read(&path).unwrap();
    let read = by_file("mapping.ron", move |path| {
        let mapping = Mapping::load(path, &sheet).map_err(|error| error.to_string())?;
        let _ = Measured::of(&sheet, &mapping);
        Ok(())
    });
    fuzz("mappings", &[good], read);
}

#[test]
fn talks() {
    let shipped = talk::shipped::all().iter().map(|shipped| talk::to_ron(shipped.talk()));
    let read = by_file("talk.ron", |path| {
        let read = talk::load(path).map_err(|error| error.to_string())?;
        assert_eq!(talk::from_ron(&talk::to_ron(&read), "again").unwrap(), read);
        Ok(())
    });
    fuzz("talks", &texts(shipped), read);
}
