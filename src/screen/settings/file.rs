//! The settings file.

use std::io;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use thiserror::Error;

use super::table;
use super::values::Settings;
use crate::kit::document::load::{name_of, read_text};
use crate::kit::document::{Faults, Reader};

/// Settings that cannot be used.
#[derive(Debug, Error)]
pub enum SettingsError {
    /// The file has faults, each with its place.
    #[error(transparent)]
    Faults(#[from] Faults),
    /// The key table that comes with the program is at fault.
    #[error("the program's own key table is at fault: {0}")]
    KeyTable(#[from] serde_yaml::Error),
}

impl Settings {
    /// Where the settings file lies: `dioptray/settings.yaml` in the person's configuration folder.
    pub fn path() -> Option<PathBuf> {
        let folder = etcetera::choose_base_strategy().ok()?.config_dir();
        Some(folder.join("dioptray").join("settings.yaml"))
    }

    /// The settings of whoever uses this computer.
    ///
    /// # Errors
    /// As [`Settings::load`].
    pub fn own() -> Result<Self, SettingsError> {
        Self::path().map_or_else(|| Ok(Self::shipped()?), |path| Self::load(&path))
    }

    /// Reads the settings file; without one, the settings that come with the program.
    ///
    /// # Errors
    /// When there is a file and it cannot be used: all its faults.
    pub fn load(path: &Path) -> Result<Self, SettingsError> {
        if is_not_there(path) {
            return Ok(Self::shipped()?);
        }
        let text = read_text(path).map_err(Faults::from)?;
        Self::read(&text, &name_of(path))
    }

    /// Reads settings from text; `file` is what faults call it.
    ///
    /// # Errors
    /// All faults of the text, each with its place.
    pub fn read(text: &str, file: &str) -> Result<Self, SettingsError> {
        let mut settings = Self::shipped()?;
        // a file that sets nothing yet is not a fault
        if text.lines().all(|line| matches!(line.trim(), "" | "---") || line.trim_start().starts_with('#')) {
            return Ok(settings);
        }
        let mut reader = Reader::new(file);
        let root = reader.document(text, "settings are keys and values, such as `theme: daylight`");
        let read = root.and_then(|root| table::read(&mut reader, &root, &mut settings));
        Ok(reader.finish(read.map(|()| settings))?)
    }
}

/// Whether nothing stands under this name, nor leads to it. Settings that cannot be reached are not taken for none: they
/// would be another person's cylinder form.
pub(super) fn is_not_there(path: &Path) -> bool {
    let missing = |error: &io::Error| error.kind() == io::ErrorKind::NotFound;
    let leads_nowhere = |place: &Path| place.symlink_metadata().is_ok() && place.metadata().is_err();
    path.metadata().is_err_and(|error| missing(&error)) && !path.ancestors().any(leads_nowhere)
}
