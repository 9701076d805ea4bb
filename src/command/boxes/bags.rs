//! Which entries of a box are about a bag that went out of it, and whether that is back.

use crate::keeping::note_of_bag;
use crate::kit::{BoxChange, Piece};
use crate::logbook::{BoxEntries, BoxKey, Logbook, LogbookError, NamedBox, StoredBoxEntry};

/// The entries about a bag that stand, in the box from which it went.
pub fn about_bag<'a>(entries: &'a BoxEntries, bag: &str) -> impl Iterator<Item = &'a StoredBoxEntry> {
    let text = note_of_bag(bag);
    entries.all.iter().filter(move |stored| {
        stored.body.note() == Some(text.as_str())
            && !stored.body.changes().is_empty()
            && entries.taken_back_by(stored.entry).is_none()
    })
}

/// Whether it lends all that it is about.
pub fn goes_out(stored: &StoredBoxEntry) -> bool {
    stored.body.changes().iter().all(BoxChange::lends)
}

/// The box in which the pieces of a bag are again; nothing for what is not a bag, or is away.
///
/// # Errors
/// When the logbook cannot be read.
pub fn back_in(logbook: &Logbook, bag: &BoxKey) -> Result<Option<NamedBox>, LogbookError> {
    if !bag.is_id() {
        return Ok(None);
    }
    for (known, _) in logbook.boxes()? {
        let entries = logbook.box_entries(&known.key)?;
        let Some(went) = about_bag(&entries, &bag.to_string()).find(|stored| goes_out(stored)) else { continue };
        // by `box return`, or piece by piece
        let later = entries.all.iter().filter(|stored| stored.place > went.place);
        let later = later.filter(|stored| entries.taken_back_by(stored.entry).is_none());
        let since: Vec<Piece> = later
            .flat_map(|stored| entries.changes_of(stored))
            .filter(|change| change.takes_away() || change.brings_back())
            .filter_map(|change| change.piece())
            .collect();
        let mut pieces = went.body.changes().iter().filter_map(BoxChange::piece);
        return Ok(pieces.all(|piece| since.contains(&piece)).then_some(known));
    }
    Ok(None)
}
