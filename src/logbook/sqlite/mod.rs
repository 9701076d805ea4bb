//! The first engine: one SQLite file.
//!
//! - `file`: opening it, and refusing what is not a sound logbook without touching it;
//! - `log`: the log that SQLite keeps beside it; `companions`: whether that is the file's own;
//! - `copy`: whole copies of it;
//! - `schema`: its tables; `form2`: how a file of form 1 is brought to them;
//! - `exams`, `entries`, `boxes`, `writers`: their rows; `parcels`: those that are sent; `others`: those that came; `let_go`: those that are kept
//!   no longer;
//! - `erasing`: taking away what is to be erased; `erased`: what is left of it;
//! - `disk`: what was committed goes on to the disk, against power cuts;
//! - `error`: what SQLite says, in words.

mod boxes;
mod companions;
mod copy;
mod disk;
mod entries;
mod erased;
mod erasing;
mod error;
mod exams;
mod file;
mod form2;
mod let_go;
mod log;
mod others;
pub(super) mod parcels;
mod schema;
mod writers;

use std::collections::HashMap;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _};

pub use self::disk::SendOn;
pub use self::file::{FolderKind, Ground, SqliteFile};

use self::error::sqlite;
use super::engine::{
    Arrival, BareExamRow, BeginInDay, BoxRow, ClaimRow, DayWithout, Engine, EntryAgain, EntryOf, EntryRow, EntrySpan,
    ExamRows, FirstStep, IndexRow, Look, LookAtDay, NewBoxEntry, NewEntry, NewExam, NewStep, ParcelRows, Remembered,
    Seen, SpokenRow, SummaryOf, Which, WriterRow,
};
use super::error::{FileError, LogbookError};
use super::names::{BoxKey, DayId, ExamId, ExamNumber, NamedBox};
use crate::sharing::{Entry, EntryKind, Erasure, Hash, Heads, PublicKey, SeatName, SiteName, WriterId, check_chain};

impl Engine for SqliteFile {
    fn path(&self) -> &Path {
        SqliteFile::path(self)
    }

    fn is_read_only(&self) -> bool {
        SqliteFile::is_read_only(self)
    }

    fn lacks_its_log(&self) -> bool {
        SqliteFile::lacks_its_log(self)
    }

    fn disk_failure(&self) -> Option<String> {
        SqliteFile::disk_failure(self)
    }

    fn when_the_disk_fails(&self, tell: Box<dyn FnOnce() + Send>) {
        SqliteFile::when_the_disk_fails(self, tell);
    }

    fn check(&self) -> Result<(), LogbookError> {
        SqliteFile::check(self).and_then(|()| check_entries(self)).map_err(LogbookError::in_reading)
    }

    fn copy_to(&self, target: &Path) -> Result<(), LogbookError> {
        copy::elsewhere(&self.connection, target)
    }

    fn add_exam(
        &mut self,
        exam: &NewExam<'_>,
        in_day: Option<(DayId, BeginInDay<'_>)>,
    ) -> Result<ExamNumber, LogbookError> {
        let added = self.write(|transaction, path| {
            let mut first = None;
            if let Some((day, make)) = in_day {
                let new;
                (new, first) = make(entries::of_day(transaction, path, day)?)?;
                entries::add(transaction, path, new)?;
            }
            let number = exams::add(transaction, path, exam)?;
            if let Some(FirstStep { events, label, found }) = &first {
                let at = exam.opened.clone();
                let step = NewStep { number: 1, at, events, label: label.as_deref(), found, closes: false };
                exams::add_step(transaction, path, number, &step)?;
            }
            Ok(number)
        });
        self.fold();
        added
    }

    fn add_step(
        &mut self,
        exam: ExamNumber,
        step: &NewStep<'_>,
        in_day: Option<(DayId, LookAtDay<'_>)>,
    ) -> Result<(), LogbookError> {
        let is_of_a_day = in_day.is_some();
        self.write(|transaction, path| {
            if let Some((day, make)) = in_day {
                let new = make(entries::of_day(transaction, path, day)?)?;
                entries::add(transaction, path, new)?;
            }
            exams::add_step(transaction, path, exam, step)
        })?;
        if step.closes || is_of_a_day {
            self.fold();
        }
        Ok(())
    }

    fn exam(&self, number: ExamNumber) -> Result<ExamRows, LogbookError> {
        // One view of the file for all queries, whatever another program adds meanwhile.
        let view = self.connection.unchecked_transaction().map_err(|error| sqlite(self.path(), error).in_reading())?;
        exams::rows(&view, self.path(), number).map_err(LogbookError::in_reading)
    }

    fn box_state(&self, hash: Hash) -> Result<Option<Vec<u8>>, LogbookError> {
        exams::box_state(&self.connection, self.path(), hash).map_err(LogbookError::in_reading)
    }

    fn summaries(&self, which: Which) -> Result<Vec<SummaryOf>, LogbookError> {
        exams::summaries(&self.connection, self.path(), which).map_err(LogbookError::in_reading)
    }

    fn index(&self) -> Result<Vec<IndexRow>, LogbookError> {
        exams::index(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn put_aside(&mut self, number: ExamNumber, at: &str) -> Result<(), LogbookError> {
        self.write(|transaction, path| exams::put_aside(transaction, path, number, at))
    }

    fn note_found(&mut self, found: &[(ExamNumber, String)]) -> Result<(), LogbookError> {
        self.write(|transaction, path| exams::note_found(transaction, path, found))
    }

    fn box_changes(&self, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError> {
        entries::box_changes(&self.connection, self.path(), key).map_err(LogbookError::in_reading)
    }

    fn entries_about(&self, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError> {
        entries::about_box(&self.connection, self.path(), key).map_err(LogbookError::in_reading)
    }

    fn box_keys(&self, key: &BoxKey) -> Result<Vec<BoxKey>, LogbookError> {
        boxes::keys(&self.connection, self.path(), key).map_err(LogbookError::in_reading)
    }

    fn seen(&self) -> Result<Seen, LogbookError> {
        seen(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn add_box_change(
        &mut self,
        in_box: &NamedBox,
        others: &[NamedBox],
        rests_on: Option<Seen>,
        make: Look<'_, NewBoxEntry>,
    ) -> Result<bool, LogbookError> {
        let added = self.write(|transaction, path| {
            if let Some(before) = rests_on
                && seen(transaction, path)? != before
            {
                return Ok(false);
            }
            let changes_of = |named: &NamedBox| entries::box_changes(transaction, path, &named.key);
            let before = std::iter::once(in_box).chain(others).map(changes_of).collect::<Result<_, _>>()?;
            let NewBoxEntry { new, further, ends_stock_take } = make(before)?;
            let number = boxes::note(transaction, path, in_box, None)?;
            entries::add(transaction, path, new)?;
            for other in &further {
                entries::note_further(transaction, path, boxes::note(transaction, path, other, None)?)?;
            }
            if ends_stock_take {
                boxes::keep_stock_take(transaction, path, number, None, "")?;
            }
            Ok(true)
        })?;
        self.fold();
        Ok(added)
    }

    fn known_boxes(&self) -> Result<Vec<(BoxKey, BoxRow)>, LogbookError> {
        boxes::all(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn stock_take(&self, key: &BoxKey) -> Result<Option<(String, String)>, LogbookError> {
        boxes::stock_take(&self.connection, self.path(), key).map_err(LogbookError::in_reading)
    }

    fn keep_stock_take(&mut self, in_box: &NamedBox, state: Option<&str>, at: &str) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            let number = boxes::note(transaction, path, in_box, None)?;
            boxes::keep_stock_take(transaction, path, number, state, at)
        })
    }

    fn days(&self) -> Result<Vec<DayId>, LogbookError> {
        entries::days(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn day_entries(&self, id: DayId) -> Result<Vec<EntryOf>, LogbookError> {
        entries::of_day(&self.connection, self.path(), id).map_err(LogbookError::in_reading)
    }

    fn add_day_entry(&mut self, id: DayId, make: LookAtDay<'_>) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            let new = make(entries::of_day(transaction, path, id)?)?;
            entries::add(transaction, path, new)
        })?;
        self.fold();
        Ok(())
    }

    fn drill_entries(&self) -> Result<Vec<EntryOf>, LogbookError> {
        entries::of_drills(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn add_drill_entry(&mut self, entry: NewEntry) -> Result<(), LogbookError> {
        self.write(|transaction, path| entries::add(transaction, path, entry))?;
        self.fold();
        Ok(())
    }

    fn number_of(&self, id: ExamId) -> Result<Option<ExamNumber>, LogbookError> {
        exams::number_of(&self.connection, self.path(), id).map_err(LogbookError::in_reading)
    }

    fn erased(&self) -> Result<Vec<Erasure>, LogbookError> {
        erased::all(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn erase(&mut self, erasures: &[Erasure], of_days: &[DayWithout]) -> Result<(), LogbookError> {
        erasing::write_over(&self.connection, self.path())?;
        self.write(|transaction, path| erasing::erase(transaction, path, erasures, of_days))
    }

    fn leaves_bytes(&self) -> Result<bool, LogbookError> {
        erasing::is_left_behind(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn write_over(&mut self) -> Result<bool, LogbookError> {
        let is_left = erasing::is_left_behind(&self.connection, self.path())?;
        if is_left { erasing::write_again(&self.connection, self.path()) } else { Ok(true) }
    }

    fn add_amendment(&mut self, amendment: NewEntry) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            // another program may have erased the exam since this one read it
            let Entry { kind, about, .. } = &amendment.entry;
            match erased::of_entry(transaction, path, kind, about)? {
                Some(erasure) => Err(FileError::erased(erasure).at(path)),
                None => entries::add(transaction, path, amendment),
            }
        })?;
        self.fold();
        Ok(())
    }

    fn known_box(&self, key: &BoxKey) -> Result<Option<BoxRow>, LogbookError> {
        boxes::known(&self.connection, self.path(), key).map_err(LogbookError::in_reading)
    }

    fn note_box(&mut self, in_box: &NamedBox, file: Option<&str>) -> Result<i64, LogbookError> {
        self.write(|transaction, path| boxes::note(transaction, path, in_box, file))
    }

    fn add_key(&mut self, in_box: i64, key: &BoxKey) -> Result<(), LogbookError> {
        self.write(|transaction, path| boxes::add_key(transaction, path, in_box, key))
    }

    fn note_claim(&mut self, in_box: i64, claim: Option<&ClaimRow>) -> Result<(), LogbookError> {
        self.write(|transaction, path| boxes::note_claim(transaction, path, in_box, claim))
    }

    fn claim(&self, in_box: i64) -> Result<Option<ClaimRow>, LogbookError> {
        boxes::claim(&self.connection, self.path(), in_box).map_err(LogbookError::in_reading)
    }

    fn me(&self) -> Result<Option<WriterRow>, LogbookError> {
        writers::known_as(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn name_seat(&mut self, seat: &SeatName) -> Result<(), LogbookError> {
        self.write(|transaction, path| writers::name_seat(transaction, path, seat.as_str()))
    }

    fn home(&self) -> Result<(WriterId, String), LogbookError> {
        writers::home(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn go_on_as(
        &mut self,
        writer: WriterId,
        parted: Option<(WriterId, i64)>,
        again: &[EntryAgain],
    ) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            writers::be(transaction, path, writer)?;
            parted.map_or(Ok(()), |parted| entries::write_again(transaction, path, parted, again))
        })
    }

    fn last_entries(&self) -> Result<Vec<(WriterId, i64, Hash)>, LogbookError> {
        entries::last_of_each(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn hash_of(&self, writer: WriterId, number: i64) -> Result<Option<Hash>, LogbookError> {
        entries::hash_of(&self.connection, self.path(), writer, number).map_err(LogbookError::in_reading)
    }

    fn entry_spans(&self) -> Result<Vec<EntrySpan>, LogbookError> {
        entries::spans(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn entry_numbers(&self, writer: WriterId) -> Result<Vec<i64>, LogbookError> {
        entries::numbers(&self.connection, self.path(), writer).map_err(LogbookError::in_reading)
    }

    fn name_site(&mut self, site: &SiteName) -> Result<(), LogbookError> {
        self.write(|transaction, path| writers::name_site(transaction, path, site.as_str()))
    }

    fn note_key(&mut self, key: &PublicKey) -> Result<(), LogbookError> {
        self.write(|transaction, path| writers::note_key(transaction, path, key))
    }

    fn writers(&self) -> Result<Vec<WriterRow>, LogbookError> {
        writers::all(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn entries(&self) -> Result<Vec<EntryRow>, LogbookError> {
        entries::all_standing(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn parcel_rows(&self, since: &Heads) -> Result<ParcelRows, LogbookError> {
        parcels::of_logbook(&self.connection, self.path(), since).map_err(LogbookError::in_reading)
    }

    fn bare_exams(&self) -> Result<Vec<BareExamRow>, LogbookError> {
        entries::bare_exams(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn spoken(&self) -> Result<Vec<SpokenRow>, LogbookError> {
        parcels::spoken(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn take_in(&mut self, arrival: &Arrival, box_states: &[(Hash, Vec<u8>)]) -> Result<(), LogbookError> {
        self.write(|transaction, path| others::take_in(transaction, path, arrival, box_states))?;
        self.fold();
        Ok(())
    }

    fn let_go(&self) -> Result<Vec<(WriterId, i64)>, LogbookError> {
        let_go::known(&self.connection, self.path()).map_err(LogbookError::in_reading)
    }

    fn let_go_of(&mut self, further: &[(WriterId, i64)]) -> Result<(), LogbookError> {
        let failed = |path: &Path, error| sqlite(path, error);
        // what is removed is overwritten, in the file and then, by beginning it again, in the log
        self.connection
            .pragma_update(None, "secure_delete", true)
            .map_err(|error| failed(SqliteFile::path(self), error))?;
        self.write(|transaction, path| let_go::of_writers(transaction, path, further))?;
        let begun_again = self.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        begun_again.map_err(|error| failed(SqliteFile::path(self), error))
    }

    fn remembered(&self, what: Remembered) -> Result<Option<String>, LogbookError> {
        let sql = "SELECT file FROM last_used WHERE kind = ?1";
        let found = self.connection.query_row(sql, [what.name()], |row| row.get(0)).optional();
        found.map_err(|error| sqlite(self.path(), error).in_reading())
    }

    fn remember(&mut self, files: &[(Remembered, &str)], at: &str) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            let sql = "INSERT INTO last_used (kind, file, at) VALUES (?1, ?2, ?3)
                       ON CONFLICT (kind) DO UPDATE SET file = excluded.file, at = excluded.at";
            for (what, file) in files {
                transaction.execute(sql, (what.name(), file, at)).map_err(|error| sqlite(path, error))?;
            }
            Ok(())
        })
    }
}

/// The number that SQLite changes whenever another connection has committed something.
fn seen(connection: &Connection, path: &Path) -> Result<Seen, LogbookError> {
    let version = connection.query_row("PRAGMA data_version", [], |row| row.get(0));
    version.map(Seen).map_err(|error| sqlite(path, error))
}

/// Whether every writer's entries follow each other, and the closed exams are what their entries say.
fn check_entries(file: &SqliteFile) -> Result<(), LogbookError> {
    let damaged = |detail: String| FileError::Damaged { detail }.at(file.path());
    let rows = entries::all(&file.connection, file.path())?;
    for chain in rows.chunk_by(|one, next| one.sealed.writer == next.sealed.writer) {
        let sealed = chain.iter().map(|row| &row.sealed);
        check_chain(chain[0].sealed.writer, sealed).map_err(|broken| damaged(broken.to_string()))?;
    }
    let of_exams = rows.iter().map(|row| &row.sealed.entry).filter(|entry| entry.kind == EntryKind::Exam);
    let hashes: HashMap<&[u8], Hash> = of_exams.map(|entry| (entry.about.as_slice(), entry.body_hash)).collect();
    for (number, summary) in exams::summaries(&file.connection, file.path(), Which::LatestClosed(usize::MAX))? {
        let summary = summary?;
        if summary.erased.is_some() {
            // nothing of it may be left to be compared
            if summary.steps > 0 || summary.label.is_some() {
                return Err(damaged(format!("something of exam {number} is left, which was erased")));
            }
            continue;
        }
        let about = summary.id.uuid().into_bytes();
        let kept = exams::rows(&file.connection, file.path(), number)?;
        if hashes.get(about.as_slice()) != Some(&Hash::of(&exams::body_of(&kept))) {
            return Err(damaged(format!("exam {number} is not as it was closed")));
        }
    }
    Ok(())
}
