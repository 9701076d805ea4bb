//! Records of the exams in a logbook, as the settings want them written.

use anyhow::anyhow;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::command::{Context, files};
use crate::exam::Event;
use crate::exam::prescription::CylinderForm;
use crate::export::{Record, RecordHead};
use crate::logbook::{ExamId, ExamSummary, Logbook, LogbookError, StoredExam};
use crate::optics::AcuityNotation;
use crate::screen::settings::{Form, Settings};

/// How records are written: what the settings file says, in the time zone of this computer.
#[derive(Debug, Clone)]
pub struct Writing {
    /// How cylinders are written.
    form: CylinderForm,
    acuity: AcuityNotation,
    examiner: Option<String>,
    zone: TimeZone,
}

impl Writing {
    /// As the settings have it.
    pub fn of(settings: &Settings) -> Self {
        let form = written_form(settings.form);
        let examiner = settings.examiner.clone();
        Self { form, acuity: settings.acuity, examiner, zone: TimeZone::system() }
    }

    /// As the settings file has it, with plus cylinders where they are asked for.
    ///
    /// # Errors
    /// When the settings file cannot be used.
    pub fn asked(plus: bool) -> anyhow::Result<Self> {
        let settings = match Settings::path() {
            Some(path) => Settings::load(&path)?,
            None => Settings::shipped()?,
        };
        let mut writing = Self::of(&settings);
        if plus {
            writing.form = CylinderForm::Plus;
        }
        Ok(writing)
    }

    /// The same with cylinders in another form.
    #[must_use]
    pub fn in_form(&self, form: Form) -> Self {
        Self { form: written_form(form), ..self.clone() }
    }

    /// A time in the zone of this computer.
    pub fn local(&self, at: Timestamp) -> jiff::ZonedDateTime {
        at.to_zoned_datetime(self.zone.clone())
    }

    /// The record of an exam as it stands.
    pub fn record(&self, stored: &StoredExam) -> Record {
        let closing = stored.steps().iter().rfind(|step| step.events.contains(&Event::Finished));
        let head = RecordHead {
            id: None,
            exam: number(stored.id()),
            opened: self.local(stored.opened()),
            closed: closing.map(|step| self.local(step.at)),
            examiner: self.examiner.clone(),
            form: self.form,
            acuity: self.acuity,
            axis_step_deg: 1,
        };
        Record::of(stored.exam().state(), head)
    }
}

fn written_form(form: Form) -> CylinderForm {
    match form {
        Form::Minus => CylinderForm::Minus,
        Form::Plus => CylinderForm::Plus,
    }
}

/// The number of an exam as people see it.
pub fn number(id: ExamId) -> u64 {
    u64::try_from(id.0).unwrap_or_default()
}

/// The logbook that the exams are in; none where none was named and none has begun.
///
/// # Errors
/// When a logbook is named and not there, or it cannot be read.
pub fn logbook(context: &Context) -> Result<Option<Logbook>, LogbookError> {
    match (files::logbook_to_read(context)?, &context.logbook) {
        (Some(logbook), _) => Ok(Some(logbook)),
        (None, Some(path)) => Err(LogbookError::Missing { path: path.clone() }),
        (None, None) => Ok(None),
    }
}

/// One exam by its number.
///
/// # Errors
/// When there is no such exam, with those that there are, or it cannot be read.
pub fn exam(context: &Context, number: u64) -> anyhow::Result<StoredExam> {
    let Some(logbook) = logbook(context)? else {
        return Err(anyhow!("there is no exam {number}: no exam has begun in the logbook of this user"));
    };
    match logbook.read_exam(ExamId(i64::try_from(number).unwrap_or(i64::MAX))) {
        Err(LogbookError::NoSuchExam { path, .. }) => {
            let there = those_there(&logbook.exams()?);
            Err(anyhow!("{}: there is no exam {number}: {there}", path.display()))
        }
        read => Ok(read?),
    }
}

/// Which exams there are, in words: `it has exams 1 to 4 and 7`.
fn those_there(exams: &[ExamSummary]) -> String {
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for exam in exams.iter().rev() {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == exam.id.0 => *last = exam.id.0,
            _ => runs.push((exam.id.0, exam.id.0)),
        }
    }
    let words: Vec<String> = runs
        .iter()
        .map(|(first, last)| if first == last { first.to_string() } else { format!("{first} to {last}") })
        .collect();
    match words.as_slice() {
        [] => "it has no exam yet".to_owned(),
        [only] => format!("it has exam{} {only}", if exams.len() == 1 { "" } else { "s" }),
        [before @ .., last] => format!("it has exams {} and {last}", before.join(", ")),
    }
}
