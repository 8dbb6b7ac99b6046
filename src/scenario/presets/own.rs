//! Presets of the user's own: scenario files in a folder of the user's data, `framelap/presets`.
//!
//! A file is called by its name without `.ron`, or by the name in it. A shipped preset of the same name comes first, so a
//! name that a shipped one answers to is refused here.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;

use crate::files;
use crate::scenario::{self, Place, Scenario, ScenarioError};

/// Longest name \[characters\].
const LONGEST_NAME: usize = 60;
/// Files of the folder that are looked at.
const MOST_FILES: usize = 500;

/// A preset of the user's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Own {
    /// Its name in a command: the file's, without `.ron`.
    pub slug: String,
    /// Its file.
    pub path: PathBuf,
    /// What is in the file, or why it cannot be used.
    pub scenario: Result<Scenario, ScenarioError>,
}

impl Own {
    /// Its name in words: that in the file, else the file's.
    pub fn name(&self) -> &str {
        let name = self.scenario.as_ref().map_or("", |scenario| scenario.name.trim());
        if name.is_empty() { &self.slug } else { name }
    }

    /// What to see in it; empty where nothing was noted.
    pub fn notes(&self) -> &str {
        self.scenario.as_ref().map_or("", |scenario| &scenario.notes)
    }

    /// Whether a shipped preset comes first under this name.
    pub fn hidden(&self) -> bool {
        super::find(&self.slug).is_some()
    }

    fn is_called(&self, name: &str) -> bool {
        let file = self.path.file_name().map(|file| file.to_string_lossy().to_lowercase());
        let name = name.trim().to_lowercase();
        [self.slug.to_lowercase(), self.name().to_lowercase()].contains(&name) || file == Some(name)
    }
}

/// The folder; it is there once a preset was saved.
///
/// # Errors
/// Where the system names no home folder.
pub fn folder() -> Result<PathBuf, ScenarioError> {
    match etcetera::choose_base_strategy() {
        Ok(folders) => Ok(folders.data_dir().join("framelap").join("presets")),
        Err(error) => {
            log::info!("no folder for own presets: {error}");
            let place = Place::of("the folder of your own presets");
            Err(ScenarioError::Unreadable { place, cause: "the system names no home folder".to_owned() })
        }
    }
}

/// All presets in a folder, by file name; those that cannot be used too. A folder that is missing is empty.
///
/// # Errors
/// Where the folder cannot be read.
pub fn all(folder: &Path) -> Result<Vec<Own>, ScenarioError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => {
            let place = Place::of(&folder.display().to_string());
            return Err(ScenarioError::Unreadable { place, cause: files::why_unread(&error) });
        }
    };
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let mut paths: Vec<PathBuf> = paths.filter(|path| is_scenario(path)).collect();
    // In order before they are cut, so that the same ones are looked at every time.
    paths.sort();
    paths.truncate(MOST_FILES);
    Ok(paths.into_iter().map(read).collect())
}

/// Files that end in `.ron`; hidden ones and pipes are left alone.
fn is_scenario(path: &Path) -> bool {
    let hidden = path.file_name().is_none_or(|name| name.to_string_lossy().starts_with('.'));
    let ron = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("ron"));
    !hidden && ron && path.is_file()
}

fn read(path: PathBuf) -> Own {
    let slug = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let scenario = scenario::load(&path);
    Own { slug, path, scenario }
}

/// The preset of the user's own that is called so, letter case aside; a file's name comes before the names in files.
///
/// # Errors
/// Where the folder cannot be read.
pub fn find(folder: &Path, name: &str) -> Result<Option<Own>, ScenarioError> {
    let all = all(folder)?;
    let by_file = all.iter().position(|own| own.slug.eq_ignore_ascii_case(name.trim()));
    let found = by_file.or_else(|| all.iter().position(|own| own.is_called(name)));
    Ok(found.and_then(|at| all.into_iter().nth(at)))
}

/// The file that a preset of that name is kept in.
///
/// # Errors
/// Why there can be none, in a sentence: no letter in it, too long, the name of a shipped preset.
pub fn file(folder: &Path, name: &str) -> Result<PathBuf, String> {
    let slug = slug(name);
    if !slug.contains(char::is_alphabetic) {
        return Err("A name needs a letter.".to_owned());
    }
    if name.trim().chars().count() > LONGEST_NAME {
        return Err(format!("A name has at most {LONGEST_NAME} characters."));
    }
    if let Some(shipped) = super::find(name).or_else(|| super::find(&slug)) {
        return Err(format!("{:?} is the name of a shipped preset; take another one.", shipped.name()));
    }
    Ok(folder.join(format!("{slug}.ron")))
}

/// Words in lower case, joined by hyphens.
pub fn slug(name: &str) -> String {
    let words: Vec<String> = name
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("-")
}

/// Keeps a scenario as the preset of a file, in a folder that is made where it is missing.
pub fn save(path: &Path, scenario: &Scenario) -> Result<(), ScenarioError> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| {
            let place = Place::of(&folder.display().to_string());
            ScenarioError::Unwritable { place, cause: files::why(&error) }
        })?;
    }
    scenario::save(path, scenario)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(name: &str) -> Scenario {
        Scenario { name: name.to_owned(), ..Scenario::default() }
    }

    #[test]
    fn what_is_saved_is_found_by_every_name() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("data/presets");
        assert_eq!(all(&folder).unwrap(), [], "a folder that is missing is empty");
        let path = file(&folder, "My Bench, 2nd").unwrap();
        save(&path, &named("My Bench, 2nd")).unwrap();
        for name in ["my-bench-2nd", "MY-BENCH-2ND", "my-bench-2nd.ron", "my bench, 2nd", " My Bench, 2nd "] {
            let own = find(&folder, name).unwrap().unwrap();
            assert_eq!((own.name(), own.slug.as_str()), ("My Bench, 2nd", "my-bench-2nd"), "{name}");
        }
        assert_eq!(find(&folder, "my-bench").unwrap(), None);
    }

    #[test]
    fn broken_ones_are_listed_with_their_line_and_others_left_alone() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("bad.ron"), "Scenario(\n    slizes: (count: 9),\n)\n").unwrap();
        fs::write(home.path().join("notes.txt"), "no scenario").unwrap();
        fs::write(home.path().join(".hidden.ron"), "Scenario()").unwrap();
        fs::create_dir(home.path().join("folder.ron")).unwrap();
        fs::write(home.path().join("good.ron"), "Scenario()").unwrap();
        let all = all(home.path()).unwrap();
        assert_eq!(all.iter().map(|own| own.slug.as_str()).collect::<Vec<_>>(), ["bad", "good"]);
        assert_eq!(all[1].name(), "good", "without a name in it, a preset is called after its file");
        let why = all[0].scenario.as_ref().unwrap_err().to_string();
        assert!(why.contains("bad.ron:2: ") && why.contains("slizes"), "{why}");
    }

    #[test]
    fn names_of_shipped_presets_and_names_without_letters_are_refused() {
        let folder = Path::new("presets");
        for name in ["2", "", " ,.", "wired-90-8-slices", "Wired 90 Hz, 8 slices", "10", "99"] {
            assert!(file(folder, name).is_err(), "{name}");
        }
        assert!(file(folder, &"a".repeat(61)).is_err());
        assert_eq!(file(folder, "../../Etc/passwd").unwrap(), folder.join("etc-passwd.ron"), "it stays in the folder");
    }

    #[test]
    fn folder_that_cannot_be_is_one_message() {
        let home = tempfile::tempdir().unwrap();
        let in_place = home.path().join("file");
        fs::write(&in_place, "").unwrap();
        let told = all(&in_place).unwrap_err().to_string();
        assert!(told.contains("file: cannot be read: "), "{told}");
        let told = save(&in_place.join("mine.ron"), &named("Mine")).unwrap_err().to_string();
        assert!(told.contains("cannot be written: a file is in its place"), "{told}");
    }
}
