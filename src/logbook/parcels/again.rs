//! What a logbook wrote after it parted from a copy of itself, written again under another identity.

use std::path::Path;

use super::error::ParcelError;
use crate::logbook::engine::{EntryAgain, EntryRow};
use crate::logbook::error::LogbookError;
use crate::logbook::happened::with_other_numbers;
use crate::sharing::body::deflate;
use crate::sharing::{EntryKind, EntryRef, Hash, Heads, WriterId};

/// The entries of one writer after a number, as another one writes them from its first on. Days and drills stay as they are: they
/// are never sent with what they say.
pub fn written_again(
    rows: &[EntryRow],
    path: &Path,
    parted: (WriterId, i64),
    writer: WriterId,
) -> Result<Vec<EntryAgain>, ParcelError> {
    let (before, after) = parted;
    let is_again = |kind: &EntryKind| match kind {
        EntryKind::Exam | EntryKind::Amendment | EntryKind::BoxChange | EntryKind::Newer(_) => true,
        EntryKind::Day | EntryKind::Drill => false,
    };
    let parted = |row: &&EntryRow| row.sealed.writer == before && row.sealed.number > after;
    let rows: Vec<&EntryRow> = rows.iter().filter(parted).filter(|row| is_again(&row.sealed.entry.kind)).collect();
    let up_to = |number: i64| rows.iter().filter(|row| row.sealed.number <= number).fold(0, |count, _| count + 1);
    let renamed = |of: EntryRef| {
        let is_parted = of.writer == before && of.number > after;
        if is_parted { EntryRef { writer, number: up_to(of.number) } } else { of }
    };
    let again = |row: &&EntryRow| -> Result<EntryAgain, LogbookError> {
        let number = row.sealed.number;
        let what = format!("entry {number}");
        let not_storable = |reason: String| LogbookError::NotStorable { what: what.clone(), reason };
        let mut again = EntryAgain { number, entry: row.sealed.entry.clone(), body: row.body.clone() };
        if again.entry.kind != EntryKind::BoxChange {
            return Ok(again);
        }
        let named = again.entry.after.as_deref().map(serde_json::from_str::<Heads>).transpose();
        let mut heads = Heads::default();
        // all that the same writer wrote before was known without being named
        if after > 0 {
            heads.learn(before, after);
        }
        let named = named.map_err(|error| not_storable(error.to_string()))?.unwrap_or_default();
        named.iter().filter(|(of, _)| *of != before).for_each(|(of, last)| heads.learn(of, last));
        let text = serde_json::to_string(&heads).map_err(|error| not_storable(error.to_string()))?;
        again.entry.after = (!heads.is_empty()).then_some(text);
        if let Some(stored) = with_other_numbers(row, path, &what, renamed)? {
            again.body = Some(deflate(stored.text.as_bytes()).map_err(|error| not_storable(error.to_string()))?);
            again.entry.format = stored.format;
            again.entry.body_hash = Hash::of(stored.text.as_bytes());
        }
        Ok(again)
    };
    rows.iter().map(again).collect::<Result<_, _>>().map_err(Into::into)
}
