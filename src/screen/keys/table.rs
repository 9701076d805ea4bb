//! The key table: which key does what, and where. `keys.yaml` is its only source; everything about keys is asked here.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::action::Action;
use super::chord::Chord;

const SHIPPED: &str = include_str!("keys.yaml");

/// Where on the screen a key is pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Context {
    /// In the frame, on a cell.
    Cells,
    /// In the frame, with a lens being moved.
    Carrying,
    /// Among the proposals.
    Proposals,
    /// In the drawer, where plain characters filter.
    Drawer,
    /// In the guide, while it waits for an answer.
    Guide,
    /// While a procedure of the guide is chosen.
    Choosing,
    /// In the trail, on a point that was tried.
    Trail,
    /// While a line is typed.
    Typing,
    /// While help, cautions or the prescription are open.
    Reading,
    /// While they are open at the first start, which offers a box and a frame of one's own.
    Offering,
    /// On the details of the exam.
    Details,
    /// On a detail that is written in words, where plain characters begin it.
    Words,
    /// On the list of earlier exams.
    Records,
    /// On an earlier exam.
    Record,
    /// On glasses that came back, while they are entered.
    Returning,
    /// On a box.
    Box,
    /// On the list of all boxes.
    Boxes,
    /// On a new frame.
    Framing,
    /// On what is lent of a box.
    Loans,
    /// On what seats say differently of a box.
    Unsettled,
    /// On the sheets of a box.
    Sheets,
    /// In a stock-take.
    Counting,
    /// In a stock-take in which what should be there is not shown.
    Blind,
    /// On what a stock-take comes to.
    Ending,
    /// On what a box makes.
    Makes,
    /// On what to buy for a box.
    Buying,
    /// On a bag to be packed.
    Packing,
    /// On lenses held together in pairs.
    Pairs,
    /// On a lens that nobody knows, which is to be turned.
    Turning,
    /// On one against which others are held.
    Unmarked,
    /// On the list of a day.
    Day,
    /// On what an exam comes to.
    Outcome,
    /// In a screening pass.
    Screening,
    /// On what is left on a shelf.
    Shelf,
    /// On the page of practice.
    Practising,
    /// Where it is shown what a practice eye sees.
    Sight,
    /// Where the light in its pupil is shown.
    Streak,
    /// While a question waits for its answer.
    Asking,
}

impl Context {
    /// Its name, as the key table writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cells => "cells",
            Self::Carrying => "carrying",
            Self::Proposals => "proposals",
            Self::Drawer => "drawer",
            Self::Guide => "guide",
            Self::Choosing => "choosing",
            Self::Trail => "trail",
            Self::Typing => "typing",
            Self::Reading => "reading",
            Self::Offering => "offering",
            Self::Details => "details",
            Self::Words => "words",
            Self::Records => "records",
            Self::Record => "record",
            Self::Returning => "returning",
            Self::Box => "box",
            Self::Boxes => "boxes",
            Self::Day => "day",
            Self::Outcome => "outcome",
            Self::Screening => "screening",
            Self::Shelf => "shelf",
            Self::Practising => "practising",
            Self::Framing => "framing",
            Self::Loans => "loans",
            Self::Unsettled => "unsettled",
            Self::Sheets => "sheets",
            Self::Counting => "counting",
            Self::Blind => "blind",
            Self::Ending => "ending",
            Self::Makes => "makes",
            Self::Buying => "buying",
            Self::Packing => "packing",
            Self::Pairs => "pairs",
            Self::Turning => "turning",
            Self::Unmarked => "unmarked",
            Self::Sight => "sight",
            Self::Streak => "streak",
            Self::Asking => "asking",
        }
    }

    /// Whether the first character of a lens begins one here.
    pub fn takes_lenses(self) -> bool {
        match self {
            Self::Cells | Self::Proposals | Self::Sight | Self::Streak => true,
            Self::Carrying
            | Self::Drawer
            | Self::Guide
            | Self::Choosing
            | Self::Trail
            | Self::Typing
            | Self::Reading
            | Self::Offering
            | Self::Details
            | Self::Words
            | Self::Records
            | Self::Record
            | Self::Returning
            | Self::Box
            | Self::Boxes
            | Self::Framing
            | Self::Loans
            | Self::Unsettled
            | Self::Sheets
            | Self::Counting
            | Self::Blind
            | Self::Ending
            | Self::Makes
            | Self::Buying
            | Self::Packing
            | Self::Pairs
            | Self::Turning
            | Self::Unmarked
            | Self::Day
            | Self::Outcome
            | Self::Screening
            | Self::Shelf
            | Self::Practising
            | Self::Asking => false,
        }
    }

    /// Whether it is on a box.
    pub fn is_of_a_box(self) -> bool {
        match self {
            Self::Box
            | Self::Boxes
            | Self::Framing
            | Self::Loans
            | Self::Unsettled
            | Self::Sheets
            | Self::Counting
            | Self::Blind
            | Self::Ending
            | Self::Makes
            | Self::Buying
            | Self::Packing
            | Self::Pairs
            | Self::Turning
            | Self::Unmarked => true,
            Self::Cells
            | Self::Carrying
            | Self::Proposals
            | Self::Drawer
            | Self::Guide
            | Self::Choosing
            | Self::Trail
            | Self::Typing
            | Self::Reading
            | Self::Offering
            | Self::Details
            | Self::Words
            | Self::Records
            | Self::Record
            | Self::Returning
            | Self::Day
            | Self::Outcome
            | Self::Screening
            | Self::Shelf
            | Self::Practising
            | Self::Sight
            | Self::Streak
            | Self::Asking => false,
        }
    }

    /// Whether plain characters are text here rather than commands.
    pub fn takes_text(self) -> bool {
        matches!(self, Self::Drawer | Self::Typing | Self::Words)
    }
}

/// One row of the key table.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Binding {
    /// What it does.
    pub action: Action,
    /// The keys for it; more follow by position where they choose a row of a list.
    #[serde(default)]
    pub keys: Vec<Chord>,
    /// Where they work.
    #[serde(rename = "where")]
    pub contexts: Vec<Context>,
    /// The heading in the help.
    pub group: String,
    /// Its place among the hints at the bottom, the least first; none for no hint.
    pub hint: Option<u8>,
    /// Two or three words.
    pub label: String,
    /// One sentence.
    pub help: String,
}

impl Binding {
    /// Whether its keys only label the rows of a list: such a key gives way where it is given to something else.
    pub fn gives_way(&self) -> bool {
        self.action.rows_by_position().is_some()
    }

    /// Whether it works on a box alone.
    pub fn is_of_a_box(&self) -> bool {
        self.contexts.iter().all(|context| context.is_of_a_box())
    }

    /// The key to name where there is room for one: the first, or a run that begins with digits as `1-9`.
    pub fn key_in_words(&self) -> String {
        match self.run() {
            Some((run, _)) => run,
            None => self.keys.first().map(ToString::to_string).unwrap_or_default(),
        }
    }

    /// The key to name where plain characters are text: the first that is no character.
    pub fn key_beside_text(&self) -> String {
        self.keys.iter().find(|chord| chord.typed().is_none()).map(ToString::to_string).unwrap_or_default()
    }

    /// The keys in words: `x delete`; a run that begins with digits by its ends, as `1-9`.
    pub fn keys_in_words(&self) -> String {
        let (run, in_it) = self.run().unzip();
        let others = self.keys.iter().skip(in_it.unwrap_or(0)).map(ToString::to_string);
        run.into_iter().chain(others).collect::<Vec<_>>().join(" ")
    }

    /// A run that begins with digits by its ends, and how many keys are in it; 0 does not continue 9.
    fn run(&self) -> Option<(String, usize)> {
        let digits = self.keys.iter().filter_map(|chord| chord.typed()).filter(char::is_ascii_digit).count();
        if digits <= 2 || digits != self.keys.len() && !self.gives_way() {
            return None;
        }
        let ends_with_0 = self.keys.last().is_some_and(|last| *last == Chord::char('0'));
        let in_it = self.keys.len() - usize::from(ends_with_0);
        let last = self.keys.get(in_it.checked_sub(1)?)?;
        Some((format!("{}-{last}", self.keys.first()?), in_it))
    }
}

/// Two actions that want the same key in the same place.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{key}` is the key for `{held}` already: give `{held}` another key first")]
pub struct KeyConflict {
    /// The key that both want, as it is written.
    pub key: String,
    /// What it does already.
    pub held: Action,
}

/// Keys for the rows of a list, one for each row: those that were asked for first, then digits, small letters and capitals,
/// none of them taken.
fn keys_by_position(rows: usize, asked_for: &[Chord], is_taken: impl Fn(Chord) -> bool) -> Vec<Chord> {
    let mut keys: Vec<Chord> = Vec::new();
    let others = ('1'..='9').chain('a'..='z').chain('A'..='Z').map(Chord::char);
    for key in asked_for.iter().copied().chain(others) {
        if keys.len() < rows && !keys.contains(&key) && !is_taken(key) {
            keys.push(key);
        }
    }
    keys
}

/// All bindings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyTable {
    bindings: Vec<Binding>,
    /// Keys that a person gave to actions whose keys follow from the position.
    asked_for: Vec<(Action, Vec<Chord>)>,
}

impl KeyTable {
    /// The table that comes with the program.
    ///
    /// # Errors
    /// When the embedded table is at fault, which a test rules out.
    pub fn shipped() -> Result<Self, serde_yaml::Error> {
        let mut table = Self { bindings: serde_yaml::from_str(SHIPPED)?, asked_for: Vec::new() };
        table.give_keys_by_position();
        Ok(table)
    }

    /// Gives the rows of lists the keys that do nothing else where the list is.
    fn give_keys_by_position(&mut self) {
        for at in 0..self.bindings.len() {
            let Binding { action, contexts, .. } = &self.bindings[at];
            let Some(rows) = action.rows_by_position() else { continue };
            let meets = |other: &&Binding| other.contexts.iter().any(|context| contexts.contains(context));
            let commands: Vec<&Binding> =
                self.bindings.iter().filter(|other| !other.gives_way()).filter(meets).collect();
            let asked_for = self.asked_for.iter().find(|(of, _)| of == action);
            let asked_for = asked_for.map(|(_, keys)| keys.as_slice()).unwrap_or_default();
            let is_taken = |key: Chord| commands.iter().any(|command| command.keys.contains(&key));
            self.bindings[at].keys = keys_by_position(rows, asked_for, is_taken);
        }
    }

    /// All rows, in the order of the table.
    pub fn bindings(&self) -> &[Binding] {
        &self.bindings
    }

    /// Gives an action other keys.
    pub fn rebind(&mut self, action: Action, keys: &[Chord]) {
        if action.rows_by_position().is_some() {
            self.asked_for.retain(|(of, _)| *of != action);
            self.asked_for.push((action, keys.to_vec()));
        }
        for binding in self.bindings.iter_mut().filter(|binding| binding.action == action) {
            binding.keys = keys.to_vec();
        }
        self.give_keys_by_position();
    }

    /// The first key of an action that another action has in the same place.
    pub fn conflict(&self, action: Action) -> Option<KeyConflict> {
        let own = self.bindings.iter().find(|binding| binding.action == action && !binding.gives_way())?;
        self.bindings.iter().filter(|other| other.action != action && !other.gives_way()).find_map(|other| {
            let meets = own.contexts.iter().any(|context| other.contexts.contains(context));
            let key = own.keys.iter().find(|key| meets && other.keys.contains(key))?;
            Some(KeyConflict { key: key.to_string(), held: other.action })
        })
    }

    /// What a key does in a place, and which of the action's keys it is (0 for the first).
    pub fn lookup(&self, context: Context, chord: Chord) -> Option<(Action, usize)> {
        if context.takes_text() && chord.typed().is_some() {
            return None;
        }
        let here = self.bindings.iter().filter(|binding| binding.contexts.contains(&context));
        let (labels, commands): (Vec<&Binding>, Vec<&Binding>) = here.partition(|binding| binding.gives_way());
        commands.into_iter().chain(labels).find_map(|binding| {
            let nth = binding.keys.iter().position(|key| *key == chord)?;
            Some((binding.action, nth))
        })
    }

    /// Whether a key does something anywhere.
    pub fn uses(&self, chord: Chord) -> bool {
        self.bindings.iter().any(|binding| binding.keys.contains(&chord))
    }

    /// The table in Markdown, for the README: what is done, where, by which keys.
    pub fn as_markdown(&self) -> String {
        let mut rows =
            vec!["| keys | action | where | what it does |".to_owned(), "| --- | --- | --- | --- |".to_owned()];
        for binding in &self.bindings {
            let keys: Vec<String> = binding.keys.iter().map(|chord| format!("`{chord}`")).collect();
            let places: Vec<&str> = binding.contexts.iter().map(|context| context.name()).collect();
            let (keys, places) = (keys.join(" ").replace('|', "\\|"), places.join(", "));
            rows.push(format!("| {keys} | `{}` | {places} | {} |", binding.action, binding.help));
        }
        rows.join("\n") + "\n"
    }

    /// The first key of an action, for a sentence that must name it.
    pub fn key_of(&self, action: impl Into<Action>) -> String {
        let action = action.into();
        let binding = self.bindings.iter().find(|binding| binding.action == action);
        binding.and_then(|binding| binding.keys.first()).map_or_else(|| "(no key)".to_owned(), ToString::to_string)
    }
}
