//! What a logbook sends.

use std::collections::{HashMap, HashSet};

use super::error::{ParcelError, ParcelFault};
use super::others::is_of_others;
use super::read::Parcel;
use crate::logbook::engine::{EntryRow, SpokenRow, WriterRow};
use crate::logbook::sqlite::parcels::to_bytes;
use crate::logbook::store::Logbook;
use crate::logbook::summary::ExamSummary;
use crate::sharing::{EntryKind, Heads, SeatKey, SeatName, SiteName};

/// A parcel to be saved.
#[derive(Debug)]
pub struct Written {
    /// What it is called whose entries are in it.
    pub seat: SeatName,
    /// The whole file.
    pub bytes: Vec<u8>,
    /// How many entries are in it.
    pub entries: usize,
    /// How many entries are not in it, since they were in the earlier one.
    pub known: usize,
    /// How many writers the entries are of: a logbook has a new one once it was copied to another computer.
    pub writers: usize,
    /// The numbers of exams that are too large to be sent: only that they were closed is in it.
    pub too_large: Vec<i64>,
}

/// What a key is to the logbook that is to sign by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignsBy {
    /// By none before.
    TheFirst,
    /// By this one before.
    TheSame,
    /// By another one before, which was lost: others do not know this one.
    Another,
}

impl Logbook {
    /// The name of the seat that this logbook is, if it has one.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn seat(&self) -> Result<Option<SeatName>, ParcelError> {
        Ok(self.engine.me()?.and_then(|me| SeatName::new(&me.seat).ok()))
    }

    /// The place that this seat belongs to, where one was named.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn site(&self) -> Result<Option<SiteName>, ParcelError> {
        Ok(self.engine.me()?.and_then(|me| SiteName::new(&me.site?).ok()))
    }

    /// Names the place that this seat belongs to.
    ///
    /// # Errors
    /// When it is not the name of a site, or cannot be written.
    pub fn name_site(&mut self, name: &str) -> Result<(), ParcelError> {
        Ok(self.engine.name_site(&SiteName::new(name)?)?)
    }

    /// What is to be noted before this logbook signs by a key.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn signs_by(&self, key: &SeatKey) -> Result<SignsBy, ParcelError> {
        Ok(match self.engine.me()?.and_then(|me| me.key) {
            Some(known) if known == key.public() => SignsBy::TheSame,
            Some(_) => SignsBy::Another,
            None => SignsBy::TheFirst,
        })
    }

    /// Notes by what this logbook signs from now on.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn sign_by(&mut self, key: &SeatKey) -> Result<(), ParcelError> {
        Ok(self.engine.note_key(&key.public())?)
    }

    /// Names the seat that this logbook is.
    ///
    /// # Errors
    /// When it is not the name of a seat, or cannot be written.
    pub fn name_seat(&mut self, name: &str) -> Result<(), ParcelError> {
        Ok(self.engine.name_seat(&SeatName::new(name)?)?)
    }

    /// What others call this logbook, whose entries can be sent.
    ///
    /// # Errors
    /// When it has no seat name, cannot be read, or is not one of exams of one's own.
    pub fn sends_as(&self) -> Result<SeatName, ParcelError> {
        if is_of_others(self.path()) || self.is_of_practice()? {
            return Err(ParcelError::NotOnesOwn { path: self.path().to_owned() });
        }
        self.seat()?.ok_or(ParcelError::NoSeat)
    }

    /// A parcel of what this logbook wrote, signed: closed exams, what was added to them, and changes of boxes; without what is in
    /// an earlier parcel of it. Of days and drills only that there was one goes along, since entries follow each other.
    ///
    /// # Errors
    /// As [`Logbook::sends_as`], and when it parted from the one that wrote the earlier parcel.
    pub fn parcel(&self, since: Option<&Parcel>, key: &SeatKey) -> Result<Written, ParcelError> {
        let seat = self.sends_as()?;
        let all = self.engine.entries()?;
        if let Some(earlier) = since {
            refuse_unless_earlier(earlier, &all, &seat)?;
        }
        let heads = since.map_or_else(Heads::default, Parcel::heads);
        let mut rows = self.engine.parcel_rows(&heads)?;
        let me = self.engine.me()?.map(|me| me.id);
        let this = |writer: &&mut WriterRow| Some(writer.id) == me;
        rows.writers.iter_mut().filter(this).for_each(|writer| writer.key = Some(key.public()));
        let erased: HashSet<Vec<u8>> =
            self.engine.erased()?.iter().map(|erasure| erasure.exam.as_bytes().to_vec()).collect();
        let is_unsent = |row: &&EntryRow| {
            let is_exam = row.sealed.entry.kind == EntryKind::Exam && row.body.is_none();
            let is_known = heads.know(row.sealed.writer, row.sealed.number);
            is_exam && !is_known && !erased.contains(&row.sealed.entry.about)
        };
        let unsent: HashSet<&[u8]> =
            rows.entries.iter().filter(is_unsent).map(|row| row.sealed.entry.about.as_slice()).collect();
        let is_too_large = |spoken: &&SpokenRow| unsent.contains(spoken.exam.uuid().as_bytes().as_slice());
        let too_large = rows.spoken.iter().filter(is_too_large).map(|spoken| spoken.number).collect();
        let known = all.iter().filter(|row| heads.know(row.sealed.writer, row.sealed.number)).count();
        Ok(Written {
            bytes: to_bytes(&rows, self.path(), key)?,
            entries: all.len() - known,
            known,
            writers: rows
                .entries
                .chunk_by(|one, next| one.sealed.writer == next.sealed.writer)
                .filter(|of| of.len() > 1 || !rows.followed.contains(&of[0].sealed.writer))
                .count(),
            too_large,
            seat,
        })
    }
}

impl Logbook {
    /// Whether every exam in it is one of a practice eye, and there is one.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_of_practice(&self) -> Result<bool, ParcelError> {
        let exams = self.exams()?.exams;
        let of_practice = |line: &ExamSummary| line.found.as_ref().is_some_and(|found| found.practice == Some(true));
        Ok(!exams.is_empty() && exams.iter().all(of_practice))
    }
}

/// Refuses a parcel that this logbook did not write, with something in it that is not as this logbook has it.
fn refuse_unless_earlier(earlier: &Parcel, all: &[EntryRow], seat: &SeatName) -> Result<(), ParcelError> {
    let key = |row: &EntryRow| (row.sealed.writer, row.sealed.number);
    let own: HashMap<_, _> = all.iter().map(|row| (key(row), row.sealed.hash)).collect();
    if earlier.rows.entries.is_empty() {
        return Err(ParcelFault::OfAnother.at(&earlier.path));
    }
    for row in &earlier.rows.entries {
        match own.get(&key(row)) {
            Some(hash) if *hash == row.sealed.hash => {}
            Some(_) => {
                let (whose, number) = (seat.to_string(), row.sealed.number);
                return Err(ParcelFault::Parted { whose, number }.at(&earlier.path));
            }
            None => return Err(ParcelFault::OfAnother.at(&earlier.path)),
        }
    }
    Ok(())
}
