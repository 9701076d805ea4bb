//! The exams of the logbook that a command reads, and how the settings want them written.

use anyhow::anyhow;

use crate::command::{Context, files, note};
use crate::logbook::{FileError, Logbook, LogbookError, StoredExam};
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
