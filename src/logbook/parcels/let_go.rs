//! What is kept no longer of exams of others: a room let go of it (`dioptray room keep`), and so does whoever fetched it.
//!
//! Only what was read of others is let go of. One's own exams stay in one's own logbook, and what is not of an exam stays everywhere.

use std::collections::BTreeMap;
use std::path::Path;

use super::error::ParcelError;
use super::others::others_of;
use crate::logbook::store::Logbook;
use crate::sharing::WriterId;

/// Lets go of the bodies of exams of these writers up to these numbers of their entries, and of what was added to exams among
/// those; what comes up to there from now on is kept without a body too.
///
/// # Errors
/// When the file of what was read cannot be read or written; all of it is there still then.
pub fn let_go_of(logbook: &Path, gone: &BTreeMap<WriterId, i64>) -> Result<(), ParcelError> {
    if gone.is_empty() {
        return Ok(());
    }
    let path = others_of(logbook);
    let known: BTreeMap<WriterId, i64> = match Logbook::open_read_only(&path) {
        Err(error) if error.is_not_begun() => BTreeMap::new(),
        opened => opened?.engine.let_go()?.into_iter().collect(),
    };
    let further = gone.iter().filter(|(writer, number)| known.get(writer).is_none_or(|known| known < *number));
    let further: Vec<(WriterId, i64)> = further.map(|(writer, number)| (*writer, *number)).collect();
    if further.is_empty() { Ok(()) } else { Ok(Logbook::open(&path)?.engine.let_go_of(&further)?) }
}
