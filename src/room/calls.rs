//! What a room can be asked, in values.

use uuid::Uuid;

use super::error::RoomError;
use super::hint::Hint;
use super::link::Link;
use super::prepare::{FORM, Role};
use crate::logbook::{EntryRow, ExamId, SpokenRow};
use crate::sharing::{Entry, EntryKind, Hash, Sealed, SeatName, WriterId};

/// What a seat is told when it says hello.
#[derive(Debug, Clone, PartialEq)]
pub struct Welcome {
    /// Its site, as the room has it.
    pub site: Option<String>,
    /// What its login may.
    pub role: Role,
    /// The server's clock, in seconds since 1970 (UTC).
    pub clock_s: f64,
}

/// How far the room knows a writer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownThere {
    /// Whose.
    pub writer: WriterId,
    /// The seat.
    pub seat: String,
    /// The site of that, if it has one.
    pub site: Option<String>,
    /// The number of its last entry; 0 before the first.
    pub number: i64,
    /// The hash of that.
    pub hash: Hash,
    /// Up to which number bodies of exams are kept no longer; 0 where all are.
    pub let_go: i64,
}

/// An exam among what is sent, as the lists of the room name it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// Its number at its seat.
    pub spoken: SpokenRow,
    /// Its label.
    pub label: Option<String>,
}

/// A seat, as the room has it.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatThere {
    /// Its name.
    pub name: String,
    /// Its site.
    pub site: Option<String>,
    /// When it was heard last, in seconds since 1970 (UTC), by the server's clock.
    pub heard_s: f64,
    /// How long ago that was, by the same clock, in seconds.
    pub ago_s: f64,
    /// The number of its last entry.
    pub head: i64,
    /// Whether it left the room.
    pub is_gone: bool,
}

/// Who calls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Home<'a> {
    /// The writer that the logbook is now.
    pub writer: WriterId,
    /// Its seat.
    pub seat: &'a SeatName,
    /// Its site, where one was said.
    pub site: Option<&'a str>,
    /// The computer, by what another cannot tell it from.
    pub machine: &'a str,
}

fn hash(bytes: &[u8], what: &str) -> Result<Hash, RoomError> {
    Hash::from_bytes(bytes).ok_or_else(|| RoomError::Unreadable { what: what.to_owned() })
}

/// Takes the seat, or says that it is there again.
///
/// # Errors
/// When the room refuses the login, the seat or the site, or is of a newer form.
pub fn hello(link: &Link, home: Home<'_>) -> Result<Welcome, RoomError> {
    let values: [&(dyn tokio_postgres::types::ToSql + Sync); 4] =
        [&home.writer.uuid(), &home.seat.as_str(), &home.site, &home.machine];
    let rows = link.call("SELECT form, site, role, clock FROM room.hello($1, $2, $3, $4)", &values)?;
    let row = rows.first().ok_or_else(|| RoomError::Unreadable { what: "no welcome".to_owned() })?;
    let there: i32 = row.get(0);
    if there > FORM {
        return Err(RoomError::Newer { there, here: FORM });
    }
    let role = Role::from_name(row.get(2)).ok_or_else(|| RoomError::Unreadable { what: "a role".to_owned() })?;
    Ok(Welcome { site: row.get(1), role, clock_s: row.get(3) })
}

/// Leaves the room; what was sent stays there, and the name is not given to another.
///
/// # Errors
/// As [`Link::call`].
pub fn leave(link: &Link, home: WriterId) -> Result<(), RoomError> {
    link.call("SELECT room.leave($1)", &[&home.uuid()]).map(|_| ())
}

/// How far each writer is known in the room.
///
/// # Errors
/// As [`Link::call`].
pub fn heads(link: &Link, home: WriterId) -> Result<Vec<KnownThere>, RoomError> {
    let rows = link.call("SELECT writer, seat, site, head, head_hash, let_go FROM room.heads($1)", &[&home.uuid()])?;
    let one = |row: &tokio_postgres::Row| {
        Ok(KnownThere {
            writer: WriterId::new(row.get(0)),
            seat: row.get(1),
            site: row.get(2),
            number: row.get(3),
            hash: hash(row.get(4), "the hash of a writer's last entry")?,
            let_go: row.get(5),
        })
    };
    rows.iter().map(one).collect()
}

/// The number of the last entry of one writer; 0 before the first, or where the login may not see it.
///
/// # Errors
/// As [`Link::call`].
pub fn head_of(link: &Link, writer: WriterId) -> Result<i64, RoomError> {
    let rows = link.call("SELECT room.head_of($1)", &[&writer.uuid()])?;
    Ok(rows.first().and_then(|row| row.get(0)).unwrap_or(0))
}

/// The seats of the room.
///
/// # Errors
/// As [`Link::call`].
pub fn seats(link: &Link, home: WriterId) -> Result<Vec<SeatThere>, RoomError> {
    let sql = "SELECT seat, site, heard, ago, head, is_gone FROM room.seats($1)";
    let one = |row: tokio_postgres::Row| SeatThere {
        name: row.get(0),
        site: row.get(1),
        heard_s: row.get(2),
        ago_s: row.get(3),
        head: row.get(4),
        is_gone: row.get(5),
    };
    Ok(link.call(sql, &[&home.uuid()])?.into_iter().map(one).collect())
}

/// A lens that was counted at two seats at one moment, which nobody has looked at yet.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedTwice {
    /// By which it is settled.
    pub number: i64,
    /// When, in seconds since 1970 (UTC), by the server's clock.
    pub at_s: f64,
    /// The key of the box.
    pub in_box: String,
    /// The lens, as its box writes it.
    pub lens: String,
    /// The two seats.
    pub seats: [String; 2],
}

/// What was counted at two seats and is not settled.
///
/// # Errors
/// As [`Link::call`].
pub fn counted_twice(link: &Link, home: WriterId) -> Result<Vec<CountedTwice>, RoomError> {
    let sql = "SELECT number, at, box, lens, one, other FROM room.not_settled($1)";
    let one = |row: tokio_postgres::Row| CountedTwice {
        number: row.get(0),
        at_s: row.get(1),
        in_box: row.get(2),
        lens: row.get(3),
        seats: [row.get(4), row.get(5)],
    };
    Ok(link.call(sql, &[&home.uuid()])?.into_iter().map(one).collect())
}

/// Somebody has looked; whether there was such a line.
///
/// # Errors
/// As [`Link::call`].
pub fn settle_counted(link: &Link, home: WriterId, number: i64) -> Result<bool, RoomError> {
    let rows = link.call("SELECT room.settle($1, $2)", &[&home.uuid(), &number])?;
    Ok(rows.first().is_some_and(|row| row.get(0)))
}

/// Puts the state of a box into the room, where it is not there yet.
///
/// # Errors
/// As [`Link::call`].
pub fn keep_box_state(link: &Link, state: Hash, content: &[u8]) -> Result<(), RoomError> {
    link.call("SELECT room.keep_box_state($1, $2)", &[&state.as_bytes().as_slice(), &content]).map(|_| ())
}

/// Sends entries of one writer that follow the one with this number and hash; whether they were added: they are not where the
/// room's last one is another.
///
/// # Errors
/// As [`Link::call`].
pub fn ship(
    link: &Link,
    home: WriterId,
    before: (i64, Hash),
    rows: &[EntryRow],
    named: &[Named],
) -> Result<bool, RoomError> {
    let Some(writer) = rows.first().map(|row| row.sealed.writer.uuid()) else { return Ok(true) };
    let entry = |row: &EntryRow| row.sealed.entry.clone();
    let kinds: Vec<String> = rows.iter().map(|row| entry(row).kind.name().to_owned()).collect();
    let abouts: Vec<&[u8]> = rows.iter().map(|row| row.sealed.entry.about.as_slice()).collect();
    let bys: Vec<Option<&str>> = rows.iter().map(|row| row.sealed.entry.by.as_deref()).collect();
    let ats: Vec<&str> = rows.iter().map(|row| row.sealed.entry.at.as_str()).collect();
    let afters: Vec<Option<&str>> = rows.iter().map(|row| row.sealed.entry.after.as_deref()).collect();
    let formats: Vec<i64> = rows.iter().map(|row| row.sealed.entry.format).collect();
    let body_hashes: Vec<&[u8]> = rows.iter().map(|row| row.sealed.entry.body_hash.as_bytes().as_slice()).collect();
    let hashes: Vec<&[u8]> = rows.iter().map(|row| row.sealed.hash.as_bytes().as_slice()).collect();
    let bodies: Vec<Option<&[u8]>> = rows.iter().map(|row| row.body.as_deref()).collect();
    let exams: Vec<Vec<u8>> = named.iter().map(|exam| exam.spoken.exam.uuid().as_bytes().to_vec()).collect();
    let numbers: Vec<i64> = named.iter().map(|exam| exam.spoken.number).collect();
    let labels: Vec<Option<&str>> = named.iter().map(|exam| exam.label.as_deref()).collect();
    let (number, hash) = before;
    let answer = link.call(
        "SELECT room.ship($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)",
        &[
            &home.uuid(),
            &writer,
            &number,
            &hash.as_bytes().as_slice(),
            &kinds,
            &abouts,
            &bys,
            &ats,
            &afters,
            &formats,
            &body_hashes,
            &hashes,
            &bodies,
            &exams,
            &numbers,
            &labels,
        ],
    )?;
    Ok(answer.first().is_some_and(|row| row.get::<_, Option<i64>>(0).is_some()))
}

/// Says to the others that something is new.
///
/// # Errors
/// As [`Link::call`].
pub fn knock(link: &Link, hint: Hint) -> Result<(), RoomError> {
    link.call("SELECT room.knock($1)", &[&hint.text()]).map(|_| ())
}

/// Entries of a writer after a number, at most so many, with the numbers by which the exams are spoken of.
///
/// # Errors
/// As [`Link::call`].
pub fn entries(
    link: &Link,
    writer: WriterId,
    after: i64,
    most: i32,
) -> Result<(Vec<EntryRow>, Vec<SpokenRow>), RoomError> {
    let sql = "SELECT number, kind, about, \"by\", at, after, format, body_hash, hash, body, spoken
               FROM room.entries($1, $2, $3)";
    let (mut entries, mut spoken) = (Vec::new(), Vec::new());
    for row in link.call(sql, &[&writer.uuid(), &after, &most])? {
        let about: Vec<u8> = row.get(2);
        if let (Some(number), Ok(exam)) = (row.get::<_, Option<i64>>(10), Uuid::from_slice(&about)) {
            spoken.push(SpokenRow { exam: ExamId::new(exam), writer, number });
        }
        let entry = Entry {
            kind: EntryKind::from_name(row.get(1)),
            about,
            by: row.get(3),
            at: row.get(4),
            after: row.get(5),
            format: row.get(6),
            body_hash: hash(row.get(7), "the hash of a body")?,
        };
        let sealed = Sealed { writer, number: row.get(0), entry, hash: hash(row.get(8), "the hash of an entry")? };
        entries.push(EntryRow { sealed, body: row.get(9) });
    }
    Ok((entries, spoken))
}

/// The states of boxes with these hashes, as far as the room has them.
///
/// # Errors
/// As [`Link::call`].
pub fn box_states(link: &Link, wanted: &[Hash]) -> Result<Vec<(Hash, Vec<u8>)>, RoomError> {
    let hashes: Vec<&[u8]> = wanted.iter().map(|hash| hash.as_bytes().as_slice()).collect();
    let rows = link.call("SELECT hash, content FROM room.box_states($1)", &[&hashes])?;
    rows.iter().map(|row| Ok((hash(row.get(0), "the hash of a box")?, row.get(1)))).collect()
}
