//! The settings file: how powers and acuities are written, distances, theme and keys.
//!
//! ```yaml
//! form: plus                 # minus or plus cylinders
//! acuity: logMAR             # 6m, 20ft, decimal or logMAR
//! examiner: N. Examiner      # stands on records; left out when not said
//! chart_m: 4
//! planned_vertex_mm: 14
//! theme: daylight            # dark, daylight or plain
//! characters: ascii          # auto, unicode or ascii
//! keys: {undo: z, take-out: [k, ctrl-k]}
//! ```

use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use thiserror::Error;

use super::chord::Chord;
use super::keymap::{Action, KeyTable};
use crate::exam::prescription::CylinderForm;
use crate::kit::document::fault::most_like;
use crate::kit::document::load::{name_of, read_text};
use crate::kit::document::tree::Value;
use crate::kit::document::{Faults, Fields, Node, Position, Reader, Refusal};
pub use crate::optics::AcuityNotation;
use crate::optics::{Millimetres, bounds};

const KEYS: [&str; 8] = ["form", "acuity", "examiner", "chart_m", "planned_vertex_mm", "theme", "characters", "keys"];

/// A setting that is one of a few words.
type Words<T> = &'static [(&'static str, T)];

const FORMS: Words<Form> = &[("minus", Form::Minus), ("plus", Form::Plus)];
const ACUITIES: Words<AcuityNotation> = &[
    ("6m", AcuityNotation::SixMetres),
    ("20ft", AcuityNotation::TwentyFeet),
    ("decimal", AcuityNotation::Decimal),
    ("logMAR", AcuityNotation::LogMar),
];
const THEMES: Words<ThemeName> =
    &[("dark", ThemeName::Dark), ("daylight", ThemeName::Daylight), ("plain", ThemeName::Plain)];
const CHARACTERS: Words<Characters> =
    &[("auto", Characters::Auto), ("unicode", Characters::Unicode), ("ascii", Characters::Ascii)];

/// Which sign the written cylinder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    /// Minus cylinders.
    #[default]
    Minus,
    /// Plus cylinders.
    Plus,
}

impl From<Form> for CylinderForm {
    fn from(form: Form) -> Self {
        match form {
            Form::Minus => Self::Minus,
            Form::Plus => Self::Plus,
        }
    }
}

/// Which colours are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
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
    /// Who examines, for the records; nobody when not said.
    pub examiner: Option<String>,
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

/// Settings that cannot be used.
#[derive(Debug, Error)]
pub enum SettingsError {
    /// The file has faults, each told with its place.
    #[error(transparent)]
    Faults(#[from] Faults),
    /// The key table that comes with the program is at fault.
    #[error("the program's own key table is at fault: {0}")]
    KeyTable(#[from] serde_yaml::Error),
}

impl Settings {
    /// The chart distance when none is set, in metres.
    pub const CHART_M: f64 = 6.0;

    /// The settings of somebody who has set nothing.
    ///
    /// # Errors
    /// When the embedded key table is at fault, which a test rules out.
    pub fn shipped() -> Result<Self, SettingsError> {
        Ok(Self {
            form: Form::default(),
            acuity: AcuityNotation::default(),
            examiner: None,
            chart_m: Self::CHART_M,
            planned_vertex: None,
            theme: ThemeName::default(),
            characters: Characters::default(),
            keys: KeyTable::shipped()?,
        })
    }

    /// Where the settings file lies: `dioptray/settings.yaml` in the person's configuration folder.
    pub fn path() -> Option<PathBuf> {
        let folder = etcetera::choose_base_strategy().ok()?.config_dir();
        Some(folder.join("dioptray").join("settings.yaml"))
    }

    /// Reads the settings file; without one, the settings that come with the program.
    ///
    /// # Errors
    /// When there is a file and it cannot be used: all its faults.
    pub fn load(path: &Path) -> Result<Self, SettingsError> {
        if !path.exists() {
            return Self::shipped();
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
        // a file that sets nothing yet is no fault
        if text.lines().all(|line| matches!(line.trim(), "" | "---") || line.trim_start().starts_with('#')) {
            return Ok(settings);
        }
        let mut reader = Reader::new(file);
        let root = reader.document(text, "settings are keys and values, such as `theme: daylight`");
        let read = root.and_then(|root| read_root(&mut reader, &root, &mut settings));
        Ok(reader.finish(read.map(|()| settings))?)
    }
}

fn read_root(reader: &mut Reader, root: &Node, settings: &mut Settings) -> Option<()> {
    let fields = reader.fields(root, "a settings file", &KEYS)?;
    one_of(reader, &fields, "form", FORMS, &mut settings.form);
    one_of(reader, &fields, "acuity", ACUITIES, &mut settings.acuity);
    one_of(reader, &fields, "theme", THEMES, &mut settings.theme);
    one_of(reader, &fields, "characters", CHARACTERS, &mut settings.characters);
    if let Some(metres) = fields.get("chart_m").and_then(|node| reader.number(node, "chart_m", &bounds::CHART_M)) {
        settings.chart_m = metres;
    }
    if let Some(node) = fields.get("examiner") {
        settings.examiner = reader.text(node, "examiner");
    }
    if let Some(node) = fields.get("planned_vertex_mm") {
        settings.planned_vertex = reader.number(node, "planned_vertex_mm", &bounds::VERTEX_MM).map(Millimetres);
    }
    if let Some(node) = fields.get("keys") {
        read_keys(reader, node, &mut settings.keys);
    }
    Some(())
}

fn one_of<T: Copy>(reader: &mut Reader, fields: &Fields<'_>, key: &str, words: Words<T>, setting: &mut T) {
    let Some(node) = fields.get(key) else { return };
    let Some(written) = reader.written(node, key) else { return };
    if let Some((_, value)) = words.iter().find(|(word, _)| *word == written) {
        *setting = *value;
        return;
    }
    let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
    let refusal = Refusal::new(format!("`{key}` cannot be `{written}`"))
        .allowed(format!("it is one of {}", all.join(", ")))
        .perhaps(most_like(written, all.iter().copied()));
    reader.refuse(node.at, refusal);
}

fn read_keys(reader: &mut Reader, node: &Node, table: &mut KeyTable) {
    let Value::Mapping(entries) = &node.value else {
        let refusal = Refusal::new("`keys` needs actions and their keys").allowed("write it like `keys: {undo: z}`");
        reader.refuse(node.at, refusal);
        return;
    };
    let mut rebound: Vec<(Action, Position)> = Vec::new();
    for entry in entries {
        let names: Vec<String> = table.bindings().iter().map(|binding| binding.action.to_string()).collect();
        let Some(at) = names.iter().position(|name| *name == entry.key) else {
            let refusal = Refusal::new(format!("there is no action `{}`", entry.key))
                .allowed(format!("the actions are {}", names.join(", ")))
                .perhaps(most_like(&entry.key, names.iter().map(String::as_str)));
            reader.refuse(entry.key_at, refusal);
            continue;
        };
        let action = table.bindings()[at].action;
        let written: &[Node] = match &entry.value.value {
            Value::List(nodes) => nodes,
            _ => std::slice::from_ref(&entry.value),
        };
        let chords: Vec<Chord> = written.iter().filter_map(|node| read_chord(reader, node, &entry.key)).collect();
        // an action without a key could never be reached; the fault of each key is noted already
        if written.is_empty() {
            let refusal = Refusal::new(format!("`{action}` has no key")).allowed("name at least one");
            reader.refuse(entry.value.at, refusal);
        } else if chords.len() == written.len() {
            table.rebind(action, &chords);
            rebound.push((action, entry.key_at));
        }
    }
    for (action, at) in rebound {
        if let Some(conflict) = table.conflict(action) {
            reader.refuse(at, Refusal::new(conflict.to_string()));
        }
    }
}

fn read_chord(reader: &mut Reader, node: &Node, action: &str) -> Option<Chord> {
    match reader.written(node, action)?.parse() {
        Ok(chord) => Some(chord),
        Err(error) => {
            let error: super::chord::ChordError = error;
            reader.refuse(node.at, Refusal::new(error.to_string()));
            None
        }
    }
}
