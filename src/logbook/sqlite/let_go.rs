//! Exams of others that are kept no longer: their rows go, and their bytes with them. Entries stay without their bodies.

use std::path::Path;

use rusqlite::{Connection, Transaction};

use super::error::sqlite;
use super::parcels::SPOKEN;
use super::schema;
use crate::logbook::error::LogbookError;
use crate::sharing::{EntryKind, WriterId};

/// Up to which number of a writer bodies of exams are kept no longer; only what was read of others has it.
const LET_GO: &str = "
CREATE TABLE IF NOT EXISTS let_go (
    writer BLOB PRIMARY KEY,
    number INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
";

/// Up to which number of each writer bodies of exams are kept no longer.
pub fn known(connection: &Connection, path: &Path) -> Result<Vec<(WriterId, i64)>, LogbookError> {
    let failed = |error| sqlite(path, error);
    if !schema::has_table(connection, "let_go").map_err(failed)? {
        return Ok(Vec::new());
    }
    let mut select = connection.prepare("SELECT writer, number FROM let_go").map_err(failed)?;
    let rows = select.query_map([], |row| Ok((WriterId::new(row.get(0)?), row.get(1)?)));
    rows.and_then(Iterator::collect).map_err(failed)
}

/// Up to which number those of this writer are kept no longer; 0 where all are kept.
pub fn up_to(connection: &Connection, path: &Path, writer: WriterId) -> Result<i64, LogbookError> {
    let all = known(connection, path)?;
    Ok(all.into_iter().find(|(known, _)| *known == writer).map_or(0, |(_, number)| number))
}

/// Lets go of exams of these writers up to these numbers of their entries, and of what was added in those.
pub fn of_writers(transaction: &Transaction<'_>, path: &Path, further: &[(WriterId, i64)]) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    transaction.execute_batch(LET_GO).map_err(failed)?;
    transaction.execute_batch(SPOKEN).map_err(failed)?;
    let guards = lift_guards(transaction).map_err(failed)?;
    for (writer, number) in further {
        let sql = "INSERT INTO let_go (writer, number) VALUES (?1, ?2)
                   ON CONFLICT (writer) DO UPDATE SET number = max(number, excluded.number)";
        transaction.execute(sql, (writer.uuid(), number)).map_err(failed)?;
        // an exam whose rows are here is listed as this writer's; of one that came from a copy of its logbook first only the entry is
        let exams = "(SELECT exam.number FROM exam JOIN spoken ON spoken.exam = exam.id
                      JOIN entry ON entry.about = exam.id AND entry.kind = ?3 AND entry.writer = spoken.writer
                      WHERE spoken.writer = ?1 AND entry.number <= ?2)";
        for sql in [
            format!("DELETE FROM step WHERE exam IN {exams}"),
            format!("DELETE FROM opening WHERE exam IN {exams}"),
            format!("DELETE FROM exam WHERE number IN {exams}"),
        ] {
            transaction.execute(&sql, (writer.uuid(), number, EntryKind::Exam.name())).map_err(failed)?;
        }
        let sql = "UPDATE entry SET body = NULL
                   WHERE writer = ?1 AND number <= ?2 AND kind IN (?3, ?4) AND body IS NOT NULL";
        let values = (writer.uuid(), number, EntryKind::Exam.name(), EntryKind::Amendment.name());
        transaction.execute(sql, values).map_err(failed)?;
    }
    guards.iter().try_for_each(|guard| transaction.execute_batch(guard)).map_err(failed)
}

/// Lifts what keeps the rows of exams from being removed, for the rest of this transaction; gives what puts it back.
fn lift_guards(transaction: &Transaction<'_>) -> rusqlite::Result<Vec<String>> {
    let sql = "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND name IN ('step_stays', 'opening_stays', 'exam_stays')";
    let mut select = transaction.prepare(sql)?;
    let guards = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let guards: Vec<(String, String)> = guards.collect::<Result<_, _>>()?;
    for (name, _) in &guards {
        transaction.execute_batch(&format!("DROP TRIGGER {name}"))?;
    }
    Ok(guards.into_iter().map(|(_, sql)| sql).collect())
}
