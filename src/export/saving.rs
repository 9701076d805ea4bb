//! Files that are written whole or not at all.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;
use thiserror::Error;

use super::form::FormFiles;

/// A file that was not written; what was there before is as it was.
#[derive(Debug, Error)]
pub enum SaveFileError {
    /// No name was given.
    #[error("no file is named: nothing was written. Name one with --out FILE")]
    NoName,
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

impl SaveFileError {
    /// The same where a file is named by typing it, and not by an option.
    pub fn where_it_is_typed(&self) -> String {
        match self {
            Self::NoName => "no file is named: nothing was written".to_owned(),
            Self::NotAFile { path } => format!("{}: this is not a file: name another", path.display()),
            Self::Taken { path } => {
                format!("{}: there is such a file already, and it stays: name another", path.display())
            }
            Self::TooMany { .. } | Self::Refused { .. } => self.to_string(),
        }
    }
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
    sweep(&folder);
    let mut file = unfinished_in(&folder).map_err(refused)?;
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
    let tried = unfinished_in(&folder);
    tried.map(drop).map_err(|error| SaveFileError::Refused { path, folder, error })
}

/// The whole path of a file to be written, the place where its bytes go, and the folder of that.
fn place_for(path: &Path, existing: Existing) -> Result<(PathBuf, PathBuf, PathBuf), SaveFileError> {
    if path.as_os_str().is_empty() {
        return Err(SaveFileError::NoName);
    }
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

/// How the name of a file begins that is not finished yet.
const UNFINISHED: &str = ".dioptray-";
/// How it ends.
const UNFINISHED_END: &str = ".unfinished";

/// A file of another name to be written, locked as long as that goes on.
fn unfinished_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut tries = 0;
    loop {
        let file = tempfile::Builder::new().prefix(UNFINISHED).suffix(UNFINISHED_END).tempfile_in(folder)?;
        // where the file system knows no locks, nothing is swept either
        let _ = file.as_file().try_lock();
        tries += 1;
        // another program may have swept it before it was locked
        if file.path().exists() || tries == 3 {
            return Ok(file);
        }
    }
}

/// Removes what was left by a program that was killed while it wrote: nobody holds the lock of that.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        let is_ours = name.starts_with(UNFINISHED) && name.ends_with(UNFINISHED_END);
        if is_ours && fs::File::open(&path).is_ok_and(|file| file.try_lock().is_ok()) {
            // a file that cannot be removed stays until somebody may
            let _ = fs::remove_file(&path);
        }
    }
}

/// Writes all files of a form: the first under the name that was given, the others beside it. Nothing is written when one of
/// them is there and stays. Gives their whole paths.
///
/// # Errors
/// As [`save`].
pub fn save_all(path: &Path, files: &FormFiles, existing: Existing) -> Result<(PathBuf, Vec<PathBuf>), SaveFileError> {
    let beside: Vec<(PathBuf, &[u8])> =
        files.beside.iter().map(|(name, bytes)| (named_beside(path, name), bytes.as_slice())).collect();
    if existing == Existing::Stays
        && let Some((taken, _)) = beside.iter().find(|(path, _)| path.exists())
    {
        return Err(SaveFileError::Taken { path: taken.clone() });
    }
    let first = save(path, &files.first, existing)?;
    let others = beside.into_iter().map(|(path, bytes)| save(&path, bytes, existing));
    Ok((first, others.collect::<Result<_, _>>()?))
}

/// `exam-3-acuity-unaided.dcm` beside `exam-3.dcm`.
fn named_beside(path: &Path, name: &str) -> PathBuf {
    let of = |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned());
    let stem = of(path.file_stem()).unwrap_or_default();
    let extension = of(path.extension()).map(|extension| format!(".{extension}")).unwrap_or_default();
    path.with_file_name(format!("{stem}-{name}{extension}"))
}

/// Writes the files of a form in the present folder under the first free name: `exam-3-card.txt`, then `exam-3-card-2.txt`.
/// What is there is never replaced. Gives the path of the first.
///
/// # Errors
/// As [`save`].
pub fn save_beside(stem: &str, ending: &str, files: &FormFiles) -> Result<PathBuf, SaveFileError> {
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
    let is_free =
        |path: &PathBuf| !path.exists() && files.beside.iter().all(|(name, _)| !named_beside(path, name).exists());
    let free = (1..=MOST_OF_ONE_NAME).map(|number| folder.join(name(number))).find(is_free);
    let Some(path) = free else {
        return Err(SaveFileError::TooMany { path: folder.join(name(1)) });
    };
    save_all(&path, files, Existing::Stays).map(|(first, _)| first)
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
