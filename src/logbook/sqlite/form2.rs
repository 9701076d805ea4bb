//! Form 1 becomes form 2: steps get rows of their own number, exams an identity, and what was done for good entries.
//!
//! All of it follows from what is in the file alone, so that two copies of one logbook give the same.

use std::collections::HashMap;
use std::fs::File;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _};
use uuid::Uuid;

use super::error::sqlite;
use super::{boxes, entries, exams, schema, writers};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::lock_file;
use crate::logbook::names::{BoxKey, ExamNumber, Holder};
use crate::sharing::{Entry, EntryKind, Hash, WriterId, body};

/// The name space of the identities that are made from content; it is never changed.
const NAMESPACE: Uuid = Uuid::from_u128(0x8f0d_5c41_9a3e_5b77_a1c6_2d94_e07b_3f58);

/// The tables of form 1, out of the way of those of form 2.
const SET_ASIDE: &str = "
ALTER TABLE box RENAME TO old_box;
ALTER TABLE exam RENAME TO old_exam;
ALTER TABLE opening RENAME TO old_opening;
ALTER TABLE step RENAME TO old_step;
ALTER TABLE box_change RENAME TO old_box_change;
ALTER TABLE claim RENAME TO old_claim;
ALTER TABLE last_used RENAME TO old_last_used;
DROP TRIGGER step_is_kept; DROP TRIGGER step_stays;
DROP TRIGGER box_change_is_kept; DROP TRIGGER box_change_stays;
DROP TRIGGER opening_is_kept; DROP TRIGGER opening_stays;
DROP TRIGGER exam_is_kept; DROP TRIGGER exam_stays;
";

const COPY_ROWS: &str = "
INSERT INTO opening (exam, format, opening) SELECT exam, format, opening FROM old_opening ORDER BY exam;
INSERT INTO step (exam, number, at, format, events)
    SELECT exam, number, at, format, events FROM old_step ORDER BY exam, number;
INSERT INTO last_used (kind, file, at) SELECT kind, file, at FROM old_last_used;
";

const DROP_OLD: &str = "
DROP TABLE old_claim; DROP TABLE old_last_used; DROP TABLE old_box_change; DROP TABLE old_step; DROP TABLE old_opening;
DROP TABLE old_exam; DROP TABLE old_box;
";

/// A program of before that has the file open would go on writing rows of form 1.
pub fn refuse_while_in_use(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut numbers = connection.prepare("SELECT id FROM box ORDER BY id").map_err(failed)?;
    let numbers: Vec<i64> = numbers.query_map([], |row| row.get(0)).and_then(Iterator::collect).map_err(failed)?;
    for in_box in numbers {
        let taken = File::open(lock_file(path, in_box)).is_ok_and(|lock| lock.try_lock_shared().is_err());
        if taken {
            let noted = boxes::claim(connection, path, in_box)?;
            let holder = Holder {
                process: noted.as_ref().map(|noted| noted.process),
                host: noted.as_ref().and_then(|noted| noted.host.clone()),
                since: noted.as_ref().and_then(|noted| noted.since.parse().ok()),
                exam: noted.and_then(|noted| noted.exam),
            };
            return Err(FileError::OpenInOlder { holder }.at(path));
        }
    }
    Ok(())
}

/// Brings a file of form 1 to form 2.
pub fn from_form_1(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    connection.execute_batch(SET_ASIDE).map_err(failed)?;
    let mut filled = Ok(());
    let made = schema::make(connection, |connection| {
        filled = fill(connection, path);
        Ok(())
    });
    filled.and(made.map_err(failed))?;
    connection.execute_batch(DROP_OLD).map_err(failed)
}

fn fill(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    move_boxes(connection, path)?;
    move_exams(connection, path)?;
    connection.execute_batch(COPY_ROWS).map_err(failed)?;
    let Some(writer) = writer_of_before(connection).map_err(failed)? else {
        return Ok(());
    };
    writers::add(connection, path, writer, "")?;
    enter_exams(connection, path, writer)?;
    enter_box_changes(connection, path, writer)
}

/// Boxes keep their numbers. Two whose names are one name in two Unicode forms become one.
fn move_boxes(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut select = connection.prepare("SELECT id, name FROM old_box ORDER BY id").map_err(failed)?;
    let mut rows = select.query([]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let (number, name): (i64, String) = (row.get(0).map_err(failed)?, row.get(1).map_err(failed)?);
        let key = BoxKey::of_name(&name);
        if boxes::known(connection, path, &key)?.is_none() {
            connection.execute("INSERT INTO box (id, name) VALUES (?1, ?2)", (number, &name)).map_err(failed)?;
            boxes::add_key(connection, path, number, &key)?;
        }
    }
    Ok(())
}

/// The box, as it is known now, with this name in form 1.
fn box_named(connection: &Connection, path: &Path, name: &str) -> Result<i64, LogbookError> {
    let known = boxes::known(connection, path, &BoxKey::of_name(name))?;
    let lost = || FileError::Damaged { detail: "a row refers to a box that is not there".to_owned() }.at(path);
    known.map(|known| known.number).ok_or_else(lost)
}

/// An exam's identity comes from how and when it began. Of several that began alike, the later ones also from their place
/// among these.
fn move_exams(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT number, old_box.name, opened, label, finished, put_aside, opening
               FROM old_exam JOIN old_box ON old_box.id = box LEFT JOIN old_opening ON exam = number ORDER BY number";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let mut rows = select.query([]).map_err(failed)?;
    let mut alike: HashMap<Uuid, u32> = HashMap::new();
    while let Some(row) = rows.next().map_err(failed)? {
        let text = |column| row.get::<_, Option<String>>(column).map_err(failed);
        let number: i64 = row.get(0).map_err(failed)?;
        let in_box = box_named(connection, path, &text(1)?.unwrap_or_default())?;
        let opened = text(2)?.unwrap_or_default();
        let first = identity(&[&text(6)?.unwrap_or_default(), &opened]);
        let nth = alike.entry(first).and_modify(|nth| *nth += 1).or_insert(0);
        let id = if *nth == 0 { first } else { identity(&[&first.to_string(), &nth.to_string()]) };
        let sql = "INSERT INTO exam (number, id, box, opened, label, finished, put_aside)
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
        let values = (number, id, in_box, opened, text(3)?, text(4)?, text(5)?);
        connection.execute(sql, values).map_err(failed)?;
    }
    Ok(())
}

/// A UUID of version 5 that follows from these texts.
fn identity(texts: &[&str]) -> Uuid {
    Uuid::new_v5(&NAMESPACE, texts.join("\n").as_bytes())
}

/// Who wrote what was there before: known by the first exam, or by the first change of a box; nobody, if nothing was there.
fn writer_of_before(connection: &Connection) -> rusqlite::Result<Option<WriterId>> {
    let first = |sql: &str| {
        let texts = connection.query_row(sql, [], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)));
        texts.optional()
    };
    let exam = "SELECT opening, opened FROM old_exam JOIN old_opening ON exam = number ORDER BY number LIMIT 1";
    let change = "SELECT name, change FROM old_box_change JOIN old_box ON id = box ORDER BY box, number LIMIT 1";
    let texts = match first(exam)? {
        None => first(change)?,
        found => found,
    };
    Ok(texts.map(|(what, when)| WriterId::new(identity(&["writer", &what, &when]))))
}

/// The closed exams in the order of their numbers, each with what was added to it after.
fn enter_exams(connection: &Connection, path: &Path, writer: WriterId) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT number FROM exam WHERE finished IS NOT NULL ORDER BY number";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let closed: Vec<i64> = select.query_map([], |row| row.get(0)).and_then(Iterator::collect).map_err(failed)?;
    for number in closed.into_iter().map(ExamNumber) {
        entries::add_as(connection, path, writer, exams::entry_of(connection, path, number)?, None)?;
        let kept = exams::rows(connection, path, number)?;
        for step in kept.steps.iter().filter(|step| amends(&step.events.text)) {
            let entry = Entry {
                kind: EntryKind::Amendment,
                about: kept.id.uuid().as_bytes().to_vec(),
                by: None,
                at: step.at.clone(),
                after: None,
                format: step.events.format,
                body_hash: Hash::of(step.events.text.as_bytes()),
            };
            // without a body: it stands in the step
            entries::add_as(connection, path, writer, entry, None)?;
        }
    }
    Ok(())
}

/// Whether a step of form 1 adds something to a closed exam.
fn amends(events: &str) -> bool {
    events.contains("\"amended\"")
        && serde_json::from_str::<Vec<serde_json::Value>>(events)
            .is_ok_and(|events| events.iter().any(|event| event.get("amended").is_some()))
}

/// The changes of boxes, box by box, in the order of their numbers; their text stays byte for byte.
fn enter_box_changes(connection: &Connection, path: &Path, writer: WriterId) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT name, at, format, change FROM old_box_change JOIN old_box ON id = box ORDER BY box, number";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let mut rows = select.query([]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let (name, change): (String, String) = (row.get(0).map_err(failed)?, row.get(3).map_err(failed)?);
        let entry = Entry {
            kind: EntryKind::BoxChange,
            about: BoxKey::of_name(&name).as_str().as_bytes().to_vec(),
            by: None,
            at: row.get(1).map_err(failed)?,
            after: None,
            format: row.get(2).map_err(failed)?,
            body_hash: Hash::of(change.as_bytes()),
        };
        let deflated = body::deflate(change.as_bytes())
            .map_err(|error| LogbookError::unreadable(path, "a change of a box", error.to_string()))?;
        entries::add_as(connection, path, writer, entry, Some(&deflated))?;
    }
    Ok(())
}
