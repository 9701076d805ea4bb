//! The file that glasses are read from: its limits, and of which kind it is.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::glasses::{Flaw, Glasses};
use super::{dicom, fhir};

/// The largest file that is read, in bytes.
pub const LARGEST_FILE: u64 = 16 * 1024 * 1024;

/// A file that has no glasses for an exam to begin with.
#[derive(Debug, Error)]
pub enum ImportError {
    /// A folder or a device has the name.
    #[error("{}: this is not a plain file", path.display())]
    NotAFile {
        /// What was named.
        path: PathBuf,
    },
    /// The system does not let us read it.
    #[error("{}: {}", path.display(), match error.kind() {
        io::ErrorKind::NotFound => "there is no such file: check the name and the folder".to_owned(),
        io::ErrorKind::PermissionDenied => "this user may not read it".to_owned(),
        _ => format!("it cannot be read: {error}"),
    })]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says; part of our words already.
        error: io::Error,
    },
    /// It is larger than any such file.
    #[error("{}: the file has {size} bytes, and FHIR and DICOM are read up to {LARGEST_FILE} bytes (16 MB)", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size.
        size: u64,
    },
    /// It is not what it would have to be.
    #[error("{}: {flaw}", path.display())]
    Flawed {
        /// The file.
        path: PathBuf,
        /// Where and what.
        flaw: Flaw,
    },
}

/// The glasses of a file.
///
/// # Errors
/// When it cannot be read, is neither FHIR nor DICOM, or does not say clearly which glasses the person has.
pub fn read_glasses(path: &Path) -> Result<Glasses, ImportError> {
    let unreadable = |error| ImportError::Unreadable { path: path.to_owned(), error };
    let about = fs::metadata(path).map_err(unreadable)?;
    if !about.is_file() {
        return Err(ImportError::NotAFile { path: path.to_owned() });
    }
    let too_large = |size| ImportError::TooLarge { path: path.to_owned(), size };
    if about.len() > LARGEST_FILE {
        return Err(too_large(about.len()));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(too_large(bytes.len() as u64));
    }
    glasses_of(&bytes).map_err(|flaw| ImportError::Flawed { path: path.to_owned(), flaw })
}

/// Where a DICOM file has its mark (PS3.10, 7.1).
const DICOM_MARK: std::ops::Range<usize> = 128..132;

/// The glasses of the bytes of a file.
///
/// # Errors
/// As [`read_glasses`].
pub fn glasses_of(bytes: &[u8]) -> Result<Glasses, Flaw> {
    if bytes.get(DICOM_MARK) == Some(b"DICM") {
        return dicom::glasses(bytes);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.trim_ascii_start().first() != Some(&b'{') {
        let what = "neither FHIR in JSON, which begins with {, nor DICOM, which has DICM after 128 bytes";
        return Err(Flaw::at("the file", format!("is {what}")));
    }
    let root = serde_json::from_slice(bytes).map_err(|error| {
        Flaw::at(format!("line {}, column {}", error.line(), error.column()), format!("this is not JSON: {error}"))
    })?;
    fhir::glasses(&root)
}
