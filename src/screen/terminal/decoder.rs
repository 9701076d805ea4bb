//! From what the terminal sends to what a person did. A sequence of a key that comes in two packets is put together, escape and
//! a key sent at once are two keys, and what the terminal answers to some program's query is nobody's key.
//!
//! In the older way that terminals report keys (common practice, no source), a lone escape is a key, and an escape with more
//! behind it the start of a sequence: only time tells. Terminals that report the release of keys do not need that (the kitty
//! keyboard protocol, public description, from memory).

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// The most that an answer of the terminal is taken to be; what is longer was typed.
const LONGEST_ANSWER: usize = 4096;
/// From this many keys on that came in one go, what began like an answer of the terminal is one.
const ANSWER_FROM: usize = 3;

/// What has begun and may go on.
#[derive(Debug, Clone, PartialEq)]
enum Held {
    Nothing,
    /// An escape: a key, or the start of a sequence.
    Escape,
    /// A sequence after its escape: `[1;5C`.
    Sequence(String),
    /// What may be an answer of the terminal, key by key.
    Answer(Vec<KeyEvent>),
    /// The rest of an answer of the terminal that did not come in one go.
    RestOfAnswer,
    /// A pasted text whose first sequence came in two packets.
    Paste(String),
}

/// Puts together what the terminal sends.
#[derive(Debug)]
pub struct Decoder<B> {
    held: Held,
    /// Whether the terminal reports releases, and with them an escape as itself.
    reports_releases: bool,
    /// Whether a key with alt does something here.
    is_bound: B,
}

impl<B: Fn(KeyEvent) -> bool> Decoder<B> {
    /// A decoder where these keys with alt are bound; all others are an escape and a key.
    pub fn new(is_bound: B) -> Self {
        Self { held: Held::Nothing, reports_releases: false, is_bound }
    }

    /// Whether what comes next, or that nothing comes, decides what has come.
    pub fn waits(&self) -> bool {
        self.held != Held::Nothing
    }

    /// Takes what the terminal sent, and gives what was done so far.
    pub fn feed(&mut self, event: Event) -> Vec<Event> {
        match event {
            Event::Key(key) if key.kind == KeyEventKind::Release => {
                self.reports_releases = true;
                Vec::new()
            }
            Event::Key(key) => self.key(key),
            Event::Resize(..) => vec![event],
            Event::Paste(_) | Event::Mouse(_) | Event::FocusGained | Event::FocusLost => {
                let mut done = self.pause();
                self.held = Held::Nothing;
                done.push(event);
                done
            }
        }
    }

    /// Nothing came for a while: gives what was done so far.
    pub fn pause(&mut self) -> Vec<Event> {
        match std::mem::replace(&mut self.held, Held::Nothing) {
            Held::Escape => vec![plain(KeyCode::Esc)],
            // an escape and a bracket, typed quickly; what is longer is half a sequence, and no key
            Held::Sequence(begun) if begun.chars().count() == 1 => {
                begun.chars().fold(vec![plain(KeyCode::Esc)], |mut done, character| {
                    done.push(plain(KeyCode::Char(character)));
                    done
                })
            }
            Held::Nothing | Held::RestOfAnswer | Held::Sequence(_) => Vec::new(),
            Held::Answer(keys) if keys.len() >= ANSWER_FROM => {
                self.held = Held::RestOfAnswer;
                Vec::new()
            }
            Held::Answer(keys) => keys.into_iter().flat_map(|key| self.split(key)).collect(),
            Held::Paste(text) => vec![Event::Paste(text)],
        }
    }

    fn key(&mut self, key: KeyEvent) -> Vec<Event> {
        match std::mem::replace(&mut self.held, Held::Nothing) {
            Held::Nothing => self.first(key),
            Held::Escape => match (key.code, key.modifiers) {
                (KeyCode::Char(begins @ ('[' | 'O')), KeyModifiers::NONE | KeyModifiers::SHIFT) => {
                    self.held = Held::Sequence(begins.to_string());
                    Vec::new()
                }
                (KeyCode::Char(begins), KeyModifiers::NONE | KeyModifiers::SHIFT) if begins_answer(begins) => {
                    self.held = Held::Answer(vec![KeyEvent { modifiers: KeyModifiers::ALT, ..key }]);
                    Vec::new()
                }
                _ => {
                    let mut done = vec![plain(KeyCode::Esc)];
                    done.extend(self.first(key));
                    done
                }
            },
            Held::Sequence(begun) => self.sequence(begun, key),
            Held::Answer(keys) => self.answer(keys, key),
            Held::RestOfAnswer => {
                if !ends_answer(key) {
                    self.held = Held::RestOfAnswer;
                }
                Vec::new()
            }
            Held::Paste(text) => self.paste(text, key),
        }
    }

    fn first(&mut self, key: KeyEvent) -> Vec<Event> {
        if self.reports_releases {
            return vec![Event::Key(key)];
        }
        match (key.code, key.modifiers) {
            (KeyCode::Esc, KeyModifiers::NONE) => {
                self.held = Held::Escape;
                Vec::new()
            }
            (KeyCode::Char(begins), modifiers) if modifiers.contains(KeyModifiers::ALT) && begins_answer(begins) => {
                self.held = Held::Answer(vec![key]);
                Vec::new()
            }
            _ => self.split(key),
        }
    }

    /// A key with alt that does nothing here was an escape and a key.
    fn split(&self, key: KeyEvent) -> Vec<Event> {
        if key.modifiers.contains(KeyModifiers::ALT) && !self.reports_releases && !(self.is_bound)(key) {
            let alone = KeyEvent { modifiers: key.modifiers - KeyModifiers::ALT, ..key };
            vec![plain(KeyCode::Esc), Event::Key(alone)]
        } else {
            vec![Event::Key(key)]
        }
    }

    fn sequence(&mut self, mut begun: String, key: KeyEvent) -> Vec<Event> {
        let KeyCode::Char(character) = key.code else {
            return self.first(key);
        };
        begun.push(character);
        // ECMA-48: parameters and intermediates come before the byte that ends it
        let ends = matches!(character, '\u{40}'..='\u{7e}');
        if !ends {
            self.held = Held::Sequence(begun);
            return Vec::new();
        }
        if begun == "[200~" {
            self.held = Held::Paste(String::new());
            return Vec::new();
        }
        key_of_sequence(&begun).map(Event::Key).into_iter().collect()
    }

    fn answer(&mut self, mut keys: Vec<KeyEvent>, key: KeyEvent) -> Vec<Event> {
        if ends_answer(key) {
            return Vec::new();
        }
        keys.push(key);
        if keys.len() > LONGEST_ANSWER {
            return keys.into_iter().flat_map(|key| self.split(key)).collect();
        }
        self.held = Held::Answer(keys);
        Vec::new()
    }

    fn paste(&mut self, mut text: String, key: KeyEvent) -> Vec<Event> {
        match key.code {
            KeyCode::Char(character) if !key.modifiers.contains(KeyModifiers::CONTROL) => text.push(character),
            KeyCode::Enter | KeyCode::Char(_) => text.push('\n'),
            KeyCode::Tab => text.push('\t'),
            _ => {
                let mut done = vec![Event::Paste(text)];
                done.extend(self.first(key));
                return done;
            }
        }
        self.held = Held::Paste(text);
        Vec::new()
    }
}

fn plain(code: KeyCode) -> Event {
    Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
}

/// Whether after an escape this begins a string that only terminals send (ECMA-48: OSC, DCS, APC, PM, SOS).
fn begins_answer(character: char) -> bool {
    matches!(character, ']' | 'P' | '_' | '^' | 'X')
}

/// Whether this ends such a string: BEL, or ST as an escape and a backslash.
fn ends_answer(key: KeyEvent) -> bool {
    match key.code {
        KeyCode::Char('g' | 'G') => key.modifiers.contains(KeyModifiers::CONTROL),
        KeyCode::Char('\\') => key.modifiers.contains(KeyModifiers::ALT),
        _ => false,
    }
}

/// The key whose sequence this is, without its escape; none for what is no key.
fn key_of_sequence(sequence: &str) -> Option<KeyEvent> {
    let (body, last) = sequence.split_at(sequence.len().checked_sub(1)?);
    let body = body.strip_prefix('[').or_else(|| body.strip_prefix('O'))?;
    let mut numbers = body.split(';').map(|number| number.parse::<u8>().ok());
    let (number, modifiers) = (numbers.next().flatten(), numbers.next().flatten().unwrap_or(1));
    let code = match (last, number) {
        ("A", _) => KeyCode::Up,
        ("B", _) => KeyCode::Down,
        ("C", _) => KeyCode::Right,
        ("D", _) => KeyCode::Left,
        ("H", _) | ("~", Some(1 | 7)) => KeyCode::Home,
        ("F", _) | ("~", Some(4 | 8)) => KeyCode::End,
        ("Z", _) => KeyCode::BackTab,
        ("P", _) | ("~", Some(11)) => KeyCode::F(1),
        ("~", Some(2)) => KeyCode::Insert,
        ("~", Some(3)) => KeyCode::Delete,
        ("~", Some(5)) => KeyCode::PageUp,
        ("~", Some(6)) => KeyCode::PageDown,
        _ => return None,
    };
    // the modifiers are a sum of 1 shift, 2 alt, 4 control, and one more
    let bits = modifiers.checked_sub(1)?;
    let held = [(1, KeyModifiers::SHIFT), (2, KeyModifiers::ALT), (4, KeyModifiers::CONTROL)];
    let modifiers = held.into_iter().filter(|(bit, _)| bits & bit != 0).map(|(_, modifier)| modifier).collect();
    Some(KeyEvent::new(code, modifiers))
}
