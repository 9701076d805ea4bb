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
use thiserror::Error;

use super::file::is_not_there;
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
    /// Why what was chosen cannot be read, where there is something.
    unread: Option<String>,
}

/// A choice that is not kept.
#[derive(Debug, Error)]
pub enum NotKept {
    /// What was chosen before cannot be read, and is not written over.
    #[error("{0}")]
    Unread(String),
    /// The file cannot be written.
    #[error(transparent)]
    File(#[from] SaveFileError),
}

impl Choices {
    /// The choices that are kept in a file. One that is not there holds none; one that cannot be read keeps nobody from
    /// starting, is named in [`Choices::unread`], and stays as it is.
    pub fn load(path: &Path, settings: &Settings) -> Self {
        let (made, unread) = match read(path) {
            Ok(made) => (made, None),
            Err(why) => (BTreeMap::new(), Some(why)),
        };
        Self { path: path.to_owned(), settings: settings.clone(), made, unread }
    }

    /// What cannot be read of the choices, each with its place: the settings hold instead.
    pub fn unread(&self) -> Vec<String> {
        let whole = self.unread.iter().map(|why| {
            format!(
                "what was chosen on the screen cannot be read, so the settings hold: {why}. It is left as it is, and no choice is kept \
                 until it is mended or removed"
            )
        });
        let unknown = CHOSEN_ON_SCREEN.into_iter().filter_map(|key| {
            let choice = self.stands(key)?;
            let known = choose(&mut self.settings.clone(), key, &choice.chosen);
            let file = self.path.display();
            (!known).then(|| format!("{file}: `{}` is no {key} here, so the settings hold", choice.chosen))
        });
        whole.chain(unknown).collect()
    }

    /// The choice that stands over the settings: these say what they said when it was made.
    fn stands(&self, key: &str) -> Option<&Choice> {
        self.made.get(key).filter(|choice| word_of(&self.settings, key) == Some(choice.settings.as_str()))
    }

    /// The settings with what was chosen over them.
    pub fn applied(&self) -> Settings {
        let mut settings = self.settings.clone();
        for key in CHOSEN_ON_SCREEN {
            if let Some(choice) = self.stands(key) {
                // a word that this program does not know leaves the settings as they are
                choose(&mut settings, key, &choice.chosen);
            }
        }
        settings
    }

    /// Keeps what is chosen now where it was something else before.
    ///
    /// # Errors
    /// When the file cannot be written, or holds what cannot be read: that is not written over.
    pub fn keep(&mut self, before: (CylinderForm, ThemeName), now: (CylinderForm, ThemeName)) -> Result<(), NotKept> {
        if before == now {
            return Ok(());
        }
        if let Some(why) = &self.unread {
            return Err(NotKept::Unread(why.clone()));
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
        Ok(save(&self.path, text.as_bytes(), Existing::IsReplaced).map(|_| ())?)
    }
}

fn read(path: &Path) -> Result<BTreeMap<String, Choice>, String> {
    if is_not_there(path) {
        return Ok(BTreeMap::new());
    }
    let text = read_text(path).map_err(|fault| fault.to_string())?;
    if text.trim().is_empty() {
        return Ok(BTreeMap::new());
    }
    serde_yaml::from_str(&text).map_err(|error| format!("{}: {error}", path.display()))
}
