//! A file becomes text: the only place below the logbook that opens one.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::fault::{Fault, Position, Refusal, shown};

/// The largest box, frame or case file that is read, in bytes: far more than any box needs.
pub const LARGEST_FILE: u64 = 1 << 20;

/// The folder under which files that come with the program are named, wherever it is run.
const KITS: &str = "kits";

/// How a path is named in messages.
pub fn name_of(path: &Path) -> String {
    shown(&path.to_string_lossy())
}

/// Reads a whole text file of at most `most` bytes.
///
/// # Errors
/// A [`Fault`] when there is no such file, it is a folder or no plain file, may not be read, is larger than `most` or is not
/// UTF-8.
pub fn read_text(path: &Path, most: u64) -> Result<String, Fault> {
    let fault = |at, refusal| Fault { file: name_of(path), at, refusal };
    let bytes = read_bytes(path, most).map_err(|refusal| fault(Position::START, refusal))?;
    String::from_utf8(bytes).map_err(|error| {
        let sound = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let at = Position::behind(&String::from_utf8_lossy(sound));
        fault(at, Refusal::new("this is not UTF-8 text").allowed("save the file as UTF-8"))
    })
}

/// Reads a file of [`LARGEST_FILE`] at most, or, where nothing stands under a name such as `kits/boxes/full.yaml`, the one of that
/// name that comes with the program. `folder` is the one in `kits` that `shipped` is from: names and texts.
///
/// # Errors
/// As [`read_text`].
pub fn read_or_shipped(path: &Path, folder: &str, shipped: &[(&str, &str)]) -> Result<String, Fault> {
    let named = path.strip_prefix(KITS).and_then(|rest| rest.strip_prefix(folder));
    let text = named.ok().filter(|_| is_absent(path)).and_then(|name| {
        let (_, text) = shipped.iter().find(|(shipped, _)| Path::new(shipped) == name)?;
        Some((*text).to_owned())
    });
    text.map_or_else(|| read_text(path, LARGEST_FILE), Ok)
}

/// The name under which a file that was read is found again from any folder: its absolute path, but for one that comes with the
/// program.
///
/// # Errors
/// When the folder that the program runs in is not known.
pub fn from_anywhere(path: &Path) -> io::Result<PathBuf> {
    if is_only_shipped(path) { Ok(path.to_owned()) } else { std::path::absolute(path) }
}

/// Whether no file stands under a name that one which comes with the program may have.
pub fn is_only_shipped(path: &Path) -> bool {
    path.starts_with(KITS) && is_absent(path)
}

fn is_absent(path: &Path) -> bool {
    path.symlink_metadata().is_err_and(|error| error.kind() == io::ErrorKind::NotFound)
}

fn read_bytes(path: &Path, most: u64) -> Result<Vec<u8>, Refusal> {
    let about = fs::metadata(path).map_err(|error| unreadable(&error))?;
    if about.is_dir() {
        return Err(Refusal::new("this is a folder").allowed("name one file in it"));
    }
    if !about.is_file() {
        return Err(Refusal::new("this is not a plain file").allowed("copy what it gives into a file and name that"));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(most + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(&error))?;
    let read = bytes.len() as u64;
    if read > most {
        let has = format!("the file has {} bytes", about.len().max(read));
        let rounded = if most < 1 << 20 { format!("{} kB", most >> 10) } else { format!("{} MB", most >> 20) };
        return Err(Refusal::new(has).allowed(format!("a file of this kind is read up to {most} bytes ({rounded})")));
    }
    Ok(bytes)
}

/// The refusal of a file that the system does not let us read, with what to do.
pub fn unreadable(error: &io::Error) -> Refusal {
    match error.kind() {
        io::ErrorKind::NotFound => Refusal::new("no such file").allowed("check the name and the folder"),
        io::ErrorKind::PermissionDenied => {
            Refusal::new("no permission to read this file").allowed("ask its owner, or change its permissions")
        }
        _ => Refusal::new(format!("the file cannot be read: {error}")),
    }
}
