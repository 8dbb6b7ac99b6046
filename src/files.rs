//! Files leave the program whole or not at all.

use std::fs;
use std::io::{self, BufWriter, Read as _, Write};
use std::path::Path;

use tempfile::{Builder, NamedTempFile};

/// Writes a file through `fill`, whole or not at all: what stood at `path` before stays as it was until all is written.
///
/// The new content grows in a temporary file of the same folder, is flushed to disk and put in place by renaming. A link
/// is followed, so that what it points to is replaced. A pipe or a device, which nothing can replace, is written to
/// directly.
///
/// # Errors
/// Those of `fill`, and of the system where the folder or the file cannot be written.
pub fn save(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    match fs::metadata(path) {
        Ok(there) if there.is_dir() => Err(io::Error::from(io::ErrorKind::IsADirectory)),
        Ok(there) if there.is_file() => replace(&fs::canonicalize(path)?, fill),
        Ok(_) => written(fs::OpenOptions::new().write(true).open(path)?, fill).map(drop),
        Err(_) => replace(path, fill),
    }
}

/// Most bytes of a file that its mark is made of; no file that this program reads is larger.
const MARKED_BYTES: u64 = 64 << 20;

/// A mark that tells whether a file still holds what it held: its length and its bytes by FNV-1a (Fowler, Noll and Vo,
/// 64 bits). None where there is no file that can be read.
pub fn mark(path: &Path) -> Option<u64> {
    // A pipe would keep its reader waiting.
    let length = fs::metadata(path).ok().filter(fs::Metadata::is_file)?.len();
    let mut bytes = length.to_le_bytes().to_vec();
    fs::File::open(path).ok()?.take(MARKED_BYTES).read_to_end(&mut bytes).ok()?;
    let step = |mark: u64, byte: &u8| (mark ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
    Some(bytes.iter().fold(0xcbf2_9ce4_8422_2325, step))
}

/// Why a file cannot be written, in plain words.
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotADirectory => "a file is in the place of its folder".to_owned(),
        io::ErrorKind::AlreadyExists => "a file is in its place".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk may only be read".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        _ => without_number(error),
    }
}

/// Why a file or folder cannot be read, in plain words.
pub fn why_unread(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotADirectory => "a file is in the place of its folder".to_owned(),
        _ => without_number(error),
    }
}

/// What the system says, without the number it says it by.
fn without_number(error: &io::Error) -> String {
    let text = error.to_string();
    text.split(" (os error").next().unwrap_or(&text).to_owned()
}

fn replace(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    // Not every system tells a file in the place of a folder from a folder that is missing.
    if folder.is_file() {
        return Err(io::Error::from(io::ErrorKind::NotADirectory));
    }
    let file = written(temporary(path, folder)?, fill)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|failed| failed.error)?;
    Ok(())
}

fn written<W: Write>(to: W, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<W> {
    let mut buffered = BufWriter::new(to);
    fill(&mut buffered)?;
    buffered.into_inner().map_err(io::IntoInnerError::into_error)
}

/// A new file in `folder`, with the rights of the file it will replace, or else those that any new file gets there.
#[cfg(unix)]
fn temporary(path: &Path, folder: &Path) -> io::Result<NamedTempFile> {
    use std::os::unix::fs::PermissionsExt as _;
    let there = fs::metadata(path).ok().map(|there| there.permissions());
    let rights = there.clone().unwrap_or_else(|| fs::Permissions::from_mode(0o666));
    let file = Builder::new().prefix(".framelap-").permissions(rights).tempfile_in(folder)?;
    // The system takes from a new file what the umask forbids; the file to be replaced may have had it.
    if let Some(rights) = there {
        file.as_file().set_permissions(rights)?;
    }
    Ok(file)
}

#[cfg(not(unix))]
fn temporary(_: &Path, folder: &Path) -> io::Result<NamedTempFile> {
    Builder::new().prefix(".framelap-").tempfile_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(path: &Path) -> String {
        fs::read_to_string(path).unwrap()
    }

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.csv");
        save(&path, |to| to.write_all(b"old")).unwrap();
        let failed = save(&path, |to| {
            to.write_all(b"half of the ne")?;
            Err(io::Error::other("cut"))
        });
        assert_eq!(failed.unwrap_err().to_string(), "cut");
        assert_eq!(text(&path), "old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_folder_and_a_folder_in_place_of_the_file_are_errors() {
        let folder = tempfile::tempdir().unwrap();
        let missing = save(&folder.path().join("no/table.csv"), |to| to.write_all(b"x"));
        assert_eq!(why(&missing.unwrap_err()), "there is no such folder");
        let in_place = save(folder.path(), |to| to.write_all(b"x"));
        assert_eq!(why(&in_place.unwrap_err()), "it is a folder");
        fs::write(folder.path().join("file"), "").unwrap();
        let below_a_file = save(&folder.path().join("file/table.csv"), |to| to.write_all(b"x"));
        assert_eq!(why(&below_a_file.unwrap_err()), "a file is in the place of its folder");
    }

    #[test]
    fn mark_tells_contents_apart_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let [a, b] = ["a", "b"].map(|name| folder.path().join(name));
        assert_eq!(mark(&a), None);
        assert_eq!(mark(folder.path()), None);
        fs::write(&a, "one").unwrap();
        fs::write(&b, "one").unwrap();
        assert!(mark(&a).is_some() && mark(&a) == mark(&b));
        fs::write(&b, "two").unwrap();
        assert_ne!(mark(&a), mark(&b));
    }

    #[test]
    fn causes_are_in_plain_words() {
        let folder = tempfile::tempdir().unwrap();
        let missing = fs::read(folder.path().join("no")).unwrap_err();
        assert_eq!(why_unread(&missing), "there is no such file or folder");
        fs::write(folder.path().join("file"), "").unwrap();
        let in_place = fs::create_dir(folder.path().join("file")).unwrap_err();
        assert_eq!(why(&in_place), "a file is in its place");
        let other = io::Error::from_raw_os_error(40);
        assert!(!why(&other).is_empty() && !why(&other).contains("os error"), "{}", why(&other));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_rights_stay_as_they_were() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        fs::write(&file, "old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        // Both less and more than what a new file gets under a usual umask.
        for mode in [0o600, 0o666] {
            fs::set_permissions(&file, fs::Permissions::from_mode(mode)).unwrap();
            save(&link, |to| to.write_all(b"new")).unwrap();
            assert_eq!(text(&file), "new");
            assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
            assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, mode);
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_written_to_and_not_replaced() {
        use std::os::unix::fs::FileTypeExt as _;
        save(Path::new("/dev/null"), |to| to.write_all(b"gone")).unwrap();
        assert!(fs::metadata("/dev/null").unwrap().file_type().is_char_device());
    }
}
