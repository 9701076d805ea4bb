//! Where the password of a room comes from: never from a command line, a setting or the address.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use super::error::RoomError;

/// Names a file with the password.
pub const PASSWORD_FILE: &str = "DIOPTRAY_ROOM_PASSWORD_FILE";
/// The folder with what the system hands to a service (systemd's LoadCredential, its public documentation).
const CREDENTIALS: &str = "CREDENTIALS_DIRECTORY";
/// The file there.
const CREDENTIAL: &str = "dioptray-room";
/// The file in the folder of the settings.
const IN_SETTINGS: &str = "room.password";
/// No password is longer; another file was named.
const MOST_BYTES: u64 = 4096;

/// The password, if one is to be had.
///
/// # Errors
/// When a file is named and cannot be read, or others can read it.
pub fn password(settings_folder: Option<&Path>) -> Result<Option<String>, RoomError> {
    if let Some(file) = env::var_os(PASSWORD_FILE).filter(|file| !file.is_empty()) {
        return read(&PathBuf::from(file)).map(Some);
    }
    let handed = env::var_os(CREDENTIALS).map(|folder| Path::new(&folder).join(CREDENTIAL));
    let own = settings_folder.map(|folder| folder.join(IN_SETTINGS));
    handed.into_iter().chain(own).find(|file| file.exists()).map(|file| read(&file)).transpose()
}

fn read(file: &Path) -> Result<String, RoomError> {
    let failed = |reason: String| RoomError::Secret { path: file.to_owned(), reason };
    let found = fs::metadata(file).map_err(|error| failed(error.to_string()))?;
    if !found.is_file() || found.len() > MOST_BYTES {
        return Err(failed("this is not a file with a password alone".to_owned()));
    }
    refuse_if_others_read_it(&found).map_err(failed)?;
    let text = fs::read_to_string(file).map_err(|error| failed(error.to_string()))?;
    let password = text.trim_end_matches(['\r', '\n']);
    if password.is_empty() { Err(failed("it is empty".to_owned())) } else { Ok(password.to_owned()) }
}

#[cfg(unix)]
fn refuse_if_others_read_it(found: &fs::Metadata) -> Result<(), String> {
    use std::os::unix::fs::MetadataExt as _;
    match found.mode() & 0o077 {
        0 => Ok(()),
        _ => Err(
            "others on this computer can read or change it: `chmod 600` it, and choose a new password if that matters"
                .to_owned(),
        ),
    }
}

#[cfg(not(unix))]
fn refuse_if_others_read_it(_found: &fs::Metadata) -> Result<(), String> {
    Ok(())
}
