//! Files that are written whole or not at all.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;
use thiserror::Error;

/// A file that was not written; what was there before is as it was.
#[derive(Debug, Error)]
pub enum SaveFileError {
    /// A folder or a device has the name.
    #[error("{}: this is not a file: name another with --out FILE", path.display())]
    NotAFile {
        /// What was named.
        path: PathBuf,
    },
    /// A file of this name is there and stays.
    #[error("{}: there is such a file already: --force replaces it", path.display())]
    Taken {
        /// The file.
        path: PathBuf,
    },
    /// Every name that was tried is taken.
    #[error("{}: there are {MOST_OF_ONE_NAME} files of this name already", path.display())]
    TooMany {
        /// The first of them.
        path: PathBuf,
    },
    /// The system refuses.
    #[error("{}: {}", path.display(), why(error, folder))]
    Refused {
        /// The file.
        path: PathBuf,
        /// The folder it was to be written in; empty when that could not be found out.
        folder: PathBuf,
        /// What the system says; part of our words already.
        error: io::Error,
    },
}

/// What stands where the file is to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// A file that is there stays as it is, and nothing is written.
    Stays,
    /// A file that is there is replaced.
    IsReplaced,
}

/// Writes a file for its owner only: under another name beside its place first, so that half a file is never seen there.
///
/// # Errors
/// When something is there that stays, or nothing can be written there; what was there is as before.
pub fn save(path: &Path, bytes: &[u8], existing: Existing) -> Result<PathBuf, SaveFileError> {
    let (path, place, folder) = place_for(path, existing)?;
    let refused = |error| SaveFileError::Refused { path: path.clone(), folder: folder.clone(), error };
    let mut file = NamedTempFile::new_in(&folder).map_err(refused)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(refused)?;
    let named = match existing {
        Existing::Stays => file.persist_noclobber(&place),
        Existing::IsReplaced => file.persist(&place),
    };
    match named {
        Ok(_) => Ok(path),
        Err(failed) if failed.error.kind() == io::ErrorKind::AlreadyExists => Err(SaveFileError::Taken { path }),
        Err(failed) => Err(refused(failed.error)),
    }
}

/// Refuses a file that could not be written now, before the work of which it is to hold the result. Nothing is left there.
///
/// # Errors
/// As [`save`].
pub fn refuse_unsavable(path: &Path, existing: Existing) -> Result<(), SaveFileError> {
    let (path, _, folder) = place_for(path, existing)?;
    let tried = NamedTempFile::new_in(&folder);
    tried.map(drop).map_err(|error| SaveFileError::Refused { path, folder, error })
}

/// The whole path of a file to be written, the place where its bytes go, and the folder of that.
fn place_for(path: &Path, existing: Existing) -> Result<(PathBuf, PathBuf, PathBuf), SaveFileError> {
    let nameless = |error| SaveFileError::Refused { path: path.to_owned(), folder: PathBuf::new(), error };
    let path = std::path::absolute(path).map_err(nameless)?;
    let there = fs::metadata(&path).ok();
    match &there {
        Some(found) if !found.is_file() => return Err(SaveFileError::NotAFile { path }),
        Some(_) if existing == Existing::Stays => return Err(SaveFileError::Taken { path }),
        _ => {}
    }
    // a link is followed, so that its target is replaced and not the link
    let place = if there.is_some() { fs::canonicalize(&path).unwrap_or_else(|_| path.clone()) } else { path.clone() };
    match place.parent().map(Path::to_owned) {
        Some(folder) => Ok((path, place, folder)),
        None => Err(SaveFileError::NotAFile { path }),
    }
}

/// Writes a file in the present folder under the first free name: `exam-3-card.txt`, then `exam-3-card-2.txt`. What is there is never replaced.
///
/// # Errors
/// As [`save`].
pub fn save_beside(stem: &str, ending: &str, bytes: &[u8]) -> Result<PathBuf, SaveFileError> {
    let folder = std::env::current_dir().map_err(|error| SaveFileError::Refused {
        path: PathBuf::from(format!("{stem}{ending}")),
        folder: PathBuf::from("."),
        error,
    })?;
    let (end, extension) = ending.rsplit_once('.').unwrap_or((ending, ""));
    let name = |number: u32| match number {
        1 => format!("{stem}{ending}"),
        _ => format!("{stem}{end}-{number}.{extension}"),
    };
    let free = (1..=MOST_OF_ONE_NAME).map(|number| folder.join(name(number))).find(|path| !path.exists());
    let Some(path) = free else {
        return Err(SaveFileError::TooMany { path: folder.join(name(1)) });
    };
    save(&path, bytes, Existing::Stays)
}

const MOST_OF_ONE_NAME: u32 = 999;

fn why(error: &io::Error, folder: &Path) -> String {
    let folder = folder.display();
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
            "the disk is full: nothing was written. Make room, or choose another folder".to_owned()
        }
        io::ErrorKind::PermissionDenied => {
            format!("this user may not write in the folder {folder}: nothing was written. Choose another folder")
        }
        io::ErrorKind::ReadOnlyFilesystem => {
            format!("the folder {folder} can only be read: nothing was written. Choose another folder")
        }
        io::ErrorKind::NotFound => format!("there is no folder {folder}: make it first"),
        io::ErrorKind::NotADirectory => format!("{folder} is not a folder: nothing was written"),
        _ => format!("nothing was written: {error}"),
    }
}
