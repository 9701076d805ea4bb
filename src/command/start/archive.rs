//! Earlier exams behind the screen: the logbook, read and amended.

use std::fmt::Display;
use std::path::PathBuf;

use anyhow::anyhow;
use jiff::Timestamp;

use super::keeper::LogbookKeeper;
use crate::command::exams::records::{Writing, number};
use crate::command::save::save_beside;
use crate::exam::{Event, Opening};
use crate::export::{Record, RecordForm, listing, words};
use crate::frame::FittedFrame;
use crate::logbook::{ExamId, ExamSummary, StoredExam};
use crate::screen::archive::{Archive, Begun, Line, NotDone, Opened};
use crate::screen::settings::Form;

impl LogbookKeeper {
    fn stored_exam(&self, exam: u64) -> anyhow::Result<StoredExam> {
        Ok(self.logbook.read_exam(id(exam))?)
    }

    /// Who has an exam open, when it is another program.
    fn held_elsewhere(&self, exam: ExamId, box_name: &str) -> anyhow::Result<Option<String>> {
        let holder = self.logbook.holder_of(box_name)?;
        let other = holder.filter(|holder| holder.exam == Some(exam) && holder.process != Some(std::process::id()));
        Ok(other.map(|holder| holder.to_string()))
    }

    fn opened(&self, exam: u64, form: Form) -> anyhow::Result<Opened> {
        let stored = self.stored_exam(exam)?;
        let state = stored.exam().state();
        let text = listing::show(&self.writing.in_form(form).record(&stored), &state.trail);
        Ok(Opened {
            exam,
            closed: state.finished,
            held: self.held_elsewhere(stored.id(), &state.fitted.stock.box_name)?,
            lines: text.lines().map(str::to_owned).collect(),
        })
    }

    fn added(&mut self, exam: u64, text: &str) -> anyhow::Result<()> {
        let mut stored = self.stored_exam(exam)?;
        if let Some(holder) = self.held_elsewhere(stored.id(), &stored.exam().state().fitted.stock.box_name)? {
            return Err(anyhow!("exam {exam} can only be read: it is open elsewhere, in {holder}"));
        }
        Ok(self.logbook.append(&mut stored, &[Event::Amended(text.to_owned())], Timestamp::now())?)
    }

    fn exported(&self, exam: u64, form: Form, record_form: RecordForm) -> anyhow::Result<PathBuf> {
        let record = self.writing.in_form(form).record(&self.stored_exam(exam)?);
        save_beside(
            &std::env::current_dir()?,
            &format!("exam-{exam}"),
            record_form.ending(),
            &record_form.write(&record)?,
        )
    }

    fn begun(&mut self) -> anyhow::Result<Begun> {
        let now = Timestamp::now();
        let before = self.stored.exam().opening().fitted.clone();
        let mut stock = before.stock;
        for change in self.logbook.box_changes(&stock.box_name)? {
            if change.at > self.stored.opened()
                && let Err(why) = stock.change(&change.change)
            {
                return Err(anyhow!("the box has changed since {}: {why}; start the program again", change.at));
            }
        }
        let fitted = FittedFrame::new(before.frame, stock);
        if self.stored.steps().is_empty() {
            self.logbook.put_aside(self.stored.id(), now)?;
        }
        self.stored = self.logbook.begin_exam(Opening { fitted }, now)?;
        self.logbook.note_exam(&self.claim, self.stored.id())?;
        Ok(Begun { exam: self.stored.exam().clone(), heading: format!("Exam {}", self.stored.id()) })
    }
}

impl Archive for LogbookKeeper {
    fn current(&self) -> u64 {
        number(self.stored.id())
    }

    fn list(&self, form: Form) -> Result<Vec<Line>, NotDone> {
        let writing = self.writing.in_form(form);
        let summaries = self.logbook.exams().map_err(not_done)?;
        let lines = summaries.into_iter().map(|summary| {
            // one that cannot be read is listed all the same; opening it says why
            let stored = self.logbook.read_exam(summary.id).ok();
            let record = stored.map(|stored| writing.record(&stored));
            line(&summary, record.as_ref(), &writing)
        });
        Ok(lines.collect())
    }

    fn read(&self, exam: u64, form: Form) -> Result<Opened, NotDone> {
        self.opened(exam, form).map_err(not_done)
    }

    fn amend(&mut self, exam: u64, text: &str) -> Result<(), NotDone> {
        self.added(exam, text).map_err(not_done)
    }

    fn export(&self, exam: u64, form: Form, record_form: RecordForm) -> Result<PathBuf, NotDone> {
        self.exported(exam, form, record_form).map_err(not_done)
    }

    fn begin(&mut self) -> Result<Begun, NotDone> {
        self.begun().map_err(not_done)
    }
}

fn id(exam: u64) -> ExamId {
    ExamId(i64::try_from(exam).unwrap_or(i64::MAX))
}

fn not_done(error: impl Display) -> NotDone {
    NotDone(format!("{error:#}"))
}

fn line(summary: &ExamSummary, record: Option<&Record>, writing: &Writing) -> Line {
    let written = record.map(|record| record.eyes().map(|eye| eye.written.map(words::prescription)));
    Line {
        exam: number(summary.id),
        opened: writing.local(summary.opened).strftime("%Y-%m-%d %H:%M").to_string(),
        label: summary.label.as_deref().map(words::printable).unwrap_or_default(),
        box_name: words::printable(&summary.box_name),
        closed: summary.finished.is_some(),
        written: written.unwrap_or_default().map(Option::unwrap_or_default),
        addition: record.and_then(|record| record.addition).map(words::signed).unwrap_or_default(),
    }
}
