//! What a key asks beside steps of the exam.

use std::path::PathBuf;

use super::box_sheets::SheetAsked;
use super::counting::Counting;
use crate::day::{Caller, DayEvent};
use crate::exam::came_back::asked::GlassesDraft;
use crate::exam::{Detail, ReadyMadeLimits};
use crate::export::RecordForm;
use crate::export::table::TableForm;
use crate::frame::DeclaredFrame;
use crate::practice::drills::{Level, Skill};
use crate::session::{BagOut, ListedExam, ToNote};

/// What a key asks beside a step of the exam.
#[derive(Debug, Clone, PartialEq)]
pub enum Request {
    /// Show the list of exams, of those with every word in label, number, date or outcome; of all where none is named.
    List {
        /// The words.
        search: String,
    },
    /// Show one exam.
    Read(ListedExam),
    /// Add to a closed exam.
    Amend {
        /// Its number.
        exam: u64,
        /// What to add.
        text: String,
    },
    /// Note that the glasses of a closed exam came back.
    GlassesBack {
        /// Its number.
        exam: u64,
        /// What was found on them.
        draft: Box<GlassesDraft>,
    },
    /// Take back what was noted last of glasses that came back to an exam.
    TakeGlassesBack(u64),
    /// Write the record of an exam into a file.
    Export {
        /// The exam.
        exam: ListedExam,
        /// The form, which gives the file its ending too.
        form: RecordForm,
    },
    /// Something of a box.
    OfBox(BoxRequest),
    /// Something of the day.
    OfDay(DayRequest),
    /// Something of practice.
    OfPractice(PracticeRequest),
    /// Begin another exam.
    Begin {
        /// Its label; none when empty.
        label: String,
    },
}

/// What a key asks of a box.
#[derive(Debug, Clone, PartialEq)]
pub enum BoxRequest {
    /// Show a box: the one of the exam, or another by what it is known.
    ShowBox(Option<String>),
    /// Note what happened to the box that is shown, all of it or nothing.
    ChangeBox {
        /// What happened.
        to_note: ToNote,
        /// What is said when it is noted.
        said: String,
    },
    /// List all boxes.
    ListBoxes,
    /// Show the box after the one that is shown.
    NextBox,
    /// Begin a stock-take of the box that is shown, or go on with it.
    Count,
    /// Keep the stock-take as it has become.
    KeepCount(Box<Counting>),
    /// End the stock-take: note what it comes to.
    EndCount,
    /// Write a new box of a template, show it, and begin to count it.
    NewBox {
        /// What it is called.
        name: String,
        /// The template.
        template: String,
    },
    /// Have exams be on a box of one's own, this one too where nothing was done in it.
    OwnBox(OwnBox),
    /// Write the file of a new frame.
    NewFrame(DeclaredFrame),
    /// Have exams be on the frame of a file.
    UseFrame(PathBuf),
    /// Check a bag out.
    CheckOut(BagOut),
    /// Give the stock-take up.
    GiveUpCount,
    /// Show the figures of the next known box beside those of this one on the map, after the last of them none.
    NextBeside,
    /// Write a sheet into a file that was named; one that is there stays.
    WriteSheet {
        /// Which.
        sheet: SheetAsked,
        /// In which form.
        form: TableForm,
        /// The file.
        file: PathBuf,
    },
    /// Read what can be bought from a file; where none is named, take that back.
    Prices(String),
    /// Take back what was noted last of the box that is shown.
    TakeBackOfBox,
}

/// A box that exams are to be on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OwnBox {
    /// A new one, which is counted then.
    OfTemplate {
        /// What it is called.
        name: String,
        /// The template.
        template: String,
    },
    /// The one that a file declares.
    File(PathBuf),
}

impl From<BoxRequest> for Request {
    fn from(request: BoxRequest) -> Self {
        Self::OfBox(request)
    }
}

/// What a key asks of the day.
#[derive(Debug, Clone, PartialEq)]
pub enum DayRequest {
    /// Show it.
    Show,
    /// Begin one.
    Begin {
        /// Where it is held.
        place: Option<String>,
    },
    /// Begin an exam of somebody.
    Call(Caller),
    /// Go on with the open exam of somebody.
    TakeUp {
        /// The running number.
        number: u32,
    },
    /// Note what happened.
    Note {
        /// What.
        events: Vec<DayEvent>,
        /// What is said when it is noted.
        said: String,
    },
    /// Have a setting of the room hold for everybody from now on.
    Holds {
        /// The setting.
        detail: Detail,
        /// What is said when it is noted.
        said: String,
    },
    /// Take back what was noted last.
    Undo,
    /// Show which ready-made pairs there are for the person of the open exam.
    ReadyMade,
    /// Show what is left on the shelf; where there is none, ask for one.
    Shelf,
    /// Have pairs be given from the shelf of a file.
    UseShelf {
        /// The file.
        file: PathBuf,
        /// By which limits.
        limits: ReadyMadeLimits,
    },
}

/// What a key asks of practice.
#[derive(Debug, Clone, PartialEq)]
pub enum PracticeRequest {
    /// Show what can be done.
    Show,
    /// An eye drawn as hard as this.
    Drawn(Level),
    /// A case by its file.
    Named(PathBuf),
    /// The eyes of a teacher's code.
    Coded(String),
    /// How the exam that ended went.
    HowItWent,
    /// Another like the one before, or the next of several.
    Next,
    /// The practice exam that was left.
    LastOne,
    /// Show the lessons.
    Lessons,
    /// Begin a lesson, by its file.
    Lesson(PathBuf),
    /// The lesson that was begun, where it was.
    LastLesson,
    /// Take a part of the lesson that was begun, from 0.
    LessonPart(usize),
    /// Show the drills.
    Drills,
    /// Begin a sitting at a drill.
    Drill(Skill),
    /// What was typed for the item of a drill that is shown.
    DrillAnswered(String),
    /// Leave practice.
    Leave,
}

impl From<PracticeRequest> for Request {
    fn from(request: PracticeRequest) -> Self {
        Self::OfPractice(request)
    }
}

impl From<DayRequest> for Request {
    fn from(request: DayRequest) -> Self {
        Self::OfDay(request)
    }
}
