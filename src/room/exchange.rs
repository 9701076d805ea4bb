//! One round with the room: what is new here goes there, and what is new there comes here.

use std::collections::{BTreeMap, HashSet};
use std::path::Path;
use std::thread;
use std::time::Duration;

use super::calls::{Home, KnownThere, Named, box_states, entries, head_of, heads, keep_box_state, knock, ship};
use super::erasing::note_what_was_erased;
use super::error::RoomError;
use super::hint::Hint;
use super::link::Link;
use super::sent::Sent;
use crate::logbook::parcels::exchange::{box_state_wanted, known_of_others, take_in_rows};
use crate::logbook::parcels::let_go::let_go_of;
use crate::logbook::{EntryRow, ExamNumber, Logbook, ParcelRows, SpokenRow, WriterRow};
use crate::sharing::{Hash, Heads, WriterId};

/// How many entries are sent in one go, some 4 kB each.
const SENT_AT_ONCE: usize = 200;
/// How many are asked for in one go, and how many are put away in one go: what is known is looked at each time.
const ASKED_AT_ONCE: i32 = 200;
const PUT_AWAY_AT_ONCE: usize = 4000;

/// While something is worked at it is looked so often for what was told.
const LOOKS_EVERY: Duration = Duration::from_millis(5);

/// What is done between two goes of a long round, so that nobody waits for its end.
pub type Meanwhile<'a> = &'a mut dyn FnMut() -> Result<(), RoomError>;

/// What one round did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Exchanged {
    /// Entries that were sent.
    pub sent: usize,
    /// Entries that came and were new.
    pub new: usize,
}

/// What the room knows of the writers of this logbook, and of others.
struct Known {
    /// Those whose entries are sent.
    own: Vec<(WriterId, i64, Hash)>,
    there: BTreeMap<WriterId, KnownThere>,
}

/// After which of its entries a logbook and what the room has of it parted; none where all that is here is there too.
///
/// # Errors
/// When the room is away or refuses.
pub fn parted_after(logbook: &Logbook, link: &Link, home: WriterId) -> Result<Option<i64>, RoomError> {
    let last =
        logbook.last_entries()?.into_iter().find(|(writer, _, _)| *writer == home).map_or(0, |(_, last, _)| last);
    let there = head_of(link, home)?;
    // alike up to some number, and different from there on
    let (mut alike, mut end) = (0, last.min(there));
    while alike < end {
        let number = alike + (end - alike + 1) / 2;
        let (rows, _) = entries(link, home, number - 1, 1)?;
        let hash = rows.first().filter(|row| row.sealed.number == number).map(|row| row.sealed.hash);
        let hash = hash.ok_or_else(|| RoomError::Unreadable { what: format!("entry {number}") })?;
        if logbook.hash_of(home, number)? == Some(hash) {
            alike = number;
        } else {
            end = number - 1;
        }
    }
    Ok((alike < last).then_some(alike))
}

/// Sends what the room does not have and takes in what is not here, as often as is needed.
///
/// # Errors
/// When the room is away or refuses, or has another entry of this logbook than the logbook: nothing is sent then.
pub fn exchange(path: &Path, link: &Link, home: Home<'_>, meanwhile: Meanwhile<'_>) -> Result<Exchanged, RoomError> {
    let logbook = Logbook::open_read_only(path)?;
    let known = Known::of(&logbook, link, home)?;
    known.refuse_if_parted(&logbook, home.writer)?;
    let (sent, last_there) = send(path, &logbook, link, home.writer, &known, meanwhile)?;
    let mut there = Heads::default();
    for (writer, number) in last_there {
        there.learn(writer, number);
    }
    Sent::note(path, &there);
    drop(logbook);
    // before anything of it is fetched: what comes without its body is known to be let go of
    let_go(path, &known)?;
    let new = fetch(path, link, &known, home.writer, meanwhile)?;
    // after it: what was taken in a moment ago may be erased already
    note_what_was_erased(path, link)?;
    Ok(Exchanged { sent, new })
}

/// How many entries the logbook has that the room has not, as far as the room was heard.
///
/// # Errors
/// When the logbook cannot be read.
pub fn unsent(logbook: &Logbook, there: &Heads) -> Result<i64, RoomError> {
    let known = |writer| there.iter().find(|(known, _)| *known == writer).map_or(0, |(_, number)| number);
    let last = logbook.last_entries()?.into_iter();
    Ok(last.map(|(writer, number, _)| (number - known(writer)).max(0)).sum())
}

impl Known {
    fn of(logbook: &Logbook, link: &Link, home: Home<'_>) -> Result<Self, RoomError> {
        let there = heads(link, home.writer)?.into_iter().map(|known| (known.writer, known)).collect();
        Ok(Self { own: logbook.last_entries()?, there })
    }

    /// A copied logbook, or an old copy put back, shows itself: the room's last entry of it is not among its own. What it was before
    /// it was copied to another computer may have gone on there.
    fn refuse_if_parted(&self, logbook: &Logbook, home: WriterId) -> Result<(), RoomError> {
        for (writer, last, _) in &self.own {
            let Some(there) = self.there.get(writer).filter(|there| there.number > 0) else { continue };
            let went_on_elsewhere = *writer != home && there.number > *last;
            if !went_on_elsewhere && logbook.hash_of(*writer, there.number)? != Some(there.hash) {
                return Err(RoomError::Parted { number: there.number });
            }
        }
        Ok(())
    }

    fn number_there(&self, writer: WriterId) -> (i64, Hash) {
        self.there.get(&writer).map_or((0, Hash::NONE), |there| (there.number, there.hash))
    }
}

/// Sends; gives how many entries, and the last of each writer that the room has then.
fn send(
    path: &Path,
    logbook: &Logbook,
    link: &Link,
    home: WriterId,
    known: &Known,
    meanwhile: Meanwhile<'_>,
) -> Result<(usize, BTreeMap<WriterId, i64>), RoomError> {
    let mut there: BTreeMap<WriterId, i64> =
        known.own.iter().map(|(writer, _, _)| (*writer, known.number_there(*writer).0)).collect();
    if known.own.iter().all(|(writer, number, _)| there[writer] >= *number) {
        return Ok((0, there));
    }
    let mut heads = Heads::default();
    there.iter().filter(|(_, number)| **number > 0).for_each(|(writer, number)| heads.learn(*writer, *number));
    let rows = while_working(meanwhile, || Logbook::open_read_only(path)?.rows_after(&heads))??;
    for (hash, content) in &rows.box_states {
        keep_box_state(link, *hash, content)?;
    }
    let mut sent = 0;
    for of_writer in rows.entries.chunk_by(|one, next| one.sealed.writer == next.sealed.writer) {
        let writer = of_writer[0].sealed.writer;
        let new = if rows.followed.contains(&writer) { &of_writer[1..] } else { of_writer };
        let mut before = known.number_there(writer);
        for batch in new.chunks(SENT_AT_ONCE) {
            let abouts: HashSet<&[u8]> = batch.iter().map(|row| row.sealed.entry.about.as_slice()).collect();
            let is_here = |exam: &&SpokenRow| abouts.contains(exam.exam.uuid().as_bytes().as_slice());
            let exams = rows.spoken.iter().filter(is_here).map(|spoken| named(logbook, spoken));
            if !ship(link, home, before, batch, &exams.collect::<Result<Vec<_>, _>>()?)? {
                // another program sent in between, or the file parted: the next round asks again
                break;
            }
            sent += batch.len();
            before = batch.last().map_or(before, |last| (last.sealed.number, last.sealed.hash));
            there.insert(writer, before.0);
            meanwhile()?;
        }
    }
    if sent > 0 {
        knock(link, Hint::Entries)?;
    }
    Ok((sent, there))
}

/// By what the lists of the room name an exam.
fn named(logbook: &Logbook, spoken: &SpokenRow) -> Result<Named, RoomError> {
    Ok(Named { spoken: *spoken, label: logbook.exam_line(ExamNumber(spoken.number))?.label })
}

/// Has what is here of others be kept no longer than in the room.
fn let_go(path: &Path, known: &Known) -> Result<(), RoomError> {
    let gone: BTreeMap<WriterId, i64> =
        known.there.values().filter(|there| there.let_go > 0).map(|there| (there.writer, there.let_go)).collect();
    Ok(let_go_of(path, &gone)?)
}

fn fetch(
    path: &Path,
    link: &Link,
    known: &Known,
    home: WriterId,
    meanwhile: Meanwhile<'_>,
) -> Result<usize, RoomError> {
    let own: BTreeMap<WriterId, i64> = known.own.iter().map(|(writer, number, _)| (*writer, *number)).collect();
    let here = known_of_others(path, &own)?;
    let mut gathered = ParcelRows::default();
    let mut new = 0;
    for there in known.there.values().filter(|there| there.writer != home) {
        let mut last = here.get(&there.writer).copied().unwrap_or(0);
        while last < there.number {
            let is_begun = gathered.writers.iter().any(|writer| writer.id == there.writer);
            // the one before says what the next one follows
            let after = if is_begun || last == 0 { last } else { last - 1 };
            let (mut rows, spoken) = entries(link, there.writer, after, ASKED_AT_ONCE)?;
            let Some(end) = rows.last().map(|row| row.sealed.number).filter(|end| *end > last) else { break };
            if !is_begun {
                let (seat, site) = (there.seat.clone(), there.site.clone());
                gathered.writers.push(WriterRow { id: there.writer, seat, site, key: None });
                if last > 0 {
                    gathered.followed.push(there.writer);
                    rows[0].body = None;
                }
            }
            want_box_states(link, &rows, &mut gathered)?;
            gathered.entries.append(&mut rows);
            gathered.spoken.extend(spoken);
            last = end;
            if gathered.entries.len() >= PUT_AWAY_AT_ONCE {
                new += put_away(path, link, std::mem::take(&mut gathered), meanwhile)?;
            }
            meanwhile()?;
        }
    }
    new += put_away(path, link, gathered, meanwhile)?;
    Ok(new)
}

fn want_box_states(link: &Link, rows: &[EntryRow], gathered: &mut ParcelRows) -> Result<(), RoomError> {
    let mut wanted: Vec<Hash> = rows.iter().filter_map(box_state_wanted).collect();
    wanted.sort();
    wanted.dedup();
    wanted.retain(|hash| gathered.box_states.iter().all(|(known, _)| known != hash));
    if !wanted.is_empty() {
        gathered.box_states.extend(box_states(link, &wanted)?);
    }
    Ok(())
}

fn put_away(path: &Path, link: &Link, rows: ParcelRows, meanwhile: Meanwhile<'_>) -> Result<usize, RoomError> {
    if rows.entries.is_empty() {
        return Ok(0);
    }
    let from = link.address().to_string();
    Ok(while_working(meanwhile, || take_in_rows(path, Path::new(&from), rows))??.new)
}

/// Works in a thread of its own, so that what is told meanwhile does not wait for it.
fn while_working<T: Send>(meanwhile: Meanwhile<'_>, work: impl FnOnce() -> T + Send) -> Result<T, RoomError> {
    thread::scope(|scope| {
        let working = scope.spawn(work);
        loop {
            meanwhile()?;
            if working.is_finished() {
                break;
            }
            thread::sleep(LOOKS_EVERY);
        }
        Ok(working.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)))
    })
}
