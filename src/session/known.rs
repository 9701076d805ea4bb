//! A box as its file declares it, with what the logbook knows of it.

use std::path::Path;

use super::note::Note;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{BoxKey, Logbook, LogbookError, NamedBox, RefusedChange, StockOnRecord};
use crate::sharing::Heads;

/// By what the logbook knows a declared box.
pub fn named(declared: &DeclaredBox) -> NamedBox {
    NamedBox::new(declared.id.as_deref(), &declared.name)
}

/// The key by name of a box whose file has gained an `id` that the logbook does not know yet, when it knows the name:
/// whether the two are one box has to be asked.
///
/// # Errors
/// When the logbook cannot be read.
pub fn known_by_name(logbook: &Logbook, named: &NamedBox) -> Result<Option<BoxKey>, LogbookError> {
    if !named.key.is_id() || logbook.knows_box(&named.key)? {
        return Ok(None);
    }
    let by_name = BoxKey::of_name(&named.name);
    Ok(logbook.knows_box(&by_name)?.then_some(by_name))
}

/// A box with everything that happened to it.
#[derive(Debug, Clone)]
pub struct KnownBox {
    /// By what the logbook knows it.
    pub named: NamedBox,
    /// Its pieces now.
    pub stock: Stock,
    /// The last changes that are in it.
    pub applied: Heads,
    /// What has to be said of it.
    pub notes: Vec<Note>,
}

impl KnownBox {
    /// The box as declared, with what happened to it since under the name; `file` is where it was read.
    ///
    /// A change that cannot be read, or no longer fits the declared box, is passed over and noted.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn of(
        logbook: &Logbook,
        named: NamedBox,
        declared: &DeclaredBox,
        file: Option<&Path>,
    ) -> Result<Self, LogbookError> {
        let on_record = logbook.stock_of(&named.key, declared)?;
        let called = file.map_or_else(|| declared.name.clone(), |file| file.display().to_string());
        let mut notes = note_what_is_left_out(&on_record, &called);
        if let Some(handed) = on_record.handed_over().filter(|handed| handed.is_closed_here) {
            let to: Vec<String> = handed.to.iter().map(ToString::to_string).collect();
            notes.push(Note::HandedOver { box_name: declared.name.clone(), to: to.join(" and ") });
        }
        Ok(Self { named, stock: on_record.stock, applied: on_record.applied, notes })
    }
}

/// What is said of changes that cannot be read or no longer fit the file of the box.
pub fn note_what_is_left_out(on_record: &StockOnRecord, box_file: &str) -> Vec<Note> {
    let unread = on_record.unread.iter().map(|why| Note::ChangeUnread { why: why.clone() });
    unread.chain(on_record.refused.iter().map(|refused| left_out(refused.clone(), box_file))).collect()
}

/// What is said when a box without an `id` is used with a logbook.
pub fn without_id(declared: &DeclaredBox, file: &Path) -> Option<Note> {
    declared.id.is_none().then(|| Note::NoId { file: file.to_owned() })
}

pub(super) fn left_out(refused: RefusedChange, box_file: &str) -> Note {
    Note::ChangeLeftOut { at: refused.stored.at, box_file: box_file.to_owned(), why: refused.why }
}

/// Notes where a box is read from. Another file with the same `id` that is still such a box is reported.
///
/// # Errors
/// When it cannot be written.
pub fn note_file(logbook: &mut Logbook, named: &NamedBox, file: &Path) -> Result<Option<Note>, LogbookError> {
    let Some(same) = logbook.note_box_file(named, file)? else {
        return Ok(None);
    };
    let has_it = |declared: DeclaredBox| declared.id.is_some_and(|id| BoxKey::of_id(&id) == same.key);
    let still_has_it = read_box(&same.file).is_ok_and(has_it);
    Ok(still_has_it.then(|| Note::SameId { id: same.key.to_string(), other: same.file }))
}
