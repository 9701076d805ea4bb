//! Boxes, frames and the logbook as commands name them.

use std::path::{Path, PathBuf};

use super::Context;
use crate::frame::DeclaredFrame;
use crate::frame::file::read_frame;
use crate::frame::shipped::demo_frame;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{Fault, Logbook, LogbookError, NamedBox};

/// The frame that was named, or the four-cell frame that comes with the program.
pub fn frame(file: Option<&Path>) -> anyhow::Result<DeclaredFrame> {
    Ok(match file {
        Some(file) => read_frame(file)?,
        None => demo_frame()?,
    })
}

/// A declared box with what the logbook knows of it.
pub struct KnownBox {
    /// By what the logbook knows it.
    pub named: NamedBox,
    /// The box as its file declares it.
    pub declared: DeclaredBox,
    /// Its pieces now.
    pub stock: Stock,
}

/// A box as it is now. Where there is no logbook yet, nothing has happened to the box.
///
/// A change in the logbook that the file no longer allows is told on standard error and left out.
pub fn known_box(context: &Context, file: &Path) -> anyhow::Result<KnownBox> {
    let declared = read_box(file)?;
    let named = NamedBox::new(None, &declared.name);
    let Some(logbook) = logbook_to_read(context)? else {
        let stock = Stock::of(&declared);
        return Ok(KnownBox { named, declared, stock });
    };
    let on_record = logbook.stock_of(&named.key, &declared)?;
    for refused in &on_record.refused {
        eprintln!("note: {} no longer fits {}: {}", refused.stored.at, file.display(), refused.why);
    }
    Ok(KnownBox { named, declared, stock: on_record.stock })
}

/// The logbook for reading, when there is one.
pub fn logbook_to_read(context: &Context) -> Result<Option<Logbook>, LogbookError> {
    let path = match logbook_path(context) {
        Ok(path) => path,
        Err(LogbookError::NoHome) => return Ok(None),
        Err(error) => return Err(error),
    };
    match Logbook::open_read_only(&path) {
        Ok(logbook) => Ok(Some(logbook)),
        Err(LogbookError::At { fault: Fault::Missing, .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Where the logbook is, or will be.
pub fn logbook_path(context: &Context) -> Result<PathBuf, LogbookError> {
    context.logbook.clone().map_or_else(Logbook::default_path, Ok)
}
