//! Noting what happened to the pieces of a box, and taking it back.

use std::path::PathBuf;

use jiff::Timestamp;

use super::bags::OfBag;
use super::boxes::StockOnRecord;
use super::engine::{NewBoxEntry, NewEntry};
use super::error::LogbookError;
use super::from_others::FromOthers;
use super::happened::{BoxEntry, EntriesRead, EntryRef, StoredBoxEntry, never_came};
use super::names::{BoxKey, NamedBox};
use super::store::Logbook;
use super::told::{HandedOver, known_of_pieces};
use crate::kit::stock_take::LensCounted;
use crate::kit::{BoxChange, DeclaredBox, Effect, Further, OwnMarks, Piece, Place, StockError};
use crate::sharing::pieces::Fact;
use crate::sharing::{EntryKind, Heads};

/// What is to be noted of a box in one go: all of it or nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct NewChanges<'a> {
    /// What happened, in this order. A further piece without a number gets the next.
    pub changes: Vec<BoxChange>,
    /// What is to be remembered of it.
    pub note: Option<&'a str>,
    /// Who notes it.
    pub by: Option<&'a str>,
    /// When.
    pub at: Timestamp,
    /// What was there of each lens, where a stock-take ends with it.
    pub count: Option<Vec<LensCounted>>,
}

/// What was noted.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted {
    /// The box after it.
    pub on_record: StockOnRecord,
    /// The changes as they were kept, each further piece with its number.
    pub changes: Vec<BoxChange>,
}

/// What was taken back.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenBack {
    /// The box after it.
    pub on_record: StockOnRecord,
    /// The entry that was a slip.
    pub slip: StoredBoxEntry,
}

const WHAT: &str = "this change of the box";

impl Logbook {
    /// Notes one change, checked against the box as it stands in this moment, and returns the box after it.
    ///
    /// # Errors
    /// As [`Logbook::note_in_box`].
    pub fn change_box(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        change: &BoxChange,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<StockOnRecord, LogbookError> {
        let new = NewChanges { changes: vec![change.clone()], note: None, by, at, count: None };
        self.note_in_box(in_box, declared, &new, &[]).map(|noted| noted.on_record)
    }

    /// Notes changes in one entry, checked against the box as it stands in this moment: all or none. `others` are the boxes
    /// that pieces move to.
    ///
    /// # Errors
    /// When the box refuses a change, a piece that is to go away stands before an eye in an open exam, a piece moves to a
    /// box that is not among `others`, or it cannot be written; nothing is noted then.
    pub fn note_in_box(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        new: &NewChanges<'_>,
        others: &[(NamedBox, &DeclaredBox)],
    ) -> Result<Noted, LogbookError> {
        loop {
            if let Some(noted) = self.note_unless_overtaken(in_box, declared, new, others)? {
                return Ok(noted);
            }
        }
    }

    /// The same; nothing where another program added something while it was looked what stands before an eye.
    fn note_unless_overtaken(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        new: &NewChanges<'_>,
        others: &[(NamedBox, &DeclaredBox)],
    ) -> Result<Option<Noted>, LogbookError> {
        let takes_away = new.changes.iter().any(BoxChange::takes_away);
        let seen = takes_away.then(|| self.engine.seen()).transpose()?;
        self.refuse_what_is_before_an_eye(in_box, &new.changes)?;
        let reader = self.reader(std::iter::once(in_box).chain(others.iter().map(|(named, _)| named)))?;
        let other_boxes: Vec<NamedBox> = others.iter().map(|(named, _)| named.clone()).collect();
        let bag = self.bag(&in_box.key)?;
        refuse_what_is_back(in_box, bag.as_ref())?;
        for (other, _) in others {
            refuse_what_is_back(other, self.bag(&other.key)?.as_ref())?;
        }
        let mut noted = None;
        let added = self.engine.add_box_change(in_box, &other_boxes, seen, &mut |before| {
            let mut read = before.into_iter().zip(&reader).map(|(rows, reader)| reader.read(rows));
            let (here, theirs) = read.next().ok_or_else(|| not_storable(&"it was not looked at"))?;
            let there = others
                .iter()
                .zip(read)
                .map(|((_, declared), (read, theirs))| StockOnRecord::of(declared, read, theirs));
            let mut there: Vec<StockOnRecord> = there.collect();
            let mut now = StockOnRecord::of(declared, here, theirs);
            refuse_what_is_handed_over(in_box, &now)?;
            others.iter().zip(&there).try_for_each(|((named, _), there)| refuse_what_is_handed_over(named, there))?;
            if let Some(bag) = &bag {
                bag.take_out_of(&mut now.stock, declared);
            }
            let mut marks = now.own_marks();
            let mut changes = Vec::with_capacity(new.changes.len());
            for change in &new.changes {
                let change = with_number(change, &now, in_box, others, &mut there, &marks)?;
                note_in(&mut now, &change)?;
                marks.change(&change);
                changes.push(change);
            }
            let after = known_of_pieces(&now.entries, &now.others, &pieces_of(&changes));
            let note = new.note.map(str::to_owned);
            let (kept, count) = (changes.clone(), new.count.clone());
            let body = match count {
                Some(count) => BoxEntry::Counted { changes: kept, count, note },
                None => BoxEntry::Happened { changes: kept, note },
            };
            let goes_to = |named: &&NamedBox| changes.iter().any(|change| moves_into(change, named));
            let further = other_boxes.iter().filter(goes_to).cloned().collect();
            noted = Some(changes.clone());
            Ok(NewBoxEntry {
                new: entry(in_box, &body, new.by, new.at, after.as_ref())?,
                further,
                ends_stock_take: new.count.is_some(),
            })
        })?;
        if !added {
            return Ok(None);
        }
        let changes = noted.ok_or_else(|| not_storable(&"it was not looked at"))?;
        Ok(Some(Noted { on_record: self.stock_of(&in_box.key, declared)?, changes }))
    }

    /// Takes back an entry that was noted in this box, or the last one that stands: it was a slip, and stays in the history
    /// as one.
    ///
    /// # Errors
    /// When there is none, it was noted in another box, or is taken back already; when a later change rests on it, or a
    /// piece that would go away by it stands before an eye in an open exam; or when it cannot be written.
    pub fn undo_in_box(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        which: Option<EntryRef>,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<TakenBack, LogbookError> {
        loop {
            if let Some(taken_back) = self.undo_unless_overtaken(in_box, declared, which, by, at)? {
                return Ok(taken_back);
            }
        }
    }

    /// The same; nothing where another program added something while it was looked what stands before an eye.
    fn undo_unless_overtaken(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        which: Option<EntryRef>,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<Option<TakenBack>, LogbookError> {
        let seen = self.engine.seen()?;
        let in_frames = self.before_eyes(&in_box.key)?;
        // which boxes it is about is known before the transaction; what it is about never changes
        let on_record = self.stock_of(&in_box.key, declared)?;
        let slip = to_take_back(in_box, &on_record, which)?.clone();
        let mut others: Vec<NamedBox> = Vec::new();
        for (to, piece) in slip.body.changes().iter().filter_map(BoxChange::moves_to) {
            let key = BoxKey::kept(to.to_owned());
            if let Some(there) = self.before_eyes(&key)?.into_iter().find(|there| there.piece == piece) {
                return Err(there.refusal());
            }
            if others.iter().all(|other| other.key != key) {
                others.push(NamedBox { name: self.box_name(&key)?, key });
            }
        }
        let reader = self.reader(std::iter::once(in_box).chain(&others))?;
        let added = self.engine.add_box_change(in_box, &others, Some(seen), &mut |before| {
            let mut read = before.into_iter().zip(&reader).map(|(rows, reader)| reader.read(rows));
            let (here, theirs) = read.next().ok_or_else(|| not_storable(&"it was not looked at"))?;
            let now = StockOnRecord::of(declared, here, theirs);
            let slip = to_take_back(in_box, &now, Some(slip.entry))?;
            // that it was handed over may have been the slip
            if slip.body.hands_over().is_none() {
                refuse_what_is_handed_over(in_box, &now)?;
            }
            let (without, after_it) = now.without(declared, Some(slip.entry));
            let (_, as_it_is) = now.without(declared, None);
            refuse_if_rested_on(slip, &as_it_is, &after_it)?;
            for (there, _) in read {
                refuse_if_used_there(slip, &there)?;
            }
            let changes = now.entries.changes_of(slip);
            let back = pieces_of(&changes)
                .into_iter()
                .map(|piece| without.get(&piece).cloned().unwrap_or_else(|| never_came(piece)));
            let back: Vec<_> = back.collect();
            let goes = |there: &&super::frames::BeforeAnEye| {
                back.iter().any(|one| one.piece == there.piece && one.place != Place::Box)
            };
            if let Some(there) = in_frames.iter().find(goes) {
                return Err(there.refusal());
            }
            let after = known_of_pieces(&now.entries, &now.others, &pieces_of(&changes));
            let body = BoxEntry::Undone { entry: slip.entry, back, note: None };
            Ok(NewBoxEntry {
                new: entry(in_box, &body, by, at, after.as_ref())?,
                further: others.clone(),
                ends_stock_take: false,
            })
        })?;
        if !added {
            return Ok(None);
        }
        Ok(Some(TakenBack { on_record: self.stock_of(&in_box.key, declared)?, slip }))
    }

    /// Refuses what would take away a piece that stands before an eye in an open exam.
    fn refuse_what_is_before_an_eye(&self, in_box: &NamedBox, changes: &[BoxChange]) -> Result<(), LogbookError> {
        let seat = self.engine.me()?.map(|me| me.seat).unwrap_or_default();
        // what is settled to be at this seat does not go away from it
        let is_at_this_seat = |change: &BoxChange| change.settles().is_some_and(|at| at.is_at(&seat));
        let goes = |change: &&BoxChange| change.takes_away() && !is_at_this_seat(change);
        if !changes.iter().any(|change| goes(&change)) {
            return Ok(());
        }
        let in_frames = self.before_eyes(&in_box.key)?;
        for piece in changes.iter().filter(goes).filter_map(BoxChange::piece) {
            if let Some(there) = in_frames.iter().find(|there| there.piece == piece) {
                return Err(there.refusal());
            }
        }
        Ok(())
    }

    /// What is needed to read the entries about each of these boxes within a transaction.
    pub(super) fn reader<'a>(&self, boxes: impl Iterator<Item = &'a NamedBox>) -> Result<Vec<Reading>, LogbookError> {
        let reading = |named: &NamedBox| {
            let keys = self.keys_of(&named.key)?;
            let others = self.what_others_noted(&keys, &named.name)?;
            Ok(Reading { path: self.path().to_owned(), name: named.name.clone(), keys, others })
        };
        boxes.map(reading).collect()
    }
}

/// What is needed to read the entries about one box.
pub(super) struct Reading {
    path: PathBuf,
    name: String,
    keys: std::collections::HashSet<BoxKey>,
    others: FromOthers,
}

impl Reading {
    pub(super) fn read(&self, rows: Vec<super::engine::EntryOf>) -> (EntriesRead, FromOthers) {
        (EntriesRead::of(&self.path, &self.name, self.keys.clone(), rows), self.others.clone())
    }
}

fn not_storable(reason: &dyn std::fmt::Display) -> LogbookError {
    LogbookError::NotStorable { what: WHAT.to_owned(), reason: reason.to_string() }
}

/// A change with the number of the piece that comes by it; each number is given once, whatever the file says later.
fn with_number(
    change: &BoxChange,
    now: &StockOnRecord,
    in_box: &NamedBox,
    others: &[(NamedBox, &DeclaredBox)],
    there: &mut [StockOnRecord],
    marks: &OwnMarks,
) -> Result<BoxChange, LogbookError> {
    match change {
        BoxChange::Added(Further { lens, number: None }) => {
            let piece = Piece { lens: lens.clone(), number: next_number(now, lens)? };
            Ok(BoxChange::Added(piece.into()))
        }
        BoxChange::Moved { piece, to, .. } => {
            if in_box.key.as_str() == to || now.entries.keys.iter().any(|key| key.as_str() == to) {
                return Err(LogbookError::MovedNowhere { piece: piece.clone() });
            }
            let target = others.iter().position(|(named, _)| named.key.as_str() == to);
            let unknown = || LogbookError::NoSuchBox { key: BoxKey::kept(to.clone()) };
            let target = &mut there[target.ok_or_else(unknown)?];
            let number = next_number(target, &piece.lens)?;
            let comes = BoxChange::Added(Piece { lens: piece.lens.clone(), number }.into());
            target.stock.note(&comes)?;
            // what is known of the piece goes with it
            let is = now.stock.get(piece);
            Ok(BoxChange::Moved {
                piece: piece.clone(),
                to: to.clone(),
                number: Some(number),
                damaged: is.is_some_and(|is| is.damaged),
                measured: is.and_then(|is| is.measured),
                own_mark: marks.of_piece(piece).map(str::to_owned),
            })
        }
        BoxChange::Added(_)
        | BoxChange::Lost(_)
        | BoxChange::Found(_)
        | BoxChange::Lent { .. }
        | BoxChange::Returned(_)
        | BoxChange::Damaged { .. }
        | BoxChange::Mended(_)
        | BoxChange::Measured { .. }
        | BoxChange::Retired(_)
        | BoxChange::Looked { .. }
        | BoxChange::Marked { .. }
        | BoxChange::Settled { .. }
        | BoxChange::Note { .. } => Ok(change.clone()),
    }
}

/// The next number of a piece of a lens: one that nothing ever had.
fn next_number(of: &StockOnRecord, lens: &crate::kit::Lens) -> Result<u8, StockError> {
    let there = of.stock.of_lens(lens).map(|stocked| stocked.piece.number).max().unwrap_or(0);
    // a number that was given at another seat is not given again
    let elsewhere = of.others.entries.iter().flat_map(|from| from.stored.body.changes());
    let elsewhere = elsewhere.flat_map(BoxChange::pieces).filter(|piece| piece.lens == *lens);
    let elsewhere = elsewhere.map(|piece| piece.number).max().unwrap_or(0);
    let last = there.max(of.entries.highest_number(lens)).max(elsewhere);
    if last >= crate::kit::stock::MOST_OF_A_LENS {
        Err(StockError::TooMany { lens: lens.clone() })
    } else {
        Ok(last + 1)
    }
}

fn moves_into(change: &BoxChange, named: &NamedBox) -> bool {
    change.moves_to().is_some_and(|(to, _)| named.key.as_str() == to)
}

fn pieces_of(changes: &[BoxChange]) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    for piece in changes.iter().flat_map(BoxChange::pieces) {
        if !pieces.contains(&piece) {
            pieces.push(piece);
        }
    }
    pieces
}

/// Applies a change that is noted now. Of a damage of which seats say different things either is worth saying.
fn note_in(now: &mut StockOnRecord, change: &BoxChange) -> Result<(), StockError> {
    let is_open = change.piece().is_some_and(|piece| now.shared.is_open(&piece, Fact::Damage));
    now.stock.note(change).or_else(|why| if is_open && why.is_damaged_already() { Ok(()) } else { Err(why) })
}

/// Nothing is noted of a box that another seat has.
pub(super) fn refuse_what_is_handed_over(named: &NamedBox, now: &StockOnRecord) -> Result<(), LogbookError> {
    match now.handed_over().filter(|handed| handed.is_closed_here) {
        Some(HandedOver { to, .. }) => Err(LogbookError::BoxHandedOver { box_name: named.name.clone(), to }),
        None => Ok(()),
    }
}

pub(super) fn entry(
    in_box: &NamedBox,
    body: &BoxEntry,
    by: Option<&str>,
    at: Timestamp,
    after: Option<&Heads>,
) -> Result<NewEntry, LogbookError> {
    let about = in_box.key.as_str().as_bytes();
    let mut new = NewEntry::of(EntryKind::BoxChange, about, &body.encode(WHAT)?, by, at, WHAT)?;
    new.entry.after = after.map(serde_json::to_string).transpose().map_err(|error| not_storable(&error))?;
    Ok(new)
}

/// Nothing is noted of a bag whose pieces are in the box again from which it went.
fn refuse_what_is_back(named: &NamedBox, bag: Option<&OfBag>) -> Result<(), LogbookError> {
    match bag.filter(|bag| bag.is_back()) {
        Some(back) => Err(LogbookError::BagIsBack { bag: named.name.clone(), home: back.home.name.clone() }),
        None => Ok(()),
    }
}

/// The entry that is to be taken back.
fn to_take_back<'a>(
    in_box: &NamedBox,
    now: &'a StockOnRecord,
    which: Option<EntryRef>,
) -> Result<&'a StoredBoxEntry, LogbookError> {
    let entries = &now.entries;
    let box_name = || in_box.name.clone();
    let could_be = |stored: &&StoredBoxEntry| {
        entries.is_noted_here(stored)
            && stored.body.takes_back().is_none()
            && entries.taken_back_by(stored.entry).is_none()
    };
    let Some(which) = which else {
        return entries
            .all
            .iter()
            .rev()
            .find(could_be)
            .ok_or_else(|| LogbookError::NothingToTakeBack { box_name: box_name() });
    };
    let found = entries.all.iter().find(|stored| stored.entry == which);
    let stored = found.ok_or_else(|| LogbookError::NoSuchEntry { box_name: box_name() })?;
    if !entries.is_noted_here(stored) {
        return Err(LogbookError::NotedElsewhere { about: stored.about.clone() });
    }
    match entries.taken_back_by(which) {
        Some(slip) => Err(LogbookError::TakenBackAlready { at: slip.at }),
        None if stored.body.takes_back().is_some() => Err(LogbookError::SlipStays),
        None => Ok(stored),
    }
}

/// Refuses to take back what a later change of the box rests on: without it that could not have been.
fn refuse_if_rested_on(
    slip: &StoredBoxEntry,
    as_it_is: &[(super::happened::StoredBoxChange, Result<Effect, StockError>)],
    after_it: &[(super::happened::StoredBoxChange, Result<Effect, StockError>)],
) -> Result<(), LogbookError> {
    let could = |outcome: &Result<Effect, StockError>| outcome.as_ref().is_ok_and(|effect| effect.is_a_change());
    for (later, then) in after_it.iter().filter(|(later, _)| later.place > slip.place) {
        let was = as_it_is.iter().find(|(stored, _)| stored == later);
        if !could(then) && was.is_some_and(|(_, was)| could(was)) {
            let what = format!("{}: {}", later.change.word(), later.change.subject());
            return Err(LogbookError::RestedOn { what, at: later.at });
        }
    }
    Ok(())
}

/// Refuses to take back the coming of a piece that something befell in the box that it came to.
fn refuse_if_used_there(slip: &StoredBoxEntry, there: &EntriesRead) -> Result<(), LogbookError> {
    let entries = &there.entries;
    let Some(came) = entries.all.iter().find(|stored| stored.entry == slip.entry) else { return Ok(()) };
    let pieces = pieces_of(&entries.changes_of(came));
    let later =
        entries.all.iter().filter(|stored| stored.place > came.place && entries.taken_back_by(stored.entry).is_none());
    for stored in later {
        for change in entries.changes_of(stored) {
            if change.pieces().iter().any(|piece| pieces.contains(piece)) {
                let what = format!("{}: {}", change.word(), change.subject());
                return Err(LogbookError::RestedOn { what, at: stored.at });
            }
        }
    }
    Ok(())
}
