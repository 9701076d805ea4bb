//! What the logbook keeps is pinned here: no exam may become unreadable because something was renamed.
//!
//! Each line of `form1.jsonl` and `form2.jsonl` is one kept value under the name of its column: `step`, `box_change`,
//! `box_entry`, `day_entry`, `drill_entry`, `stock_take`, `opening`, `found` or `after`. The text is the row's, to the letter. What else is text in a row is pinned in `rows.txt`.
//!
//! - `form2.jsonl` has the spelling that is written now, of every variant of everything that is kept.
//! - `form1.jsonl` has spellings that stand in logbooks; the program wrote it before the names were made alike. Its lines
//!   are never changed, only added to.
//!
//! A new variant or field does not compile in `names.rs` until it is listed there, and is then missed here until
//! `form2.jsonl` has a line with it, a field with something in it. To give a kept name another spelling: the old one becomes a `#[serde(alias = "..")]`, its line of
//! `form2.jsonl` is copied to the end of `form1.jsonl`, and then changed where it stood.

#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod names;
mod rows;

use std::collections::BTreeSet;

use self::names::{FIELDS, Kept, LISTED, Word};
use dioptray::exam::{Event, Opening};
use dioptray::frame::Move;
use dioptray::kit::{BoxChange, Lens, StockTake};
use dioptray::logbook::{BoxEntry, DayEntry, DrillEntry, Found};
use dioptray::sharing::Heads;
use serde::de::DeserializeOwned;

const FORM_1: &str = include_str!("form1.jsonl");
const FORM_2: &str = include_str!("form2.jsonl");

/// A value as a row of the logbook holds it.
#[derive(Debug, PartialEq)]
enum Row {
    Step(Vec<Event>),
    BoxChange(BoxChange),
    BoxEntry(BoxEntry),
    DayEntry(DayEntry),
    DrillEntry(DrillEntry),
    StockTake(StockTake),
    Opening(Box<Opening>),
    Found(Found),
    After(Heads),
}

impl Row {
    /// Reads a line of the files.
    fn read(line: &str) -> Result<Self, String> {
        let (column, text) = line.strip_prefix("{\"").and_then(|rest| rest.split_once("\":")).unwrap();
        let text = text.strip_suffix('}').unwrap();
        let read = match column {
            "step" => serde_json::from_str(text).map(Self::Step),
            "box_change" => serde_json::from_str(text).map(Self::BoxChange),
            "box_entry" => serde_json::from_str(text).map(Self::BoxEntry),
            "day_entry" => serde_json::from_str(text).map(Self::DayEntry),
            "drill_entry" => serde_json::from_str(text).map(Self::DrillEntry),
            "stock_take" => serde_json::from_str(text).map(Self::StockTake),
            "opening" => serde_json::from_str(text).map(Self::Opening),
            "found" => serde_json::from_str(text).map(Self::Found),
            "after" => serde_json::from_str(text).map(Self::After),
            _ => return Err(format!("nothing is kept as {column}: {line}")),
        };
        read.map_err(|error| format!("a kept row can no longer be read ({error}): {line}"))
    }

    /// Writes it as the logbook does.
    fn write(&self) -> String {
        let (column, text) = match self {
            Self::Step(events) => ("step", serde_json::to_string(events)),
            Self::BoxChange(change) => ("box_change", serde_json::to_string(change)),
            Self::BoxEntry(entry) => ("box_entry", serde_json::to_string(entry)),
            Self::DayEntry(entry) => ("day_entry", serde_json::to_string(entry)),
            Self::DrillEntry(entry) => ("drill_entry", serde_json::to_string(entry)),
            Self::StockTake(take) => ("stock_take", serde_json::to_string(take)),
            Self::Opening(opening) => ("opening", serde_json::to_string(opening)),
            Self::Found(found) => ("found", serde_json::to_string(found)),
            Self::After(heads) => ("after", serde_json::to_string(heads)),
        };
        format!("{{\"{column}\":{}}}", text.unwrap())
    }

    fn words(&self) -> Vec<Word> {
        let mut found = Vec::new();
        match self {
            Self::Step(events) => events.add_words(&mut found),
            Self::BoxChange(change) => change.add_words(&mut found),
            Self::BoxEntry(entry) => entry.add_words(&mut found),
            Self::DayEntry(entry) => entry.add_words(&mut found),
            Self::DrillEntry(entry) => entry.add_words(&mut found),
            Self::StockTake(take) => take.add_words(&mut found),
            Self::Opening(opening) => opening.add_words(&mut found),
            // they name no variant of anything
            Self::Found(_) | Self::After(_) => {}
        }
        found
    }
}

/// Every event that is pinned: every variant of everything in events is among them.
pub fn events() -> Vec<Event> {
    let rows = FORM_2.lines().map(|line| Row::read(line).unwrap());
    rows.flat_map(|row| if let Row::Step(events) = row { events } else { Vec::new() }).collect()
}

/// Every change of a box that is pinned: every variant is among them.
pub fn box_changes() -> Vec<BoxChange> {
    let rows = FORM_2.lines().map(|line| Row::read(line).unwrap());
    rows.filter_map(|row| if let Row::BoxChange(change) = row { Some(change) } else { None }).collect()
}

/// A lens of every kind, and every accessory: those that are pinned in moves.
pub fn lenses() -> Vec<Lens> {
    let steps = events().into_iter().filter_map(|event| if let Event::Moved(step) = event { Some(step) } else { None });
    let lenses: BTreeSet<Lens> = steps
        .filter_map(|step| match step {
            Move::Put { piece, .. } | Move::Take { piece, .. } | Move::Hold { piece, .. } | Move::Lay { piece, .. } => {
                Some(piece.lens)
            }
            Move::Turn { .. } => None,
        })
        .collect();
    let mut words = Vec::new();
    for lens in &lenses {
        lens.add_words(&mut words);
    }
    // what a lens holds is listed as kept where it is a name: each of its names is asked for
    let of_lenses: BTreeSet<&str> = words.iter().map(|(kept, _)| *kept).chain(["Lens"]).collect();
    let missed = LISTED.iter().find(|word| of_lenses.contains(word.0) && !words.contains(word));
    assert_eq!(missed, None, "tests/rooms/kept/form2.jsonl has no move of such a lens");
    lenses.into_iter().collect()
}

/// Every variant of a kept enum whose variants hold nothing, by the name of the enum.
pub fn all_of<T: DeserializeOwned>(kept: &str) -> Vec<T> {
    let words = LISTED.iter().filter(|(listed, _)| *listed == kept);
    let all: Vec<T> = words.map(|(_, word)| serde_json::from_value((*word).into()).unwrap()).collect();
    assert!(!all.is_empty(), "nothing is kept as {kept}");
    all
}

/// Looks through the lines of a file, and shows everything that is wrong at once.
fn each_line(file: &str, look: impl FnMut(&str) -> Result<(), String>) {
    let faults: Vec<String> = file.lines().map(look).filter_map(Result::err).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn what_is_kept_is_written_as_it_is_pinned() {
    each_line(FORM_2, |line| {
        let written = Row::read(line)?.write();
        if written == line { Ok(()) } else { Err(format!("{line}\nis written now as\n{written}")) }
    });
}

#[test]
fn every_spelling_ever_written_reads_as_the_one_written_now() {
    let now: BTreeSet<&str> = FORM_2.lines().collect();
    each_line(FORM_1, |line| {
        let old = Row::read(line)?;
        let written = old.write();
        match now.get(written.as_str()) {
            Some(pinned) if Row::read(pinned)? == old => Ok(()),
            _ => Err(format!("{line}\nis written now as\n{written}\nwhich is not pinned as the same")),
        }
    });
}

/// A colour within a kind of lens has a name in the row too: what a variant holds is not passed over by `_` or `..`.
#[test]
fn whatever_a_kept_variant_holds_is_looked_into() {
    let (_, listed) = include_str!("names.rs").split_once("\nkept_enums! {\n").unwrap();
    let (listed, _) = listed.split_once("\n}\n").unwrap();
    each_line(listed, |line| {
        let passes_over =
            line.contains("..") || line.split(|c: char| !c.is_alphanumeric() && c != '_').any(|word| word == "_");
        if passes_over { Err(format!("name what it holds, and look into it: {}", line.trim())) } else { Ok(()) }
    });
}

#[test]
fn every_variant_that_is_kept_is_pinned_under_its_name() {
    let mut pinned: BTreeSet<Word> = BTreeSet::new();
    each_line(FORM_2, |line| {
        for (kept, word) in Row::read(line)?.words() {
            // a lens has its kind within its label, an accessory its own name there; a piece is one label
            let stands = match (kept, word) {
                ("Piece" | "Further", _) | ("Lens", "accessory") | ("Accessory", "other") => true,
                ("Lens", part) => line.contains(&format!(" {part}")),
                ("Accessory", name) => line.contains(&format!("\"{name} #")),
                _ => line.contains(&format!("\"{word}\"")),
            };
            if !stands {
                return Err(format!("{kept} is read as {word}, which does not stand in {line}"));
            }
            pinned.insert((kept, word));
        }
        Ok(())
    });
    let missed: Vec<_> = LISTED.iter().chain(FIELDS).filter(|word| !pinned.contains(word)).collect();
    assert!(missed.is_empty(), "tests/rooms/kept/form2.jsonl has no line with {missed:?}");
}
