//! What is said beside what was done: the input was in order, but not all of it was as somebody might think.

use std::path::PathBuf;

use jiff::Timestamp;
use thiserror::Error;

use crate::kit::document::Faults;
use crate::kit::{Piece, StockError};

/// Something to be said beside what was done.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Note {
    /// A box is known by its name only.
    #[error("{}: this box has no `id:`, so the logbook knows it by its name: `dioptray box id FILE` gives it one", file.display())]
    NoId {
        /// The file of the box, to be given an `id:`.
        file: PathBuf,
    },
    /// Two files have one `id`.
    #[error(
        "{} has the id {id} too: to the logbook the two are one box. Give a box of its own another id",
        other.display()
    )]
    SameId {
        /// The `id:` that both files have.
        id: String,
        /// The file that had it before.
        other: PathBuf,
    },
    /// An exam begins with a box that another seat has.
    #[error("the box {box_name} is handed over to {to}: nothing is noted of it here until it is handed back")]
    HandedOver {
        /// What the box is called.
        box_name: String,
        /// The seat that has it.
        to: String,
    },
    /// A change of a box that its file no longer allows is left out.
    #[error("{at} no longer fits {box_file}: {why}")]
    ChangeLeftOut {
        /// When it was noted.
        at: Timestamp,
        /// The file of the box, or its name.
        box_file: String,
        /// Why it does not fit.
        why: StockError,
    },
    /// A file that is to be read again cannot be, so that what it describes stays as it was.
    #[error("{faults}\nthe {what} stays as the exam before had it")]
    Unread {
        /// `box` or `frame`.
        what: &'static str,
        /// What is wrong.
        faults: Faults,
    },
    /// A file now describes something else, so that what it described stays as it was.
    #[error("{} is another {what} now, {name}: it is used when the program is started with it", file.display())]
    Another {
        /// `box` or `frame`.
        what: &'static str,
        /// The file as it was named.
        file: PathBuf,
        /// What it is called now.
        name: String,
    },
    /// An open exam was begun with other procedures of the guide.
    #[error(
        "exam {exam} was begun with procedures of version {begun}, now they are version {now}: it goes on from what stands"
    )]
    OtherProcedures {
        /// Its number in the logbook.
        exam: u64,
        /// The version it was begun with.
        begun: u32,
        /// The version now.
        now: u32,
    },
    /// A change of a box that cannot be read is passed over.
    #[error("{why} The box is as if it had not happened: look whether its lens is there")]
    ChangeUnread {
        /// What the logbook says to reading it.
        why: String,
    },
    /// An exam that was not closed cannot be read.
    #[error("exam {exam} was not closed and is not offered: {why}")]
    ExamPassedOver {
        /// Its number in the logbook.
        exam: u64,
        /// What the logbook says to reading it.
        why: String,
    },
    /// A lens that this exam uses was noted as gone meanwhile.
    #[error(
        "{piece} has been used in exam {exam}, and was noted meanwhile as no longer in the box: look whether it is there"
    )]
    UsedThoughGone {
        /// The number of the exam.
        exam: u64,
        /// The piece.
        piece: Piece,
    },
    /// No time zone is known, or the one that is set is none.
    #[error("no time zone is known here (by TZ or the system): times are in UTC")]
    UnknownZone,
    /// What was added last is missing with the log that lay beside the logbook.
    #[error(
        "{}: the program that had this logbook last was stopped, and the file {} with what it had added last is not here: if you \
         have it, leave now and put it back beside the logbook",
        logbook.display(),
        log.display()
    )]
    LogMissing {
        /// The logbook.
        logbook: PathBuf,
        /// The file that is not there.
        log: PathBuf,
    },
    /// An exam was erased at this start, as two people of the room agreed.
    #[error("exam {exam} was erased: {why}")]
    Erased {
        /// Its number in the logbook.
        exam: u64,
        /// Why, and who asked and agreed.
        why: String,
    },
    /// An exam is to be erased that another program shows.
    #[error("exam {exam} is to be erased, and another Dioptray has it on its screen: the next start erases it")]
    ToBeErased {
        /// Its number in the logbook.
        exam: u64,
    },
    /// What was erased may not be gone from the disk.
    #[error("what was erased may still stand in a free part of the file ({why}): the next start sees to it")]
    ErasedLeftBehind {
        /// What was in the way.
        why: String,
    },
    /// What was to be erased could not be.
    #[error("an exam that is to be erased is still here ({why}): the next start tries again")]
    NotErased {
        /// What the logbook says to it.
        why: String,
    },
}

impl Note {
    /// Whether it is good to know and nothing is amiss.
    pub fn is_a_hint(&self) -> bool {
        match self {
            Self::NoId { .. } | Self::Erased { .. } => true,
            Self::SameId { .. }
            | Self::ChangeLeftOut { .. }
            | Self::HandedOver { .. }
            | Self::Unread { .. }
            | Self::Another { .. }
            | Self::OtherProcedures { .. }
            | Self::ChangeUnread { .. }
            | Self::ExamPassedOver { .. }
            | Self::UsedThoughGone { .. }
            | Self::UnknownZone
            | Self::ToBeErased { .. }
            | Self::ErasedLeftBehind { .. }
            | Self::NotErased { .. }
            | Self::LogMissing { .. } => false,
        }
    }
}
