//! What can go wrong with the logbook: where, what, and what to do.

use std::error::Error as StdError;
use std::io;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use thiserror::Error;

use super::names::{BoxKey, ExamNumber, Holder};
use crate::day::DayRefusal;
use crate::kit::{Piece, Place, StockError};
use crate::sharing::{Erasure, NotASeat, SeatName};

/// What went wrong in storing something, in the storing engine's own words.
pub type EngineError = Box<dyn StdError + Send + Sync>;

/// What an empty file is called.
pub(super) const EMPTY_FILE: &str = "an empty file";

/// A logbook that cannot be opened, read or written. Whatever it is, nothing that was in the file has been overwritten.
#[derive(Debug, Error)]
pub enum LogbookError {
    /// There is no home folder to keep the logbook in.
    #[error("this user has no home folder to keep a logbook in: name a file with --logbook FILE")]
    NoHome,
    /// Something is wrong with a file.
    #[error("{}: {error}", path.display())]
    At {
        /// The file or folder.
        path: PathBuf,
        /// What is wrong with it.
        error: FileError,
    },
    /// Another program has the box open.
    #[error("the box {box_name} is open elsewhere: {holder}. Close it there, or choose another box")]
    BoxOpen {
        /// What the box is called.
        box_name: String,
        /// Who has it.
        holder: Holder,
    },
    /// Something was to be noted of a bag whose pieces are in the box again from which it went.
    #[error("the bag {bag} is back in {home}: note it there, with its file")]
    BagIsBack {
        /// What the bag is called.
        bag: String,
        /// What the box is called in which its pieces are.
        home: String,
    },
    /// What was to be the name of a seat.
    #[error(transparent)]
    NotASeat(#[from] NotASeat),
    /// Something was to be noted of a box that another seat has.
    #[error(
        "the box {box_name} is handed over to {}, which alone changes it until it is handed back: `dioptray box hand-over --back` notes that",
        seats(to)
    )]
    BoxHandedOver {
        /// What the box is called.
        box_name: String,
        /// The seats to which it is handed over.
        to: Vec<SeatName>,
    },
    /// A box was to be handed back that nobody was handed.
    #[error("the box {box_name} is not handed over to anybody")]
    NotHandedOver {
        /// What the box is called.
        box_name: String,
    },
    /// A box was to be handed over to the seat where it is.
    #[error("{seat} is this seat: the box {box_name} is here")]
    HandedOverHere {
        /// What the box is called.
        box_name: String,
        /// The seat.
        seat: SeatName,
    },
    /// What is known under a box's name was to go over to a box that has a record of its own.
    #[error(
        "the logbook already has a record of the box with the id {id}, and another under the name {name}: they are two boxes to it, and \
         are not made one"
    )]
    BothBoxesKnown {
        /// The key by the `id` of the file.
        id: BoxKey,
        /// The key by its name.
        name: BoxKey,
    },
    /// Another program added to the exam meanwhile.
    #[error("exam {exam} was continued by another program meanwhile: open it again to see how it stands")]
    ContinuedElsewhere {
        /// Its number in this logbook.
        exam: ExamNumber,
    },
    /// A value that would not read back as it is.
    #[error("{what} cannot be kept: {reason}")]
    NotStorable {
        /// The value in words: `the beginning of the exam`.
        what: String,
        /// Why.
        reason: String,
    },
    /// The box refuses the change.
    #[error(transparent)]
    Stock(#[from] StockError),
    /// A piece that was to go away stands before an eye.
    #[error("{piece} is {place} in exam {exam}, which is open: take it out there first")]
    InAFrame {
        /// The piece.
        piece: Piece,
        /// The cell or the hand where it is.
        place: Place,
        /// The open exam.
        exam: ExamNumber,
    },
    /// A piece was to move to the box that it is in.
    #[error("{piece} is in this box already: name another box to move it to")]
    MovedNowhere {
        /// The piece.
        piece: Piece,
    },
    /// A piece was to move to a box that nobody named.
    #[error("no box is known here by {key}")]
    NoSuchBox {
        /// By what it was named.
        key: BoxKey,
    },
    /// The day refuses it.
    #[error(transparent)]
    Day(#[from] DayRefusal),
    /// A day was to begin, and another has not ended.
    #[error("the day{} that began at {began:.0} has not ended: end it first", in_place(place.as_deref()))]
    DayOpen {
        /// When it began.
        began: Timestamp,
        /// Where.
        place: Option<String>,
    },
    /// Nothing of a day could be taken back.
    #[error("nothing of this day can be taken back: how it began and that an exam began stay")]
    NothingToTakeBackOfDay,
    /// Nothing was noted that could be taken back.
    #[error("nothing that was noted of the box {box_name} is left to be taken back")]
    NothingToTakeBack {
        /// What the box is called.
        box_name: String,
    },
    /// An entry was named that is not there.
    #[error("there is no such entry of the box {box_name}")]
    NoSuchEntry {
        /// What the box is called.
        box_name: String,
    },
    /// An entry was to be taken back in another box than the one in which it was noted.
    #[error("this was noted in the box {about}: take it back there")]
    NotedElsewhere {
        /// The box in which it was noted.
        about: BoxKey,
    },
    /// An entry is taken back already.
    #[error("this was taken back already at {at:.0}")]
    TakenBackAlready {
        /// When.
        at: Timestamp,
    },
    /// That something was a slip was to be taken back.
    #[error("that something was a slip stays: note again what happened")]
    SlipStays,
    /// A later change rests on what was to be taken back.
    #[error("this cannot be taken back: \"{what}\", noted later at {at:.0}, rests on it. Take that back first")]
    RestedOn {
        /// The later change.
        what: String,
        /// When that was noted.
        at: Timestamp,
    },
}

fn in_place(place: Option<&str>) -> String {
    place.map(|place| format!(" at {place}")).unwrap_or_default()
}

/// What is wrong with a file, and what to do.
#[derive(Debug, Error)]
pub enum FileError {
    /// No such file, and it was only to be read.
    #[error("there is no such logbook")]
    Missing,
    /// A folder or a device stands where the file should be.
    #[error("this is {found}, not a file: name a file with --logbook FILE")]
    NotAFile {
        /// What is there, in words: `a folder`.
        found: &'static str,
    },
    /// Another kind of file.
    #[error(
        "this is {found}, not a Dioptray logbook; nothing in it was changed. Name another file with --logbook FILE"
    )]
    NotALogbook {
        /// What is there, in words: `an empty file`.
        found: &'static str,
    },
    /// The file, or a part of it, no longer holds what was written.
    #[error(
        "this logbook is damaged ({detail}); nothing in it was changed. Keep a copy of it, together with the files beside it whose names \
         begin alike (-wal, -shm), for rescue, and go on with another file: --logbook FILE"
    )]
    Damaged {
        /// What is wrong.
        detail: String,
    },
    /// The log beside the file was not written for it.
    #[error(
        "the file {} beside this logbook does not belong to it: it is of another logbook, or of this one at another time; nothing was \
         changed. If this logbook was copied here, the copy is whole without that file: move it to another folder, keep it, and start again",
        log.display()
    )]
    StrangeLog {
        /// The log.
        log: PathBuf,
    },
    /// A companion that this user may not write.
    #[error(
        "this logbook cannot be opened: this user may not write the file {} that belongs to it. Ask who made that file to leave Dioptray \
         and remove it, or name another logbook with --logbook FILE",
        companion.display()
    )]
    CompanionOfAnother {
        /// The companion.
        companion: PathBuf,
    },
    /// The file was removed or replaced while it was open.
    #[error(
        "this logbook was removed or replaced while it was open: what was last entered was not saved. {}Leave the program, put the logbook \
         back, and start again", rescued_as(rescued.as_ref())
    )]
    Gone {
        /// A whole copy of what it held, where one could be made.
        rescued: Option<PathBuf>,
    },
    /// Written by a later version of the program.
    #[error(
        "this logbook has form {found}, written by a newer Dioptray; this one knows forms up to {known}. Nothing in it was changed. Use \
         the newer Dioptray, or another file: --logbook FILE"
    )]
    Newer {
        /// Its form.
        found: i64,
        /// The newest form that this program knows.
        known: i64,
    },
    /// A row that this version cannot read: written by a later version, or altered by hand.
    #[error("{what} cannot be read: {reason}. It was left as it is; a newer Dioptray may be able to read it")]
    Unreadable {
        /// Which row.
        what: String,
        /// Why.
        reason: String,
    },
    /// There is no exam with this number.
    #[error("there is no exam {exam} in this logbook")]
    NoSuchExam {
        /// The number that was asked for.
        exam: ExamNumber,
    },
    /// The exam was erased.
    #[error("exam {} was erased: {erasure}. Its number and the hash of what it held are left", erasure.number)]
    Erased {
        /// What is left of it.
        erasure: Box<Erasure>,
    },
    /// There is no such day.
    #[error("there is no such day in this logbook")]
    NoSuchDay,
    /// The file or its folder is read-only.
    #[error(
        "this logbook can be read but not written: the file or its folder is read-only. Make both writable, or name another file with \
         --logbook FILE"
    )]
    ReadOnly,
    /// Something was to be written to a logbook that was opened for reading.
    #[error("this logbook was opened for reading only")]
    OpenedForReading,
    /// A new logbook was to be made on a network folder.
    #[error(
        "this folder is on another computer ({kind}), where a logbook cannot be kept safely: name a file on a disk of this computer with \
         --logbook FILE or DIOPTRAY_LOGBOOK"
    )]
    NewOnNetwork {
        /// The kind of the network folder.
        kind: &'static str,
    },
    /// Something was to be written to a logbook on a network folder.
    #[error(
        "this logbook is in a folder on another computer ({kind}), so it is only read: copy it to a disk of this computer with `dioptray \
         --logbook FILE logbook move NEW`, and go on with the copy: --logbook NEW or DIOPTRAY_LOGBOOK"
    )]
    OnNetwork {
        /// The kind of the network folder.
        kind: &'static str,
    },
    /// Something is already there where a copy was to be made.
    #[error("there is a file already: it is left as it is; name another for the copy")]
    CopyExists,
    /// A logbook of an older form is in use by an older program.
    #[error(
        "this logbook is to be brought to a new form, but an older Dioptray still has it open: {holder}. Close it there, and start again"
    )]
    OpenInOlder {
        /// Who has it open.
        holder: Holder,
    },
    /// No room to copy a logbook before it is brought to a new form.
    #[error(
        "there is no room for a copy of this logbook ({megabytes} MB), which is made before it is brought to a new form: nothing in it was \
         changed. Make room, and start again"
    )]
    NoRoomForCopy {
        /// How large it is, in megabytes, rounded up.
        megabytes: u64,
    },
    /// A part of the path is a file.
    #[error("{} is not a folder, so that no logbook can be in it: name another file with --logbook FILE", folder.display())]
    NotAFolder {
        /// The part.
        folder: PathBuf,
    },
    /// The program or the computer has as many files open as it may.
    #[error(
        "this logbook cannot be opened: too many files are open. Close other programs, or allow this one more (`ulimit -n`), and start again"
    )]
    TooManyOpen,
    /// No room is left to read.
    #[error(
        "this logbook cannot be read now: the disk is full, and reading needs a little room too. Make room, and try again"
    )]
    NoRoomToRead,
    /// The disk failed in reading.
    #[error("this logbook cannot be read now: the disk failed ({0}). See that it is sound, and try again")]
    DiskInReading(#[source] EngineError),
    /// Another program keeps the file locked, and it was only to be read.
    #[error(
        "this logbook cannot be read now: another program has kept it locked for {seconds} seconds. Close that program, and try again"
    )]
    BusyInReading {
        /// How long this program waited.
        seconds: u64,
    },
    /// The user may not open the file, or may not create it or its companions in the folder.
    #[error(
        "this logbook cannot be opened: this user may not read and write it, or may not write in its folder. Ask its owner, or name another \
         file with --logbook FILE"
    )]
    NoPermission,
    /// No room is left.
    #[error("the disk is full: what was last entered was not saved. Make room and enter it again")]
    Full,
    /// The disk failed in writing or reading.
    #[error(
        "the disk failed ({0}): what was last entered was not saved. See that there is room and that the disk is sound, and enter it again"
    )]
    Disk(#[source] EngineError),
    /// Another program keeps the file locked.
    #[error(
        "another program has kept this logbook locked for {seconds} seconds: what was last entered was not saved. Close that program, and \
         enter it again"
    )]
    Busy {
        /// How long this program waited.
        seconds: u64,
    },
    /// The system refused.
    #[error("{0}")]
    Io(#[source] io::Error),
    /// The storing engine refused for a reason that has no words of its own here.
    #[error("{0}")]
    Engine(#[source] EngineError),
}

fn seats(to: &[SeatName]) -> String {
    let names: Vec<String> = to.iter().map(ToString::to_string).collect();
    names.join(" and ")
}

fn rescued_as(copy: Option<&PathBuf>) -> String {
    let copy = copy.map(|copy| format!("Everything entered before it is in {}. ", copy.display()));
    copy.unwrap_or_default()
}

impl FileError {
    /// That an exam was erased.
    pub(super) fn erased(erasure: Erasure) -> Self {
        Self::Erased { erasure: Box::new(erasure) }
    }

    /// The same as it is said where nothing was to be written.
    pub(super) fn in_reading(self) -> Self {
        match self {
            Self::Full => Self::NoRoomToRead,
            Self::Disk(source) => Self::DiskInReading(source),
            Self::Busy { seconds } => Self::BusyInReading { seconds },
            other => other,
        }
    }

    /// The error about this file or folder.
    pub fn at(self, path: &Path) -> LogbookError {
        LogbookError::At { path: path.to_owned(), error: self }
    }
}

impl LogbookError {
    /// Whether a box refuses what was to be noted of it, and the logbook would have taken it.
    pub fn is_a_refusal_of_a_box(&self) -> bool {
        match self {
            Self::InAFrame { .. }
            | Self::MovedNowhere { .. }
            | Self::NoSuchBox { .. }
            | Self::Day(_)
            | Self::DayOpen { .. }
            | Self::NothingToTakeBackOfDay
            | Self::BagIsBack { .. }
            | Self::NotASeat(_)
            | Self::BoxHandedOver { .. }
            | Self::NotHandedOver { .. }
            | Self::HandedOverHere { .. }
            | Self::NothingToTakeBack { .. }
            | Self::NoSuchEntry { .. }
            | Self::NotedElsewhere { .. }
            | Self::TakenBackAlready { .. }
            | Self::SlipStays
            | Self::RestedOn { .. }
            | Self::Stock(_) => true,
            Self::At { .. }
            | Self::NoHome
            | Self::BoxOpen { .. }
            | Self::BothBoxesKnown { .. }
            | Self::ContinuedElsewhere { .. }
            | Self::NotStorable { .. } => false,
        }
    }

    /// What is wrong with a file, when that is what it is about.
    pub fn file_error(&self) -> Option<&FileError> {
        match self {
            Self::At { error, .. } => Some(error),
            Self::NoHome
            | Self::BoxOpen { .. }
            | Self::BothBoxesKnown { .. }
            | Self::ContinuedElsewhere { .. }
            | Self::NotStorable { .. }
            | Self::InAFrame { .. }
            | Self::MovedNowhere { .. }
            | Self::NoSuchBox { .. }
            | Self::Day(_)
            | Self::DayOpen { .. }
            | Self::NothingToTakeBackOfDay
            | Self::BagIsBack { .. }
            | Self::NotASeat(_)
            | Self::BoxHandedOver { .. }
            | Self::NotHandedOver { .. }
            | Self::HandedOverHere { .. }
            | Self::NothingToTakeBack { .. }
            | Self::NoSuchEntry { .. }
            | Self::NotedElsewhere { .. }
            | Self::TakenBackAlready { .. }
            | Self::SlipStays
            | Self::RestedOn { .. }
            | Self::Stock(_) => None,
        }
    }

    /// Whether there is no home folder to look for a logbook in.
    pub fn is_for_want_of_a_home(&self) -> bool {
        matches!(self, Self::NoHome)
    }

    /// Whether there is no such file.
    pub fn is_missing(&self) -> bool {
        matches!(self.file_error(), Some(FileError::Missing))
    }

    /// Whether there is nothing yet: no file, or one that stands empty since whoever was making it was killed.
    pub fn is_not_begun(&self) -> bool {
        self.is_missing() || self.found_instead() == Some(EMPTY_FILE)
    }

    /// Whether the logbook has no exam of the number that was asked for.
    pub fn is_of_no_such_exam(&self) -> bool {
        matches!(self.file_error(), Some(FileError::NoSuchExam { .. }))
    }

    /// Whether the exam was erased that was asked for.
    pub fn is_of_an_erased_exam(&self) -> bool {
        matches!(self.file_error(), Some(FileError::Erased { .. }))
    }

    /// What stands in place of a logbook, where it is something else.
    pub fn found_instead(&self) -> Option<&'static str> {
        match self.file_error() {
            Some(FileError::NotALogbook { found }) => Some(found),
            _ => None,
        }
    }

    /// Whether there are no rights, or there is no room, to use the file or its folder as it would have to be used.
    pub fn is_of_room_or_rights(&self) -> bool {
        matches!(
            self.file_error(),
            Some(FileError::NoPermission | FileError::ReadOnly | FileError::Full | FileError::Disk(_))
        )
    }

    /// Whether the file, with the log beside it, is not sound.
    pub fn is_of_damage(&self) -> bool {
        matches!(self.file_error(), Some(FileError::Damaged { .. } | FileError::NotALogbook { .. }))
    }

    /// The same as it is said where nothing was to be written.
    pub(super) fn in_reading(self) -> Self {
        match self {
            Self::At { path, error } => Self::At { path, error: error.in_reading() },
            other => other,
        }
    }

    /// Puts what the system says into words for the user.
    pub(super) fn io(path: &Path, source: io::Error) -> Self {
        let error = match source.kind() {
            io::ErrorKind::PermissionDenied => FileError::NoPermission,
            io::ErrorKind::ReadOnlyFilesystem => FileError::ReadOnly,
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => FileError::Full,
            io::ErrorKind::NotADirectory => FileError::NotAFolder { folder: first_file_of(path) },
            _ if no_more_files() => FileError::TooManyOpen,
            _ => FileError::Io(source),
        };
        error.at(path)
    }

    /// The error for a row that cannot be read.
    pub(super) fn unreadable(path: &Path, what: &str, reason: String) -> Self {
        FileError::Unreadable { what: what.to_owned(), reason }.at(path)
    }
}

/// The part of a path that is a file although more follows it.
fn first_file_of(path: &Path) -> PathBuf {
    let above = path.ancestors().skip(1);
    above.into_iter().find(|folder| folder.is_file()).unwrap_or(path).to_owned()
}

/// Whether no further file can be opened, which the storing engine says of a file that cannot be.
pub(super) fn no_more_files() -> bool {
    // EMFILE and ENFILE, on every system that has them
    std::fs::File::open(std::env::temp_dir()).is_err_and(|error| matches!(error.raw_os_error(), Some(23 | 24)))
}
