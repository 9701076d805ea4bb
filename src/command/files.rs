//! Boxes, frames, settings and the logbook as commands find them.

use std::path::{Path, PathBuf};

use super::{Context, note};
use crate::frame::DeclaredFrame;
use crate::frame::shipped::{demo_frame, read_frame};
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{Logbook, LogbookError, NamedBox, StockOnRecord};
#[cfg(feature = "room")]
use crate::screen::settings::Settings;
use crate::session::known::{known_by_name, named, note_what_is_left_out, without_id};
use crate::session::{BeginError, Note};

/// The frame that was named, or the four-cell frame that comes with the program.
pub fn frame(file: Option<&Path>) -> anyhow::Result<DeclaredFrame> {
    Ok(match file {
        Some(file) => read_frame(file)?,
        None => demo_frame()?,
    })
}

/// A declared box with what the logbook knows of it.
pub struct BoxAsItIs {
    /// Its file.
    pub file: PathBuf,
    /// By what the logbook knows it.
    pub named: NamedBox,
    /// The box as its file declares it.
    pub declared: DeclaredBox,
    /// Its pieces now.
    pub stock: Stock,
    /// Everything that was noted of it.
    pub record: StockOnRecord,
}

/// A box as it is now. Where there is no logbook yet, nothing has happened to the box.
///
/// What has to be said of it goes to standard error, a change in the logbook that the file no longer allows among it.
///
/// # Errors
/// When the file has faults, the logbook cannot be read, or it is not known whether the box is one that it knows by name.
pub fn known_box(context: &Context, file: &Path) -> anyhow::Result<BoxAsItIs> {
    let declared = read_box(file)?;
    let (file, named) = (file.to_owned(), named(&declared));
    let Some(logbook) = logbook_to_read(context)? else {
        let record = StockOnRecord::of_nothing_noted(&declared);
        return Ok(BoxAsItIs { file, named, declared, stock: record.stock.clone(), record });
    };
    if known_by_name(&logbook, &named)?.is_some() {
        return Err(BeginError::KnownByName { file, name: named.name, id: named.key.to_string() }.into());
    }
    let record = logbook.stock_of(&named.key, &declared)?;
    let notes = note_what_is_left_out(&record, &file.display().to_string());
    say(without_id(&declared, &file).iter().chain(&notes));
    Ok(BoxAsItIs { file, named, declared, stock: record.stock.clone(), record })
}

/// Says on standard error what has to be said beside the answer.
pub fn say<'a>(notes: impl IntoIterator<Item = &'a Note>) {
    notes.into_iter().for_each(note);
}

/// The logbook for reading, when there is one.
pub fn logbook_to_read(context: &Context) -> Result<Option<Logbook>, LogbookError> {
    let path = match logbook_path(context) {
        Ok(path) => path,
        Err(error) if error.is_for_want_of_a_home() => return Ok(None),
        Err(error) => return Err(error),
    };
    match Logbook::open_read_only(&path) {
        Ok(logbook) => Ok(Some(logbook)),
        Err(error) if error.is_missing() => Ok(None),
        Err(error) => Err(error),
    }
}

/// Where the logbook is, or will be.
pub fn logbook_path(context: &Context) -> Result<PathBuf, LogbookError> {
    context.logbook.clone().map_or_else(Logbook::default_path, Ok)
}

/// The folder of the settings.
#[cfg(feature = "room")]
pub fn settings_folder() -> Option<PathBuf> {
    Settings::path()?.parent().map(Path::to_owned)
}
