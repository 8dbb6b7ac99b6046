//! A path to write to, as it was picked or typed.

use std::path::{Path, PathBuf};

use super::given::absolute;

/// Where something is to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Target {
    /// Absolute, with the usual ending where none was given.
    pub(super) path: PathBuf,
    /// Whether a file that is there may be replaced: the system's dialog has asked about the path as it was picked, not about
    /// one with an ending more.
    agreed: bool,
}

impl Target {
    /// The target of a path; an empty ending adds none. `agreed` tells whether the dialog has asked.
    pub(super) fn of(picked: &Path, ending: &str, agreed: bool) -> Self {
        let picked = absolute(picked);
        let path = if picked.extension().is_none() { picked.with_extension(ending) } else { picked.clone() };
        Self { agreed: agreed && path == picked, path }
    }

    /// Whether a file is there that it was not agreed to replace.
    pub(super) fn is_taken(&self) -> bool {
        self.path.is_file() && !self.agreed
    }

    /// The path, where nothing is replaced unasked.
    ///
    /// # Errors
    /// What to say where a file is there already.
    pub(super) fn free(self) -> Result<PathBuf, String> {
        if self.is_taken() {
            let shown = self.path.display();
            return Err(format!("Not saved. {shown}: there is such a file already, and it is not replaced unasked."));
        }
        Ok(self.path)
    }

    /// Its ending in small letters.
    pub(super) fn ending(&self) -> String {
        self.path.extension().unwrap_or_default().to_string_lossy().to_lowercase()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_agreed_holds_for_the_path_that_was_asked_about() {
        let folder = tempfile::tempdir().unwrap();
        let there = folder.path().join("there.ron");
        std::fs::write(&there, "").unwrap();
        assert!(Target::of(&there, "ron", false).free().unwrap_err().contains("there is such a file already"));
        assert_eq!(Target::of(&there, "ron", true).free(), Ok(there.clone()));
        // The dialog asked about "there", which is no file.
        assert!(Target::of(&folder.path().join("there"), "ron", true).is_taken());
        assert_eq!(Target::of(&folder.path().join("new"), "ron", false).free(), Ok(folder.path().join("new.ron")));
        let bare = Target::of(&folder.path().join("folder"), "", false);
        assert_eq!((bare.ending(), bare.free()), (String::new(), Ok(folder.path().join("folder"))));
        assert_eq!(Target::of(Path::new("a.PNG"), "svg", false).ending(), "png");
    }
}
