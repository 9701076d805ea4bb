//! Which exam the screen begins with: one that is still open, or a new one on the box and frame that were named or used
//! last.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, anyhow};
use jiff::Timestamp;

use super::Start;
use super::keeper::LogbookKeeper;
use crate::command::exams::records::Writing;
use crate::command::{Context, files};
use crate::exam::{Exam, Opening};
use crate::frame::shipped::demo_frame;
use crate::frame::{DeclaredFrame, FittedFrame, read_frame};
use crate::kit::document::Faults;
use crate::kit::shipped::demo_box;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{ExamSummary, LastUsed, Logbook, LogbookError};
use crate::screen::settings::Settings;
use crate::screen::{InMemory, ScreenStart};

impl Start {
    /// A new exam that nothing keeps.
    pub(super) fn without_logbook(&self, settings: Settings) -> anyhow::Result<ScreenStart> {
        let fitted = FittedFrame::new(
            self.frame_file.as_deref().map_or_else(demo_frame, read_frame)?,
            Stock::of(&self.box_file.as_deref().map_or_else(demo_box, read_box)?),
        );
        Ok(ScreenStart {
            exam: Exam::open(Opening { fitted }),
            keeper: Box::new(InMemory),
            settings,
            heading: "Exam".to_owned(),
            goes_on: None,
            cautions: true,
        })
    }

    /// The exam that is still open, or a new one; each step is kept.
    pub(super) fn with_logbook(&self, settings: Settings, context: &Context) -> anyhow::Result<ScreenStart> {
        let mut logbook = open(&files::logbook_path(context)?)?;
        let now = Timestamp::now();
        let first_start = logbook.exams()?.is_empty();
        let named_box = self.box_file.as_deref().map(read_box).transpose()?;
        let named_frame = self.frame_file.as_deref().map(read_frame).transpose()?;
        let going_on = self.going_on(&logbook, named_box.as_ref(), named_frame.as_ref())?;
        let (stored, claim, goes_on) = if let Some(summary) = going_on {
            let claim = logbook.claim_box(&summary.box_name, now)?;
            let stored = logbook.read_exam(summary.id)?;
            (stored, claim, Some(in_words(&summary)))
        } else {
            let used = logbook.last_used()?;
            let declared = named_or_last(named_box, used.box_file.as_deref(), "--box", read_box, demo_box)?;
            let frame = named_or_last(named_frame, used.frame_file.as_deref(), "--frame", read_frame, demo_frame)?;
            let claim = logbook.claim_box(&declared.name, now)?;
            put_aside(&mut logbook, &declared, self.new, now)?;
            let fitted = FittedFrame::new(frame, logbook.stock_of(&declared)?.stock);
            (logbook.begin_exam(Opening { fitted }, now)?, claim, None)
        };
        logbook.note_exam(&claim, stored.id())?;
        let absolute = |file: &Option<PathBuf>| file.as_deref().map(std::path::absolute).transpose();
        let used = LastUsed { box_file: absolute(&self.box_file)?, frame_file: absolute(&self.frame_file)? };
        logbook.remember_last_used(&used, now)?;
        Ok(ScreenStart {
            exam: stored.exam().clone(),
            heading: format!("Exam {}", stored.id()),
            keeper: Box::new(LogbookKeeper::new(logbook, stored, claim, Writing::of(&settings))),
            settings,
            goes_on,
            cautions: first_start,
        })
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
        let same_box = |summary: &ExamSummary| named_box.is_none_or(|declared| declared.name == summary.box_name);
        for summary in logbook.open_exams()?.into_iter().filter(same_box) {
            let stored = logbook.read_exam(summary.id)?;
            let same_frame = named_frame.is_none_or(|frame| *frame == stored.exam().state().fitted.frame);
            if same_frame && !stored.steps().is_empty() {
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
        Some(label) => format!("Exam {} ({label}, {})", summary.id, begun.to_string().trim()),
        None => format!("Exam {} ({})", summary.id, begun.to_string().trim()),
    }
}

fn open(path: &Path) -> anyhow::Result<Logbook> {
    Logbook::open(path).context("the logbook (the screen runs without one when started with --no-logbook)")
}

/// What was named, else what was used last, else what comes with the program.
fn named_or_last<T>(
    named: Option<T>,
    last: Option<&Path>,
    option: &str,
    read: impl Fn(&Path) -> Result<T, Faults>,
    demo: impl Fn() -> Result<T, Faults>,
) -> anyhow::Result<T> {
    match (named, last) {
        (Some(named), _) => Ok(named),
        (None, Some(file)) => {
            read(file).map_err(|faults| anyhow!("{faults}\nthis file was used last: name another with {option} FILE"))
        }
        (None, None) => Ok(demo()?),
    }
}

/// Puts the open exams of a box aside in which nothing was done, and the others too when a new one is to begin.
fn put_aside(logbook: &mut Logbook, declared: &DeclaredBox, all: bool, now: Timestamp) -> Result<(), LogbookError> {
    for summary in logbook.open_exams()? {
        let untouched = || Ok::<_, LogbookError>(logbook.read_exam(summary.id)?.steps().is_empty());
        if summary.box_name == declared.name && (all || untouched()?) {
            logbook.put_aside(summary.id, now)?;
        }
    }
    Ok(())
}
