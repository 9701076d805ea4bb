//! The tables of the logbook, and how an older file is brought up to date.

use rusqlite::{Connection, Transaction};

/// Marks an SQLite file as a Dioptray logbook (SQLite's `application_id`): the letters `Dptr`.
pub const APPLICATION_ID: i64 = 0x4470_7472;

/// The form that this program writes (SQLite's `user_version`): the number of migrations that made it.
pub const FORM: i64 = 1;

/// Each brings a file from the form of its place in this list to the next one. A migration that has been released is
/// never edited.
const MIGRATIONS: [&str; FORM as usize] = [FORM_1];

/// Openings stand apart, because a row is written whole: a key must not write the box again that the exam began with.
/// Openings, steps and changes are only ever added: the file itself refuses anything else.
const FORM_1: &str = "
CREATE TABLE box (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE exam (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    box INTEGER NOT NULL REFERENCES box,
    opened TEXT NOT NULL,
    label TEXT,
    finished TEXT,
    put_aside TEXT
) STRICT;

CREATE TABLE opening (
    exam INTEGER PRIMARY KEY REFERENCES exam,
    format INTEGER NOT NULL,
    opening TEXT NOT NULL
) STRICT;

CREATE TABLE step (
    exam INTEGER NOT NULL REFERENCES exam,
    number INTEGER NOT NULL CHECK (number > 0),
    at TEXT NOT NULL,
    format INTEGER NOT NULL,
    events TEXT NOT NULL,
    PRIMARY KEY (exam, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE box_change (
    box INTEGER NOT NULL REFERENCES box,
    number INTEGER NOT NULL CHECK (number > 0),
    at TEXT NOT NULL,
    format INTEGER NOT NULL,
    change TEXT NOT NULL,
    PRIMARY KEY (box, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE claim (
    box INTEGER PRIMARY KEY REFERENCES box,
    process INTEGER NOT NULL,
    host TEXT,
    since TEXT NOT NULL,
    exam INTEGER REFERENCES exam
) STRICT;

CREATE TABLE last_used (
    kind TEXT PRIMARY KEY CHECK (kind IN ('box', 'frame')),
    file TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT;

CREATE TRIGGER step_is_kept BEFORE UPDATE ON step
BEGIN SELECT RAISE(ABORT, 'steps are only ever added'); END;
CREATE TRIGGER step_stays BEFORE DELETE ON step
BEGIN SELECT RAISE(ABORT, 'steps are only ever added'); END;
CREATE TRIGGER box_change_is_kept BEFORE UPDATE ON box_change
BEGIN SELECT RAISE(ABORT, 'changes of a box are only ever added'); END;
CREATE TRIGGER box_change_stays BEFORE DELETE ON box_change
BEGIN SELECT RAISE(ABORT, 'changes of a box are only ever added'); END;
CREATE TRIGGER opening_is_kept BEFORE UPDATE ON opening
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER opening_stays BEFORE DELETE ON opening
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER exam_is_kept BEFORE UPDATE OF number, box, opened ON exam
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER exam_stays BEFORE DELETE ON exam
BEGIN SELECT RAISE(ABORT, 'exams are only ever added'); END;
";

/// What an opened SQLite file turns out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Identity {
    /// Nothing is in it yet.
    Empty,
    /// A logbook of this form.
    Logbook(i64),
    /// A database of another program.
    Foreign,
}

/// Finds out what a file is, without writing to it.
pub fn identify(connection: &Connection) -> rusqlite::Result<Identity> {
    let number = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0));
    let objects = number("SELECT count(*) FROM sqlite_schema")?;
    let application = number("PRAGMA application_id")?;
    let form = number("PRAGMA user_version")?;
    Ok(match (application, form, objects) {
        (APPLICATION_ID, ..) => Identity::Logbook(form),
        (0, 0, 0) => Identity::Empty,
        _ => Identity::Foreign,
    })
}

/// Brings an empty or older file to [`FORM`], whole or not at all.
pub fn migrate(transaction: &Transaction<'_>) -> rusqlite::Result<()> {
    let form: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    // Two programs may start on a new file at once: the second finds the work done.
    if form == FORM {
        return Ok(());
    }
    for migration in MIGRATIONS.iter().skip(usize::try_from(form).unwrap_or(0)) {
        transaction.execute_batch(migration)?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", FORM)
}
