//! The shipped scenarios, embedded in the program, and those of the user's own.

pub mod own;

use std::sync::LazyLock;

use super::Scenario;
use super::reader::from_ron;

/// A shipped scenario.
#[derive(Debug)]
pub struct Preset {
    /// Its number, from 1.
    pub number: usize,
    /// Its name in a command: `wired-90-whole-frame`.
    pub slug: &'static str,
    /// Its file in `presets/`: `01-wired-90-whole-frame.ron`.
    pub file: &'static str,
    /// The file's text.
    pub text: &'static str,
    scenario: Scenario,
}

macro_rules! files {
    ($($number:literal $slug:literal),+ $(,)?) => {
        /// Number, slug, file and text of each.
        const FILES: &[(&str, &str, &str, &str)] = &[$((
            $number,
            $slug,
            concat!($number, "-", $slug, ".ron"),
            include_str!(concat!("../../presets/", $number, "-", $slug, ".ron")),
        )),+];
    };
}

files! {
    "01" "wired-90-whole-frame",
    "02" "wired-90-8-slices",
    "03" "wired-90-8-slices-eye-by-eye",
    "04" "wired-90-32-slices",
    "05" "lead-left-alone",
    "06" "wired-120-foveated-4-slices",
    "07" "radio-72-4-slices-fades",
    "08" "radio-72-resend-or-parity",
    "09" "two-decode-engines-4-slices",
    "10" "over-budget",
}

static LIST: LazyLock<Vec<Preset>> = LazyLock::new(|| {
    // A test holds that every file is a scenario, so none is left out.
    let read = |&(number, slug, file, text): &(&str, &'static str, &'static str, &'static str)| {
        Some(Preset { number: number.parse().ok()?, slug, file, text, scenario: from_ron(text, file).ok()? })
    };
    FILES.iter().filter_map(read).collect()
});

/// All presets, in order.
pub fn all() -> &'static [Preset] {
    &LIST
}

/// The preset of that slug, number, file name or name, letter case aside.
pub fn find(name: &str) -> Option<&'static Preset> {
    let name = name.trim();
    all().iter().find(|preset| {
        let number = name.parse().is_ok_and(|number: usize| number == preset.number);
        let stem = preset.file.trim_end_matches(".ron");
        let called = [preset.slug, preset.file, stem, preset.name()];
        number || called.iter().any(|called| called.eq_ignore_ascii_case(name))
    })
}

impl Preset {
    /// Its name in words.
    pub fn name(&self) -> &str {
        &self.scenario.name
    }

    /// What to see in it.
    pub fn notes(&self) -> &str {
        &self.scenario.notes
    }

    /// The scenario.
    pub fn scenario(&self) -> Scenario {
        self.scenario.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::to_ron;

    #[test]
    fn every_preset_is_a_scenario_that_reads_back() {
        assert_eq!(all().len(), FILES.len());
        for (at, preset) in all().iter().enumerate() {
            assert_eq!(preset.number, at + 1);
            assert!(!preset.notes().is_empty());
            assert_eq!(
                from_ron(&to_ron(&preset.scenario()), preset.file).unwrap(),
                preset.scenario(),
                "{}",
                preset.file
            );
            let slug = preset.name().to_lowercase().replace(" hz", "").replace(',', "").replace(' ', "-");
            assert_eq!(preset.slug, slug);
        }
    }

    #[test]
    fn a_preset_is_found_by_every_name() {
        for name in
            ["2", "02", "wired-90-8-slices", "02-wired-90-8-slices.ron", "Wired 90 Hz, 8 slices", "WIRED-90-8-SLICES"]
        {
            assert_eq!(find(name).unwrap().number, 2, "{name}");
        }
        for name in ["", "0", "11", "wired", "presets/02-wired-90-8-slices.ron"] {
            assert!(find(name).is_none(), "{name}");
        }
    }

    #[test]
    fn the_second_preset_is_the_default_scenario() {
        let scenario = find("2").unwrap().scenario();
        let named = Scenario { name: scenario.name.clone(), notes: scenario.notes.clone(), ..Scenario::default() };
        assert_eq!(scenario, named);
    }
}
