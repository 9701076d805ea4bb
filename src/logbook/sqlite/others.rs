//! What was read of other seats: entries put in as they are, closed exams with rows of their own.

use std::path::Path;

use rusqlite::Transaction;

use super::error::sqlite;
use super::parcels::SPOKEN;
use super::{boxes, entries, erased, let_go, writers};
use crate::logbook::engine::{Arrival, ArrivedExam};
use crate::logbook::error::{FileError, LogbookError};
use crate::sharing::{Entry, Hash, Sealed, SiteName};

/// Takes in what came of one writer.
pub fn take_in(
    transaction: &Transaction<'_>,
    path: &Path,
    arrival: &Arrival,
    box_states: &[(Hash, Vec<u8>)],
) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    transaction.execute_batch(SPOKEN).map_err(failed)?;
    writers::add(transaction, path, arrival.writer, "")?;
    let sql =
        "UPDATE writer SET seat = ?2, site = coalesce(?3, site), public_key = coalesce(?4, public_key) WHERE id = ?1";
    let key = arrival.key.as_ref().map(|key| key.as_bytes().as_slice());
    let site = arrival.site.as_ref().map(SiteName::as_str);
    transaction.execute(sql, (arrival.writer.uuid(), arrival.seat.as_str(), site, key)).map_err(failed)?;
    for (hash, content) in box_states {
        let sql = "INSERT INTO box_state (hash, content) VALUES (?1, ?2) ON CONFLICT DO NOTHING";
        transaction.execute(sql, (hash.as_bytes().as_slice(), content)).map_err(failed)?;
    }
    let let_go = let_go::up_to(transaction, path, arrival.writer)?;
    for (row, exam) in &arrival.entries {
        let Sealed { writer, number, hash, .. } = &row.sealed;
        match entries::hash_of(transaction, path, *writer, *number)? {
            None => {}
            // another program took it in since this one looked
            Some(there) if there == *hash => continue,
            Some(_) => {
                let detail = format!("entry {number} of writer {writer} came twice at one moment, and not alike");
                return Err(FileError::Damaged { detail }.at(path));
            }
        }
        let Entry { kind, about, .. } = &row.sealed.entry;
        if erased::of_entry(transaction, path, kind, about)?.is_some() {
            // an older parcel, or one that was written before, has it still
            entries::put(transaction, path, &row.sealed, None)?;
            continue;
        }
        let is_kept = !row.sealed.entry.kind.is_of_exam() || *number > let_go;
        if let Some(exam) = exam.as_ref().filter(|_| is_kept) {
            add_exam(transaction, path, exam)?;
        }
        let let_go_of = arrival.without_body.iter().find(|(entry, _)| entry == number && !is_kept);
        let spoken = exam.as_ref().map(|exam| (exam.id, exam.number));
        if let Some((exam, number)) = spoken.or(let_go_of.map(|(_, spoken)| (spoken.exam, spoken.number))) {
            let sql = "INSERT INTO spoken (exam, writer, number) VALUES (?1, ?2, ?3)";
            transaction.execute(sql, (exam.uuid(), writer.uuid(), number)).map_err(failed)?;
        }
        // the body of an exam stands in its rows and is not kept twice
        let body = row.body.as_deref().filter(|_| exam.is_none() && is_kept);
        entries::put(transaction, path, &row.sealed, body)?;
    }
    Ok(())
}

fn add_exam(transaction: &Transaction<'_>, path: &Path, exam: &ArrivedExam) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let in_box = boxes::note(transaction, path, &exam.in_box, None)?;
    let sql = "INSERT INTO exam (id, box, opened, \"by\", label, finished, found) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    let values = (exam.id.uuid(), in_box, &exam.opened, &exam.by, &exam.label, &exam.finished, &exam.found);
    transaction.execute(sql, values).map_err(failed)?;
    let here = transaction.last_insert_rowid();
    let sql = "INSERT INTO opening (exam, format, opening) VALUES (?1, ?2, ?3)";
    transaction.execute(sql, (here, exam.opening.format, &exam.opening.text)).map_err(failed)?;
    let sql = "INSERT INTO step (exam, number, at, format, events) VALUES (?1, ?2, ?3, ?4, ?5)";
    let mut insert = transaction.prepare_cached(sql).map_err(failed)?;
    for step in &exam.steps {
        insert.execute((here, step.number, &step.at, step.events.format, &step.events.text)).map_err(failed)?;
    }
    Ok(())
}
