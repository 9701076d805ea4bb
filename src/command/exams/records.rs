//! The exams of the logbook that a command reads, and how the settings want them written.

use anyhow::anyhow;

use super::name::ExamName;
use crate::command::{Context, files, note};
use crate::logbook::parcels::error::ParcelError;
use crate::logbook::parcels::others::{Elsewhere, Others, OthersList};
use crate::logbook::{FileError, Logbook, LogbookError, PassedOver, StoredExam};
use crate::optics::CylinderForm;
use crate::screen::settings::{Settings, SettingsError};
use crate::session::records::stored_exam;
use crate::session::writing::zone_here;
use crate::session::{Note, Writing};

/// As some settings have it; who examines may have been named beside them.
pub fn writing_of(settings: &Settings, by: Option<String>) -> Writing {
    Writing::new(settings.form, settings.acuity, by.or_else(|| settings.examiner.clone()))
}

/// As the settings file has it, with plus cylinders where they are asked for.
///
/// # Errors
/// When the settings file cannot be used.
pub fn writing(plus: bool) -> Result<Writing, SettingsError> {
    let writing = writing_of(&Settings::own()?, None);
    if zone_here().is_none() {
        note(Note::UnknownZone);
    }
    Ok(if plus { writing.in_form(CylinderForm::Plus) } else { writing })
}

/// Who was named, or who examines by the settings file.
///
/// # Errors
/// When the settings file cannot be used.
pub fn examiner(named: Option<String>) -> Result<Option<String>, SettingsError> {
    match named {
        Some(name) => Ok(Some(name)),
        None => Ok(Settings::own()?.examiner),
    }
}

/// The logbook that the exams are in; none where none was named and none has begun.
///
/// # Errors
/// When a logbook is named and not there, or it cannot be read.
pub fn logbook(context: &Context) -> Result<Option<Logbook>, LogbookError> {
    match (files::logbook_to_read(context)?, &context.logbook) {
        (Some(logbook), _) => Ok(Some(logbook)),
        (None, Some(path)) => Err(FileError::Missing.at(path)),
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
    let stored = stored_exam(&logbook, number)?;
    stored.unread.iter().for_each(note);
    Ok(stored)
}

/// One exam, to be read.
///
/// # Errors
/// When there is none of that name, or it cannot be read.
pub fn named(context: &Context, name: &ExamName) -> anyhow::Result<StoredExam> {
    match name {
        ExamName::Own(number) => exam(context, *number),
        ExamName::Elsewhere(name) => elsewhere(context, name),
    }
}

/// One exam of another seat.
///
/// # Errors
/// When none of that name came from another seat, or it cannot be read.
fn elsewhere(context: &Context, name: &Elsewhere) -> anyhow::Result<StoredExam> {
    let others = Others::beside(&files::logbook_path(context)?)?;
    let Some(others) = others else {
        return Err(ParcelError::NoSuchExam { name: name.to_string() }.into());
    };
    let stored = others.read_exam(name)?;
    stored.unread.iter().for_each(note);
    Ok(stored)
}

/// The exams of other seats; what cannot be read of them is said, and keeps nobody from one's own.
///
/// # Errors
/// When it is not known where the logbook is.
pub fn elsewhere_listed(context: &Context) -> anyhow::Result<OthersList> {
    let path = match files::logbook_path(context) {
        Err(error) if error.is_for_want_of_a_home() => return Ok(OthersList::default()),
        path => path?,
    };
    let list = Others::beside(&path).and_then(|others| others.as_ref().map(Others::exams).transpose());
    let list = list.unwrap_or_else(|error| {
        note(format_args!("exams of other seats are left out: {error}"));
        None
    });
    let list = list.unwrap_or_default();
    for PassedOver { why, .. } in &list.passed_over {
        note(format_args!("an exam of another seat is left out: {why}"));
    }
    Ok(list)
}
