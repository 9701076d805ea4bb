//! What was chosen on the screen and holds at the next start: theme and cylinder form, in a file beside the logbook.
//!
//! Nobody's settings file is rewritten. A choice stands over the settings as long as these say what they said when it was
//! made; once they are edited they hold again.
//!
//! ```yaml
//! theme: {settings: dark, chosen: daylight}
//! ```

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::file::LARGEST_SETTINGS;
use super::table::{choose, word_of};
use super::values::{Settings, ThemeName};
use crate::export::saving::{Existing, SaveFileError, save};
use crate::kit::document::load::read_text;
use crate::optics::CylinderForm;

/// The settings that keys of the screen change.
const CHOSEN_ON_SCREEN: [&str; 2] = ["form", "theme"];

/// Over what something was chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Choice {
    /// What the settings said.
    settings: String,
    /// What was chosen.
    chosen: String,
}

/// The choices of the screen, and where they are kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    path: PathBuf,
    /// The settings without any choice.
    settings: Settings,
    made: BTreeMap<String, Choice>,
}

impl Choices {
    /// The choices that are kept in a file; a file that is not there or cannot be read holds none, and does not keep the program from starting.
    pub fn load(path: &Path, settings: &Settings) -> Self {
        let text = read_text(path, LARGEST_SETTINGS).unwrap_or_default();
        let made = serde_yaml::from_str(&text).unwrap_or_default();
        Self { path: path.to_owned(), settings: settings.clone(), made }
    }

    /// The settings with what was chosen over them.
    pub fn applied(&self) -> Settings {
        let mut settings = self.settings.clone();
        for key in CHOSEN_ON_SCREEN {
            if let Some(choice) = self.made.get(key)
                && word_of(&self.settings, key) == Some(choice.settings.as_str())
            {
                // a word that this program does not know leaves the settings as they are
                choose(&mut settings, key, &choice.chosen);
            }
        }
        settings
    }

    /// Keeps what is chosen now where it was something else before.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn keep(
        &mut self,
        before: (CylinderForm, ThemeName),
        now: (CylinderForm, ThemeName),
    ) -> Result<(), SaveFileError> {
        if before == now {
            return Ok(());
        }
        let with = |(form, theme)| Settings { form, theme, ..self.settings.clone() };
        let (before, now) = (with(before), with(now));
        for key in CHOSEN_ON_SCREEN {
            let Some(chosen) = word_of(&now, key).filter(|word| word_of(&before, key) != Some(*word)) else { continue };
            let settings = word_of(&self.settings, key).unwrap_or_default().to_owned();
            self.made.insert(key.to_owned(), Choice { settings, chosen: chosen.to_owned() });
        }
        // two short words for each key are always written as YAML
        let text = serde_yaml::to_string(&self.made).unwrap_or_default();
        save(&self.path, text.as_bytes(), Existing::IsReplaced).map(|_| ())
    }
}
