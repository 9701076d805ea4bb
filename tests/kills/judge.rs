//! What must hold once everybody is left alone: confirmed ⊆ local = room, at every seat, each entry once and as it was written.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use dioptray::logbook::parcels::others::{Others, others_of};
use dioptray::logbook::{EntryRow, Logbook};
use dioptray::room::calls::entries;
use dioptray::room::holding::Holds;
use dioptray::room::joining::Caller;
use dioptray::room::link::Link;
use dioptray::sharing::body::inflate;
use dioptray::sharing::news::Holding;
use dioptray::sharing::{EntryKind, Hash, Heads, WriterId, check_chain};
use rand_chacha::ChaCha8Rng;
use rusqlite::{Connection, OpenFlags};
use uuid::Uuid;

use super::Failure;
use super::life::Record;
use super::seat::{in_box, logbook_in, wants};
use super::server_dies::each_once;

/// The largest body that is looked into, in bytes.
const MOST_BYTES: u64 = 1 << 24;

/// Lets every seat ask once more, and compares; gives how many entries of others are known at the seats.
pub fn judge(owner: &Link, folders: &[PathBuf], records: &[Record], chance: &mut ChaCha8Rng) -> Result<u64, Failure> {
    let callers: Vec<Caller> =
        folders.iter().map(|folder| Caller::of(&logbook_in(folder), None)).collect::<Result<_, _>>()?;
    let links: Vec<Link> = callers.iter().map(|caller| Ok(caller.connect()?.0)).collect::<Result<_, Failure>>()?;
    // what all have is there after one round of each, known at each after the next, and then nothing is new
    for round in 0..3 {
        for (caller, link) in callers.iter().zip(&links) {
            let done = caller.exchange(link)?;
            if round == 2 && (done.sent, done.new) != (0, 0) {
                return Err(format!("{}: {done:?} in the third round", caller.joined.seat).into());
            }
        }
    }
    let in_room = each_once(owner)?;
    let mut local = BTreeMap::new();
    for ((caller, link), record) in callers.iter().zip(&links).zip(records) {
        let rows =
            own_is_as_in_the_room(caller, link, record).map_err(|error| format!("{}: {error}", caller.joined.seat))?;
        local.insert(caller.writer, rows);
    }
    let all: BTreeSet<(Uuid, i64, Vec<u8>)> = local.values().flatten().map(key).collect();
    if all.len() as u64 != in_room {
        return Err(format!("{} entries at the seats, {in_room} in the room", all.len()).into());
    }
    lines_are_of_their_exams(owner, &local)?;
    let mut known = 0;
    for caller in &callers {
        known += others_are_known(caller, &all, &local).map_err(|error| format!("{}: {error}", caller.joined.seat))?;
    }
    each_lens_is_where_it_is(owner, &callers, &links, chance)?;
    Ok(known)
}

fn key(row: &EntryRow) -> (Uuid, i64, Vec<u8>) {
    (row.sealed.writer.uuid(), row.sealed.number, row.sealed.hash.as_bytes().to_vec())
}

/// The entries of a seat, which are the same here and there, and what was committed and confirmed is among them.
fn own_is_as_in_the_room(caller: &Caller, link: &Link, record: &Record) -> Result<Vec<EntryRow>, Failure> {
    let logbook = Logbook::open(&caller.path)?;
    logbook.check()?;
    let here = logbook.rows_after(&Heads::default())?;
    let (there, mut spoken_there) = entries(link, caller.writer, 0, i32::MAX)?;
    if here.entries != there {
        let differ = here.entries.iter().zip(&there).find(|(here, there)| here != there);
        return Err(format!("{} here, {} there: {differ:?}", here.entries.len(), there.len()).into());
    }
    let mut spoken_here = here.spoken;
    spoken_here.sort_by_key(|row| row.number);
    spoken_there.sort_by_key(|row| row.number);
    spoken_here.retain(|row| is_closed(&there, row.exam.uuid()));
    if spoken_here != spoken_there {
        return Err("its exams are spoken of by other numbers there".into());
    }
    check_chain(caller.writer, there.iter().map(|row| &row.sealed))?;
    for (number, row) in (1..).zip(&there) {
        let body = row.body.as_deref().ok_or_else(|| format!("entry {number} has no body"))?;
        if row.sealed.number != number || Hash::of(&inflate(body, MOST_BYTES)?) != row.sealed.entry.body_hash {
            return Err(format!("entry {number} is not as it was written").into());
        }
    }
    for (what, said) in [("committed", &record.committed), ("confirmed", &record.confirmed)] {
        for (number, hash) in said {
            let row = usize::try_from(number - 1).ok().and_then(|at| there.get(at));
            if row.is_none_or(|row| row.sealed.hash.to_string() != *hash) {
                let is = row.map_or("not there".to_owned(), |row| row.sealed.hash.to_string());
                return Err(format!("entry {number} was {what} as {hash} and is {is}, of {}", there.len()).into());
            }
        }
    }
    Ok(there)
}

fn is_closed(rows: &[EntryRow], exam: Uuid) -> bool {
    rows.iter().any(|row| row.sealed.entry.kind == EntryKind::Exam && row.sealed.entry.about == exam.as_bytes())
}

/// One line for each closed exam, and no step of one that is closed.
fn lines_are_of_their_exams(owner: &Link, local: &BTreeMap<WriterId, Vec<EntryRow>>) -> Result<(), Failure> {
    let exams = local.values().flatten().filter(|row| row.sealed.entry.kind == EntryKind::Exam).count();
    let sql = "SELECT (SELECT count(*) FROM room.exam), (SELECT count(*) FROM room.live_exam AS l JOIN room.exam AS e ON e.id = l.id)";
    let rows = owner.call(sql, &[])?;
    let (lines, open): (i64, i64) = (rows[0].get(0), rows[0].get(1));
    if (lines.unsigned_abs() as usize, open) != (exams, 0) {
        return Err(format!("{exams} closed exams, {lines} lines of them, {open} of them still open").into());
    }
    Ok(())
}

/// What a seat knows of others is all that they have, and nothing else; gives how much that is.
fn others_are_known(
    caller: &Caller,
    all: &BTreeSet<(Uuid, i64, Vec<u8>)>,
    local: &BTreeMap<WriterId, Vec<EntryRow>>,
) -> Result<u64, Failure> {
    let path = others_of(&caller.path);
    let kept = kept_of_others(&path)?;
    let must_be: Vec<_> = all.iter().filter(|(writer, _, _)| *writer != caller.writer.uuid()).cloned().collect();
    if kept != must_be {
        return Err(format!("{} entries of others are known, and there are {}", kept.len(), must_be.len()).into());
    }
    let others = Others::beside(&caller.path)?.ok_or("nothing is known of others")?;
    others.check()?;
    let of_others = local.iter().filter(|(writer, _)| **writer != caller.writer).flat_map(|(_, rows)| rows);
    let exams = of_others.filter(|row| row.sealed.entry.kind == EntryKind::Exam).count();
    let listed = others.exams()?;
    if (listed.exams.len(), listed.passed_over.len()) != (exams, 0) {
        let (listed, not) = (listed.exams.len(), listed.passed_over.len());
        return Err(format!("{listed} exams of others are listed and {not} cannot be read, of {exams}").into());
    }
    Ok(kept.len() as u64)
}

fn kept_of_others(path: &Path) -> Result<Vec<(Uuid, i64, Vec<u8>)>, Failure> {
    let file = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut select = file.prepare("SELECT writer, number, hash FROM entry ORDER BY writer, number, hash")?;
    let rows = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Each seat has some lenses now, whatever the room counted there when it was killed: that is what is counted then, and no piece at
/// two seats but where all its like are at others.
fn each_lens_is_where_it_is(
    owner: &Link,
    callers: &[Caller],
    links: &[Link],
    chance: &mut ChaCha8Rng,
) -> Result<(), Failure> {
    let wanted: Vec<Vec<Holding>> = callers.iter().map(|_| wants(chance)).collect();
    let mut holds: Vec<Holds> = callers.iter().map(|_| Holds::default()).collect();
    for _ in 0..2 {
        for (((caller, link), holds), wanted) in callers.iter().zip(links).zip(&mut holds).zip(&wanted) {
            holds.want(in_box().key.as_str().to_owned(), wanted.clone());
            holds.settle(link, caller.writer)?;
        }
    }
    let sql =
        "SELECT home, lens, number, false FROM room.held UNION ALL SELECT home, lens, number, true FROM room.also_held";
    let mut counted: BTreeMap<(Uuid, String), usize> = BTreeMap::new();
    let mut pieces: BTreeSet<(String, i32)> = BTreeSet::new();
    for row in owner.call(sql, &[])? {
        let (home, lens, number, is_also): (Uuid, String, i32, bool) = (row.get(0), row.get(1), row.get(2), row.get(3));
        *counted.entry((home, lens.clone())).or_default() += 1;
        if !is_also && !pieces.insert((lens.clone(), number)) {
            return Err(format!("{lens} #{number} is held twice").into());
        }
    }
    let mut must_be: BTreeMap<(Uuid, String), usize> = BTreeMap::new();
    for (caller, wanted) in callers.iter().zip(&wanted) {
        for one in wanted {
            *must_be.entry((caller.writer.uuid(), one.lens.clone())).or_default() += 1;
        }
    }
    if counted != must_be {
        return Err(format!("counted as held: {counted:?}; before the eyes: {must_be:?}").into());
    }
    Ok(())
}
