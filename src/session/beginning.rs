//! Which exam to begin with: one that is still open, or a new one on the box and frame that were named or used last.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use thiserror::Error;

use super::erasing::erase_what_was_agreed;
use super::error::{RecordError, StepError};
use super::fresh::{KeptBox, Sources};
use super::kept::KeptExam;
use super::known::{KnownBox, known_by_name, named, note_file, without_id};
use super::meanwhile::without_what_went_away;
use super::note::Note;
use super::open::Session;
use super::practising::{Sat, practice_logbook};
use super::procedures::take_over;
use super::writing::{Writing, number, set_zone_is_unknown, zone_here};
use crate::exam::{Exam, Opening};
use crate::frame::shipped::demo_frame;
use crate::frame::{DeclaredFrame, FittedFrame, read_frame};
use crate::guide::PROCEDURES_VERSION;
use crate::kit::document::Faults;
use crate::kit::document::load::from_anywhere;
use crate::kit::shipped::demo_box;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{BeganWith, ExamNumber, ExamSummary, LastUsed, Logbook, LogbookError, NamedBox};

/// What is asked of a beginning.
#[derive(Debug, Clone)]
pub struct Beginning {
    /// The box file that was named.
    pub box_file: Option<PathBuf>,
    /// The frame file that was named.
    pub frame_file: Option<PathBuf>,
    /// Whether a new exam begins although one is still open.
    pub new: bool,
    /// Whether what is known under the name of a box goes over to the `id` that its file has gained; `None` when nobody was
    /// asked yet.
    pub carries_over: Option<bool>,
    /// How records are written, and who examines.
    pub writing: Writing,
}

/// The exam that was begun or goes on.
pub struct Begun {
    /// The open exam.
    pub session: Session,
    /// The exam in a few words when it was begun earlier and goes on.
    pub goes_on: Option<String>,
    /// What has to be said beside.
    pub notes: Vec<Note>,
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
        /// All that is wrong with it, each with its place.
        faults: Faults,
        /// How to name another.
        option: &'static str,
    },
    /// The file of a box has an `id` that the logbook does not know, but it knows a box by the same name.
    #[error(
        "{}: the logbook knows a box by the name {name}, and this file now has the id {id}: `dioptray box id FILE` carries over \
         what is known of it, `dioptray box id FILE --apart` begins a record of its own",
        file.display()
    )]
    KnownByName {
        /// The file of the box.
        file: PathBuf,
        /// What the box is called, in the file and in the logbook.
        name: String,
        /// The `id:` that the file has now.
        id: String,
    },
    /// The logbook cannot be opened.
    #[error("the logbook (the screen runs without one when started with --no-logbook): {0}")]
    Unopened(LogbookError),
    /// The logbook refuses.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// Today's procedures cannot take over the exam that goes on.
    #[error(transparent)]
    Step(#[from] StepError),
    /// A path cannot be made whole.
    #[error(transparent)]
    Path(#[from] std::io::Error),
}

impl BeginError {
    /// The name and the `id` of a box whose record may be carried over, when that is what must be said first.
    pub fn known_by_name(&self) -> Option<(&str, &str)> {
        match self {
            Self::KnownByName { name, id, .. } => Some((name, id)),
            Self::Faults(_)
            | Self::LastUsed { .. }
            | Self::Unopened(_)
            | Self::Logbook(_)
            | Self::Step(_)
            | Self::Path(_) => None,
        }
    }

    /// The faults of a file that was named, when that is all; else the error as it is.
    ///
    /// # Errors
    /// With the error itself, when it is another.
    pub fn into_faults(self) -> Result<Faults, Self> {
        match self {
            Self::Faults(faults) => Ok(faults),
            other => Err(other),
        }
    }
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
        Ok(Session::in_memory(Exam::open(Opening::of(fitted))))
    }

    /// A new exam of a practice eye, in the practice logbook beside a real one.
    ///
    /// # Errors
    /// When that cannot be used.
    pub fn sit(&self, real: &Path, opening: Opening) -> Result<Session, RecordError> {
        let sat = Sat::begin(&practice_logbook(real), opening, self.writing.examiner())?;
        let (exam, kept) = KeptExam::sat(sat, self.writing.clone())?;
        Ok(Session::new(exam, Box::new(kept)))
    }

    /// The practice exam beside a real logbook that was begun last and has not ended.
    ///
    /// # Errors
    /// When the practice logbook cannot be used.
    pub fn last_sitting(&self, real: &Path) -> Result<Option<Session>, RecordError> {
        let Some(sat) = Sat::last(&practice_logbook(real))? else { return Ok(None) };
        let (exam, kept) = KeptExam::sat(sat, self.writing.clone())?;
        Ok(Some(Session::new(exam, Box::new(kept))))
    }

    /// The exam of a logbook that is still open, or a new one; each step is saved there.
    ///
    /// # Errors
    /// When a file has faults, the logbook cannot be used, another program has the box, or it has to be asked first whether
    /// a box with an `id` is the one that is known by its name.
    pub fn in_logbook(&self, path: &Path) -> Result<Begun, BeginError> {
        let mut logbook = Logbook::open(path).map_err(BeginError::Unopened)?;
        let now = Timestamp::now();
        let first = logbook.is_empty()?;
        let mut notes = of_the_logbook(&logbook)?;
        notes.extend(erase_what_was_agreed(&mut logbook));
        let used = self.with_last_used(&logbook)?;
        let named_box = self.box_file.as_deref().map(read_box).transpose()?;
        let named_frame = self.frame_file.as_deref().map(read_frame).transpose()?;
        if let Some(declared) = &named_box {
            self.recognise(&mut logbook, declared, self.box_file.as_deref())?;
        }
        let going_on = self.going_on(&logbook, named_box.as_ref(), named_frame.as_ref(), &mut notes)?;
        let begun = if let Some(summary) = going_on {
            self.go_on(logbook, &summary, used, now)?
        } else {
            let declared = named_or_last(named_box, used.box_file.as_deref(), "--box", read_box, demo_box)?;
            let frame = named_or_last(named_frame, used.frame_file.as_deref(), "--frame", read_frame, demo_frame)?;
            self.begin(logbook, &declared, frame, used, now)?
        };
        notes.extend(begun.notes);
        Ok(Begun { notes, first, ..begun })
    }

    /// The files to begin with, named or used last, by their whole paths.
    fn with_last_used(&self, logbook: &Logbook) -> Result<Sources, BeginError> {
        let used = logbook.last_used()?;
        let whole = |file: &Option<PathBuf>| file.as_deref().map(from_anywhere).transpose();
        Ok(Sources {
            box_file: whole(&self.box_file)?.or(used.box_file),
            frame_file: whole(&self.frame_file)?.or(used.frame_file),
        })
    }

    /// Makes sure that a box with an `id` that the logbook does not know is not another one that it knows by the same name.
    fn recognise(&self, logbook: &mut Logbook, declared: &DeclaredBox, file: Option<&Path>) -> Result<(), BeginError> {
        let named = named(declared);
        let Some(by_name) = known_by_name(logbook, &named)? else {
            return Ok(());
        };
        match self.carries_over {
            Some(true) => Ok(logbook.adopt_box(&by_name, &named.key)?),
            Some(false) => Ok(()),
            None => {
                let file = file.unwrap_or(Path::new("FILE")).to_owned();
                Err(BeginError::KnownByName { file, name: named.name, id: named.key.to_string() })
            }
        }
    }

    /// Goes on with an exam.
    fn go_on(
        &self,
        mut logbook: Logbook,
        summary: &ExamSummary,
        used: Sources,
        now: Timestamp,
    ) -> Result<Begun, BeginError> {
        let claim = logbook.claim_box(&summary.in_box, now)?;
        let stored = logbook.read_exam(summary.number)?;
        let exam = number(summary.number);
        let begun_with = stored.beginning.procedures_version;
        let mut notes = Vec::new();
        if let Some(file) = used.box_file.as_deref().filter(|_| self.box_file.is_some()) {
            notes.extend(note_file(&mut logbook, &summary.in_box, file)?);
        }
        let box_file = file_of(&logbook, summary, &used)?;
        let applied = stored.beginning.applied;
        let began_with = &stored.exam.opening().fitted.stock;
        let later = logbook.changes_since(&summary.in_box.key, applied.as_ref(), began_with)?.later;
        let began_with = Some(began_with.clone());
        let in_box = KeptBox { in_box: summary.in_box.clone(), applied, began_with };
        let (mut going_on, gone) = without_what_went_away(stored.exam, &stored.steps, &later, exam);
        notes.extend(gone);
        self.remember(&mut logbook, &used, now)?;
        logbook.note_exam(&claim, stored.open.number())?;
        let sources = Sources { box_file, ..used };
        let mut kept = KeptExam::new(logbook, stored.open, in_box, claim, sources, self.writing.clone());
        let led_by = take_over(&mut going_on, &mut kept, begun_with)?;
        let other = led_by.map(|begun| Note::OtherProcedures { exam, begun, now: PROCEDURES_VERSION });
        notes.splice(..0, other);
        let goes_on = Some(in_words(summary, led_by.is_some()));
        Ok(Begun { session: Session::new(going_on, Box::new(kept)), goes_on, notes, first: false })
    }

    /// Begins a new exam, and only then puts others aside.
    fn begin(
        &self,
        mut logbook: Logbook,
        declared: &DeclaredBox,
        frame: DeclaredFrame,
        used: Sources,
        now: Timestamp,
    ) -> Result<Begun, BeginError> {
        let file = used.box_file.as_deref();
        self.recognise(&mut logbook, declared, file)?;
        let claim = logbook.claim_box(&named(declared), now)?;
        let known = KnownBox::of(&logbook, named(declared), declared, file)?;
        let mut notes = known.notes;
        if let Some(file) = file {
            notes.extend(without_id(declared, self.box_file.as_deref().unwrap_or(file)));
            notes.extend(note_file(&mut logbook, &known.named, file)?);
        }
        let opening = Opening::of(FittedFrame::new(frame, known.stock));
        let with = BeganWith {
            in_box: known.named,
            applied: known.applied,
            by: self.writing.examiner().map(str::to_owned),
            procedures_version: PROCEDURES_VERSION,
        };
        let open = logbook.begin_exam(&opening, &with, now)?;
        put_others_aside(&mut logbook, &with.in_box, open.number(), self.new, now)?;
        self.remember(&mut logbook, &used, now)?;
        logbook.note_exam(&claim, open.number())?;
        let in_box = KeptBox { in_box: with.in_box, applied: Some(with.applied), began_with: None };
        let kept = KeptExam::new(logbook, open, in_box, claim, used, self.writing.clone());
        Ok(Begun { session: Session::new(Exam::open(opening), Box::new(kept)), goes_on: None, notes, first: false })
    }

    /// Remembers the files that were named for the next start.
    fn remember(&self, logbook: &mut Logbook, used: &Sources, now: Timestamp) -> Result<(), LogbookError> {
        let last = LastUsed {
            box_file: used.box_file.clone().filter(|_| self.box_file.is_some()),
            frame_file: used.frame_file.clone().filter(|_| self.frame_file.is_some()),
        };
        logbook.remember_last_used(&last, now)
    }

    /// The latest exam that is still open and has something in it, with the box and frame that were named if any were.
    fn going_on(
        &self,
        logbook: &Logbook,
        named_box: Option<&DeclaredBox>,
        named_frame: Option<&DeclaredFrame>,
        notes: &mut Vec<Note>,
    ) -> Result<Option<ExamSummary>, LogbookError> {
        if self.new {
            return Ok(None);
        }
        for summary in logbook.open_exams()?.exams {
            let same_box = match named_box {
                Some(declared) => logbook.is_same_box(&named(declared).key, &summary.in_box.key)?,
                None => true,
            };
            if !same_box {
                continue;
            }
            let stored = match logbook.read_exam(summary.number) {
                Ok(stored) => stored,
                Err(why) => {
                    notes.push(passed_over(summary.number, &why));
                    continue;
                }
            };
            let same_frame = named_frame.is_none_or(|frame| *frame == stored.exam.state().fitted.frame);
            if same_frame && !stored.exam.is_untouched() {
                return Ok(Some(summary));
            }
        }
        Ok(None)
    }
}

/// What has to be said of a logbook: a part that is missing, and exams still open that cannot be offered.
fn of_the_logbook(logbook: &Logbook) -> Result<Vec<Note>, LogbookError> {
    let missing = || Note::LogMissing { logbook: logbook.path().to_owned(), log: logbook.log_path() };
    let mut notes: Vec<Note> = logbook.lacks_its_log().then(missing).into_iter().collect();
    notes.extend(set_zone_is_unknown().then_some(Note::UnknownZone));
    let open = logbook.open_exams()?;
    let passed_over = open.passed_over.iter().map(|passed| passed_over(passed.number, &passed.why));
    notes.extend(passed_over);
    Ok(notes)
}

fn passed_over(exam: ExamNumber, why: &LogbookError) -> Note {
    Note::ExamPassedOver { exam: number(exam), why: why.to_string() }
}

/// The file that the box of an earlier exam is read from, as far as it is known.
fn file_of(logbook: &Logbook, summary: &ExamSummary, used: &Sources) -> Result<Option<PathBuf>, LogbookError> {
    let key = &summary.in_box.key;
    if let Some(file) = logbook.box_file(key)? {
        return Ok(Some(file));
    }
    // exams from before this was noted
    let Some(declared) = used.box_file.as_deref().and_then(|file| read_box(file).ok()) else {
        return Ok(None);
    };
    Ok(used.box_file.clone().filter(|_| named(&declared).key == *key))
}

/// An earlier exam in a few words, so that nobody goes on with another person's: number, label, day and time it was begun.
fn in_words(summary: &ExamSummary, other_procedures: bool) -> String {
    let zone = zone_here().unwrap_or(jiff::tz::TimeZone::UTC);
    let begun = summary.opened.to_zoned_datetime(zone).strftime("%e %b %H:%M");
    let label = summary.label.as_ref().map(|label| format!("{label}, ")).unwrap_or_default();
    let other = if other_procedures { ", with earlier procedures" } else { "" };
    format!("Exam {} ({label}{}{other})", summary.number, begun.to_string().trim())
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

/// Puts the other open exams of a box aside in which nothing was done, and the rest of them too when all are to be.
fn put_others_aside(
    logbook: &mut Logbook,
    in_box: &NamedBox,
    begun: ExamNumber,
    all: bool,
    now: Timestamp,
) -> Result<(), LogbookError> {
    for summary in logbook.open_exams()?.exams {
        let other = summary.number != begun && logbook.is_same_box(&summary.in_box.key, &in_box.key)?;
        // one that cannot be read has something in it
        let untouched = || logbook.read_exam(summary.number).is_ok_and(|stored| stored.exam.is_untouched());
        if other && (all || untouched()) {
            logbook.put_aside(summary.number, now)?;
        }
    }
    Ok(())
}
