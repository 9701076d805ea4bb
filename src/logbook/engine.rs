//! What a logbook asks of the engine that stores it: rows in, rows out, each call whole or not at all.
//!
//! Rows hold times and values as text; what they mean is decided above. `sqlite` is the engine for one file.

use std::fmt::Debug;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::error::LogbookError;
use super::names::{BoxKey, DayId, ExamId, ExamNumber, NamedBox};
use super::row::Stored;
use crate::sharing::body::{deflate, inflate};
use crate::sharing::{
    Entry, EntryKind, EntryRef, Erasure, Hash, Heads, PublicKey, Sealed, SeatName, SiteName, WriterId,
};

/// The most that is read of the body of one entry, in bytes.
const MOST_BYTES: u64 = 1 << 20;

/// What a box was when exams began, kept once for each state under the hash of its content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxState {
    /// The hash of the content.
    pub hash: Hash,
    /// The content; it is deflated when it is kept.
    pub content: Vec<u8>,
}

/// An exam to be begun.
#[derive(Debug)]
pub struct NewExam<'a> {
    /// Its identity.
    pub id: ExamId,
    /// The box it uses.
    pub in_box: &'a NamedBox,
    /// When it begins.
    pub opened: String,
    /// Who examines, if that was said.
    pub by: Option<&'a str>,
    /// How it begins.
    pub opening: &'a Stored,
    /// The box as it is.
    pub box_state: &'a BoxState,
}

/// A step to be added.
#[derive(Debug)]
pub struct NewStep<'a> {
    /// Its number in the exam, from 1: the next one, or another program has been there.
    pub number: i64,
    /// When.
    pub at: String,
    /// What happened.
    pub events: &'a Stored,
    /// The label after it.
    pub label: Option<&'a str>,
    /// What the list of exams shows of the results after it.
    pub found: &'a str,
    /// Whether it closes the exam.
    pub closes: bool,
}

/// One row of an exam.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepRow {
    /// Its number in the exam.
    pub number: i64,
    /// When.
    pub at: String,
    /// What happened.
    pub events: Stored,
}

/// Everything that is kept of an exam.
#[derive(Debug)]
pub struct ExamRows {
    /// Its identity.
    pub id: ExamId,
    /// When it began.
    pub opened: String,
    /// Who examined.
    pub by: Option<String>,
    /// How it began.
    pub opening: Stored,
    /// Its steps, in the order of their numbers.
    pub steps: Vec<StepRow>,
    /// What was added to it once it was closed, other than by a step.
    pub amendments: Vec<EntryOf>,
}

/// Which entries of a writer are here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EntrySpan {
    /// Whose.
    pub writer: WriterId,
    /// The number of the first.
    pub first: i64,
    /// The number of the last.
    pub last: i64,
    /// How many there are: fewer than the numbers from first to last where some are missing.
    pub count: i64,
}

/// An exam of another seat of which nothing is here but the entry that closed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BareExamRow {
    /// The exam.
    pub exam: ExamId,
    /// Who wrote the entry.
    pub writer: WriterId,
    /// Who examined, if that was said.
    pub by: Option<String>,
    /// When it was closed.
    pub closed: String,
}

/// An entry with its body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryRow {
    /// The entry in its place.
    pub sealed: Sealed,
    /// Its body, deflated; `None` for one's own exams, which stand in their steps, and for what was erased.
    pub body: Option<Vec<u8>>,
}

/// An entry, or why it cannot be read.
pub type EntryOf = Result<EntryRow, LogbookError>;

impl EntryRow {
    /// The body as it was before it was deflated, checked against its hash; `what` names the entry in an error.
    ///
    /// # Errors
    /// When it was erased, or is not as it was written.
    pub fn stored(&self, path: &Path, what: &str) -> Result<Stored, LogbookError> {
        let refused = |reason: String| LogbookError::unreadable(path, what, reason);
        let entry = &self.sealed.entry;
        let deflated = self.body.as_ref().ok_or_else(|| refused("it was erased".to_owned()))?;
        let body = inflate(deflated, MOST_BYTES).map_err(|error| refused(error.to_string()))?;
        if Hash::of(&body) != entry.body_hash {
            return Err(refused("it is not as it was written".to_owned()));
        }
        let text = String::from_utf8(body).map_err(|error| refused(error.to_string()))?;
        Ok(Stored { format: entry.format, text })
    }
}

/// An entry to be added.
#[derive(Debug, Clone)]
pub struct NewEntry {
    /// What is numbered and chained.
    pub entry: Entry,
    /// Its body, deflated.
    pub body: Vec<u8>,
}

impl NewEntry {
    /// An entry of a kind about something, which says what is stored; `what` names it where it cannot be.
    ///
    /// # Errors
    /// When it cannot be deflated.
    pub fn of(
        kind: EntryKind,
        about: &[u8],
        stored: &Stored,
        by: Option<&str>,
        at: Timestamp,
        what: &str,
    ) -> Result<Self, LogbookError> {
        let Stored { format, text } = stored;
        let body = deflate(text.as_bytes())
            .map_err(|error| LogbookError::NotStorable { what: what.to_owned(), reason: error.to_string() })?;
        let entry = Entry {
            kind,
            about: about.to_vec(),
            by: by.map(str::to_owned),
            at: at.to_string(),
            after: None,
            format: *format,
            body_hash: Hash::of(text.as_bytes()),
        };
        Ok(Self { entry, body })
    }
}

/// An entry that is written again under another writer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryAgain {
    /// The number that it had.
    pub number: i64,
    /// What is numbered and chained.
    pub entry: Entry,
    /// Its body, deflated; none where it stands elsewhere in the file.
    pub body: Option<Vec<u8>>,
}

/// An entry about a box to be added.
#[derive(Debug)]
pub struct NewBoxEntry {
    /// The entry.
    pub new: NewEntry,
    /// The other boxes that it is about too.
    pub further: Vec<NamedBox>,
    /// Whether the stock-take of the box that was in progress ends with it.
    pub ends_stock_take: bool,
}

/// What the list of exams holds of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SummaryRow {
    /// The exam's number in this file.
    pub number: ExamNumber,
    /// Its identity.
    pub id: ExamId,
    /// When it began.
    pub opened: String,
    /// Who examined.
    pub by: Option<String>,
    /// Label or initials, if any were entered.
    pub label: Option<String>,
    /// The box it was made with, as that is called now.
    pub in_box: NamedBox,
    /// When it was closed.
    pub finished: Option<String>,
    /// When it was put aside.
    pub put_aside: Option<String>,
    /// How many steps it has.
    pub steps: i64,
    /// What was found, as [`NewStep::found`].
    pub found: Option<String>,
    /// That it was erased, if it was.
    pub erased: Option<Erasure>,
}

/// What is left of an entry of a day in which something of a person was erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayWithout {
    /// The entry.
    pub entry: EntryRef,
    /// What stands in its place.
    pub left: Stored,
}

/// The line of an exam, or why it cannot be read.
pub type SummaryOf = (ExamNumber, Result<SummaryRow, LogbookError>);

/// By what an exam is looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IndexRow {
    /// The exam's number in this file.
    pub number: ExamNumber,
    /// Its identity; `None` where that cannot be read.
    pub id: Option<ExamId>,
    /// When it began.
    pub opened: String,
    /// Label or initials, if any were entered.
    pub label: Option<String>,
    /// What was found, as it is kept.
    pub found: Option<String>,
}

/// Which exams are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Every one.
    All,
    /// The one of this number.
    One(ExamNumber),
    /// Those neither closed nor put aside.
    Open,
    /// The one of this number and all that began after it.
    From(ExamNumber),
    /// The latest ones, at most as many.
    Latest(usize),
    /// The latest closed ones, at most as many.
    LatestClosed(usize),
    /// Those of which it was not noted what they found.
    NotNoted,
}

/// Who noted that a box is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClaimRow {
    /// The number of the program.
    pub process: u32,
    /// Where it runs.
    pub host: Option<String>,
    /// Since when.
    pub since: String,
    /// The exam that the program has open, once it has one.
    pub exam: Option<ExamNumber>,
}

/// A box that the logbook knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxRow {
    /// Its number in this file.
    pub number: i64,
    /// What it was last called.
    pub name: String,
    /// The file it was last read from.
    pub file: Option<PathBuf>,
}

/// A remembered choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remembered {
    /// The box file.
    Box,
    /// The frame file.
    Frame,
}

impl Remembered {
    /// The name under which it is kept.
    pub fn name(self) -> &'static str {
        match self {
            Self::Box => "box",
            Self::Frame => "frame",
        }
    }
}

/// Looks at what is there of some boxes before something is added, in the same transaction.
pub type Look<'a, T> = &'a mut dyn FnMut(Vec<Vec<EntryOf>>) -> Result<T, LogbookError>;

/// Looks at what is there of a day before something is added, in the same transaction.
pub type LookAtDay<'a> = &'a mut dyn FnMut(Vec<EntryOf>) -> Result<NewEntry, LogbookError>;

/// The first step of an exam of a day.
#[derive(Debug)]
pub struct FirstStep {
    /// What happened.
    pub events: Stored,
    /// The label after it.
    pub label: Option<String>,
    /// What the list of exams shows of the results after it.
    pub found: String,
}

/// The same where an exam of the day begins, with the first step of that exam.
pub type BeginInDay<'a> = &'a mut dyn FnMut(Vec<EntryOf>) -> Result<(NewEntry, Option<FirstStep>), LogbookError>;

/// A state of what is kept, as it was looked at: it is another one once another program has added anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen(pub i64);

/// The number by which an exam is spoken of at its own seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SpokenRow {
    /// The exam.
    pub exam: ExamId,
    /// Who closed it.
    pub writer: WriterId,
    /// Its number there.
    pub number: i64,
}

/// A writer as it is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriterRow {
    /// Its identity.
    pub id: WriterId,
    /// The name of its seat; empty where none was given.
    pub seat: String,
    /// The place that its seat belongs to, where one was named.
    pub site: Option<String>,
    /// By what it signs, where that is known.
    pub key: Option<PublicKey>,
}

/// Everything in a parcel.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ParcelRows {
    /// The writers.
    pub writers: Vec<WriterRow>,
    /// The entries, writer by writer in the order of their numbers.
    pub entries: Vec<EntryRow>,
    /// The writers whose first entry here only says what the next one follows.
    pub followed: Vec<WriterId>,
    /// What boxes were when the exams began, deflated, under the hash of the content.
    pub box_states: Vec<(Hash, Vec<u8>)>,
    /// The numbers of the exams.
    pub spoken: Vec<SpokenRow>,
}

/// A closed exam with the rows by which a logbook holds it.
#[derive(Debug, Clone)]
pub struct ArrivedExam {
    /// Its identity.
    pub id: ExamId,
    /// Its number at its own seat.
    pub number: i64,
    /// The box it was made with.
    pub in_box: NamedBox,
    /// When it began.
    pub opened: String,
    /// Who examined.
    pub by: Option<String>,
    /// The label.
    pub label: Option<String>,
    /// When it was closed.
    pub finished: String,
    /// What the list of exams shows of its results.
    pub found: String,
    /// How it began.
    pub opening: Stored,
    /// Its steps.
    pub steps: Vec<StepRow>,
    /// Whether a practice eye was examined and no person.
    pub is_of_practice: bool,
}

/// What is new of one writer.
#[derive(Debug, Clone)]
pub struct Arrival {
    /// Who wrote it.
    pub writer: WriterId,
    /// What the writer is called.
    pub seat: SeatName,
    /// The place that its seat belongs to, where one was named.
    pub site: Option<SiteName>,
    /// By what it signs, where it signs; one that is known stays where none is named.
    pub key: Option<PublicKey>,
    /// The entries in the order of their numbers; one that closes an exam with the exam, where this program can read it.
    pub entries: Vec<(EntryRow, Option<ArrivedExam>)>,
    /// By which numbers exams are spoken of that came without their bodies, with the numbers of their entries.
    pub without_body: Vec<(i64, SpokenRow)>,
}

/// Something that stores a logbook. Every call that changes something is one transaction.
pub trait Engine: Debug + Send {
    /// The file.
    fn path(&self) -> &Path;
    /// Whether nothing can be written.
    fn is_read_only(&self) -> bool;
    /// Whether what a killed program had added is gone.
    fn lacks_its_log(&self) -> bool;
    /// What the disk said when it did not take what was kept, if it ever did not.
    fn disk_failure(&self) -> Option<String>;
    /// Has somebody told once the disk does not take what was kept.
    fn when_the_disk_fails(&self, tell: Box<dyn FnOnce() + Send>);
    /// Looks through everything.
    fn check(&self) -> Result<(), LogbookError>;
    /// Makes a copy of everything in a file that is not there yet.
    fn copy_to(&self, target: &Path) -> Result<(), LogbookError>;

    /// Begins an exam, and notes it in the day it belongs to if there is one, with its first step; gives its number.
    fn add_exam(
        &mut self,
        exam: &NewExam<'_>,
        in_day: Option<(DayId, BeginInDay<'_>)>,
    ) -> Result<ExamNumber, LogbookError>;
    /// The number of an exam in this file.
    fn number_of(&self, id: ExamId) -> Result<Option<ExamNumber>, LogbookError>;
    /// Adds a step, and notes in the day of the exam what it does there, if anything; one that closes the exam adds the entry of
    /// the exam too.
    fn add_step(
        &mut self,
        exam: ExamNumber,
        step: &NewStep<'_>,
        in_day: Option<(DayId, LookAtDay<'_>)>,
    ) -> Result<(), LogbookError>;
    /// What is kept of an exam, as it is at one moment.
    fn exam(&self, number: ExamNumber) -> Result<ExamRows, LogbookError>;
    /// The content of the state of a box.
    fn box_state(&self, hash: Hash) -> Result<Option<Vec<u8>>, LogbookError>;
    /// A line for each exam, the latest first.
    fn summaries(&self, which: Which) -> Result<Vec<SummaryOf>, LogbookError>;
    /// By what each exam is looked for, the latest first.
    fn index(&self) -> Result<Vec<IndexRow>, LogbookError>;
    /// Puts an exam aside.
    fn put_aside(&mut self, number: ExamNumber, at: &str) -> Result<(), LogbookError>;
    /// Notes what the list of exams shows of the results of these.
    fn note_found(&mut self, found: &[(ExamNumber, String)]) -> Result<(), LogbookError>;

    /// Everything that happened to a box, under each key it ever had, in the order in which it came here.
    fn box_changes(&self, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError>;
    /// Everything that was noted of a box under this one key, in the order in which it came here.
    fn entries_about(&self, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError>;
    /// Every key that a box ever had; none of one that is not known.
    fn box_keys(&self, key: &BoxKey) -> Result<Vec<BoxKey>, LogbookError>;
    /// The state that is read by now.
    fn seen(&self) -> Result<Seen, LogbookError>;
    /// Adds what happened to a box, made by looking at what happened before to it and, after it, to other boxes. Whether it was
    /// added: where it rests on something that was seen before and another program has added anything since, nothing is.
    fn add_box_change(
        &mut self,
        in_box: &NamedBox,
        others: &[NamedBox],
        rests_on: Option<Seen>,
        make: Look<'_, NewBoxEntry>,
    ) -> Result<bool, LogbookError>;
    /// Every box that is known, in the order in which they came here: with the key that it is known by now.
    fn known_boxes(&self) -> Result<Vec<(BoxKey, BoxRow)>, LogbookError>;
    /// The stock-take of a box that is in progress, with when it was last kept.
    fn stock_take(&self, key: &BoxKey) -> Result<Option<(String, String)>, LogbookError>;
    /// Keeps a stock-take in place of what was kept of it before; nothing has it given up.
    fn keep_stock_take(&mut self, in_box: &NamedBox, state: Option<&str>, at: &str) -> Result<(), LogbookError>;
    /// Every day, the latest last.
    fn days(&self) -> Result<Vec<DayId>, LogbookError>;
    /// Everything that happened in a day, in the order in which it came here.
    fn day_entries(&self, id: DayId) -> Result<Vec<EntryOf>, LogbookError>;
    /// Adds what happened in a day, made by looking at what happened before.
    fn add_day_entry(&mut self, id: DayId, make: LookAtDay<'_>) -> Result<(), LogbookError>;
    /// Every answer to a drill, in the order in which it came here.
    fn drill_entries(&self) -> Result<Vec<EntryOf>, LogbookError>;
    /// Adds an answer to a drill.
    fn add_drill_entry(&mut self, entry: NewEntry) -> Result<(), LogbookError>;
    /// Everything that was erased, as far as this file knows.
    fn erased(&self) -> Result<Vec<Erasure>, LogbookError>;
    /// Notes what was erased, and takes away what is kept of these exams and, in days, of the people.
    fn erase(&mut self, erasures: &[Erasure], of_days: &[DayWithout]) -> Result<(), LogbookError>;
    /// Whether bytes of what was erased may still be in a free part of the file or in its log.
    fn leaves_bytes(&self) -> Result<bool, LogbookError>;
    /// Sees to it that no byte of what was erased is left in a free part of the file or in its log; whether none is: another
    /// program that reads at this moment is in the way.
    fn write_over(&mut self) -> Result<bool, LogbookError>;
    /// Adds something to a closed exam.
    fn add_amendment(&mut self, amendment: NewEntry) -> Result<(), LogbookError>;

    /// A box that is known.
    fn known_box(&self, key: &BoxKey) -> Result<Option<BoxRow>, LogbookError>;
    /// Notes a box, and the file it is read from if one is named; gives its number.
    fn note_box(&mut self, in_box: &NamedBox, file: Option<&str>) -> Result<i64, LogbookError>;
    /// Has a known box, by its number, known by another key too.
    fn add_key(&mut self, in_box: i64, key: &BoxKey) -> Result<(), LogbookError>;

    /// Notes who has a box open.
    fn note_claim(&mut self, in_box: i64, claim: Option<&ClaimRow>) -> Result<(), LogbookError>;
    /// Who noted that a box is open.
    fn claim(&self, in_box: i64) -> Result<Option<ClaimRow>, LogbookError>;

    /// Who this logbook is now; none where nobody has written in it.
    fn me(&self) -> Result<Option<WriterRow>, LogbookError>;
    /// Names the seat that this logbook is.
    fn name_seat(&mut self, seat: &SeatName) -> Result<(), LogbookError>;
    /// The writer that this logbook is, and by what its computer is known from another.
    fn home(&self) -> Result<(WriterId, String), LogbookError>;
    /// Is this writer from now on, whose entries are the next ones; what another one wrote after a number, where it parted from a
    /// copy of the logbook, is written again as these.
    fn go_on_as(
        &mut self,
        writer: WriterId,
        parted: Option<(WriterId, i64)>,
        again: &[EntryAgain],
    ) -> Result<(), LogbookError>;
    /// The last entry of each writer that stands, by its number and hash.
    fn last_entries(&self) -> Result<Vec<(WriterId, i64, Hash)>, LogbookError>;
    /// The hash of an entry.
    fn hash_of(&self, writer: WriterId, number: i64) -> Result<Option<Hash>, LogbookError>;
    /// From which number to which each writer's entries are here, and how many they are.
    fn entry_spans(&self) -> Result<Vec<EntrySpan>, LogbookError>;
    /// The numbers of a writer's entries, in their order.
    fn entry_numbers(&self, writer: WriterId) -> Result<Vec<i64>, LogbookError>;
    /// Names the place that this seat belongs to.
    fn name_site(&mut self, site: &SiteName) -> Result<(), LogbookError>;
    /// Notes by what this logbook signs from now on.
    fn note_key(&mut self, key: &PublicKey) -> Result<(), LogbookError>;
    /// Every writer, in the order in which they came.
    fn writers(&self) -> Result<Vec<WriterRow>, LogbookError>;
    /// Every entry that stands, writer by writer, in the order of their numbers.
    fn entries(&self) -> Result<Vec<EntryRow>, LogbookError>;
    /// What this logbook wrote beyond what is known elsewhere, as it is sent.
    fn parcel_rows(&self, since: &Heads) -> Result<ParcelRows, LogbookError>;
    /// Of a file of what was read of others: the exams of which nothing is here but the entry that closed them.
    fn bare_exams(&self) -> Result<Vec<BareExamRow>, LogbookError>;
    /// By which number each exam of others is spoken of.
    fn spoken(&self) -> Result<Vec<SpokenRow>, LogbookError>;
    /// Takes in what came of one writer.
    fn take_in(&mut self, arrival: &Arrival, box_states: &[(Hash, Vec<u8>)]) -> Result<(), LogbookError>;
    /// Of a file of what was read of others: up to which number of each writer bodies of exams are kept no longer.
    fn let_go(&self) -> Result<Vec<(WriterId, i64)>, LogbookError>;
    /// Of such a file: lets go of the exams of these writers up to these numbers of their entries.
    fn let_go_of(&mut self, further: &[(WriterId, i64)]) -> Result<(), LogbookError>;

    /// A remembered file.
    fn remembered(&self, what: Remembered) -> Result<Option<String>, LogbookError>;
    /// Remembers files.
    fn remember(&mut self, files: &[(Remembered, &str)], at: &str) -> Result<(), LogbookError>;
}
