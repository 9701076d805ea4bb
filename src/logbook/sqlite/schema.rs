//! The tables of the logbook, and what a file turns out to be.

use rusqlite::Connection;

/// Marks an SQLite file as a Dioptray logbook (SQLite's `application_id`): the letters `Dptr`.
pub const APPLICATION_ID: i64 = 0x4470_7472;

/// The form that this program writes (SQLite's `user_version`).
pub const FORM: i64 = 2;

/// The tables of form 2. What is kept is only ever added: the file itself refuses anything else.
///
/// Openings stand apart, because a row is written whole: a key must not write again how the exam began. Steps and entries
/// have rows of their own number: rows of more than some 1,000 bytes take a page each in a table without one.
pub const TABLES: &str = "
CREATE TABLE box (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    file TEXT
) STRICT;

CREATE TABLE box_key (
    key TEXT PRIMARY KEY,
    box INTEGER NOT NULL REFERENCES box
) STRICT;

CREATE TABLE exam (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    id BLOB NOT NULL UNIQUE,
    box INTEGER NOT NULL REFERENCES box,
    opened TEXT NOT NULL,
    \"by\" TEXT,
    label TEXT,
    finished TEXT,
    put_aside TEXT,
    found TEXT
) STRICT;

CREATE TABLE opening (
    exam INTEGER PRIMARY KEY REFERENCES exam,
    format INTEGER NOT NULL,
    opening TEXT NOT NULL
) STRICT;

CREATE TABLE box_state (
    row INTEGER PRIMARY KEY,
    hash BLOB NOT NULL UNIQUE,
    content BLOB NOT NULL
) STRICT;

CREATE TABLE step (
    row INTEGER PRIMARY KEY,
    exam INTEGER NOT NULL REFERENCES exam,
    number INTEGER NOT NULL CHECK (number > 0),
    at TEXT NOT NULL,
    format INTEGER NOT NULL,
    events TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX step_number ON step (exam, number);

CREATE TABLE writer (
    id BLOB PRIMARY KEY,
    seat TEXT NOT NULL,
    site TEXT,
    machine TEXT NOT NULL,
    public_key BLOB
) STRICT;

CREATE TABLE me (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    writer BLOB NOT NULL REFERENCES writer
) STRICT;

CREATE TABLE entry (
    row INTEGER PRIMARY KEY,
    writer BLOB NOT NULL REFERENCES writer,
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    about BLOB NOT NULL,
    \"by\" TEXT,
    at TEXT NOT NULL,
    after TEXT,
    format INTEGER NOT NULL,
    body_hash BLOB NOT NULL,
    hash BLOB NOT NULL,
    body BLOB,
    UNIQUE (writer, number)
) STRICT;
CREATE INDEX entry_about ON entry (about, kind);

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
";

/// What files of [`FORM`] that an earlier program made do not have yet: whether a program has the file open, so that a log
/// beside it is looked for; the exams still open, found without looking at all; which further boxes an entry is about;
/// stock-takes in progress; and days. Of a writer that another copy of the logbook went on as too, after which number they parted.
const CAME_LATER: &str = "
CREATE TABLE IF NOT EXISTS in_use (one INTEGER PRIMARY KEY CHECK (one = 1)) STRICT;
CREATE INDEX IF NOT EXISTS exam_open ON exam (number) WHERE finished IS NULL AND put_aside IS NULL;
CREATE INDEX IF NOT EXISTS exam_not_noted ON exam (number) WHERE found IS NULL;
CREATE INDEX IF NOT EXISTS entry_of_a_day ON entry (about, row) WHERE kind = 'day';
CREATE TABLE IF NOT EXISTS entry_box (
    entry INTEGER NOT NULL REFERENCES entry,
    box INTEGER NOT NULL REFERENCES box,
    PRIMARY KEY (box, entry)
) STRICT, WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS parted (
    writer BLOB PRIMARY KEY REFERENCES writer,
    after INTEGER NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS stock_take (
    box INTEGER PRIMARY KEY REFERENCES box,
    at TEXT NOT NULL,
    state TEXT NOT NULL
) STRICT;
";

/// What refuses to change or drop what is kept. Made last: bringing an older file to this form copies rows.
pub const TRIGGERS: &str = "
CREATE TRIGGER step_is_kept BEFORE UPDATE ON step
BEGIN SELECT RAISE(ABORT, 'steps are only ever added'); END;
CREATE TRIGGER step_stays BEFORE DELETE ON step
BEGIN SELECT RAISE(ABORT, 'steps are only ever added'); END;
CREATE TRIGGER entry_is_kept BEFORE UPDATE OF row, writer, number, kind, about, \"by\", at, after, format, body_hash, hash ON entry
BEGIN SELECT RAISE(ABORT, 'entries are only ever added'); END;
CREATE TRIGGER entry_body_is_kept BEFORE UPDATE OF body ON entry WHEN NEW.body IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'entries are only ever added'); END;
CREATE TRIGGER entry_stays BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are only ever added'); END;
CREATE TRIGGER opening_is_kept BEFORE UPDATE ON opening
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER opening_stays BEFORE DELETE ON opening
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER box_state_is_kept BEFORE UPDATE ON box_state
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER box_state_stays BEFORE DELETE ON box_state
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
CREATE TRIGGER exam_is_kept BEFORE UPDATE OF number, id, box, opened, \"by\" ON exam
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

impl Identity {
    /// Whether it is a logbook, of whatever form.
    pub fn is_a_logbook(self) -> bool {
        matches!(self, Self::Logbook(_))
    }
}

/// Finds out what a file is, without writing to it.
pub fn identify(connection: &Connection) -> rusqlite::Result<Identity> {
    // one view of the file for all three: another program may be making a logbook of it just now
    let _view = if connection.is_autocommit() { Some(connection.unchecked_transaction()?) } else { None };
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

/// Makes the tables of [`FORM`]; `fill` puts rows in before they are guarded.
pub fn make<E: From<rusqlite::Error>>(
    connection: &Connection,
    fill: impl FnOnce(&Connection) -> Result<(), E>,
) -> Result<(), E> {
    connection.execute_batch(TABLES)?;
    add_what_came_later(connection)?;
    fill(connection)?;
    connection.execute_batch(TRIGGERS)?;
    connection.pragma_update(None, "application_id", APPLICATION_ID)?;
    Ok(connection.pragma_update(None, "user_version", FORM)?)
}

/// Adds what an earlier program of the same form did not make; it takes no notice of it.
pub fn add_what_came_later(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(CAME_LATER)
}

/// Whether a table is there that came later.
pub fn has_table(connection: &Connection, name: &str) -> rusqlite::Result<bool> {
    let sql = "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = ?1";
    connection.query_row(sql, [name], |row| row.get::<_, i64>(0)).map(|tables| tables > 0)
}

/// Notes that a program has the file open.
pub fn note_in_use(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute("INSERT INTO in_use (one) VALUES (1) ON CONFLICT DO NOTHING", []).map(|_| ())
}

/// Notes that a program has ended that had the file open.
pub fn note_not_in_use(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute("DELETE FROM in_use", []).map(|_| ())
}
