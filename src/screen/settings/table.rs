//! The one table of settings: key, words or range, example and help. Reader, schema and the README's example follow from it.

use serde_json::{Value as Json, json};

use super::super::keys::{Action, Chord, ChordError, KeyTable};
use super::values::{Characters, Colours, PixelProtocol, Settings, ThemeName};
use crate::exam::Strategy;
use crate::kit::document::fault::most_like;
use crate::kit::document::tree::Value;
use crate::kit::document::{Node, Position, Reader, Refusal};
use crate::optics::bounds::{self, Range};
use crate::optics::{Acuity, AcuityNotation, CylinderForm, Dioptres, Millimetres};

/// One setting.
pub struct Setting {
    /// Its key in the settings file.
    pub key: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// A value, as the README's example has it.
    pub example: &'static str,
    /// What it is, in a few words.
    pub help: &'static str,
}

/// What a setting takes.
pub enum Kind {
    /// One of a few words, the default first.
    Words(&'static [Word]),
    /// A figure, by its row of the table of ranges.
    Figure(&'static Range, fn(&mut Settings, f64)),
    /// Words of one's own.
    Text(fn(&mut Settings, String)),
    /// Names of one's own, each with whole minutes by a row of the table of ranges.
    Minutes(&'static Range, fn(&mut Settings, String, u32)),
    /// Actions and their keys.
    Keys,
}

/// A word that a setting may have, and what it sets.
pub struct Word {
    /// As it is written in the file.
    pub word: &'static str,
    /// Sets it.
    pub choose: fn(&mut Settings),
}

impl Word {
    const fn new(word: &'static str, choose: fn(&mut Settings)) -> Self {
        Self { word, choose }
    }

    /// Whether the settings have it.
    fn is_chosen(&self, settings: &Settings) -> bool {
        let mut chosen = settings.clone();
        (self.choose)(&mut chosen);
        chosen == *settings
    }
}

/// Every setting.
pub const SETTINGS: [Setting; 15] = [
    Setting {
        key: "form",
        kind: Kind::Words(&[
            Word::new("minus", |settings| settings.form = CylinderForm::Minus),
            Word::new("plus", |settings| settings.form = CylinderForm::Plus),
        ]),
        example: "minus",
        help: "the sign of written cylinders",
    },
    Setting {
        key: "acuity",
        kind: Kind::Words(&[
            Word::new(AcuityNotation::SixMetres.name(), |settings| settings.acuity = AcuityNotation::SixMetres),
            Word::new(AcuityNotation::ThreeMetres.name(), |settings| settings.acuity = AcuityNotation::ThreeMetres),
            Word::new(AcuityNotation::TwentyFeet.name(), |settings| settings.acuity = AcuityNotation::TwentyFeet),
            Word::new(AcuityNotation::Decimal.name(), |settings| settings.acuity = AcuityNotation::Decimal),
            Word::new(AcuityNotation::LogMar.name(), |settings| settings.acuity = AcuityNotation::LogMar),
            Word::new(AcuityNotation::Letters.name(), |settings| settings.acuity = AcuityNotation::Letters),
        ]),
        example: "6m",
        help: "how acuities are written, and what a bare number is",
    },
    Setting {
        key: "chart_m",
        kind: Kind::Figure(&bounds::CHART_M, |settings, metres| settings.chart_m = metres),
        example: "6",
        help: "chart distance in metres",
    },
    Setting {
        key: "planned_vertex_mm",
        kind: Kind::Figure(&bounds::VERTEX_MM, |settings, distance| {
            settings.planned_vertex = Some(Millimetres(distance));
        }),
        example: "13",
        help: "where glasses will sit, in millimetres; the frame's own distance when left out",
    },
    Setting {
        key: "mark_tolerance_d",
        kind: Kind::Figure(&bounds::MARK_TOLERANCE_D, |settings, tolerance| {
            settings.mark_tolerance = Some(Dioptres(tolerance));
        }),
        example: "0.06",
        help: "how far a lens may be off its mark, in dioptres; not counted when left out",
    },
    Setting {
        key: "examiner",
        kind: Kind::Text(|settings, name| settings.examiner = Some(name)),
        example: "A. Example",
        help: "stands on exported records",
    },
    Setting {
        key: "earlier_exams",
        kind: Kind::Words(&[
            Word::new("used", |settings| settings.uses_earlier_exams = true),
            Word::new("left-out", |settings| settings.uses_earlier_exams = false),
        ]),
        example: "used",
        help: "how this examiner's retinoscopy and repeated answers went before",
    },
    Setting {
        key: "strategy",
        kind: Kind::Words(&[
            Word::new(Strategy::Belief.name(), |settings| settings.strategy = Strategy::Belief),
            Word::new(Strategy::Ladder.name(), |settings| settings.strategy = Strategy::Ladder),
        ]),
        example: "belief",
        help: "how the guide refracts: by likelihood, or step by step",
    },
    Setting {
        key: "screening_line",
        kind: Kind::Words(&[
            Word::new("6/9", |settings| settings.screening_line = Acuity::of_6_m(9.0)),
            Word::new("6/12", |settings| settings.screening_line = Acuity::of_6_m(12.0)),
        ]),
        example: "6/9",
        help: "what each eye has to read in a screening pass; local rules decide",
    },
    Setting {
        key: "drops",
        kind: Kind::Minutes(&bounds::DROPS_MIN, |settings, what, minutes| {
            settings.drops.insert(what, minutes);
        }),
        example: "{tropicamide: 30}",
        help: "minutes until drops are ready; your protocol decides",
    },
    Setting {
        key: "theme",
        kind: Kind::Words(&[
            Word::new("dark", |settings| settings.theme = ThemeName::Dark),
            Word::new("daylight", |settings| settings.theme = ThemeName::Daylight),
            Word::new("plain", |settings| settings.theme = ThemeName::Plain),
        ]),
        example: "dark",
        help: "colours; NO_COLOR is honoured",
    },
    Setting {
        key: "colours",
        kind: Kind::Words(&[
            Word::new("many", |settings| settings.colours = Colours::Many),
            Word::new("all", |settings| settings.colours = Colours::All),
            Word::new("sixteen", |settings| settings.colours = Colours::Sixteen),
        ]),
        example: "many",
        help: "what the terminal has; all are mixed freely, sixteen are its own",
    },
    Setting {
        key: "characters",
        kind: Kind::Words(&[
            Word::new("auto", |settings| settings.characters = Characters::Auto),
            Word::new("unicode", |settings| settings.characters = Characters::Unicode),
            Word::new("ascii", |settings| settings.characters = Characters::Ascii),
        ]),
        example: "auto",
        help: "what is drawn with; ascii for poor terminals",
    },
    Setting {
        key: "pictures",
        kind: Kind::Words(&[
            Word::new("off", |settings| settings.pictures = None),
            Word::new(PixelProtocol::Kitty.name(), |settings| settings.pictures = Some(PixelProtocol::Kitty)),
            Word::new(PixelProtocol::Sixel.name(), |settings| settings.pictures = Some(PixelProtocol::Sixel)),
            Word::new(PixelProtocol::Iterm2.name(), |settings| settings.pictures = Some(PixelProtocol::Iterm2)),
        ]),
        example: "off",
        help: "practice pictures in the terminal's own pixels, by this protocol",
    },
    Setting {
        key: "keys",
        kind: Kind::Keys,
        example: "{undo: z, take-out: [k, ctrl-k]}",
        help: "other keys for actions of the key table",
    },
];

/// The keys of a settings file.
const KEYS: [&str; SETTINGS.len()] = {
    let mut keys = [""; SETTINGS.len()];
    let mut at = 0;
    while at < keys.len() {
        keys[at] = SETTINGS[at].key;
        at += 1;
    }
    keys
};

/// The word that a setting of a few words has now.
pub fn word_of(settings: &Settings, key: &str) -> Option<&'static str> {
    words_of(key)?.iter().find(|word| word.is_chosen(settings)).map(|word| word.word)
}

/// Sets a setting of a few words; false when it has no such word.
pub fn choose(settings: &mut Settings, key: &str, word: &str) -> bool {
    let found = words_of(key).and_then(|words| words.iter().find(|known| known.word == word));
    if let Some(found) = found {
        (found.choose)(settings);
    }
    found.is_some()
}

fn words_of(key: &str) -> Option<&'static [Word]> {
    SETTINGS.iter().find(|setting| setting.key == key).and_then(|setting| match setting.kind {
        Kind::Words(words) => Some(words),
        Kind::Figure(..) | Kind::Text(_) | Kind::Minutes(..) | Kind::Keys => None,
    })
}

/// Reads the settings of a file over those that hold without it.
pub fn read(reader: &mut Reader, root: &Node, settings: &mut Settings) -> Option<()> {
    let fields = reader.fields(root, "a settings file", &KEYS)?;
    for Setting { key, kind, .. } in SETTINGS {
        let Some(node) = fields.get(key) else { continue };
        match kind {
            Kind::Words(words) => read_word(reader, node, key, words, settings),
            Kind::Figure(range, set) => {
                if let Some(figure) = reader.number(node, key, range) {
                    set(settings, figure);
                }
            }
            Kind::Text(set) => {
                if let Some(text) = reader.text(node, key) {
                    set(settings, text);
                }
            }
            Kind::Minutes(range, set) => {
                read_minutes(reader, node, key, range, |what, minutes| set(settings, what, minutes));
            }
            Kind::Keys => read_keys(reader, node, &mut settings.keys),
        }
    }
    Some(())
}

fn read_word(reader: &mut Reader, node: &Node, key: &str, words: &[Word], settings: &mut Settings) {
    let Some(written) = reader.written(node, key) else { return };
    if let Some(word) = words.iter().find(|word| word.word == written) {
        (word.choose)(settings);
        return;
    }
    let all: Vec<&str> = words.iter().map(|word| word.word).collect();
    let refusal = Refusal::new(format!("`{key}` cannot be `{written}`"))
        .allowed(format!("it is one of {}", all.join(", ")))
        .perhaps(most_like(written, all.iter().copied()));
    reader.refuse(node.at, refusal);
}

fn read_minutes(reader: &mut Reader, node: &Node, key: &str, range: &Range, mut set: impl FnMut(String, u32)) {
    let Value::Mapping(entries) = &node.value else {
        let refusal = Refusal::new(format!("`{key}` needs names and minutes"))
            .allowed(format!("write it like `{key}: {{tropicamide: 30}}`"));
        reader.refuse(node.at, refusal);
        return;
    };
    for entry in entries {
        if let Some(minutes) = reader.number(&entry.value, &entry.key, range) {
            set(entry.key.to_lowercase(), minutes as u32);
        }
    }
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
            Value::Scalar { .. } | Value::Mapping(_) | Value::Refused => std::slice::from_ref(&entry.value),
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
            let error: ChordError = error;
            reader.refuse(node.at, Refusal::new(error.to_string()));
            None
        }
    }
}

/// Every setting with an example, as a settings file and as the README has it.
pub fn as_yaml() -> String {
    let mut lines = Vec::new();
    for setting in SETTINGS {
        let Setting { key, example, help, .. } = setting;
        let others: Vec<&str> = match setting.kind {
            Kind::Words(words) => words.iter().map(|word| word.word).filter(|word| *word != example).collect(),
            Kind::Figure(..) | Kind::Text(_) | Kind::Minutes(..) | Kind::Keys => Vec::new(),
        };
        let others = if others.is_empty() { String::new() } else { format!("or {}: ", others.join(", ")) };
        lines.push(format!("{:<24} # {others}{help}\n", format!("{key}: {example}")));
    }
    lines.concat()
}

/// An action and the schema of its keys.
fn keys_of(action: Action) -> (String, Json) {
    let one = json!({ "type": ["string", "integer"] });
    (action.to_string(), json!({ "oneOf": [one, { "type": "array", "items": one, "minItems": 1 }] }))
}

/// The JSON Schema of a settings file, for editors.
pub fn schema() -> Json {
    let properties = SETTINGS.map(|Setting { key, kind, example, help }| {
        let mut schema = match kind {
            Kind::Words(words) => json!({ "enum": words.iter().map(|word| word.word).collect::<Vec<_>>() }),
            Kind::Figure(range, _) => json!({ "type": "number", "minimum": range.least, "maximum": range.most }),
            Kind::Text(_) => json!({ "type": "string", "minLength": 1 }),
            Kind::Minutes(range, _) => json!({
                "type": "object",
                "additionalProperties": { "type": "integer", "minimum": range.least, "maximum": range.most },
            }),
            Kind::Keys => json!({
                "type": "object",
                "additionalProperties": false,
                "properties": Action::every().map(keys_of).collect::<serde_json::Map<_, _>>(),
            }),
        };
        schema["description"] = json!(format!("{help}, such as {example}"));
        (key.to_owned(), schema)
    });
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "SettingsFile",
        "description": "What the examiner prefers; every key may be left out.",
        "type": "object",
        "additionalProperties": false,
        "properties": properties.into_iter().collect::<serde_json::Map<_, _>>(),
    })
}
