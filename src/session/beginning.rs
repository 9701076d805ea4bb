//! Which exam to begin with: one that is still open, or a new one on the box and frame that were named or used last.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use thiserror::Error;

use super::kept::{KeptBox, KeptExam};
use super::open::Session;
use super::writing::Writing;
use crate::exam::{Exam, Opening};
use crate::frame::shipped::demo_frame;
use crate::frame::{DeclaredFrame, FittedFrame, read_frame};
use crate::kit::document::Faults;
use crate::kit::shipped::demo_box;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{BEFORE_VERSIONS, BeganWith, ExamSummary, LastUsed, Logbook, LogbookError, NamedBox};

/// What is asked of a beginning.
#[derive(Debug, Clone)]
pub struct Beginning {
    /// The box file that was named.
    pub box_file: Option<PathBuf>,
    /// The frame file that was named.
    pub frame_file: Option<PathBuf>,
    /// Whether a new exam begins although one is still open.
    pub new: bool,
    /// How records are written.
    pub writing: Writing,
}

/// The exam that was begun or goes on.
pub struct Begun {
    /// The open exam.
    pub session: Session,
    /// The exam in a few words when it was begun earlier and goes on.
    pub goes_on: Option<String>,
    /// Whether it is the first of its logbook.
    pub first: bool,
}

/// Why no exam begins.
#[derive(Debug, Error)]
pub enum BeginError {
    /// A box or frame file has faults.
    #[error(transparent)]
    Faults(#[from] Faults),
    /// So has a file that was not named but used last.
    #[error("{faults}\nthis file was used last: name another with {option} FILE")]
    LastUsed {
        /// Its faults.
        faults: Faults,
        /// How to name another.
        option: &'static str,
    },
    /// The logbook cannot be opened.
    #[error("the logbook (the screen runs without one when started with --no-logbook): {0}")]
    Unopened(LogbookError),
    /// The logbook refuses.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// A path cannot be made whole.
    #[error(transparent)]
    Path(#[from] std::io::Error),
}

impl Beginning {
    /// A new exam that nothing keeps.
    ///
    /// # Errors
    /// When a file that was named has faults.
    pub fn in_memory(&self) -> Result<Session, BeginError> {
        let fitted = FittedFrame::new(
            self.frame_file.as_deref().map_or_else(demo_frame, read_frame)?,
            Stock::of(&self.box_file.as_deref().map_or_else(demo_box, read_box)?),
        );
        Ok(Session::in_memory(Exam::open(Opening { fitted })))
    }

    /// The exam of a logbook that is still open, or a new one; each step is saved there.
    ///
    /// # Errors
    /// When a file has faults, the logbook cannot be used, or another program has the box.
    pub fn in_logbook(&self, path: &Path) -> Result<Begun, BeginError> {
        let mut logbook = Logbook::open(path).map_err(BeginError::Unopened)?;
        let now = Timestamp::now();
        let first = logbook.is_empty()?;
        let named_box = self.box_file.as_deref().map(read_box).transpose()?;
        let named_frame = self.frame_file.as_deref().map(read_frame).transpose()?;
        let going_on = self.going_on(&logbook, named_box.as_ref(), named_frame.as_ref())?;
        let (open, exam, in_box, claim, goes_on) = if let Some(summary) = going_on {
            let claim = logbook.claim_box(&summary.in_box, now)?;
            let stored = logbook.read_exam(summary.number)?;
            let goes_on = Some(in_words(&summary));
            let kept = KeptBox { in_box: summary.in_box, applied: stored.beginning.applied };
            (stored.open, stored.exam, kept, claim, goes_on)
        } else {
            let used = logbook.last_used()?;
            let declared = named_or_last(named_box, used.box_file.as_deref(), "--box", read_box, demo_box)?;
            let frame = named_or_last(named_frame, used.frame_file.as_deref(), "--frame", read_frame, demo_frame)?;
            let in_box = NamedBox::new(None, &declared.name);
            let claim = logbook.claim_box(&in_box, now)?;
            put_aside(&mut logbook, &in_box, self.new, now)?;
            let on_record = logbook.stock_of(&in_box.key, &declared)?;
            let opening = Opening { fitted: FittedFrame::new(frame, on_record.stock) };
            let with = BeganWith {
                in_box,
                applied: on_record.applied,
                by: self.writing.examiner().map(str::to_owned),
                procedures_version: BEFORE_VERSIONS,
            };
            let open = logbook.begin_exam(&opening, &with, now)?;
            let kept = KeptBox { in_box: with.in_box, applied: Some(with.applied) };
            (open, Exam::open(opening), kept, claim, None)
        };
        logbook.note_exam(&claim, open.number())?;
        let absolute = |file: &Option<PathBuf>| file.as_deref().map(std::path::absolute).transpose();
        let used = LastUsed { box_file: absolute(&self.box_file)?, frame_file: absolute(&self.frame_file)? };
        logbook.remember_last_used(&used, now)?;
        let kept = KeptExam::new(logbook, open, in_box, claim, self.writing.clone());
        let session = Session::new(exam, Box::new(kept));
        Ok(Begun { session, goes_on, first })
    }

    /// The latest exam that is still open and has something in it, with the box and frame that were named if any were.
    fn going_on(
        &self,
        logbook: &Logbook,
        named_box: Option<&DeclaredBox>,
        named_frame: Option<&DeclaredFrame>,
    ) -> Result<Option<ExamSummary>, LogbookError> {
        if self.new {
            return Ok(None);
        }
        let same_box = |summary: &ExamSummary| {
            named_box.is_none_or(|declared| NamedBox::new(None, &declared.name).key == summary.in_box.key)
        };
        for summary in logbook.open_exams()?.exams.into_iter().filter(same_box) {
            // one that cannot be read is not offered; the list of exams names it
            let Ok(stored) = logbook.read_exam(summary.number) else { continue };
            let same_frame = named_frame.is_none_or(|frame| *frame == stored.exam.state().fitted.frame);
            if same_frame && !stored.exam.is_untouched() {
                return Ok(Some(summary));
            }
        }
        Ok(None)
    }
}

/// An earlier exam in a few words, so that nobody goes on with another person's: number, label, day and time it was begun.
fn in_words(summary: &ExamSummary) -> String {
    let begun = summary.opened.to_zoned_datetime(jiff::tz::TimeZone::system()).strftime("%e %b %H:%M");
    match &summary.label {
        Some(label) => format!("Exam {} ({label}, {})", summary.number, begun.to_string().trim()),
        None => format!("Exam {} ({})", summary.number, begun.to_string().trim()),
    }
}

/// What was named, else what was used last, else what comes with the program.
fn named_or_last<T>(
    named: Option<T>,
    last: Option<&Path>,
    option: &'static str,
    read: impl Fn(&Path) -> Result<T, Faults>,
    demo: impl Fn() -> Result<T, Faults>,
) -> Result<T, BeginError> {
    match (named, last) {
        (Some(named), _) => Ok(named),
        (None, Some(file)) => read(file).map_err(|faults| BeginError::LastUsed { faults, option }),
        (None, None) => Ok(demo()?),
    }
}

/// Puts the open exams of a box aside in which nothing was done, and the others too when a new one is to begin.
fn put_aside(logbook: &mut Logbook, in_box: &NamedBox, all: bool, now: Timestamp) -> Result<(), LogbookError> {
    for summary in logbook.open_exams()?.exams {
        let untouched = || logbook.read_exam(summary.number).is_ok_and(|stored| stored.exam.is_untouched());
        if summary.in_box.key == in_box.key && (all || untouched()) {
            logbook.put_aside(summary.number, now)?;
        }
    }
    Ok(())
}
