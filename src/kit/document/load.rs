//! A file becomes text: the only place below the logbook that opens one.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use super::fault::{Fault, Position, Refusal, shown};

/// The largest file that is read, in bytes: far more than any box needs.
pub const LARGEST_FILE: u64 = 1 << 20;

/// How a path is named in messages.
pub fn name_of(path: &Path) -> String {
    shown(&path.to_string_lossy())
}

/// Reads a whole text file.
///
/// # Errors
/// A [`Fault`] when there is no such file, it is a folder or no plain file, may not be read, is larger than
/// [`LARGEST_FILE`] or is not UTF-8.
pub fn read_text(path: &Path) -> Result<String, Fault> {
    let fault = |at, refusal| Fault { file: name_of(path), at, refusal };
    let bytes = read_bytes(path).map_err(|refusal| fault(Position::START, refusal))?;
    String::from_utf8(bytes).map_err(|error| {
        let sound = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let at = Position::behind(&String::from_utf8_lossy(sound));
        fault(at, Refusal::new("this is not UTF-8 text").allowed("save the file as UTF-8"))
    })
}

fn read_bytes(path: &Path) -> Result<Vec<u8>, Refusal> {
    let about = fs::metadata(path).map_err(|error| unreadable(&error))?;
    if about.is_dir() {
        return Err(Refusal::new("this is a folder").allowed("name one file in it"));
    }
    if !about.is_file() {
        return Err(Refusal::new("this is not a plain file").allowed("copy what it gives into a file and name that"));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(&error))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(Refusal::new("the file is too large").allowed("a file that is read has at most 1 MiB"));
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
