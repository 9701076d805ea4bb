//! The settings file: how powers and acuities are written, distances, theme and keys.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer};
use thiserror::Error;

use super::chord::Chord;
use super::keymap::{Action, KeyTable};
use crate::optics::Millimetres;
use crate::optics::bounds::{self, Range};

/// Which sign the written cylinder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Minus cylinders.
    #[default]
    Minus,
    /// Plus cylinders.
    Plus,
}

/// How an acuity is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub enum AcuityNotation {
    /// 6/12.
    #[default]
    #[serde(rename = "6m")]
    SixMetres,
    /// 20/40.
    #[serde(rename = "20ft")]
    TwentyFeet,
    /// 0.5.
    #[serde(rename = "decimal")]
    Decimal,
    /// 0.30.
    #[serde(rename = "logMAR")]
    LogMar,
}

/// Which colours are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ThemeName {
    /// Dim amber and red, which spare eyes that are used to the dark.
    #[default]
    Dark,
    /// Dark ink on white.
    Daylight,
    /// The terminal's own two colours.
    Plain,
}

/// Which characters are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Characters {
    /// ASCII where the terminal's name says that it can do no more.
    #[default]
    Auto,
    /// Blocks, lines and dots.
    Unicode,
    /// ASCII alone.
    Ascii,
}

/// What the person who uses the program has chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Sign of the written cylinder.
    pub form: Form,
    /// How acuities are written.
    pub acuity: AcuityNotation,
    /// Chart distance in metres.
    pub chart_m: f64,
    /// Vertex distance for which glasses are planned; the frame's own when not said.
    pub planned_vertex: Option<Millimetres>,
    /// Colours.
    pub theme: ThemeName,
    /// Characters.
    pub characters: Characters,
    /// The keys, with the person's own bindings in place.
    pub keys: KeyTable,
}

/// A settings file that cannot be used.
#[derive(Debug, Error)]
pub enum SettingsError {
    /// The file cannot be read.
    #[error("{}: cannot be read: {cause}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        cause: std::io::Error,
    },
    /// Something in it is wrong.
    #[error("{}:{line}:{column}: {problem}", path.display())]
    Wrong {
        /// The file.
        path: PathBuf,
        /// Line from 1.
        line: usize,
        /// Column from 1.
        column: usize,
        /// What is wrong, and what is allowed.
        problem: String,
    },
    /// The key table that comes with the program is at fault.
    #[error("the program's own key table is at fault: {0}")]
    KeyTable(#[from] serde_yaml::Error),
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct File {
    form: Form,
    acuity: AcuityNotation,
    #[serde(deserialize_with = "chart_m")]
    chart_m: Option<f64>,
    #[serde(deserialize_with = "vertex_mm")]
    planned_vertex_mm: Option<f64>,
    theme: ThemeName,
    characters: Characters,
    keys: BTreeMap<ActionName, Keys>,
}

#[derive(Deserialize, PartialEq, Eq, PartialOrd, Ord)]
#[serde(transparent)]
struct ActionName(String);

#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a key or a list of keys, each one character, `ctrl-z`, `f1`, `enter` …")]
enum Keys {
    One(Chord),
    Several(Vec<Chord>),
}

fn ranged<'de, D: Deserializer<'de>>(deserializer: D, range: Range) -> Result<Option<f64>, D::Error> {
    range.check(f64::deserialize(deserializer)?).map(Some).map_err(D::Error::custom)
}

fn chart_m<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<f64>, D::Error> {
    ranged(deserializer, bounds::CHART_M)
}

fn vertex_mm<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<f64>, D::Error> {
    ranged(deserializer, bounds::VERTEX_MM)
}

impl Settings {
    /// The chart distance when none is set, in metres.
    pub const CHART_M: f64 = 6.0;

    /// The settings of somebody who has set nothing.
    ///
    /// # Errors
    /// When the embedded key table is at fault, which a test rules out.
    pub fn shipped() -> Result<Self, SettingsError> {
        Self::read("", Path::new("settings.yaml"))
    }

    /// Where the settings file lies: `dioptray/settings.yaml` in the person's configuration folder.
    pub fn path() -> Option<PathBuf> {
        let folder = etcetera::choose_base_strategy().ok()?.config_dir();
        Some(folder.join("dioptray").join("settings.yaml"))
    }

    /// Reads the settings file; without one, the settings that come with the program.
    ///
    /// # Errors
    /// [`SettingsError`] when there is a file and it cannot be used.
    pub fn load(path: &Path) -> Result<Self, SettingsError> {
        match std::fs::read_to_string(path) {
            Ok(text) => Self::read(&text, path),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Self::shipped(),
            Err(cause) => Err(SettingsError::Unreadable { path: path.to_owned(), cause }),
        }
    }

    /// Reads settings from text; `path` is for the messages.
    ///
    /// # Errors
    /// [`SettingsError::Wrong`] at the place of the first fault.
    pub fn read(text: &str, path: &Path) -> Result<Self, SettingsError> {
        let wrong = |(line, column): (usize, usize), problem: String| SettingsError::Wrong {
            path: path.to_owned(),
            line,
            column,
            problem,
        };
        // a file without a single value, or with comments alone, is an empty mapping
        let file: Option<File> = serde_yaml::from_str(text).map_err(|error| {
            let place = error.location().map_or((1, 1), |location| (location.line(), location.column()));
            wrong(place, without_place(&error.to_string()))
        })?;
        let file = file.unwrap_or_default();
        let mut keys = KeyTable::shipped()?;
        let mut rebound = Vec::new();
        for (ActionName(name), chords) in &file.keys {
            let action = action_named(name).map_err(|problem| wrong(place_of(text, name), problem))?;
            match chords {
                Keys::One(chord) => keys.rebind(action, &[*chord]),
                Keys::Several(chords) => keys.rebind(action, chords),
            }
            rebound.push(action);
        }
        keys.check(&rebound)
            .map_err(|(action, conflict)| wrong(place_of(text, &action.to_string()), conflict.to_string()))?;
        Ok(Self {
            form: file.form,
            acuity: file.acuity,
            chart_m: file.chart_m.unwrap_or(Self::CHART_M),
            planned_vertex: file.planned_vertex_mm.map(Millimetres),
            theme: file.theme,
            characters: file.characters,
            keys,
        })
    }
}

fn action_named(name: &str) -> Result<Action, String> {
    let value = serde_yaml::Value::String(name.to_owned());
    serde_yaml::from_value(value).map_err(|_| {
        let all = KeyTable::shipped().map(|table| table.bindings().to_vec()).unwrap_or_default();
        let names: Vec<String> = all.iter().map(|binding| binding.action.to_string()).collect();
        let nearest = names.iter().max_by(|a, b| strsim::jaro(a, name).total_cmp(&strsim::jaro(b, name)));
        match nearest.filter(|nearest| strsim::jaro(nearest, name) > 0.75) {
            Some(nearest) => format!("unknown action `{name}`: did you mean `{nearest}`?"),
            None => format!("unknown action `{name}`: the actions are {}", names.join(", ")),
        }
    })
}

/// The reader puts the place at the end of its message; we put it in front.
fn without_place(message: &str) -> String {
    message.split(" at line ").next().unwrap_or(message).to_owned()
}

/// The line and column at which a key of the file is written.
fn place_of(text: &str, key: &str) -> (usize, usize) {
    let at = text.lines().enumerate().find_map(|(index, line)| {
        let column = line.find(&format!("{key}:"))?;
        Some((index + 1, line[..column].chars().count() + 1))
    });
    at.unwrap_or((1, 1))
}
